"""Boxes that are tested again: their balls keep identity and label, and with them all that happened to them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ballbench.errors import Fault
from ballbench.records.ball_test import Box
from ballbench.store import Tx
from ballbench.store.boxes import LabelledBall, balls_of_boxes, box_tests, boxes_known

if TYPE_CHECKING:
    from ballbench.workflows.set_up import SetUp

__all__ = ["BoxAgain", "KnownBox", "boxes_faults", "known_boxes", "plain_name"]

_MOST_NUMBER = 2**31 - 1
"""Numbers of rows are 32-bit in every database."""


@dataclass(frozen=True, slots=True)
class BoxAgain:
    """A box that the notebook knows, by its number there, and how many of its balls, the first ones; None: all."""

    box: int
    balls: int | None = None


@dataclass(frozen=True, slots=True)
class KnownBox:
    """A box of the notebook with its balls in their order; `invented`: its tests hold invented data."""

    box: Box
    balls: tuple[LabelledBall, ...]
    invented: bool

    @property
    def labels(self) -> tuple[str, ...]:
        """The balls' names in the box."""
        return tuple(ball.label for ball in self.balls)

    @property
    def words(self) -> str:
        """Make and label."""
        return ", ".join(part for part in (self.box.make, self.box.label) if part)


def known_boxes(tx: Tx, wanted: Sequence[BoxAgain]) -> dict[int, KnownBox]:
    """Give the boxes of the notebook that are wanted, those that may be chosen, by their numbers."""
    numbers = {one.box for one in wanted if 1 <= one.box <= _MOST_NUMBER}
    if not numbers:
        return {}
    rows = boxes_known(tx, numbers)
    balls, tests = balls_of_boxes(tx, numbers), box_tests(tx, numbers)
    first = {one.box: one.balls for one in wanted}
    return {
        row.box.id: KnownBox(
            row.box, tuple(ball for ball in balls if ball.box == row.box.id)[: first[row.box.id]],
            any(test.invented for test in tests if test.box == row.box.id),
        )
        for row in rows
    }  # fmt: skip


def plain_name(name: str) -> str:
    """Give a name as a reader of the files tells it from others: without capitals, runs of blanks and underscores."""
    return " ".join(name.replace("_", " ").split()).casefold()


def boxes_faults(request: SetUp, known: Mapping[int, KnownBox]) -> Iterator[Fault]:
    """Say what is wrong with the boxes that a set-up takes again, each alone and beside the others."""
    makes = {plain_name(make.make): make.make for make in request.makes}
    taken = {(plain_name(make.make), plain_name(one.label)) for make in request.makes for one in make.boxes}
    chosen: set[int] = set()
    for number, again in enumerate(request.boxes, 1):
        where, lot = f"boxes {number}", known.get(again.box)
        if lot is None:
            yield Fault(where, f"no box {again.box}", "a box of the notebook's list", "choose one of them")
        elif again.balls is not None and not 1 <= again.balls <= len(lot.balls):
            yield Fault(f"{where}, balls", str(again.balls), "1 ball to as many as the box has", "count them again")
        elif again.box in chosen:
            yield Fault(where, f"{lot.words} twice", "each box once", "take one of them out")
        else:
            yield from _alone(where, lot, request)
            yield from _beside(where, lot, makes, taken)
            makes.setdefault(plain_name(lot.box.make), lot.box.make)
            taken.add((plain_name(lot.box.make), plain_name(lot.box.label)))
        chosen.add(again.box)


def _alone(where: str, lot: KnownBox, request: SetUp) -> Iterator[Fault]:
    """Say that measured and invented data would meet in the history of a ball."""
    if lot.invented != request.invented:
        data = ("measured", "invented")
        found = f"{lot.words}, whose tests hold {data[lot.invented]} data"
        allowed = f"a box of {data[request.invented]} data"
        yield Fault(where, found, allowed, "take it out, or say rightly whether the data are invented")


def _beside(where: str, lot: KnownBox, makes: Mapping[str, str], taken: set[tuple[str, str]]) -> Iterator[Fault]:
    """Say that a file could not tell a box or its make from another of the test."""
    make = plain_name(lot.box.make)
    if makes.get(make, lot.box.make) != lot.box.make:
        found = f"{lot.box.make} beside {makes[make]}"
        yield Fault(where, found, "makes of different names", "write the make as the notebook has it")
    if (make, plain_name(lot.box.label)) in taken:
        found = f"a second box {lot.words}"
        yield Fault(where, found, "boxes of different names", "take one of them out, or name the new one otherwise")
