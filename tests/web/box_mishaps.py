"""What goes wrong while a box is measured, one mishap a function, and how a person goes on from it."""

from __future__ import annotations

from typing import Any

from bench_client import Bench
from box_walk import AtTheBench, place_of, true_value

__all__ = ["asked_about", "comes_again", "insists", "loses_an_answer", "loses_the_network", "lost_point", "mistypes",
           "outlives_the_server", "skips", "spoils", "swapped", "undoes", "zeroes"]  # fmt: skip

_STEERING = ("limit", "requirement", "swapped", "point", "digit", "allowed")


def lost_point(at: AtTheBench) -> str:
    """Give the true value of the ball in hand without its decimal point."""
    return true_value(*place_of(at.where)).replace(".", "")


def swapped(at: AtTheBench) -> str:
    """Give the true value of the ball in hand with the digits on both sides of the point swapped."""
    text = true_value(*place_of(at.where))
    return f"{text[0]}{text[3]}.{text[1]}{text[4]}"


def asked_about(at: AtTheBench, odd: str) -> None:
    """Type something odd; the page asks, at that place, in words that steer nobody."""
    where = at.where
    at.types(odd)
    at.says("ask").to_contain_text(f"{odd} mm is far from this box. Look again.")
    at.says("where").to_have_text(where)
    assert not any(word in at.page.get_by_test_id("ask").text_content() for word in _STEERING)
    at.looks(odd)


def mistypes(at: AtTheBench, wrong: str) -> None:
    """Type something odd, see the page ask, and type what the caliper shows: the odd number is nowhere any more."""
    asked_about(at, wrong)
    at.reads(instead=wrong)
    at.says("ask").to_be_hidden()
    at.says("alert").to_be_empty()
    at.looks(at.kept[-1].text)


def insists(at: AtTheBench, odd: str) -> None:
    """Type something odd that is so, and keep it by typing it once more."""
    asked_about(at, odd)
    at.reads(text=odd)
    at.says("ask").to_be_hidden()


def undoes(at: AtTheBench, wrong: str) -> None:
    """Type what belongs elsewhere, take it back on the empty entry, and type what is right."""
    where = at.where
    at.reads(text=wrong)
    at.backed.append(len(at.kept) - 1)
    at.page.keyboard.press("Backspace")
    at.says("where").to_have_text(where)
    at.looks(wrong)
    at.reads()


def spoils(at: AtTheBench) -> None:
    """Spoil an attempt; its place stays."""
    where = at.where
    at.page.keyboard.type("-")
    at.says("reasons").to_be_visible()
    at.page.keyboard.type("2")
    at.says("reasons").to_be_hidden()
    at.says("said").to_contain_text("spoiled: hit the tube. Read it again.")
    at.looks()
    assert at.where == where


def zeroes(at: AtTheBench) -> None:
    """Zero the caliper; the place stays."""
    where = at.where
    at.page.keyboard.type("*")
    at.says("said").to_contain_text("caliper zeroed")
    at.looks()
    assert at.where == where


def skips(at: AtTheBench) -> tuple[int, str]:
    """Leave a place for later, and give it."""
    where = at.where
    at.page.keyboard.type("/")
    at.leaves(where)
    at.looks()
    return place_of(where)


def comes_again(at: AtTheBench) -> None:
    """Load the page again; it asks for the same place."""
    at.all_sent()
    where = at.where
    at.page.reload()
    at.says("where").to_have_text(where)
    at.says("entry").to_be_focused()
    at.looks()


def loses_an_answer(at: AtTheBench) -> None:
    """A reading arrives and its answer is lost on the way; the page sends it again."""
    lost = []

    def lose(route: Any) -> None:
        lost.append(route.fetch().status)
        route.abort()

    at.page.route("**/api/tests/*/readings", lose, times=1)
    at.reads()
    at.all_sent()
    assert lost == [200]


def loses_the_network(at: AtTheBench) -> None:
    """Type on while the network is off; it is sent when the network is back."""
    at.page.context.set_offline(True)
    at.says("waiting").to_be_visible()
    at.reads()
    at.reads()
    at.says("waiting").to_contain_text("no connection: 2 readings wait here, nothing is lost")
    at.looks()
    at.page.context.set_offline(False)
    at.all_sent()


def outlives_the_server(at: AtTheBench, bench: Bench) -> None:
    """The server is killed as a reading is sent; what is typed meanwhile waits, and is sent when it is back."""
    at.reads()
    bench.kill()
    at.reads()
    mistypes(at, lost_point(at))
    undoes(at, "40.02")
    at.says("waiting").to_contain_text("readings and 1 other entry wait here, nothing is lost")
    bench.start()
    at.all_sent()
    at.looks()
