"""The pictures of a qualification, each with its words and the numbers behind it."""

from __future__ import annotations

import math

from ballbench.findings.qualification import Qualification
from ballbench.findings.qualifying.round_balls import mean_texts, steps_text
from ballbench.presentation.budget_tables import budget_figure
from ballbench.presentation.budget_wording import dof_text
from ballbench.presentation.charts.qualification_pictures import (
    calibration_picture,
    check_picture,
    line_at,
    people_picture,
    ruler,
)
from ballbench.presentation.document import Figure, Table
from ballbench.presentation.numbers import with_unit
from ballbench.presentation.qualification_wording import (
    component_words,
    moments,
    reading_words,
    signed,
    span_words,
    two_figures,
)
from ballbench.presentation.report_tables import caption
from ballbench.presentation.wording import plural, quantity_words

__all__ = [
    "calibration_figure",
    "check_figure",
    "component_table",
    "people_figure",
    "reading_figure",
    "round_ball_table",
    "ruler_figure",
    "squeeze_table",
]


def _heads(unit: str, *names: str) -> tuple[str, ...]:
    return tuple(with_unit(name, f"({unit})" if unit not in {"", "1"} else "") for name in names)


def ruler_figure(found: Qualification) -> Figure | None:
    """Give the ruler of what can be told; None without a repeat study."""
    chart, repeats = ruler(found), found.repeats
    if chart is None or repeats is None:
        return None
    rows = []
    for one in repeats.telling:
        rows.append((reading_words(one.readings), two_figures(one.same), _known(one.same_high)))
        if math.isfinite(one.different):
            by_two = f"{reading_words(one.readings)}, two people, one ball each"
            rows.append((by_two, two_figures(one.different), _known(one.different_high)))
    for share in found.tolerance:
        rows.append((f"room between the limits ({share.title})", f"{share.room:.3g}", ""))
        rows.append(("uncertainty of one reading, either way", two_figures(share.expanded), ""))
    heads = ("", *_heads(found.unit, "differ by", "up to"))
    table = Table("How far apart two balls must be read to be told apart, 95 %", heads, tuple(rows), (1, 2))
    text = (
        "Above the ruler two balls, further apart the more they differ. Hollow and over each other: their difference "
    )
    text += (
        "is lost in the noise. Below it, how far they must be apart, and as a bar how far it may really be, for the "
    )
    text += f"noise is itself known only so well. {chart.n_text}."
    if chart.window is not None:
        text += " The band has a scale of its own."
    says = "; ".join(f"{mark.label}: {mark.text}" for mark in chart.marks)
    return Figure(
        chart, caption(text, invented=found.footing.invented), f"Two balls are told apart from: {says}.", table
    )


def _known(value: float) -> str:
    return two_figures(value) if math.isfinite(value) else ""


def people_figure(found: Qualification) -> Figure | None:
    """Give the people of a repeat study, each with offset and repeats; None with one person."""
    chart, repeats = people_picture(found), found.repeats
    if chart is None or repeats is None:
        return None
    people = [one for one in repeats.people_found if math.isfinite(one.difference)]
    rows = tuple(
        (one.person or "not named", str(one.readings), signed([one.difference])[0], span_words(one.low, one.high),
         two_figures(one.sd) if math.isfinite(one.sd) else "not known")
        for one in people
    )  # fmt: skip
    heads = ("person", "readings", *_heads(found.unit, "offset", "95 %", "SD of own repeats"))
    table = Table("People of the repeat study", heads, rows, (1, 2, 3, 4))
    text = "A row a person. Specks: every reading, less the mean of all people at that place. Bar and ball: the "
    text += f"person's offset from all together, 95 %. {chart.n_text}."
    says = "; ".join(f"{row.label}: {row.bars[0].text}" for row in chart.rows)
    return Figure(chart, caption(text, invented=found.footing.invented), f"Offsets of the people: {says}.", table)


