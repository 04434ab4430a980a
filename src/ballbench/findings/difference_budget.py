"""The budget of a difference of means: what both products share cancels, and the lines say so."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ballbench.findings.budget_words import line_words, tool_words
from ballbench.findings.budgets import Sampling, assembled, like_these_inputs, parted
from ballbench.findings.results import CANCELS, BudgetFinding, BudgetLine
from ballbench.records import Bench
from ballbench.statistics.preparation import Prepared, Shared
from ballbench.statistics.study import Floats

__all__ = ["PARTLY", "Side", "difference_budget"]

PARTLY = "in part the same for both"
_NAMES = {"calibration": "offset", "temperature": "ball_temperature"}
_LEFT, _FELT = 0.01, 0.01
"""An error cancels when at most a hundredth of it is left, and that is at most a hundredth of everything else (own
choice): what remains of a shared scale or temperature when the means differ a little is no reason to speak of it."""


@dataclass(frozen=True, slots=True)
class Side:
    """One product of a difference: its name, its readings and errors, and how its balls spread."""

    product: str
    prepared: Prepared
    bench: Bench
    sampling: Sampling


def difference_budget(
    a: Side, b: Side, left: tuple[Sequence[Shared], Sequence[Shared]], drawn: Floats
) -> BudgetFinding:
    """Give the budget of the mean of balls like a's minus that of balls like b's.

    Parameters
    ----------
    a, b : Side
        The products.
    left : (rows of a, rows of b)
        What is left of the shared errors in the difference, as the draws count it.
    drawn : (N,) float array
        Draws of the difference, base unit.

    Returns
    -------
    BudgetFinding
        In the base unit. An error that cancels stands in a line with the note `CANCELS`; its `u` is what it brings to
        one product's mean.

    Notes
    -----
    JCGM 100:2008, equation (16) with correlation 1 for a shared error: (c_a - c_b)^2 u^2, which is 0 where both
    products bear it alike.
    """
    lines = [line for side, sign in ((a, 1.0), (b, -1.0)) for line in _own_lines(side, sign)]
    lines += _shared_lines(a, b, left, math.hypot(*(line.contribution for line in lines)))
    value = float(np.median(drawn))
    unit, tool = a.prepared.sample.unit, a.prepared.instrument.name
    made = assembled("difference of means", unit, value, lines, drawn, tool)
    return replace(made, notes=parted(made, a.prepared, b.prepared))


def _own_lines(side: Side, sign: float) -> list[BudgetLine]:
    """Scatter and sampling of one product: nothing of it is shared."""
    inputs = like_these_inputs(side.prepared, side.bench, side.sampling)
    unit = side.prepared.sample.unit
    lines = []
    for name in ("reading", "balls", "places"):
        known = inputs[name].known.uncertain()
        if known.u > 0.0:
            words = f"{line_words(name, '')}, {side.product}"
            kind = inputs[name].kind
            lines.append(
                BudgetLine(f"{name} {side.product}", words, kind, known.u, unit, sign, known.u, known.dof, 0.0)
            )
    return lines


def _shared_lines(a: Side, b: Side, left: tuple[Sequence[Shared], Sequence[Shared]], rest: float) -> list[BudgetLine]:
    """Give one line for each kind of shared error, with what is left of it; `rest` is what everything else adds."""
    sides = (a.prepared.shared, b.prepared.shared)
    unit = a.prepared.sample.unit
    lines = []
    for kind in dict.fromkeys(_plain(row) for rows in sides for row in rows):
        before = max(_size(rows, kind) for rows in sides)
        after = math.hypot(*(_size(rows, kind) for rows in left))
        if before == 0.0:
            continue
        alone = math.hypot(*(_size(rows, kind) for rows in sides))
        gone = after <= _LEFT * before and after <= _FELT * rest
        note = CANCELS if gone else "" if math.isclose(after, alone, rel_tol=1e-6) else PARTLY
        slope = after / before
        name = _NAMES.get(kind, kind)
        words = _words(name, a, b)
        lines.append(BudgetLine(name, words, "B", before, unit, slope, slope * before, math.inf, 0.0, note))
    return lines


def _words(name: str, a: Side, b: Side) -> str:
    """Name a shared error; each make has its own where the instruments differ."""
    tools = {side.prepared.instrument.name for side in (a, b)}
    if name == "offset" and len(tools) > 1:
        return "the instruments' own errors"
    return f"{tool_words(tools.pop())}'s own error" if name == "offset" else line_words(name, "")


def _plain(row: Shared) -> str:
    return row.kind.removesuffix(" as common")


def _size(rows: Sequence[Shared], kind: str) -> float:
    """Standard uncertainty that the rows of a kind bring together."""
    return math.sqrt(sum((row.sd * row.weight) ** 2 for row in rows if _plain(row) == kind))
