"""One test: what it is, where it stands, its sittings, checks, balls and files, and what comes next."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from ballbench.presentation.numbers import number, percent, with_unit
from ballbench.presentation.screens.drift import drifts
from ballbench.presentation.screens.frame import page
from ballbench.presentation.screens.moments import moment_words
from ballbench.presentation.screens.progress import Progress, is_hidden, next_step, standing_sentences
from ballbench.presentation.screens.tray import tray_html
from ballbench.presentation.screens.writing import write
from ballbench.presentation.wording import INVENTED, as_sentence
from ballbench.records.ball_test import Ball, BallTest, PlannedQuantity, Sitting
from ballbench.records.bench_state import CheckResult

__all__ = ["FileLine", "SittingLine", "TestPage", "test_html"]


@dataclass(frozen=True, slots=True)
class SittingLine:
    """A sitting, and how many readings were kept in it."""

    sitting: Sitting
    readings: int


@dataclass(frozen=True, slots=True)
class FileLine:
    """A file to take away.

    Parameters
    ----------
    name : str
        Below ``/api/tests/{t}/files/``, such as ``"readings.csv"``.
    words : str
        What it holds.
    """

    name: str
    words: str


@dataclass(frozen=True, slots=True)
class TestPage:
    """One test. Filled by ``workflows/keep.py``.

    Parameters
    ----------
    progress : Progress
        How far it has come.
    sittings : tuple of SittingLine
        In the order of time.
    checks : tuple of CheckResult
        In the order of time.
    balls : tuple of Ball
        By number; make and box None while they are hidden.
    files : tuple of FileLine
        What can be taken away now.
    """

    progress: Progress
    sittings: tuple[SittingLine, ...] = ()
    checks: tuple[CheckResult, ...] = ()
    balls: tuple[Ball, ...] = ()
    files: tuple[FileLine, ...] = ()


def test_html(data: TestPage) -> str:
    """Write the page of one test."""
    test = data.progress.test
    hidden = is_hidden(test)
    body = write(
        "test.html.j2",
        data=data,
        test=test,
        hidden=hidden,
        facts=_facts(test),
        said=standing_sentences(data.progress),
        step=next_step(data.progress),
        tray=tray_html(data.progress.balls, small=False),
        quantities=[_quantity_row(quantity, hidden=hidden) for quantity in test.quantities],
        boxes=() if hidden else [(f"{box.make}, {box.label}", _bought(box.bought, box.where, box.price, box.given_by))
                                 for box in test.boxes],
        sittings=[_sitting_row(line) for line in data.sittings],
        drifts=drifts(data.checks),
        balls=[_ball_row(ball, hidden=hidden) for ball in data.balls],
        left=data.progress.planned - data.progress.read,
    )  # fmt: skip
    banner = INVENTED if test.invented else ""
    return page(test.title, body, here="test", test=test, script="finish.js", banner=banner)


def _facts(test: BallTest) -> tuple[tuple[str, str], ...]:
    rule = "guarded" if test.rule == "guarded" else "simple: the raw value against the limit"
    blind = "yes: makes, limits and earlier values stay hidden until it is finished" if test.blind else "no"
    return (
        ("Requirement", f"{test.requirement_title} ({test.requirement})"),
        ("Set up", f"{moment_words(test.set_up)}, by {test.set_up_by}"),
        ("Blind", blind),
        ("Decision rule", f"{rule}; risk of a false “met” {percent(test.risk)}, stated beforehand"),
        *(() if is_hidden(test) else (("Shuffled order", f"from the number {test.seed}"),)),
    )


def _quantity_row(quantity: PlannedQuantity, *, hidden: bool) -> tuple[str, ...]:
    places = ", ".join(axis for axis in quantity.axes if axis) or "one place"
    low, high = quantity.limits
    said = [f"from {_exact(low)}"] if low is not None else []
    said += [f"up to {_exact(high)}"] if high is not None else []
    allowed = with_unit(" ".join(said), quantity.unit) if said else "says nothing of a single ball"
    instrument = quantity.instrument or "yes or no"
    row = (quantity.words, places, str(quantity.repeats), instrument)
    return row if hidden else (*row, allowed)


def _exact(limit: float) -> str:
    """Print a limit with all its figures: one is never rounded."""
    return f"{limit:.10g}".replace("-", "−")


def _bought(bought: str, where: str, price: str, given_by: str) -> str:
    if given_by:
        return f"given by {given_by}"
    parts = (f"bought {bought}" if bought else "", f"at {where}" if where else "", f"for {price}" if price else "")
    return ", ".join(_not_empty(parts)) or "not said when and where it was bought"


def _not_empty(parts: Iterable[str]) -> list[str]:
    return [part for part in parts if part]


def _sitting_row(line: SittingLine) -> tuple[str, ...]:
    sitting = line.sitting
    ended = moment_words(sitting.ended) if sitting.ended else "goes on"
    climate = _not_empty(
        (
            f"air {number(sitting.air_c, 1)} °C" if sitting.air_c is not None else "",
            f"balls {number(sitting.ball_c, 1)} °C" if sitting.ball_c is not None else "",
        )
    )
    kind = "at the bench" if sitting.kind == "bench" else "from paper"
    return (
        sitting.label, kind, ", ".join(sitting.by), moment_words(sitting.begun), ended,
        as_sentence(", ".join(climate)).rstrip(".") or "not noted", str(line.readings),
    )  # fmt: skip


def _ball_row(ball: Ball, *, hidden: bool) -> tuple[str, ...]:
    hours = "not laid out" if ball.conditioned_h is None else f"{number(ball.conditioned_h, 1)} h"
    facts = (str(ball.impacts), hours)
    return (ball.number, *facts) if hidden else (ball.number, ball.make or "", ball.box or "", ball.label, *facts)
