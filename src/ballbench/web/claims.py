"""Which device is at which place just now, so that two people do not read the same ball: leases, in memory alone."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass

__all__ = ["Claim", "Claims"]

LEASE_S = 60.0
"""A device that stays away so long loses its place (own choice)."""
MOST = 256
"""Devices with a place in one test (own choice)."""


@dataclass(frozen=True, slots=True)
class Claim:
    """A place that somebody is at.

    Parameters
    ----------
    client, by : str
        Which browser tab, and which person.
    place : int
        Which reading.
    piece : str
        Which ball or reference piece that is a reading of; empty: not known.
    until : float
        End of the lease, on the clock of the claims.
    """

    client: str
    by: str
    place: int
    piece: str
    until: float


class Claims:
    """Leases of places, at most one a client and test; safe to use from any thread.

    Parameters
    ----------
    now : callable
        Seconds on a clock that never goes back.
    """

    def __init__(self, now: Callable[[], float] = time.monotonic) -> None:
        self._now = now
        self._lock = threading.Lock()
        self._held: dict[int, dict[str, Claim]] = {}

    def claim(self, test: int, client: str, by: str, place: int | None, piece: str = "") -> bool:
        """Take a place and leave the one before, renew it, or with None leave it; False: somebody else has its ball.

        Who is at one place of a ball has the ball in the hand, so that nobody else gets any place of it.

        Parameters
        ----------
        test, place : int
            In the notebook.
        client, by : str
            Which browser tab, and which person.
        piece : str
            Which ball or reference piece the place is of; empty: not known, and the place alone counts.
        """
        with self._lock:
            held = self._standing(test)
            if place is None:
                held.pop(client, None)
                return True
            others = [claim for claim in held.values() if claim.client != client]
            if len(others) >= MOST or any(_same(claim, place, piece) for claim in others):
                return False
            held[client] = Claim(client, by, place, piece, self._now() + LEASE_S)
            return True

    def holder(self, test: int, client: str, place: int, piece: str) -> str:
        """Give who else has the ball of a place; empty: nobody."""
        found = (one.by for one in self.held(test) if one.client != client and _same(one, place, piece))
        return next(found, "")

    def held(self, test: int) -> tuple[Claim, ...]:
        """Give the leases of a test that have not run out, by place."""
        with self._lock:
            return tuple(sorted(self._standing(test).values(), key=lambda claim: claim.place))

    def _standing(self, test: int) -> dict[str, Claim]:
        """Drop leases that ran out; the lock is held."""
        now = self._now()
        held = {client: claim for client, claim in self._held.get(test, {}).items() if claim.until > now}
        self._held[test] = held
        return held


def _same(claim: Claim, place: int, piece: str) -> bool:
    return claim.place == place or bool(piece and claim.piece == piece)
