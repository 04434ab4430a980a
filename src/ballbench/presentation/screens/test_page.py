"""One test: what it is, where it stands, its sittings, checks, balls and files, and what comes next."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from ballbench.presentation.numbers import number, percent, with_unit
from ballbench.presentation.screens.box_words import bought_words, box_name
from ballbench.presentation.screens.drift import drifts
from ballbench.presentation.screens.frame import page
from ballbench.presentation.screens.moments import moment_words
from ballbench.presentation.screens.plan_words import FollowedPlan, differences, planned_words
from ballbench.presentation.screens.progress import Progress, is_hidden, left_words, next_step, standing_sentences
from ballbench.presentation.screens.recorded import RECORDED
from ballbench.presentation.screens.tray import tray_html
from ballbench.presentation.screens.writing import write
from ballbench.presentation.wording import INVENTED, as_sentence
from ballbench.records.ball_test import Ball, BallTest, Box, PlannedQuantity, Sitting
from ballbench.records.bench_state import CheckResult

__all__ = ["FileLine", "OtherTest", "SittingLine", "TestPage", "test_html"]


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
class OtherTest:
    """Another test that is not finished and has a box of this one: the box's number, and the test's title."""

    box: int
    title: str


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
    beside : tuple of OtherTest
        Other tests that are not finished and have the same balls; none where this one is finished or hidden.
    plan : FollowedPlan or None
        The plan that it follows, and what became otherwise; None: it follows none.
    """

    progress: Progress
    sittings: tuple[SittingLine, ...] = ()
    checks: tuple[CheckResult, ...] = ()
    balls: tuple[Ball, ...] = ()
    files: tuple[FileLine, ...] = ()
    beside: tuple[OtherTest, ...] = ()
    plan: FollowedPlan | None = None


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
        boxes=() if hidden else [(box, box_name(box), bought_words(box), _beside(data, box)) for box in test.boxes],
        sittings=[_sitting_row(line) for line in data.sittings],
        drifts=drifts(data.checks),
        balls=[_ball_row(ball, hidden=hidden) for ball in data.balls],
        recorded=_recorded(test),
        left=left_words(data.progress),
        planned=None if data.plan is None else planned_words(data.plan.plan),
        otherwise=() if data.plan is None else differences(data.plan),
    )  # fmt: skip
    banner = INVENTED if test.invented else ""
    return page(test.title, body, here="test", test=test, script="finish.js", banner=banner)


def _recorded(test: BallTest) -> str:
    """Name the quantities that a recording gives; empty: none of them."""
    own = [one.words for one in test.quantities if one.name in RECORDED]
    return as_sentence(" and ".join(own)).rstrip(".")


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


def _beside(data: TestPage, box: Box) -> str:
    """Name other tests under way that have a box too."""
    return " and ".join(f"“{other.title}”" for other in data.beside if other.box == box.id)


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
    facts = ("not known" if ball.impacts is None else str(ball.impacts), hours)
    return (ball.number, *facts) if hidden else (ball.number, ball.make or "", ball.box or "", ball.label, *facts)
