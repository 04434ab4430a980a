"""A qualification as chart data: the ruler of what can be told, people, checks in time, the line of errors."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import UTC, datetime

from ballbench.findings.qualification import (
    CalibrationFound,
    CheckFound,
    DriftFound,
    Qualification,
    RepeatsFound,
    Telling,
)
from ballbench.presentation.charts.chart_data import Bar, LimitLine, Row, RowChart
from ballbench.presentation.charts.qualify_data import (
    CalibrationChart,
    CheckChart,
    CheckGroup,
    CheckSpot,
    LinePoint,
    Piece,
    RulerChart,
    RulerMark,
    Window,
)
from ballbench.presentation.charts.value_axis import round_ticks, span_axis
from ballbench.presentation.numbers import number, percent, with_unit
from ballbench.presentation.qualification_wording import (
    drift_remark,
    moments,
    offset_words,
    person_words,
    reading_words,
    signed,
    two_figures,
)
from ballbench.presentation.wording import plural, quantity_words
from ballbench.quantities.uncertain import coverage_factor

__all__ = ["MOST_CHECKS", "MOST_SPECKS", "calibration_picture", "check_picture", "line_at", "people_picture", "ruler"]

MOST_CHECKS = 24
"""Checks on one piece that a picture shows: those that failed first, then the last ones (own choice)."""
MOST_SPECKS = 120
"""Readings of one person that a picture shows as specks (own choice)."""
_LONGEST = 2.4
"""The ruler ends at so many times what one reading tells, unless another mark lies a little beyond (own choice)."""
_STRETCH = 3.6
_ROOM = 4.0
"""A check stands at the picture's edge where it is so many times as far off as allowed (own choice)."""
_SLICES = 80


def ruler(found: Qualification) -> RulerChart | None:
    """Draw up how far apart two balls must be read to be told apart.

    Returns
    -------
    RulerChart or None
        None without a repeat study.
    """
    repeats = found.repeats
    if repeats is None or not repeats.telling or not repeats.telling[0].same > 0.0:
        return None
    marks = _marks(repeats.telling, found.unit)
    told = marks[0].value
    end = max(_LONGEST * told, min(max(1.05 * max(mark.high, mark.value) for mark in marks), _STRETCH * told))
    share = found.tolerance[0] if found.tolerance else None
    window = None
    if share is not None:
        fills = percent(share.share)
        window = Window(
            share.room, share.expanded,
            f"{with_unit(f'{share.room:.3g}', found.unit)} between the limits of a single ball",
            f"in it one reading, ± {with_unit(two_figures(share.expanded), found.unit)}: {fills} of that",
        )  # fmt: skip
    name = f"difference in {quantity_words(found.quantity)} between two balls"
    return RulerChart(found.unit, name, end, told, round_ticks(0.0, end, most=6), marks, window, study_words(repeats))


def _marks(telling: Sequence[Telling], unit: str) -> tuple[RulerMark, ...]:
    marks = [_mark(reading_words(one.readings), one.same, one.same_high, unit) for one in telling]
    first = telling[0]
    if math.isfinite(first.different):
        marks.append(_mark("two people, one ball each, read once", first.different, math.nan, unit))
    return tuple(marks)


def _mark(label: str, value: float, high: float, unit: str) -> RulerMark:
    text = with_unit(two_figures(value), unit)
    if not (math.isfinite(high) and high > value):
        return RulerMark(label, text, value, value)
    return RulerMark(label, f"{text} (up to {two_figures(high)})", value, high)


def study_words(repeats: RepeatsFound) -> str:
    """Say what stands behind a repeat study, ``"n = 6 balls, 36 readings by 2 people"``."""
    people = plural(repeats.people, "person", "people")
    return f"n = {plural(repeats.balls, 'ball')}, {plural(repeats.readings, 'reading')} by {people}"


def people_picture(found: Qualification) -> RowChart | None:
    """Draw up the people of a repeat study: each one's offset from all together, and the readings as specks.

    Returns
    -------
    RowChart or None
        None with one person.
    """
    repeats = found.repeats
    if repeats is None or repeats.people < 2:
        return None
    shown = [one for one in repeats.people_found if math.isfinite(one.difference)]
    if not shown:
        return None
    rows, values = [], [0.0]
    for one in shown:
        specks = one.departures[:MOST_SPECKS]
        low, high = (end if math.isfinite(end) else one.difference for end in (one.low, one.high))
        values += [*specks, low, high]
        bar = Bar(low, one.difference, high, person_words(one, found.unit))
        rows.append(Row(one.person or "not named", note=f"n = {plural(one.readings, 'reading')}", bars=(bar,),
                        specks=specks))  # fmt: skip
    axis = span_axis("reading less the mean of all people", found.unit, values, ticked=True)
    return RowChart("products", axis, tuple(rows), study_words(repeats),
                    reference=LimitLine(0.0, "the line at 0: as all people together"))  # fmt: skip


