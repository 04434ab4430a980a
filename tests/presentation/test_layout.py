from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from types import ModuleType

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ballbench.findings.comparisons import Comparison
from ballbench.findings.results import ClauseFinding, Findings, Truth
from ballbench.presentation.charts.budget_picture import budget_chart
from ballbench.presentation.charts.chart_data import Chart, RowChart
from ballbench.presentation.charts.clause_pictures import clause_strip, every_ball
from ballbench.presentation.charts.comparison_pictures import balls_by_product, differences, form_by_product
from ballbench.presentation.charts.layout import lay_out, stack_specks
from ballbench.presentation.charts.lettering import shorten, text_width
from ballbench.presentation.charts.product_pictures import decision_marks, product_variations, variation_chart
from ballbench.presentation.charts.sheet import WIDTH, Sheet
from ballbench.presentation.marks import LINE_X, MARKS, mark_of


def all_charts(findings: Findings, comparison: Comparison) -> list[Chart]:
    charts: list[Chart | None] = [differences(comparison), balls_by_product(comparison), form_by_product(comparison)]
    charts += [clause_strip(clause, 24) for product in findings.products for clause in product.clauses]
    charts += [every_ball(clause, 0.05) for product in findings.products for clause in product.clauses]
    charts += [variation_chart(*_diameter(findings)), decision_marks(findings.products)]
    charts += [budget_chart(q.budgets, q.balls) for product in findings.products for q in product.quantities]
    charts += [budget_chart((pair.budget,), 48) for pair in comparison.pairs if pair.budget]
    return [chart for chart in charts if chart is not None]


def _diameter(findings: Findings) -> tuple[object, str, str]:
    variations, unit = product_variations(findings.products, "diameter")
    return variations, "diameter", unit


def faults(sheet: Sheet) -> list[str]:
    """Say what is wrong with a sheet's text: outside, too small, or over other text."""
    found = []
    for text in sheet.texts:
        left, right = text.ends
        if left < -0.5 or right > WIDTH + 0.5 or text.y - text.size / 2 < 0 or text.y + text.size / 2 > sheet.height:
            found.append(f"outside: {text}")
        if text.size < 12:
            found.append(f"small: {text}")
    for one, other in combinations(sheet.texts, 2):
        overlap = min(one.ends[1], other.ends[1]) - max(one.ends[0], other.ends[0])
        if overlap > 0.5 and abs(one.y - other.y) < 0.75 * max(one.size, other.size):
            found.append(f"over each other: {one} {other}")
    return found


def covered(sheet: Sheet) -> list[str]:
    """Say which text lies on a bar or on a ball that is not its own."""
    found = []
    for text in sheet.texts:
        for area in (area for area in sheet.areas if area.tone == "accent"):
            across = min(text.ends[1], sheet.scale.pixel(area.high)) - max(text.ends[0], sheet.scale.pixel(area.low))
            if across > 0.5 and min(text.y + 5, area.bottom) - max(text.y - 5, area.top) > 0.5:
                found.append(f"on a bar: {text} {area}")
        for ball in sheet.balls:
            at = sheet.scale.pixel(ball.value)
            own = ball.radius > 9 and abs(text.x - at) < 1
            if not own and text.ends[0] < at + ball.radius and text.ends[1] > at - ball.radius:
                found += [f"on a ball: {text} {ball}"] if abs(text.y - ball.y) < ball.radius + 4 else []
    return found


def test_text_stays_inside_and_clear_of_other_text(findings: Findings, comparison: Comparison) -> None:
    """In every picture of the example no text leaves the picture, is under 12 px, or lies over other text."""
    for chart in all_charts(findings, comparison):
        assert faults(lay_out(chart)) == []
        assert covered(lay_out(chart)) == []


finite = st.floats(-1e3, 1e3)


@settings(max_examples=60, deadline=None)
@given(
    ball=st.tuples(finite, st.floats(1e-4, 50)),
    limits=st.tuples(finite, st.floats(0.0, 60)),
    sides=st.sampled_from(["lower", "upper", "both"]),
    whole=st.booleans(),
)
def test_strip_is_legible_wherever_the_balls_lie(
    example: ModuleType, ball: tuple[float, float], limits: tuple[float, float], sides: str, *, whole: bool
) -> None:
    """However far the balls lie from their limits, and however close the limits, the strip's text stays legible."""
    (median, half), (limit, width) = ball, limits
    clause: ClauseFinding = replace(
        example.LARGEST,
        truth=Truth(median, median - half, median + half),
        as_read=median + half / 3,
        lower=limit if sides != "upper" else None,
        upper=limit + width if sides != "lower" else None,
        lower_text=f"{limit:.2f} mm",
        upper_text=f"{limit + width:.2f} mm",
        whole_ball=replace(example.LARGEST.whole_ball, truth=Truth(median, median - 2 * half, median + 2 * half))
        if whole
        else None,
    )
    chart = clause_strip(clause, 24)
    assert chart is not None
    assert faults(lay_out(chart)) == []
    assert covered(lay_out(chart)) == []