def check_figure(found: Qualification) -> Figure | None:
    """Give the checks in time, piece by piece; None without checks."""
    chart = check_picture(found)
    if chart is None:
        return None
    whens, errors = moments([one.time for one in found.checks]), signed([one.error for one in found.checks])
    rows = tuple(
        (one.piece, when, f"{one.value:.10g}", f"{one.known:.10g}", error, two_figures(one.allowed),
         "passed" if one.passed else "failed")
        for one, when, error in zip(found.checks, whens, errors, strict=True)
    )  # fmt: skip
    heads = ("piece", "when", *_heads(found.unit, "read", "known", "off by", "allowed either way"), "")
    table = Table("Every check", heads, rows, (2, 3, 4, 5))
    failed = sum(not one.passed for one in found.checks)
    text = "A row a check, from the top down in time; the ball is how far the reading was off, the band what is "
    text += (
        "allowed. A check that failed is a hollow ball beyond the band, with the word. A slanting line is drawn only "
    )
    text += "where the readings of a piece moved beyond noise. "
    if any(one.expected for one in found.checks):
        text += "The band stands around what the instrument was stated to read too much. "
    text += f"{chart.n_text}."
    says = f"{len(found.checks)} checks, {failed} failed"
    says += "".join(f"; on {group.piece} the readings {group.remark}" for group in chart.groups if group.remark)
    return Figure(chart, caption(text, invented=found.footing.invented), says + ".", table)


def calibration_figure(found: Qualification) -> Figure | None:
    """Give the instrument's error against size; None without checks."""
    chart, line = calibration_picture(found), found.calibration
    if chart is None or line is None:
        return None
    rows = []
    for piece in chart.pieces:
        at = line_at(line, piece.size)
        rows.append((piece.name, str(len(piece.errors)), signed([piece.mean])[0], *_at(at.error, at.low, at.high)))
    here = line_at(line, line.at)
    rows.append((chart.balls_text, "", "", *_at(here.error, here.low, here.high)))
    heads = ("size", "readings", *_heads(found.unit, "mean error read", "line", "95 %"))
    table = Table("Pieces and the line of errors", heads, tuple(rows), (1, 2, 3, 4))
    text = "Sizes run down as along the instrument's beam, errors across. Filled balls: the pieces, with every reading "
    text += (
        "as a speck. The line is the error that follows, its band 95 %; it ends where its use ends. Hollow ball and "
    )
    text += f"bar: at the size of these balls. {chart.n_text}."
    return Figure(chart, caption(text, invented=found.footing.invented), f"Error against size: {chart.remark}.", table)


def _at(error: float, low: float, high: float) -> tuple[str, str]:
    return signed([round(error, 4)])[0], span_words(low, high)


def reading_figure(found: Qualification) -> Figure | None:
    """Give what the uncertainty of one reading is made of; None without a repeat study."""
    if found.budget is None or found.repeats is None:
        return None
    return budget_figure(
        (found.budget,), quantity_words(found.quantity), found.repeats.balls, invented=found.footing.invented
    )


def component_table(found: Qualification) -> Table | None:
    """Give the sources of spread as standard deviations; None without a repeat study."""
    if found.repeats is None:
        return None
    rows = tuple(
        (component_words(one) + (", put to zero" if one.negative and one.sd == 0.0 else ""), two_figures(one.sd),
         span_words(one.low, one.high), dof_text(one.dof) if math.isfinite(one.dof) else "")
        for one in found.repeats.components
    )  # fmt: skip
    heads = ("what scatters", *_heads(found.unit, "SD", "95 %"), "degrees of freedom")
    return Table("Where the spread of the readings comes from", heads, rows, (1, 2, 3))


def squeeze_table(found: Qualification) -> Table | None:
    """Give how much smaller the jaws make the balls of each make; None where that was not studied."""
    if not found.squeeze:
        return None
    rows = tuple(
        (one.product, f"{one.force:.2g}", two_figures(one.value), two_figures(one.sd),
         span_words(one.expected_low, one.expected_high) or "not worked out")
        for one in found.squeeze
    )  # fmt: skip
    heads = ("make", "force (N)", "smaller by (mm)", "standard uncertainty (mm)", "a model expects (mm)")
    return Table("Squeeze of the jaws at the usual force", heads, rows, (1, 2, 3, 4))


def round_ball_table(found: Qualification) -> Table | None:
    """Give what perfectly round balls show on so many axes; None where that was not studied."""
    if not found.round_ball:
        return None
    rows = tuple(
        (plural(one.axes, "axis", "axes"), mean, steps_text(one.high))
        for one, mean in zip(found.round_ball, mean_texts(found.round_ball), strict=True)
    )
    heads = ("each read once", *_heads(found.unit, "on average", "95 % of round balls, at most"))
    return Table("Diameter variation that a perfectly round ball shows", heads, rows, (1, 2))
