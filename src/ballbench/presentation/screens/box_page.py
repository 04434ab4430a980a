"""One box over all its tests: its tray, one quantity as trays in a row, and every ball test by test."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from markupsafe import Markup

from ballbench.findings.results import Truth
from ballbench.presentation.numbers import measured, number, with_unit
from ballbench.presentation.screens.box_picture import BoxPicture, Tray, box_picture
from ballbench.presentation.screens.box_words import bought_words, box_name
from ballbench.presentation.screens.boxes_page import TestOfBox
from ballbench.presentation.screens.frame import page
from ballbench.presentation.screens.moments import day_words
from ballbench.presentation.screens.tray import BallFill, tray_html
from ballbench.presentation.screens.writing import write
from ballbench.presentation.wording import INVENTED, plural
from ballbench.records.ball_test import Box

__all__ = ["BallInTest", "BallMean", "BallOfBox", "BoxChange", "BoxHistory", "BoxPage", "QuantityOfBox", "box_html"]


@dataclass(frozen=True, slots=True)
class QuantityOfBox:
    """What was read of a box in any of its tests.

    Parameters
    ----------
    name, words, unit : str
        Canonical name, the name in a sentence, the base unit.
    decimals : int
        Decimals of the finest display that read it, in `unit`.
    yes_no : bool
        True: its results are answers.
    """

    name: str
    words: str
    unit: str
    decimals: int
    yes_no: bool = False


@dataclass(frozen=True, slots=True)
class BallMean:
    """What stands of a ball in one test.

    Parameters
    ----------
    quantity, unit : str
        Which `QuantityOfBox`.
    readings, yes : int
        How many stand, and how many of them are the answer yes.
    mean : float or None
        Of the numbers, in `unit`; None: they are answers.
    """

    quantity: str
    unit: str
    readings: int
    yes: int = 0
    mean: float | None = None


@dataclass(frozen=True, slots=True)
class BallInTest:
    """A ball in one test.

    Parameters
    ----------
    test : int
        Which.
    number : str
        What was written on the ball for it.
    impacts : int or None
        How many the ball had had by its readings in this test; None: not known.
    means : tuple of BallMean
        Of what was read, in the order of `BoxHistory.quantities`.
    """

    test: int
    number: str
    impacts: int | None
    means: tuple[BallMean, ...]


@dataclass(frozen=True, slots=True)
class BallOfBox:
    """A ball of a box.

    Parameters
    ----------
    id : int
        In the notebook.
    label : str
        Its name in the box.
    opened : str or None
        When its can was opened, ISO 8601; None: not noted.
    tests : tuple of BallInTest
        Oldest first.
    """

    id: int
    label: str
    opened: str | None
    tests: tuple[BallInTest, ...]


@dataclass(frozen=True, slots=True)
class BoxHistory:
    """A box over all its tests; also the answer of ``GET /api/boxes/{id}``. Filled by ``workflows/boxes.py``.

    Parameters
    ----------
    box : Box
        Make, label, where it comes from.
    tests : tuple of TestOfBox
        Oldest first; none of a blind test that is under way.
    quantities : tuple of QuantityOfBox
        In the order in which they are read.
    balls : tuple of BallOfBox
        In the order of the box.
    """

    box: Box
    tests: tuple[TestOfBox, ...]
    quantities: tuple[QuantityOfBox, ...]
    balls: tuple[BallOfBox, ...]


@dataclass(frozen=True, slots=True)
class BoxChange:
    """The first and the last test of a box held against each other. Filled by ``workflows/box_change.py``.

    Parameters
    ----------
    first, last : TestOfBox
        Which tests.
    balls : int
        How many were read in both.
    difference : Truth
        Mean of the last less mean of the first, base unit.
    told_apart : bool
        Beyond what noise and chance explain.
    smallest_told : float
        Smallest true difference that such a comparison tells apart four times in five; NaN: not known.
    """

    first: TestOfBox
    last: TestOfBox
    balls: int
    difference: Truth
    told_apart: bool
    smallest_told: float


@dataclass(frozen=True, slots=True)
class BoxPage:
    """The page of a box. Filled by ``workflows/boxes.py``.

    Parameters
    ----------
    history : BoxHistory
        All of it.
    quantity, unit : str
        Which quantity is drawn; empty: none was read as a number.
    change : BoxChange or None
        None where the comparison cannot say whether it changed.
    """

    history: BoxHistory
    quantity: str = ""
    unit: str = ""
    change: BoxChange | None = None


def box_html(data: BoxPage) -> str:
    """Write the page of a box."""
    history = data.history
    tests = {test.id: test for test in history.tests}
    under_way = [test for test in history.tests if test.stage != "finished"]
    drawn = next((one for one in history.quantities if (one.name, one.unit) == (data.quantity, data.unit)), None)
    body = write(
        "box.html.j2",
        data=data,
        name=box_name(history.box),
        bought=bought_words(history.box),
        tray=_tray(history),
        choices=[one for one in history.quantities if not one.yes_no],
        drawn=drawn,
        figure=None if drawn is None else _figure(data, drawn),
        under_way=under_way,
        heads=_heads(history),
        lines=sum(len(ball.tests) for ball in history.balls),
        balls=[(ball.label, _opened(ball), [_row(one, tests[one.test], history) for one in ball.tests])
               for ball in history.balls],
    )  # fmt: skip
    invented = any(test.invented for test in history.tests)
    return page(box_name(history.box), body, here="box", banner=INVENTED if invented else "")


def _tray(history: BoxHistory) -> Markup:
    fills = [
        BallFill(ball.label, sum(bool(one.means) for one in ball.tests), len(ball.tests)) for ball in history.balls
    ]
    read = sum(fill.read > 0 for fill in fills)
    words = f"{plural(len(fills), 'ball')}, {read} of them read in a test"
    return tray_html(fills, small=False, words=words)


def _opened(ball: BallOfBox) -> str:
    return f"opened {day_words(ball.opened)}" if ball.opened else ""


def _heads(history: BoxHistory) -> tuple[str, ...]:
    quantities = (with_unit(one.words, "" if one.unit == "1" else f"({one.unit})") for one in history.quantities)
    return ("date", "test", "number on it", "impacts by then", *quantities)


def _row(one: BallInTest, test: TestOfBox, history: BoxHistory) -> tuple[object, ...]:
    means = {(mean.quantity, mean.unit): mean for mean in one.means}
    cells = [_cell(quantity, means.get((quantity.name, quantity.unit))) for quantity in history.quantities]
    impacts = "not known" if one.impacts is None else str(one.impacts)
    return (test, day_words(test.at), one.number, impacts, cells)


def _cell(quantity: QuantityOfBox, mean: BallMean | None) -> str:
    """Print what stands of a ball: a mean with one decimal more than was read, or how many answers are yes."""
    if mean is None:
        return "not read"
    if mean.mean is None:
        return f"yes {mean.yes} of {mean.readings}"
    return number(mean.mean, quantity.decimals + (mean.readings > 1))


@dataclass(frozen=True, slots=True)
class _Figure:
    """A picture with its words: captions under the trays, what it says, its numbers, and whether the box changed."""

    picture: BoxPicture
    heads: tuple[tuple[Tray, str, str, bool], ...]
    alt: str
    caption: str
    rows: tuple[tuple[str, ...], ...]
    sentence: str
    aside: str


def _figure(data: BoxPage, drawn: QuantityOfBox) -> _Figure | None:
    """Draw up the chosen quantity; None where no test read it yet."""
    values = _values(data.history, drawn)
    read = [test for test in data.history.tests if values.get(test.id)]
    picture = box_picture([values[test.id] for test in read], drawn.unit)
    if picture is None:
        return None
    pairs = list(zip(read[picture.left_out :], picture.trays, strict=True))
    changed = data.change.last.id if data.change is not None and data.change.told_apart else None
    rows = tuple((day_words(test.at), test.title, str(len(tray.dots)), _mean(tray, drawn)) for test, tray in pairs)
    told = "; ".join(f"{day}: {plural(int(n), 'ball')}, mean {mean}" for day, _, n, mean in rows)
    return _Figure(
        picture=picture,
        heads=tuple((tray, *_short(test.at), test.id == changed) for test, tray in pairs),
        alt=f"{drawn.words}, test by test: {told}",
        caption=_caption(picture, drawn),
        rows=rows,
        sentence="" if data.change is None else _changed(data.change, drawn),
        aside="" if data.change is None else _how_held(data.change),
    )


def _mean(tray: Tray, drawn: QuantityOfBox) -> str:
    return with_unit(number(tray.mean, drawn.decimals + 1), drawn.unit)


def _caption(picture: BoxPicture, drawn: QuantityOfBox) -> str:
    balls = plural(len({dot.ball for tray in picture.trays for dot in tray.dots}), "ball")
    more = f"; {plural(picture.left_out, 'earlier test')} not drawn" if picture.left_out else ""
    return (
        f"Every ball is a dot: the mean of what was read of its {drawn.words}. A line joins the same ball, a bar is "
        f"the mean of the balls. n = {balls}{more}."
    )


def _values(history: BoxHistory, drawn: QuantityOfBox) -> Mapping[int, list[tuple[int, float]]]:
    """Give for each test the balls that it read, with their means."""
    values: dict[int, list[tuple[int, float]]] = {}
    for ball in history.balls:
        for one in ball.tests:
            for mean in one.means:
                if (mean.quantity, mean.unit) == (drawn.name, drawn.unit) and mean.mean is not None:
                    values.setdefault(one.test, []).append((ball.id, mean.mean))
    return values


def _short(at: str) -> tuple[str, str]:
    """Print a day on two short lines, ``("21 Nov", "2026")``; what is no day stands as it is, cut."""
    parts = day_words(at).split(" ")
    return (f"{parts[0]} {parts[1][:3]}", parts[2]) if len(parts) == 3 else (at[:8], "")


def _changed(change: BoxChange, drawn: QuantityOfBox) -> str:
    """Say whether the box changed beyond noise."""
    since = f"from “{change.first.title}” to “{change.last.title}”"
    moved = f"{since} the mean {drawn.words} moved by {measured(change.difference, drawn.unit, (0.0,))}."
    if change.told_apart:
        return f"It changed beyond noise: {moved}"
    said = f"No change beyond noise can be told: {moved}"
    if math.isnan(change.smallest_told):
        return said
    told = with_unit(f"{change.smallest_told:.2g}", drawn.unit)
    return f"{said} This comparison tells {told} apart four times in five."


def _how_held(change: BoxChange) -> str:
    return (
        f"The {change.balls} balls that were read in both tests, held against each other as two makes are: on the safe "
        "side for the same balls. An instrument that is the same in both is taken not to have changed itself."
    )
