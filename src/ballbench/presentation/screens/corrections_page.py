"""Corrections: every reading with what was said about it later, and the history of all that was said."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ballbench.presentation.numbers import number, with_unit
from ballbench.presentation.screens.drift import check_decimals
from ballbench.presentation.screens.frame import page
from ballbench.presentation.screens.moments import moment_words
from ballbench.presentation.screens.progress import is_hidden
from ballbench.presentation.screens.writing import write
from ballbench.presentation.wording import INVENTED, quantity_words
from ballbench.records.ball_test import PlannedQuantity
from ballbench.records.bench_state import BenchState, CheckResult, KeptReading, OpenQuestion

__all__ = ["CorrectionsPage", "HistoryLine", "corrections_html"]


@dataclass(frozen=True, slots=True)
class HistoryLine:
    """One thing that was said about a reading. Filled by ``workflows/correct.py``.

    Parameters
    ----------
    at, by : str
        When (ISO 8601 with zone) and by whom.
    what : str
        ``corrected``, ``excluded``, ``kept as read``, ``taken back``.
    reading : str
        Which, in words: ``"ball 07, diameter, seam, reading 2"``.
    before, after : str
        What held before and what holds since, with units; may be empty.
    reason : str
        As it was given.
    """

    at: str
    by: str
    what: str
    reading: str
    before: str
    after: str
    reason: str


@dataclass(frozen=True, slots=True)
class CorrectionsPage:
    """The readings of a test and what was said about them. Filled by ``workflows/correct.py``.

    Parameters
    ----------
    state : BenchState
        As the bench has it; readings, questions and checks are shown from it.
    history : tuple of HistoryLine
        The newest first.
    """

    state: BenchState
    history: tuple[HistoryLine, ...] = ()


@dataclass(frozen=True, slots=True)
class _Row:
    """One reading in words; `group` is what it can be picked by: kept, asked, doubt, changed."""

    id: int
    ball: str
    name: str
    where: str
    raw: str
    holds: str
    standing: str
    reason: str
    when: str
    by: str
    group: str
    open: bool
    yes_no: bool


def corrections_html(data: CorrectionsPage) -> str:
    """Write the page of corrections."""
    state = data.state
    test = state.test
    if is_hidden(test):
        body = write("hidden.html.j2", head="Corrections", test=test, what="Readings and what was said of them")
        banner = INVENTED if test.invented else ""
        return page(f"Corrections: {test.title}", body, here="corrections", test=test, banner=banner)
    rows = _rows(state)
    doubtful = [row for row in rows if row.group == "doubt"]
    body = write(
        "corrections.html.j2",
        test=test,
        rows=rows,
        doubtful=doubtful,
        failed=[_failed_words(check) for check in state.checks if not check.passed],
        questions=[_question_words(question, state) for question in state.questions],
        names=list(dict.fromkeys(row.ball for row in rows)),
        history=data.history,
    )
    banner = INVENTED if test.invented else ""
    return page(
        f"Corrections: {test.title}", body, here="corrections", test=test, script="corrections.js", banner=banner
    )


def _rows(state: BenchState) -> list[_Row]:
    balls = {ball.id: f"ball {ball.number}" for ball in state.balls}
    pieces = {piece.id: piece.name for piece in state.references}
    quantities = {quantity.name: quantity for quantity in state.test.quantities}
    names = [balls.get(one.ball or 0) or pieces.get(one.reference or 0, "") for one in state.readings]
    order = {name: i for i, name in enumerate((*balls.values(), *pieces.values()))}
    rows = [_row(one, name, quantities) for one, name in zip(state.readings, names, strict=True)]
    return sorted(rows, key=lambda row: order.get(row.ball, len(order)))


def _row(reading: KeptReading, name: str, quantities: Mapping[str, PlannedQuantity]) -> _Row:
    quantity = quantities.get(reading.quantity)
    words = quantity.words if quantity else quantity_words(reading.quantity)
    where = ", ".join(part for part in (words, reading.axis, f"reading {reading.repeat}") if part)
    return _Row(
        reading.id,
        name,
        f"{name}, {where}",
        where,
        with_unit(reading.text, reading.unit),
        _holds(reading),
        _standing(reading),
        reading.reason,
        moment_words(reading.at),
        reading.by,
        _group(reading),
        reading.standing != "taken back",
        reading.answer is not None,
    )


def _holds(reading: KeptReading) -> str:
    """The corrected result as it was written; empty where nothing was corrected."""
    if reading.standing != "corrected":
        return ""
    return with_unit(reading.corrected_text, reading.corrected_unit or reading.unit)


def _standing(reading: KeptReading) -> str:
    if reading.standing != "kept":
        return reading.standing
    if reading.touched:
        return "in doubt: an instrument check failed"
    return "kept as read, after a question" if reading.confirmed else "kept"


def _group(reading: KeptReading) -> str:
    if reading.standing != "kept":
        return "changed"
    if reading.touched:
        return "doubt"
    return "asked" if reading.confirmed else "kept"


def _failed_words(check: CheckResult) -> str:
    decimals = check_decimals((check,))
    values = [with_unit(number(value, decimals), check.unit) for value in (check.value, check.known, check.allowed)]
    return (
        f"{check.instrument} on {check.reference}, {moment_words(check.at)}: read {values[0]}, known {values[1]}, "
        f"allowed {values[2]} off."
    )


def _question_words(question: OpenQuestion, state: BenchState) -> tuple[str, str, str]:
    """Which reading it was meant for, what was typed and when, and what is asked."""
    place = next((one for one in state.places if one.id == question.place), None)
    name = ""
    if place is not None:
        balls = {ball.id: f"ball {ball.number}" for ball in state.balls}
        pieces = {piece.id: piece.name for piece in state.references}
        who = balls.get(place.ball or 0) or pieces.get(place.reference or 0, "")
        name = ", ".join(part for part in (who, quantity_words(place.quantity), place.axis) if part)
    return name, f"{question.text}, typed {moment_words(question.at)} by {question.by}", question.why
