"""One product's forms as chart data: its ball that is surely out of round by most, in its vee, all against lobes."""

from __future__ import annotations

import math

from ballbench.findings.vee.results import SectionForm, VeeProduct, VeeUsed
from ballbench.findings.vee.words import lobes_words
from ballbench.presentation.charts.value_axis import span_axis
from ballbench.presentation.charts.vee_data import LobeDot, LobeRow, VeeChart
from ballbench.presentation.numbers import number
from ballbench.presentation.wording import plural
from ballbench.quantities.rounding import decimals_of

__all__ = ["moved_text", "shown_sections", "vee_picture", "vee_says"]

_EXAMPLE = 3
"""Lobes that are drawn where it is not known how many there are, if three are possible (own choice)."""
_MOST = 40
"""Sections of balls that a picture shows, those with the largest form (own choice)."""
_BLIND, _OUT = "blind", "ruled out"


def vee_picture(product: VeeProduct) -> VeeChart:
    """Draw up one product.

    Parameters
    ----------
    product : VeeProduct
        With one ball at least.

    Returns
    -------
    VeeChart
        The ball is that whose form is largest at the lower end of its band: a wide band says little, not much form.
        Forms run from 0; those that the readings rule out are shown as hollow dots.
    """
    ball, section = max(
        ((ball.ball, section) for ball in product.balls for section in ball.sections),
        key=lambda pair: (pair[1].low if math.isfinite(pair[1].low) else -1.0, max(v.range for v in pair[1].vees)),
    )
    vee = max(section.vees, key=lambda one: one.range)
    lobes, remark = _drawn(section, vee)
    rows = _rows(product)
    values = [dot.form for row in rows for dot in row.dots if dot.fits] or [
        dot.form for row in rows for dot in row.dots
    ]
    axis = span_axis("form if it has so many lobes", "mm", values, floor=0.0, margin=0.06, ticked=True)
    rows = tuple(_inside(row, axis.high) for row in rows)
    label = f"{product.product}, ball {ball}" + (f", {section.section}" if section.section else "")
    n_text = f"n = {plural(len(product.balls), 'ball')}"
    if len(shown_sections(product)) < sum(len(ball.sections) for ball in product.balls):
        n_text += f", {_MOST} largest shown"
    return VeeChart(label, vee.angle, vee.setting, lobes, moved_text(vee), remark, axis, rows, n_text)


def moved_text(vee: VeeUsed) -> str:
    """Print by how much the indicator moved, no finer than its uncertainty."""
    return f"{number(vee.range, max(decimals_of(vee.u), 0))} mm"


def _drawn(section: SectionForm, vee: VeeUsed) -> tuple[int, str]:
    """Give how many lobes to draw, and what the drawing means by them."""
    if not section.told_from_round:
        return 0, "no more movement than a round ball shows"
    if section.lobes:
        return section.lobes, f"{section.lobes} lobes, drawn much too high"
    left = [item.lobes for item in section.by_lobes if item.agrees and item.form is not None]
    if not left:
        return 0, "no number of lobes fits: drawn round"
    lobes = _EXAMPLE if _EXAMPLE in left and vee.angle < 180.0 else left[0]
    return lobes, f"drawn with {lobes} lobes, much too high; how many is not known"


def shown_sections(product: VeeProduct) -> tuple[tuple[str, SectionForm], ...]:
    """Give ball and section of what the picture shows: all, or those with the largest form, in the order read."""
    every = [(ball.ball, section) for ball in product.balls for section in ball.sections]
    if len(every) <= _MOST:
        return tuple(every)
    large = sorted(range(len(every)), key=lambda k: -every[k][1].high if math.isfinite(every[k][1].high) else 0.0)
    return tuple(every[k] for k in sorted(large[:_MOST]))


def _rows(product: VeeProduct) -> tuple[LobeRow, ...]:
    sections = [section for _, section in shown_sections(product)]
    numbers = sorted({item.lobes for section in sections for item in section.by_lobes})
    rows = []
    for n in numbers:
        items = [item for section in sections for item in section.by_lobes if item.lobes == n]
        dots = tuple(LobeDot(item.form.value, item.agrees) for item in items if item.form is not None)
        word = _BLIND if not dots else "" if any(dot.fits for dot in dots) else _OUT
        rows.append(LobeRow(n, dots, word))
    return tuple(rows)


def _inside(row: LobeRow, end: float) -> LobeRow:
    """Leave out dots beyond the axis, which only those that are ruled out can be."""
    return LobeRow(row.lobes, tuple(dot for dot in row.dots if dot.form <= end), row.word)


def vee_says(product: VeeProduct) -> str:
    """Say what the picture shows, for those who do not see it."""
    chart = vee_picture(product)
    parts = []
    for row in chart.rows:
        fitting = [dot.form for dot in row.dots if dot.fits]
        if fitting:
            ends = f"{min(fitting):.3g} to {max(fitting):.3g} mm" if len(fitting) > 1 else f"{fitting[0]:.3g} mm"
            parts.append(f"{lobes_words([row.lobes])}: {ends}")
        else:
            parts.append(f"{lobes_words([row.lobes])}: {row.word}")
    where = "on a flat table" if chart.angle == 180.0 else f"in a vee of {chart.angle:g} degrees"
    return f"{chart.label} {where} moves the indicator by {chart.moved}. Form by lobes: {'; '.join(parts)}."
