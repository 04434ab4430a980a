"""What an uncertainty is made of: a ball a result, a skin a part, areas as variances.

Variances add, and so do areas: the outer radius of each skin is the uncertainty of all that lies inside it. The core is
what all readings share, and keeps its size however much is read; the skins of scatter grow thinner with every reading.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from ballbench.findings.results import CANCELS, BudgetFinding, BudgetLine
from ballbench.presentation.budget_wording import expanded_text, ordered, share_text, two_figures
from ballbench.presentation.charts.chart_data import BudgetChart, BudgetPart, BudgetRow
from ballbench.presentation.charts.lettering import shorten, text_width
from ballbench.presentation.charts.sheet import NOTE, WIDTH, Ball, Scale, Sheet, Text, Tone
from ballbench.presentation.wording import plural

__all__ = ["LEAST_SHARE", "budget_chart", "lay_out_budget"]

LEAST_SHARE = 0.005
"""Parts with less of the variance are left to the table."""

_SORTS: dict[str, str] = {
    "offset": "instrument", "scale": "instrument", "zero": "instrument",
    "ball_temperature": "conditions", "expansion": "conditions", "squeeze": "conditions",
    "reading": "readings", "places": "places", "balls": "balls",
}  # fmt: skip
_TONES: dict[str, Tone] = {
    "instrument": "accent", "conditions": "limit", "readings": "band", "places": "soft", "balls": "ink",
}  # fmt: skip
_SHORT = {
    "zero": "zero", "ball_temperature": "temperature", "expansion": "expansion", "squeeze": "squeeze",
    "reading": "readings", "places": "places", "balls": "balls",
}  # fmt: skip
"""In the picture, where the table beside it has the full words."""
_MIDDLE, _LARGEST, _COLUMN = 54.0, 50.0, 114.0
_LEAD, _PITCH, _SPECK = 13.0, 17.0, 4.2


def budget_chart(budgets: Sequence[BudgetFinding], balls: int) -> BudgetChart | None:
    """Draw up the budgets of one quantity, or of one difference.

    Parameters
    ----------
    budgets : sequence of BudgetFinding
        In one unit.
    balls : int
        How many balls stand behind them.

    Returns
    -------
    BudgetChart or None
        None without budgets, or where nothing is uncertain.
    """
    rows = []
    for budget in budgets:
        kept = [line for line in ordered(budget.lines) if line.share >= LEAST_SHARE or line.note == CANCELS]
        label = budget.of[:1].upper() + budget.of[1:]
        rows.append(BudgetRow(label, expanded_text(budget), tuple(map(_part, kept))))
    if not any(part.size > 0.0 for row in rows for part in row.parts):
        return None
    return BudgetChart(tuple(rows), f"n = {plural(balls, 'ball')}")


def _part(line: BudgetLine) -> BudgetPart:
    cause, _, product = line.name.partition(" ")
    gone = line.note == CANCELS
    size = line.u if gone else line.contribution
    words = _SHORT.get(cause, line.words.removeprefix("the ")) + (f", {product}" if product else "")
    sort = _SORTS[cause]
    return BudgetPart(words, two_figures(size), share_text(line), size, sort, cancels=gone)  # type: ignore[arg-type]


def lay_out_budget(chart: BudgetChart) -> Sheet:
    """Lay out a budget's balls, each with its parts named beside it.

    Parameters
    ----------
    chart : BudgetChart
        The parts from the core outwards.

    Returns
    -------
    Sheet
        All balls on one scale: the largest fills its column.
    """
    scale = Scale(0.0, WIDTH, 0.0, WIDTH)
    largest = max(_radius(row.parts) for row in chart.rows)
    balls: list[Ball] = []
    texts = [Text(WIDTH - 2, 9, shorten(chart.n_text, NOTE, WIDTH - 4), align="right")]
    y = 24.0
    for row in chart.rows:
        radius = _LARGEST * _radius(row.parts) / largest
        height = max(2 * radius, 2 * _LEAD + _PITCH * len(row.parts)) + 6
        balls += _skins(row, y + height / 2, _LARGEST / largest)
        texts += _row_texts(row, y, height)
        balls += _specks(row, y, height)
        y += height + 12
    return Sheet(scale, y, (), (), tuple(balls), tuple(texts))


def _radius(parts: Sequence[BudgetPart]) -> float:
    """Size of all parts together, those that cancel too."""
    return math.hypot(*(part.size for part in parts))


def _skins(row: BudgetRow, middle: float, per_unit: float) -> list[Ball]:
    """Give circles from the largest to the smallest, so that each leaves a skin of the one before it."""
    circles: list[Ball] = []
    reached = 0.0
    for part in row.parts:
        if not part.cancels:
            reached = math.hypot(reached, part.size)
            circles.append(Ball(_MIDDLE, middle, reached * per_unit, _TONES[part.sort]))
    outline = [Ball(_MIDDLE, middle, reached * per_unit + 1.2, "limit", "hollow")] if reached else []
    whole = _radius(row.parts)
    if whole > reached:
        outline.append(Ball(_MIDDLE, middle, whole * per_unit, "limit", "dashed"))
    return [*outline, *reversed(circles)]


def _lines_from(row: BudgetRow, top: float, height: float) -> float:
    """Give the middle of the first part's line: the column of text stands beside the middle of its ball."""
    block = _LEAD + 4 + _PITCH * len(row.parts)
    return top + (height - block) / 2 + _LEAD + 4 + _PITCH / 2


def _row_texts(row: BudgetRow, top: float, height: float) -> list[Text]:
    """Give the result's name and uncertainty, and a line for each part."""
    y = _lines_from(row, top, height)
    head = y - _PITCH / 2 - 4 - _LEAD / 2
    room = WIDTH - 4 - _COLUMN - text_width(row.note, NOTE) - 8
    texts = [
        Text(_COLUMN, head, shorten(row.label, _LEAD, room), "ink", _LEAD),
        Text(WIDTH - 2, head, row.note, "ink", align="right"),
    ]
    shares = max((text_width(part.share_text, NOTE) for part in row.parts), default=0.0)
    for part in row.parts:
        sizes = WIDTH - 2 - shares - 8
        left = _COLUMN + 2 * _SPECK + 7
        room = sizes - text_width(part.text, NOTE) - 6 - left
        texts += [
            Text(left, y, shorten(part.words, NOTE, room)),
            Text(sizes, y, part.text, "ink", align="right"),
            Text(WIDTH - 2, y, part.share_text, align="right"),
        ]
        y += _PITCH
    return texts


def _specks(row: BudgetRow, top: float, height: float) -> list[Ball]:
    """Give each part's line a small ball of its skin's look."""
    y = _lines_from(row, top, height)
    found = []
    for part in row.parts:
        if part.cancels:
            found.append(Ball(_COLUMN + _SPECK, y, _SPECK, "limit", "dashed"))
        else:
            found.append(Ball(_COLUMN + _SPECK, y, _SPECK + 1.2, "limit", "hollow"))
            found.append(Ball(_COLUMN + _SPECK, y, _SPECK, _TONES[part.sort]))
        y += _PITCH
    return found