def check_picture(found: Qualification) -> CheckChart | None:
    """Draw up the checks on each piece in the order of time, with what is allowed.

    Returns
    -------
    CheckChart or None
        None without checks.
    """
    if not found.checks:
        return None
    groups, seen = [], 0
    for piece in dict.fromkeys(check.piece for check in found.checks):
        own = [check for check in found.checks if check.piece == piece]
        drift = next((one for one in found.drift if one.piece == piece and one.beyond_noise), None)
        spots = _spots(own, drift)
        seen += len(spots)
        groups.append(CheckGroup(piece, f"known {with_unit(f'{own[0].known:.10g}', found.unit)}", spots,
                                 "" if drift is None else drift_remark(drift, found.unit)))  # fmt: skip
    reach = max(check.allowed for check in found.checks)
    ends = [end for check in found.checks for end in (check.expected - reach, check.expected + reach)]
    low, high = min(ends) - (_ROOM - 1.0) * reach, max(ends) + (_ROOM - 1.0) * reach
    values = [min(max(check.error, low), high) for check in found.checks]
    axis = span_axis("reading less what the piece is", found.unit, [*values, *ends], ticked=True)
    n_text = f"n = {plural(len(found.checks), 'check')}"
    if seen < len(found.checks):
        n_text += f", {seen} shown, those that failed among them"
    return CheckChart(axis, tuple(groups), n_text)


def _spots(checks: Sequence[CheckFound], drift: DriftFound | None) -> tuple[CheckSpot, ...]:
    whens = moments([check.time for check in checks])
    along = [None] * len(checks) if drift is None else _drift_line(checks, drift)
    texts = signed([check.error for check in checks])
    spots = [
        CheckSpot(when, check.error, check.expected - check.allowed, check.expected + check.allowed, text,
                  check.passed, at)
        for check, when, text, at in zip(checks, whens, texts, along, strict=True)
    ]  # fmt: skip
    if len(spots) <= MOST_CHECKS:
        return tuple(spots)
    order = sorted(range(len(spots)), key=lambda k: (spots[k].passed, -k))[:MOST_CHECKS]
    return tuple(spots[k] for k in sorted(order))


def _drift_line(checks: Sequence[CheckFound], drift: DriftFound) -> list[float]:
    """Give the line of a drift at each check; it passes through their mean, as every line of least squares does."""
    at = [float(k) for k in range(len(checks))]
    if math.isfinite(drift.hours):
        at = hours_of([check.time for check in checks])
    middle, level = math.fsum(at) / len(at), math.fsum(check.error for check in checks) / len(checks)
    return [level + drift.rate * (moment - middle) for moment in at]


def hours_of(times: Sequence[str]) -> list[float]:
    """Give times in ISO 8601 as hours from the first; one without a zone counts as UTC."""
    read = [datetime.fromisoformat(time) for time in times]
    zoned = [moment if moment.tzinfo else moment.replace(tzinfo=UTC) for moment in read]
    return [(moment - zoned[0]).total_seconds() / 3600.0 for moment in zoned]


def calibration_picture(found: Qualification) -> CalibrationChart | None:
    """Draw up the instrument's error against size, with its pieces and the size of the balls.

    Returns
    -------
    CalibrationChart or None
        None without checks.
    """
    line = found.calibration
    if line is None:
        return None
    pieces = []
    for name in dict.fromkeys(check.piece for check in found.checks):
        own = [check for check in found.checks if check.piece == name]
        errors = tuple(check.error for check in own)
        text = f"{name}, {own[0].known:.6g}"
        pieces.append(Piece(text, own[0].known, math.fsum(errors) / len(errors), errors))
    pieces.sort(key=lambda piece: piece.size)
    points = tuple(line_at(line, line.low + (line.high - line.low) * k / _SLICES) for k in range(_SLICES + 1))
    here = line_at(line, line.at)
    values = [0.0, *(error for piece in pieces for error in piece.errors)]
    values += [end for point in (*points, here) for end in (point.low, point.high)]
    axis = span_axis("reading less what the piece is", found.unit, values, ticked=True)
    ends = [number(end, _size_decimals(line)) for end in (line.low, line.high)]
    counted = f"n = {plural(line.pieces, 'piece')}, {plural(line.readings, 'reading')}"
    return CalibrationChart(
        axis, tuple(pieces), points, here, f"these balls, {number(line.at, _size_decimals(line))}",
        f"holds from {with_unit(ends[0], found.unit)}", f"to {with_unit(ends[1], found.unit)}",
        offset_words(line, found.unit), counted,
    )  # fmt: skip


def _size_decimals(line: CalibrationFound) -> int:
    span = max(line.high - line.low, 1e-9)
    return max(2 - math.floor(math.log10(span)), 0)


def line_at(line: CalibrationFound, size: float) -> LinePoint:
    """Give the error at a size with its 95 % interval, from offset, slope and their covariance."""
    away = size - line.at
    error, variance = line.offset, line.offset_sd**2
    if math.isfinite(line.slope):
        error += line.slope * away
        variance += 2.0 * line.correlation * line.offset_sd * line.slope_sd * away + (line.slope_sd * away) ** 2
    half = coverage_factor(line.dof) * math.sqrt(max(variance, 0.0))
    return LinePoint(size, error, error - half, error + half)
