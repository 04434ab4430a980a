from __future__ import annotations

from dataclasses import replace
from types import ModuleType

from ballbench.findings.comparisons import Comparison
from ballbench.findings.results import Findings
from ballbench.presentation.charts.chart_data import Bar, LimitLine, Raw
from ballbench.presentation.charts.clause_pictures import clause_strip, every_ball
from ballbench.presentation.charts.comparison_pictures import balls_by_product, differences, form_by_product
from ballbench.presentation.charts.product_pictures import decision_marks, product_variations, variation_chart
from ballbench.presentation.charts.value_axis import round_ticks, span_axis


def test_strip_holds_band_bar_ball_and_raw_value(example: ModuleType) -> None:
    """The strip of "largest at most 40.60 mm" has that limit, the truth, the whole ball, the raw value and n."""
    chart = clause_strip(example.LARGEST, 24)
    assert chart is not None
    assert (chart.lower, chart.upper) == (None, LimitLine(40.6, "at most 40.60 mm"))
    truth, whole = chart.rows[0].bars
    assert truth == Bar(40.361, 40.392, 40.424, "40.39 mm (40.36 to 40.42)")
    assert (whole.low, whole.high, whole.kind) == (40.372, 40.468, "whole ball")
    assert chart.rows[0].raw == Raw(40.41, "as read 40.41")
    assert chart.n_text == "n = 24 balls"
    assert chart.axis.unit == "mm"
    assert (chart.axis.low < 40.361, chart.axis.high > 40.6) == (True, True)


def test_strip_of_a_spread_begins_at_zero(example: ModuleType) -> None:
    """A standard deviation cannot be negative, so its strip begins at 0."""
    chart = clause_strip(example.SPREAD, 24)
    assert chart is not None
    assert chart.axis.low == 0.0


def test_strip_shows_a_doubtful_limit_as_such(example: ModuleType) -> None:
    """A limit from memory or from practice says so in the picture, one read in the source does not."""
    remarks = [clause_strip(clause, 24) for clause in (example.MASS, example.VARIATION, example.MEAN)]
    assert [chart.remark for chart in remarks if chart] == [
        "limit from memory",
        "limit: common practice, no source",
        "",
    ]


def test_clause_without_truth_or_limit_has_no_strip(example: ModuleType) -> None:
    """Nothing is drawn where nothing is known or nothing limits."""
    assert clause_strip(example.REBOUND, 24) is None
    assert clause_strip(replace(example.MEAN, lower=None, upper=None), 24) is None


def test_every_ball_is_there_in_the_order_of_the_file(example: ModuleType) -> None:
    """Twenty-four balls make twenty-four rows in two boxes; those not surely inside are stressed."""
    chart = every_ball(example.VARIATION_NOT_MET, risk=0.05)
    assert chart is not None
    assert [row.label for row in chart.rows] == [f"{i:02d}" for i in range(1, 25)]
    assert {row.group for row in chart.rows} == {"box K-1", "box K-2"}
    doubtful = {ball.ball for ball in example.VARIATION_NOT_MET.balls if ball.probability_inside < 0.95}
    assert {row.label for row in chart.rows if row.stressed} == doubtful
    assert doubtful
    assert chart.n_text == "n = 24 balls"
    first, ball = chart.rows[0], example.VARIATION_NOT_MET.balls[0]
    assert (first.bars[0].low, first.bars[0].high, first.raw) == (
        ball.truth.low,
        ball.truth.high,
        Raw(ball.as_read, "0.23"),
    )


def test_many_balls_show_the_least_sure_and_say_so(example: ModuleType) -> None:
    """With more balls than rows those with the smallest chance to be inside are kept, and n still counts all."""
    chart = every_ball(example.VARIATION_NOT_MET, risk=0.05, most=7)
    assert chart is not None
    kept = sorted(example.VARIATION_NOT_MET.balls, key=lambda ball: ball.probability_inside)[:7]
    assert {row.label for row in chart.rows} == {ball.ball for ball in kept}
    assert chart.n_text == "n = 24 balls, the 7 least surely inside shown"


