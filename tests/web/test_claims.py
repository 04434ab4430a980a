from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

from ballbench.web.claims import LEASE_S, MOST, Claims


@dataclass
class Clock:
    """A clock that goes on when it is told to."""

    at: float = 1000.0

    def __call__(self) -> float:
        """Now."""
        return self.at


def places(claims: Claims, test: int = 1) -> dict[int, str]:
    """Who is where."""
    return {claim.place: claim.by for claim in claims.held(test)}


def test_a_place_belongs_to_whoever_took_it_first() -> None:
    """A second client is not granted the place and keeps its own; the first stays."""
    claims = Claims(Clock())
    assert claims.claim(1, "a", "E", 7)
    assert claims.claim(1, "b", "M", 8)
    assert not claims.claim(1, "b", "M", 7)
    assert places(claims) == {7: "E", 8: "M"}


def test_the_same_person_on_two_devices_is_two_clients() -> None:
    """A claim belongs to a browser tab, not to a name."""
    claims = Claims(Clock())
    assert claims.claim(1, "a", "E", 7)
    assert not claims.claim(1, "b", "E", 7)


def test_a_new_place_leaves_the_one_before() -> None:
    """A client is at one place of a test: taking another, or none, frees the one before for everybody."""
    claims = Claims(Clock())
    assert claims.claim(1, "a", "E", 7)
    assert claims.claim(1, "a", "E", 8)
    assert claims.claim(1, "b", "M", 7)
    assert claims.claim(1, "a", "E", None)
    assert places(claims) == {7: "M"}


def test_a_lease_ends_unless_it_is_renewed() -> None:
    """A claim ends after its lease; asked for again before, it lasts as long anew."""
    clock = Clock()
    claims = Claims(clock)
    assert claims.claim(1, "a", "E", 7)
    assert claims.claim(1, "c", "K", 9)
    clock.at += LEASE_S - 1
    assert claims.claim(1, "a", "E", 7)
    assert not claims.claim(1, "b", "M", 7)
    clock.at += 1
    assert places(claims) == {7: "E"}
    clock.at += LEASE_S - 1
    assert claims.claim(1, "b", "M", 7)


def test_tests_do_not_share_places() -> None:
    """A place of one test says nothing about another test."""
    claims = Claims(Clock())
    assert claims.claim(1, "a", "E", 7)
    assert claims.claim(2, "b", "M", 7)
    assert (places(claims, 1), places(claims, 2), places(claims, 3)) == ({7: "E"}, {7: "M"}, {})


def test_a_flood_of_clients_is_bounded() -> None:
    """No more clients than the bound hold places of one test; when one leaves, the next gets in."""
    claims = Claims(Clock())
    assert all(claims.claim(1, str(i), "E", i) for i in range(1, MOST + 1))
    assert not claims.claim(1, "late", "M", MOST + 1)
    assert claims.claim(1, "1", "E", None)
    assert claims.claim(1, "late", "M", MOST + 1)


def test_of_many_at_the_same_moment_one_gets_the_place() -> None:
    """Of 64 threads that ask for one place, exactly one is granted it."""
    claims = Claims()
    with ThreadPoolExecutor(16) as pool:
        granted = list(pool.map(lambda i: claims.claim(1, f"client {i}", "E", 7), range(64)))
    assert granted.count(True) == 1


def test_a_ball_is_in_one_hand_alone() -> None:
    """Another place of a ball that somebody has is refused, and it is said who has it; another ball is free."""
    claims = Claims(Clock())
    assert claims.claim(1, "a", "E", 7, "ball 3")
    assert not claims.claim(1, "b", "M", 8, "ball 3")
    assert claims.holder(1, "b", 8, "ball 3") == "E"
    assert claims.holder(1, "a", 8, "ball 3") == ""
    assert claims.claim(1, "b", "M", 9, "ball 4")
    assert claims.claim(1, "a", "E", 8, "ball 3")
