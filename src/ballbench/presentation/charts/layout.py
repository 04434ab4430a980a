"""Chart data become a laid-out sheet: where each band, bar, ball and number stands. Pure arithmetic, no drawing."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from ballbench.presentation.charts.bounce_data import DropsChart, SpeedChart
from ballbench.presentation.charts.bounce_layout import lay_out_drops, lay_out_speeds
from ballbench.presentation.charts.budget_picture import lay_out_budget
from ballbench.presentation.charts.calibration_layout import lay_out_calibration
from ballbench.presentation.charts.chart_data import Bar, BudgetChart, Chart, MarkChart, RowChart
from ballbench.presentation.charts.check_layout import lay_out_checks
from ballbench.presentation.charts.drop_data import FilmChart
from ballbench.presentation.charts.drop_layout import lay_out_film
from ballbench.presentation.charts.ending_layout import lay_out_endings
from ballbench.presentation.charts.grid_layout import lay_out_grid
from ballbench.presentation.charts.lettering import shorten, text_width
from ballbench.presentation.charts.outline_data import EdgeChart, OutlineChart
from ballbench.presentation.charts.outline_layout import lay_out_edge, lay_out_outline
from ballbench.presentation.charts.plan_data import EndingChart, GridChart, TrayChart
from ballbench.presentation.charts.qualify_data import CalibrationChart, CheckChart, RulerChart
from ballbench.presentation.charts.roll_data import RollChart
from ballbench.presentation.charts.roll_layout import lay_out_roll
from ballbench.presentation.charts.ruler_layout import lay_out_ruler
from ballbench.presentation.charts.sheet import NOTE, WIDTH, Area, Ball, Line, Scale, Sheet, Text, Tone, beside, centred
from ballbench.presentation.charts.speck_piles import stack_specks
from ballbench.presentation.charts.tray_layout import lay_out_trays
from ballbench.presentation.charts.vee_data import VeeChart
from ballbench.presentation.charts.vee_layout import lay_out_vee
from ballbench.presentation.marks import LINE_X, mark_of
from ballbench.presentation.marks import WIDTH as MARK_WIDTH

__all__ = ["lay_out", "stack_specks"]

_SIDE = 12.0
_BALL, _RAW, _SPECK = 5.0, 4.5, 2.8
_LEAD = 13.0
_PITCH = 20.0


def lay_out(chart: Chart) -> Sheet:
    """Lay out a picture.

    Parameters
    ----------
    chart : Chart
        Its data.

    Returns
    -------
    Sheet
        No text leaves the sheet, and none is smaller than 12 px.
    """
    if isinstance(chart, RowChart):
        return {"strip": _strip, "balls": _balls, "products": _products}[chart.shape](chart)
    return _LAYOUTS[type(chart)](chart)


class _Parts:
    """Collects the parts of a sheet while it is laid out."""

    def __init__(self, scale: Scale) -> None:
        self.scale = scale
        self.areas: list[Area] = []
        self.lines: list[Line] = []
        self.balls: list[Ball] = []
        self.texts: list[Text] = []

    def sheet(self, height: float) -> Sheet:
        return Sheet(self.scale, height, tuple(self.areas), tuple(self.lines), tuple(self.balls), tuple(self.texts))

    def band(self, chart: RowChart, top: float, bottom: float, edges: tuple[float, float] = (0.0, WIDTH)) -> None:
        """Draw the band between the limits, open to an edge (px) where there is one limit only, and their lines."""
        if chart.lower is None and chart.upper is None:
            return
        from_zero = chart.lower is None and self.scale.low == 0.0
        low = chart.lower.value if chart.lower else self.scale.low if from_zero else self.scale.value(edges[0])
        high = chart.upper.value if chart.upper else self.scale.value(edges[1])
        self.areas.insert(0, Area(low, high, top, bottom, "band"))
        for limit in (chart.lower, chart.upper):
            if limit is not None:
                self.lines.append(Line(limit.value, top - 4, bottom + 4, "limit"))

    def limit_texts(self, chart: RowChart, y: float) -> None:
        """Print the limits in one line; joined where they would touch."""
        known = [limit for limit in (chart.lower, chart.upper) if limit is not None]
        placed = [centred(self.scale.pixel(limit.value), y, limit.text) for limit in known]
        if len(placed) == 2 and placed[0].ends[1] + 8 > placed[1].ends[0]:
            middle = sum(self.scale.pixel(limit.value) for limit in known) / 2
            placed = [centred(middle, y, " to ".join(limit.text for limit in known))]
        elif len(placed) == 1 and chart.lower is None and self.scale.low == 0.0 and placed[0].ends[0] > _SIDE + 14:
            placed.append(centred(self.scale.pixel(0.0), y, "0"))
        self.texts += placed

    def bar(self, bar: Bar, y: float, half: float = 7.0, radius: float = _BALL) -> None:
        """Draw an interval, with its ball unless it is the whole ball's."""
        if bar.kind == "whole ball":
            self.areas.append(Area(bar.low, bar.high, y - 3.5, y + 3.5, "accent", hollow=True))
            return
        self.areas.append(Area(bar.low, bar.high, y - half, y + half, "accent"))
        self.balls.append(Ball(bar.median, y, radius))

    def words(
        self, left: float, right: float, y: float, text: str, tone: Tone = "soft", clear: float | None = None
    ) -> float:
        """Print text beside what spans two pixels and clear of a line, or below; give the height this took below."""
        placed = beside(left, right, y, text, tone)
        if placed is not None and not (clear is not None and placed.ends[0] - 3 < clear < placed.ends[1] + 3):
            self.texts.append(placed)
            return 0.0
        self.texts.append(centred((left + right) / 2, y + 16, text, tone=tone))
        return 16.0

    def bar_text(self, bar: Bar, y: float, radius: float = _BALL, clear: float | None = None) -> float:
        """Print the numbers of an interval; give the height that this took below."""
        left = min(self.scale.pixel(bar.low), self.scale.pixel(bar.median) - radius)
        right = max(self.scale.pixel(bar.high), self.scale.pixel(bar.median) + radius)
        return self.words(left, right, y, bar.text, "ink" if bar.kind == "truth" else "soft", clear)

    def raw(self, value: float, text: str, y: float) -> float:
        """Draw the small hollow ball of what was read, and its text; give the height that this took below."""
        self.balls.append(Ball(value, y, _RAW, look="hollow"))
        at = self.scale.pixel(value)
        return self.words(at - _RAW, at + _RAW, y, text)


