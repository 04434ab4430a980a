"""Devices on the local network that may come in: a link for one device, once, for ten minutes; then a secret cookie.

Only digests of tokens and secrets are kept, in memory, and all of them end with the server.
"""

from __future__ import annotations

import secrets
import threading
import time
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from hashlib import sha256

from ballbench.errors import Fault
from ballbench.web.problems import Refused

__all__ = ["LINK_S", "Device", "Pairing"]

LINK_S = 600.0
"""A link that was not used for so long is void (own choice)."""
_LINKS = 20
_DEVICES = 50
_WRONG = 5
"""Wrong tokens from one address before it has to wait as long as a link lives (own choice)."""
_ADDRESSES = 1000


@dataclass(frozen=True, slots=True)
class Device:
    """A paired device.

    Parameters
    ----------
    id : int
        From 1.
    name : str
        As it was called when its link was made.
    address : str
        From where it was paired.
    paired : str
        When, ISO 8601.
    """

    id: int
    name: str
    address: str
    paired: str


class Pairing:
    """Links that are open, and devices that are paired; safe to use from any thread.

    Parameters
    ----------
    now : callable
        Seconds on a clock that never goes back.
    """

    def __init__(self, now: Callable[[], float] = time.monotonic) -> None:
        self._now = now
        self._lock = threading.Lock()
        self._links: OrderedDict[str, tuple[float, str]] = OrderedDict()
        self._devices: dict[str, Device] = {}
        self._wrong: OrderedDict[str, list[float]] = OrderedDict()
        self._last = 0

    def new_link(self, name: str) -> str:
        """Make a token for one device; the oldest open one ends where there are too many.

        Parameters
        ----------
        name : str
            What the device is to be called.
        """
        token = secrets.token_urlsafe(16)
        with self._lock:
            self._links[_digest(token)] = (self._now() + LINK_S, name)
            while len(self._links) > _LINKS:
                self._links.popitem(last=False)
        return token

    def pair(self, token: str, address: str) -> tuple[Device, str]:
        """Take a token and give the device with the secret of its cookie.

        Parameters
        ----------
        token : str
            From a link; good once.
        address : str
            Of the device.

        Raises
        ------
        Refused
            The token is none, is used up or too old; or there were too many wrong ones from this address, or there are
            too many devices.
        """
        with self._lock:
            self._slow_down(address)
            until, name = self._links.pop(_digest(token), (0.0, ""))
            if until <= self._now():
                self._note_wrong(address)
                raise Refused(403, _void())
            if len(self._devices) >= _DEVICES:
                raise Refused(403, _full())
            self._last += 1
            secret = secrets.token_urlsafe(32)
            device = Device(self._last, name or f"Device {self._last}", address, datetime.now(UTC).isoformat())
            self._devices[_digest(secret)] = device
            return device, secret

    def device_of(self, secret: str) -> Device | None:
        """Give the device that a cookie's secret belongs to; None: to none."""
        with self._lock:
            return self._devices.get(_digest(secret))

    def devices(self) -> tuple[Device, ...]:
        """Give all paired devices in the order in which they were paired."""
        with self._lock:
            return tuple(self._devices.values())

    def unpair(self, device: int) -> bool:
        """Shut a device out; False: there is none of that number."""
        with self._lock:
            found = [digest for digest, one in self._devices.items() if one.id == device]
            for digest in found:
                del self._devices[digest]
            return bool(found)

    def _slow_down(self, address: str) -> None:
        """Refuse an address that guesses; the lock is held."""
        since = self._now() - LINK_S
        wrong = [moment for moment in self._wrong.pop(address, []) if moment > since]
        if wrong:
            self._wrong[address] = wrong
        if len(wrong) >= _WRONG:
            wait = str(int(wrong[0] - since) + 1)
            fault = Fault("token", f"{len(wrong)} wrong tokens from this address", f"{_WRONG} in ten minutes",
                          "wait ten minutes, then make a new link on the page Share")  # fmt: skip
            raise Refused(429, fault, {"Retry-After": wait})

    def _note_wrong(self, address: str) -> None:
        self._wrong.setdefault(address, []).append(self._now())
        while len(self._wrong) > _ADDRESSES:
            self._wrong.popitem(last=False)


def _void() -> Fault:
    return Fault("token", "a token that is wrong, used up or older than ten minutes", "the token of a new link",
                 "make a new link on the page Share of the machine that runs ballbench")  # fmt: skip


def _full() -> Fault:
    return Fault("devices", f"{_DEVICES} paired devices", f"at most {_DEVICES}", "unpair one on the page Share")


def _digest(text: str) -> str:
    return sha256(text.encode("utf-8", "surrogatepass")).hexdigest()