@settings(max_examples=40, deadline=None)
@given(st.lists(st.tuples(finite, st.floats(1e-4, 50)), min_size=1, max_size=6), st.text(min_size=1, max_size=40))
def test_differences_are_legible_wherever_they_lie(
    comparison: Comparison, places: list[tuple[float, float]], name: str
) -> None:
    """Any differences of any sizes, and any names, leave the picture of differences legible."""
    pairs = tuple(
        replace(comparison.pairs[0], a=name, b=name * 3, difference=Truth(m, m - half, m + half)) for m, half in places
    )
    chart = differences(replace(comparison, pairs=pairs))
    assert chart is not None
    assert faults(lay_out(chart)) == []
    assert covered(lay_out(chart)) == []


def test_long_names_are_cut_with_an_ellipsis(findings: Findings) -> None:
    """A product's name of any length leaves room for the word beside it."""
    long = replace(findings.products[0], product="Very long name of a make " * 8 + "\n球🎾")
    chart = decision_marks((long,))
    assert chart is not None
    sheet = lay_out(chart)
    assert faults(sheet) == []
    assert any(text.text.endswith("…") for text in sheet.texts)


def test_thirty_clauses_fit_the_width(findings: Findings) -> None:
    """More clauses than fit in a line continue in the next."""
    many = tuple(replace(findings.products[0].clauses[0], id=str(i)) for i in range(30))
    chart = decision_marks((replace(findings.products[0], clauses=many),))
    assert chart is not None
    sheet = lay_out(chart)
    assert faults(sheet) == []
    assert len(sheet.balls) == 30


def test_band_lies_between_the_limits_and_is_open_where_there_is_none(example: ModuleType) -> None:
    """The band spans both limits exactly; without a lower limit it runs to the picture's edge."""
    both, one = (lay_out(_strip(clause)) for clause in (example.MEAN, example.LARGEST))
    assert (both.areas[0].low, both.areas[0].high) == (40.0, 40.5)
    assert (round(one.scale.pixel(one.areas[0].low), 6), one.areas[0].high) == (0.0, 40.6)


def _strip(clause: ClauseFinding) -> RowChart:
    chart = clause_strip(clause, 24)
    assert chart is not None
    return chart


def test_bar_and_ball_stand_at_their_values(example: ModuleType) -> None:
    """The solid bar spans the interval, the filled ball its median, the hollow one the raw value."""
    sheet = lay_out(_strip(example.SPREAD))
    assert (sheet.areas[1].low, sheet.areas[1].high) == (0.024, 0.039)
    assert {(ball.value, ball.look) for ball in sheet.balls} == {(0.031, "filled"), (0.034, "hollow")}


@pytest.mark.parametrize(("decision", "place"), [("met", -1), ("undecided", 0), ("not met", 1)])
def test_mark_says_the_decision_by_its_place(decision: str, place: int) -> None:
    """Wholly inside the line is met, on it undecided, wholly beyond it not met."""
    mark = MARKS[decision]
    offset = mark.ball_x - LINE_X
    assert {-1: offset + mark.radius < 0, 0: abs(offset) < mark.radius, 1: offset - mark.radius > 0}[place]
    assert mark.unicode.index("●" if place else "◐") - 2 == 2 * place
    assert len(mark.unicode) == len(mark.ascii) == 5


def test_untested_is_a_hollow_dashed_ball_and_partly_tested_has_the_mark_of_met() -> None:
    """Not tested is told from all others by its shape, and "met as far as tested" is a kind of met."""
    assert not mark_of("not tested").filled
    assert mark_of("met as far as tested") is mark_of("met")


@given(st.lists(st.floats(0, 100), max_size=60))
def test_stacked_dots_never_cover_each_other(pixels: list[float]) -> None:
    """Two dots on one level are at least their width apart."""
    levels = stack_specks(pixels, 6.0)
    for (x, level), (other, same) in combinations(zip(pixels, levels, strict=True), 2):
        assert level != same or abs(x - other) >= 6.0


def test_text_widths_are_those_of_the_published_metrics() -> None:
    """Helvetica, Adobe core font metrics: digits 556, W 944, i 222, space 278 thousandths of the size."""
    assert text_width("0123456789", 10) == pytest.approx(55.6)
    assert text_width("Wi ", 1000) == 944 + 222 + 278


@given(st.text(max_size=60), st.floats(20, 200))
def test_shortened_text_fits(text: str, width: float) -> None:
    """Text that was cut is no wider than asked for, whatever its letters."""
    assert text_width(shorten(text, 12, width), 12) <= width