def _strip(chart: RowChart) -> Sheet:
    row = chart.rows[0]
    parts = _Parts(Scale(chart.axis.low, chart.axis.high, _SIDE, WIDTH - _SIDE))
    main = row.bars[0]
    room = WIDTH - 2 - text_width(chart.n_text, NOTE) - 10
    parts.texts.append(Text(WIDTH - 2, 9, chart.n_text, align="right"))
    parts.texts.append(centred(parts.scale.pixel(main.median), 9, main.text, tone="ink", size=_LEAD, right=room))
    parts.band(chart, 22, 52)
    parts.bar(main, 37)
    y = 68.0
    for bar in row.bars[1:]:
        parts.bar(bar, y)
        y += parts.bar_text(bar, y, radius=0.0) + _PITCH
    if row.raw is not None:
        y += parts.raw(row.raw.value, row.raw.text, y) + _PITCH
    parts.limit_texts(chart, y + 2)
    if chart.remark:
        y += 17
        parts.texts.append(centred(WIDTH / 2, y + 2, chart.remark))
    return parts.sheet(y + 12)


def _balls(chart: RowChart) -> Sheet:
    note_width = max(text_width(row.note, NOTE) for row in chart.rows)
    labels = [shorten(row.label, NOTE, 60) for row in chart.rows]
    groups = {row.group: shorten(row.group, NOTE, 76) for row in chart.rows}
    label_width = max(20.0, max(text_width(label, NOTE) for label in (*labels, *groups.values())) + 2)
    parts = _Parts(Scale(chart.axis.low, chart.axis.high, label_width + 8, WIDTH - note_width - 8))
    parts.texts.append(Text(WIDTH - 2, 9, shorten(chart.n_text, NOTE, WIDTH - 4), align="right"))
    parts.limit_texts(chart, 28)
    y, group = 54.0, ""
    for row, label in zip(chart.rows, labels, strict=True):
        if row.group and row.group != group:
            group = row.group
            parts.texts.append(Text(2, y, groups[group]))
            y += _PITCH
        _ball_number(parts, label, y, label_width, stressed=row.stressed)
        for bar in row.bars:
            parts.bar(bar, y - 2, half=4.6, radius=3.4)
        if row.raw is not None:
            parts.balls.append(Ball(row.raw.value, y + 6, 2.8, look="hollow"))
        parts.texts.append(Text(WIDTH - 2, y, row.note, "ink" if row.stressed else "soft", align="right"))
        y += _PITCH
    parts.band(chart, 42, y - _PITCH / 2 + 1, edges=(parts.scale.left - 4, parts.scale.right + 4))
    if chart.remark:
        parts.texts.append(centred(WIDTH / 2, y + 6, chart.remark))
        y += 17
    return parts.sheet(y)


def _ball_number(parts: _Parts, label: str, y: float, width: float, *, stressed: bool) -> None:
    """Draw a ball as a circle with its number; a longer name stands without."""
    middle = min(width / 2 + 1, 20.0)
    if text_width(label, NOTE) <= 15.0:
        parts.balls.append(Ball(parts.scale.value(middle), y, 9.2, "ink" if stressed else "line",
                                look="filled" if stressed else "hollow"))  # fmt: skip
        parts.texts.append(Text(middle, y + 0.5, label, "card" if stressed else "ink", align="center"))
    else:
        parts.texts.append(Text(2, y, label, "ink" if stressed else "soft"))


