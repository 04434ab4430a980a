"""The bench sheet as data: a row a reading, page by page, in the order in which a paper sheet is typed in."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import groupby
from typing import Literal

from ballbench.presentation.sheets.paper import Paper, shortened
from ballbench.records.ball_test import BallTest, PlannedQuantity, ReferencePiece
from ballbench.records.bench_state import Place
from ballbench.records.control_ball import CONTROL

__all__ = ["HEAD", "MARGIN", "ROW", "BenchSheet", "Display", "SheetPage", "SheetRow", "bench_sheet_of", "typed_order"]

MARGIN, HEAD, ROW = 10.0, 42.0, 8.5
"""Millimetres: margin at top and bottom, what stands above the rows, one row (own choice)."""

_FOOT_LINE, _FOOT_RULE, _FOOT_BESIDE = 3.6, 1.6, 2.0
_LINE_LETTERS, _MOST_CAUTION = 112, 600
_MOST_DECIMALS = 6

_WRITING = (
    "Write every digit that the display shows, zeros at the end too. A wrong number: strike it through once, so that "
    "it stays readable, and write the right one beside it. Never overwrite, never rub out."
)
_TYPING = "Type it in at Measure, from a paper sheet: the bench asks in the order of this sheet."

Kind = Literal["ball", "control", "again", "piece"]


@dataclass(frozen=True, slots=True)
class Display:
    """What an instrument shows: its unit (``"1"``: none) and its smallest step."""

    unit: str
    step: float

    @property
    def decimals(self) -> int:
        """Decimals that it shows, at most 6."""
        exponent = Decimal(repr(self.step)).normalize().as_tuple().exponent
        return min(max(0, -int(exponent)), _MOST_DECIMALS)


@dataclass(frozen=True, slots=True)
class SheetRow:
    """One reading to write down.

    Parameters
    ----------
    number : int
        Running number in the test's sheet order; it stays the same when a part is printed anew.
    kind : {"ball", "control", "again", "piece"}
        A ball of the plan, the control ball once more, a ball asked for again, a reference piece.
    who : str
        The ball's number, or the piece's name.
    place, repeat : str
        Where on the ball, or when a piece is read; which reading of how many. Empty where there is one only.
    new : bool
        True: another ball or piece comes into the hand with this row.
    """

    number: int
    kind: Kind
    who: str
    place: str
    repeat: str
    new: bool


@dataclass(frozen=True, slots=True)
class SheetPage:
    """One page: what is read on it, with what, and its rows.

    Parameters
    ----------
    words, unit, instrument : str
        Quantity in words, unit of the display (``"1"``: none), instrument (empty: none).
    decimals : int
        Of the display.
    step : str
        Its smallest step as a number; empty for a yes/no result.
    yes_no, signed : bool
        The result is yes or no; it may be below zero.
    cautions : tuple of str
        What to beware of.
    rows : tuple of SheetRow
        At most as many as there is room for; a ball is not parted from its places where these have room on one page.
    """

    words: str
    unit: str
    instrument: str
    decimals: int
    step: str
    yes_no: bool
    signed: bool
    cautions: tuple[str, ...]
    rows: tuple[SheetRow, ...]


@dataclass(frozen=True, slots=True)
class BenchSheet:
    """A whole sheet.

    Parameters
    ----------
    title, mark : str
        The test's name, and its short mark.
    blind, invented : bool
        Nothing tells a make or a limit; the data are invented.
    done : int
        Readings that are taken already and left out.
    reasons : tuple of str
        Reasons for a spoiled attempt, in the order of their numbers at the bench.
    paper : Paper
        What it is printed on.
    pages : tuple of SheetPage
        In order.
    """

    title: str
    mark: str
    blind: bool
    invented: bool
    done: int
    reasons: tuple[str, ...]
    paper: Paper
    pages: tuple[SheetPage, ...]

    def foot_of(self, page: SheetPage) -> tuple[str, ...]:
        """Give what stands below the rows of a page."""
        return _foot(self.reasons, page.cautions)

    def foot_height(self, page: SheetPage) -> float:
        """Give what room that takes, mm."""
        return _foot_height(self.foot_of(page))


def bench_sheet_of(
    test: BallTest,
    numbers: Mapping[int, str],
    pieces: Sequence[ReferencePiece],
    places: Iterable[Place],
    displays: Mapping[str, Display],
    *,
    paper: Paper,
    reasons: tuple[str, ...] = (),
    cautions: tuple[str, ...] = (),
) -> BenchSheet:
    """Lay out the readings that a test still wants, in the order in which they are typed in from paper.

    Parameters
    ----------
    test : BallTest
        As it may be shown: of a blind one neither boxes nor limits are used.
    numbers : mapping of int to str
        What is written on each ball.
    pieces : sequence of ReferencePiece
        Of the test.
    places : iterable of Place
        All of them; those that hold a reading are left out.
    displays : mapping of str to Display
        By quantity; without one the base unit and the planned decimals hold.
    paper : Paper
        What it is printed on.
    reasons, cautions : tuple of str
        For a spoiled attempt; what to beware of with these balls.
    """
    planned = {one.name: one for one in test.quantities}
    pages: list[SheetPage] = []
    every = sorted(places, key=lambda one: (one.sheet_order, one.id))
    number = {one.id: position for position, one in enumerate(every, 1)}
    left = typed_order(every)
    for name, group in groupby(left, key=lambda one: one.quantity):
        own = planned[name]
        beware = tuple(dict.fromkeys(text for text in (own.caution, *cautions) if text))
        rows = list(_rows(list(group), own, number, numbers, {one.id: one.name for one in pieces}))
        pages += [_page(own, displays.get(name), beware, part) for part in _parts(rows, _room(paper, reasons, beware))]
    return BenchSheet(
        test.title, f"test {test.id}", test.blind, test.invented, len(every) - len(left), reasons, paper, tuple(pages)
    )


def typed_order(places: Iterable[Place]) -> list[Place]:
    """Give the open places in the order in which a sitting from paper asks for them.

    As ``cursor.js`` of the measuring page has it: those put off come last, and the check at the end of a quantity
    comes behind all that is left of it.
    """
    left = [one for one in places if not one.filled]
    last: dict[str, tuple[int, int]] = {}
    for one in left:
        if one.ball is not None:
            turn = (one.put_off, one.sheet_order)
            last[one.quantity] = max(turn, last.get(one.quantity, turn))

    def turn_of(one: Place) -> tuple[int, int, int, int]:
        own = (one.put_off, one.sheet_order)
        ends = one.reference is not None and one.axis == "end"
        behind = last.get(one.quantity, own) if ends else own
        return (*max(own, behind), int(behind > own), one.sheet_order)

    return sorted(left, key=turn_of)


def _rows(
    places: Sequence[Place],
    quantity: PlannedQuantity,
    number: Mapping[int, int],
    numbers: Mapping[int, str],
    pieces: Mapping[int, str],
) -> Iterator[SheetRow]:
    before: tuple[int | None, int | None, int] | None = None
    for one in places:
        hand = (one.ball, one.reference, one.repeat)
        kind = _kind(one)
        if one.ball is None:
            who, repeat = pieces.get(one.reference or 0, ""), ""
        else:
            who = numbers[one.ball]
            repeat = kind if kind != "ball" else f"{one.repeat} of {quantity.repeats}" if quantity.repeats > 1 else ""
        yield SheetRow(number[one.id], kind, who, one.axis, repeat, hand != before)
        before = hand


def _kind(place: Place) -> Kind:
    if place.ball is None:
        return "piece"
    if place.why:
        return "control" if place.why == CONTROL else "again"
    return "ball"


def _page(
    quantity: PlannedQuantity, shown: Display | None, beware: tuple[str, ...], rows: tuple[SheetRow, ...]
) -> SheetPage:
    display = shown or Display(quantity.unit, 10.0**-quantity.decimals)
    step = "" if quantity.yes_no else f"{Decimal(repr(display.step)).normalize():f}"
    return SheetPage(
        quantity.words, display.unit, quantity.instrument, display.decimals, step, quantity.yes_no, quantity.signed,
        beware, rows,
    )  # fmt: skip


def _room(paper: Paper, reasons: tuple[str, ...], cautions: tuple[str, ...]) -> int:
    """Count the rows that a page has room for, below its head and above its foot."""
    taken = 2.0 * MARGIN + HEAD + _FOOT_BESIDE + _foot_height(_foot(reasons, cautions))
    return int((paper.height - taken) // ROW)


def _foot_height(lines: tuple[str, ...]) -> float:
    """Give the height of a foot in mm, from how many lines its sentences fill at most."""
    return _FOOT_LINE * sum(-(-len(line) // _LINE_LETTERS) for line in lines) + _FOOT_RULE


def _foot(reasons: tuple[str, ...], cautions: tuple[str, ...]) -> tuple[str, ...]:
    named = ", ".join(f"{number} {reason}" for number, reason in enumerate(reasons, 1))
    spoiled = f"Spoiled because: {named}. Such an attempt is no reading: read again and write that number."
    beware = shortened(" ".join(cautions), _MOST_CAUTION)
    return (_WRITING, _TYPING, *((spoiled,) if reasons else ()), *((f"Caution. {beware}",) if beware else ()))


def _parts(rows: Sequence[SheetRow], room: int) -> Iterator[tuple[SheetRow, ...]]:
    """Fill pages; a ball goes to the next page with all its places where one page can hold them."""
    page: list[SheetRow] = []
    starts = [at for at, row in enumerate(rows) if row.new]
    for start, end in zip(starts, [*starts[1:], len(rows)], strict=True):
        hand = list(rows[start:end])
        if page and len(page) + len(hand) > room:
            yield tuple(page)
            page = []
        while len(hand) > room:
            yield tuple(hand[:room])
            hand = hand[room:]
        page += hand
    if page:
        yield tuple(page)
