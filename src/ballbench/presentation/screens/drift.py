"""Instrument checks: how far each reading of a reference piece lay from what the piece is, in the order of time."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from ballbench.presentation.numbers import number, with_unit
from ballbench.presentation.screens.moments import moment_words
from ballbench.records.bench_state import CheckResult

__all__ = ["CheckRow", "Drift", "check_decimals", "drifts"]

_WIDE, _ROW, _TOP = 336.0, 30.0, 30.0
_LEFT, _RIGHT = 8.0, 236.0  # the values run between these; the numbers stand at the right
_FINEST = 3  # decimals where nothing is allowed (own choice)
_ROOM = 1.5  # the picture reaches this many times as far as is allowed (own choice)


@dataclass(frozen=True, slots=True)
class CheckRow:
    """One check: its place in the picture, and its words.

    Parameters
    ----------
    x, y : float
        Of the ball's centre, in the picture's units.
    beyond : bool
        The deviation is larger than the picture reaches; the ball stands at its edge.
    passed : bool
        Whether it is no further off than allowed.
    when, off, word : str
        When, the deviation with its sign, and ``passed`` or ``failed``, then how many readings that touches.
    value : str
        As read.
    """

    x: float
    y: float
    beyond: bool
    passed: bool
    when: str
    off: str
    word: str
    value: str


@dataclass(frozen=True, slots=True)
class Drift:
    """The checks of one instrument on one reference piece, laid out.

    Parameters
    ----------
    instrument, reference : str
        Names.
    known, allowed, unit : str
        What the piece is, and how far off a reading may be, printed.
    rows : tuple of CheckRow
        In the order of time.
    low, high, middle, height : float
        Where the band begins and ends, the middle line, and the height of the picture of width 336.
    sentence : str
        What the checks say together.
    """

    instrument: str
    reference: str
    known: str
    allowed: str
    unit: str
    rows: tuple[CheckRow, ...]
    low: float
    high: float
    middle: float
    height: float
    sentence: str


def drifts(checks: Sequence[CheckResult]) -> tuple[Drift, ...]:
    """Lay out checks, one picture for each instrument and piece.

    Parameters
    ----------
    checks : sequence of CheckResult
        In the order in which they came.
    """
    order = sorted(checks, key=lambda check: (check.instrument, check.reference))
    groups = groupby(order, key=lambda check: (check.instrument, check.reference))
    return tuple(_drift(tuple(run)) for _, run in groups)


def _drift(checks: tuple[CheckResult, ...]) -> Drift:
    first = checks[0]
    reach = _ROOM * max(check.allowed for check in checks)
    decimals = check_decimals(checks)
    scale = (_RIGHT - _LEFT) / 2.0 / reach
    middle = (_LEFT + _RIGHT) / 2.0
    rows = tuple(_row(check, i, middle, scale, decimals) for i, check in enumerate(checks))
    half = scale * first.allowed
    return Drift(
        first.instrument,
        first.reference,
        with_unit(number(first.known, decimals), first.unit),
        with_unit(number(first.allowed, decimals), first.unit),
        first.unit,
        rows,
        middle - half,
        middle + half,
        middle,
        _TOP + _ROW * len(rows) + 4.0,
        _sentence(checks, decimals),
    )


def _row(check: CheckResult, i: int, middle: float, scale: float, decimals: int) -> CheckRow:
    off = check.value - check.known
    x = middle + scale * off
    sign = "+" if off > 0 else ""
    touched = f", {check.touched} in doubt" if check.touched else ""
    return CheckRow(
        min(max(x, _LEFT), _RIGHT),
        _TOP + _ROW * (i + 0.5),
        not _LEFT <= x <= _RIGHT,
        check.passed,
        moment_words(check.at),
        with_unit(f"{sign}{number(off, decimals)}", check.unit),
        ("passed" if check.passed else "failed") + touched,
        with_unit(number(check.value, decimals), check.unit),
    )


def check_decimals(checks: Sequence[CheckResult]) -> int:
    """Give the decimals with which the values were read, one or two figures of what is allowed.

    Parameters
    ----------
    checks : sequence of CheckResult
        Of one instrument on one piece; never empty.
    """
    allowed = checks[0].allowed
    least = max(0, -math.floor(math.log10(allowed))) if allowed > 0.0 else _FINEST
    read = [check.value for check in checks]
    return least if all(math.isclose(round(value, least), value, abs_tol=1e-9) for value in read) else least + 1


def _sentence(checks: tuple[CheckResult, ...], decimals: int) -> str:
    failed = sum(not check.passed for check in checks)
    times = "once" if len(checks) == 1 else f"{len(checks)} times"
    said = f"Read {times}; {'every check passed' if not failed else f'{failed} failed'}."
    if len(checks) > 1:
        moved = (checks[-1].value - checks[-1].known) - (checks[0].value - checks[0].known)
        sign = "+" if moved > 0 else ""
        said += f" From first to last it moved by {with_unit(sign + number(moved, decimals), checks[0].unit)}."
    return said