def _products(chart: RowChart) -> Sheet:
    parts = _Parts(Scale(chart.axis.low, chart.axis.high, _SIDE, WIDTH - _SIDE))
    parts.texts.append(Text(WIDTH - 2, 9, chart.n_text, align="right"))
    y = 32.0
    for row in chart.rows:
        room = WIDTH - 4 - text_width(row.note, NOTE) - 10
        parts.texts.append(Text(2, y, shorten(row.label, _LEAD, room), "ink", _LEAD))
        parts.texts.append(Text(WIDTH - 2, y, row.note, "ink" if row.stressed else "soft", align="right"))
        y += 20
        if row.specks:
            y = _specks(parts, row.specks, y)
        clear = None
        for bar in row.bars:
            if chart.reference is not None:
                clear = parts.scale.pixel(chart.reference.value)
                parts.lines.append(Line(chart.reference.value, y - 9, y + 9, "limit"))
            parts.bar(bar, y)
            y += parts.bar_text(bar, y, clear=clear) + _PITCH
        if row.raw is not None:
            y += parts.raw(row.raw.value, row.raw.text, y) + _PITCH
        y += 10
    bottom = y - 12
    for tick in chart.axis.ticks:
        parts.lines.append(Line(tick.value, bottom, bottom + 5, "limit", 1.0))
        parts.texts.append(centred(parts.scale.pixel(tick.value), bottom + 14, tick.text))
    unit = "" if chart.axis.unit in {"", "1"} else f", {chart.axis.unit}"
    parts.texts.append(centred(WIDTH / 2, bottom + 31, chart.axis.name + unit))
    if chart.reference is not None:
        parts.texts.append(centred(WIDTH / 2, bottom + 48, chart.reference.text))
        bottom += 17
    return parts.sheet(bottom + 42)


def _specks(parts: _Parts, values: Sequence[float], y: float) -> float:
    """Single balls as dots, piled up where they would cover each other; returns the next free height."""
    pixels = [parts.scale.pixel(value) for value in values]
    levels = stack_specks(pixels, 2 * _SPECK + 0.8)
    step, most = 2 * _SPECK + 0.4, max(levels)
    step = min(step, 34.0 / max(most, 1))
    base = y + most * step
    for value, level in zip(values, levels, strict=True):
        parts.balls.append(Ball(value, base - level * step, _SPECK, "ink"))
    return base + 16


def _marks(chart: MarkChart) -> Sheet:
    per_line = 12
    cell = min(56.0, (WIDTH - 4) / min(len(chart.columns), per_line))
    parts = _Parts(Scale(0.0, WIDTH, 0.0, WIDTH))
    parts.texts.append(Text(WIDTH - 2, 9, chart.n_text, align="right"))
    y = 30.0
    for row in chart.rows:
        room = WIDTH - 4 - text_width(row.word, NOTE) - 10
        parts.texts.append(Text(2, y, shorten(row.label, _LEAD, room), "ink", _LEAD))
        parts.texts.append(Text(WIDTH - 2, y, row.word, "ink", align="right"))
        for start in range(0, len(chart.columns), per_line):
            y += 19
            for k, (head, decision) in enumerate(
                zip(chart.columns[start : start + per_line], row.marks[start : start + per_line], strict=True)
            ):
                x = 2 + (k + 0.5) * cell
                parts.texts.append(Text(x, y, head, align="center"))
                _mark(parts, decision, x, y + 18, min(cell / MARK_WIDTH, 0.8) * 0.92)
            y += 22
        y += 22
    return parts.sheet(y - 8)


def _mark(parts: _Parts, decision: str, x: float, y: float, size: float) -> None:
    """Draw a decision mark with its middle at (x, y)."""
    mark = mark_of(decision)
    left = x - MARK_WIDTH / 2 * size
    ball = left + mark.ball_x * size
    if not mark.filled:
        parts.balls.append(Ball(ball, y, mark.radius * size, look="dashed"))
        return
    line = left + LINE_X * size
    parts.areas.append(Area(left, line, y - 9 * size, y + 9 * size, "band"))
    parts.lines.append(Line(line, y - 13 * size, y + 13 * size, "limit"))
    parts.balls.append(Ball(ball, y, mark.radius * size))


_LAYOUTS: dict[type, Callable[[Any], Sheet]] = {
    MarkChart: _marks,
    BudgetChart: lay_out_budget,
    RulerChart: lay_out_ruler,
    CheckChart: lay_out_checks,
    CalibrationChart: lay_out_calibration,
    TrayChart: lay_out_trays,
    EndingChart: lay_out_endings,
    GridChart: lay_out_grid,
    VeeChart: lay_out_vee,
    OutlineChart: lay_out_outline,
    EdgeChart: lay_out_edge,
    DropsChart: lay_out_drops,
    SpeedChart: lay_out_speeds,
    FilmChart: lay_out_film,
    RollChart: lay_out_roll,
}