def test_clause_on_the_sample_has_no_picture_of_every_ball(example: ModuleType) -> None:
    """The mean of the sample is no ball's own value."""
    assert every_ball(replace(example.MEAN, balls=example.LARGEST.balls), risk=0.05) is None


def test_variation_by_product_holds_raw_and_freed(findings: Findings) -> None:
    """Each product with several places read has its freed interval, its raw value and its n; mass has none."""
    variations, unit = product_variations(findings.products, "diameter")
    chart = variation_chart(variations, "diameter", unit)
    assert chart is not None
    assert [(row.label, row.note) for row in chart.rows] == [
        ("Curlew", "n = 24"),
        ("Dunlin", "n = 24"),
        ("Plover", "n = 24"),
    ]
    assert [row.raw.value for row in chart.rows if row.raw] == [0.105 + 0.018, 0.224 + 0.018, 0.098 + 0.018]
    assert [row.bars[0].median for row in chart.rows] == [0.105, 0.224, 0.098]
    assert (chart.axis.low, chart.axis.unit) == (0.0, "mm")
    assert product_variations(findings.products, "mass") == ((), "")


def test_decision_marks_are_those_of_the_clauses(findings: Findings) -> None:
    """The grid repeats each product's decisions in the requirement's order; a clause it lacks is not tested."""
    short = replace(findings.products[2], clauses=findings.products[2].clauses[:2])
    chart = decision_marks((findings.products[1], short))
    assert chart is not None
    assert chart.columns == ("1", "2", "3", "4", "5", "6")
    assert chart.rows[0].marks == ("met", "met", "not met", "met", "met", "not tested")
    assert chart.rows[1].marks == ("undecided", "met", *["not tested"] * 4)
    assert (chart.rows[0].word, chart.n_text) == ("not met", "n = 48 balls in all")


def test_differences_say_ties_as_ties(comparison: Comparison) -> None:
    """Each pair has its difference, and a word: told apart or tie; the line at 0 is in the picture."""
    chart = differences(comparison)
    assert chart is not None
    assert [row.note for row in chart.rows] == ["tie: not told apart", "told apart", "told apart"]
    assert chart.rows[1].bars[0].median == 0.209
    assert chart.reference is not None
    assert chart.axis.low < chart.reference.value == 0.0 < chart.axis.high
    assert differences(replace(comparison, pairs=())) is None


def test_every_ball_of_a_comparison_is_a_dot(comparison: Comparison) -> None:
    """Twenty-four balls are twenty-four dots above the bar of the mean."""
    chart = balls_by_product(comparison)
    assert chart is not None
    assert [len(row.specks) for row in chart.rows] == [24, 24, 24]
    assert chart.rows[2].bars[0].text == "mean 40.012 mm (39.996 to 40.029)"
    assert chart.n_text == "n = 72 balls in all"


def test_form_is_left_out_where_one_place_was_read(comparison: Comparison) -> None:
    """A product with one place read has no variation to show."""
    bare = replace(comparison.products[0], form=None, form_raw=None)
    chart = form_by_product(replace(comparison, products=(bare, comparison.products[1])))
    assert chart is not None
    assert [row.label for row in chart.rows] == ["Dunlin"]


def test_ticks_are_round_and_inside() -> None:
    """Ticks step by 1, 2 or 5 times a power of ten, at most four of them, all inside the span."""
    assert [tick.text for tick in round_ticks(39.93, 40.32)] == ["40.0", "40.1", "40.2", "40.3"]
    assert [tick.text for tick in round_ticks(39.93, 40.42)] == ["40.0", "40.2", "40.4"]
    assert [tick.text for tick in round_ticks(-0.05, 0.26)] == ["0.0", "0.1", "0.2"]
    assert [tick.text for tick in round_ticks(0, 260)] == ["0", "100", "200"]


def test_axis_of_one_value_still_spans_something() -> None:
    """A single value, or none, makes an axis that can be drawn."""
    assert span_axis("", "mm", [40.0]).low < 40.0 < span_axis("", "mm", [40.0]).high
    assert span_axis("", "mm", [float("nan")]).low < span_axis("", "mm", []).high
