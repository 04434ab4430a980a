"""The simple rule: raw values against limits, compared as the decimals that were displayed."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest


def clause(
    limit: str, *, ball: str = "max", sample: str = "each", strict: bool = False, quantity: str = "diameter"
) -> str:
    """One clause."""
    return f"""[[clause]]
id = "one"
text = "One."
quantity = "{quantity}"
ball = "{ball}"
sample = "{sample}"
{limit}
strict = {str(strict).lower()}
"""


def one_ball(value: str, unit: str = "mm", quantity: str = "diameter") -> list[tuple[object, ...]]:
    """Three balls read at two places, the middle one's larger reading at issue."""
    low = Decimal(value) - 5 * Decimal(1).scaleb(Decimal(value).as_tuple().exponent)
    return [
        ("Curlew", ball, quantity, axis, 1, value if (ball, axis) == (2, "seam") else low, unit)
        for ball in (1, 2, 3)
        for axis in ("seam", "across")
    ]


COLUMNS = ("product", "ball", "quantity", "axis", "repeat", "value", "unit")


def decided(bench: Any, value: str, spec: str, unit: str = "mm") -> tuple[str, int]:
    """Decision and number of balls outside by the simple rule, with no bench file."""
    path = bench.readings(one_ball(value, unit), COLUMNS)
    found = bench.one(path, bench.spec(spec), None, rule="simple", draws=None)
    return found["decision"], found["as_read"]["outside"]


ON_THE_LIMIT = ["40.60", "40.10", "40.30", "39.70", "40.07", "0.30", "66.04", "66.66", "42.67", "73.03"]


@pytest.mark.parametrize("value", [value for value in ON_THE_LIMIT if float(value) > 1])
@pytest.mark.parametrize("strict", [False, True], ids=["inclusive", "strict"])
def test_a_value_on_the_limit_is_inside_unless_the_limit_is_strict(bench: Any, value: str, strict: bool) -> None:
    """A reading that is displayed as exactly the upper limit: met when inclusive, not met when strict."""
    expected = ("not met", 1) if strict else ("met", 0)
    assert decided(bench, value, clause(f'upper = "{value} mm"', strict=strict)) == expected


@pytest.mark.parametrize(
    ("value", "limit"),
    [("2.677", "2.677"), ("1.620", "1.62"), ("1.68", "1.680"), ("2.25", "2.25"), ("2.7", "2.70"), ("1.575", "1.575")],
)
@pytest.mark.parametrize("strict", [False, True], ids=["inclusive", "strict"])
def test_a_value_in_inches_on_a_limit_in_inches(bench: Any, value: str, limit: str, strict: bool) -> None:
    """Readings and limit in inches compare as their decimals, though both are computed in mm (1 in = 25.4 mm)."""
    expected = ("not met", 1) if strict else ("met", 0)
    assert decided(bench, value, clause(f'upper = "{limit} in"', strict=strict), "in") == expected


@pytest.mark.parametrize(
    ("value", "limit"), [("42.672", "1.68"), ("57.15", "2.25"), ("67.9958", "2.677"), ("40.64", "1.6")]
)
@pytest.mark.parametrize("strict", [False, True], ids=["inclusive", "strict"])
def test_a_value_in_millimetres_on_a_limit_in_inches(bench: Any, value: str, limit: str, strict: bool) -> None:
    """A reading in mm that is exactly 25.4 times the limit in inches lies on the limit (1 in = 25.4 mm)."""
    assert Decimal(value) == Decimal(limit) * Decimal("25.4")
    expected = ("not met", 1) if strict else ("met", 0)
    assert decided(bench, value, clause(f'upper = "{limit} in"', strict=strict)) == expected


@pytest.mark.parametrize(("value", "expected"), [("40.60", "met"), ("40.61", "not met"), ("40.59", "met")])
def test_one_step_of_the_display_decides(bench: Any, value: str, expected: str) -> None:
    """One display step beyond the limit is outside, one inside is inside."""
    assert decided(bench, value, clause('upper = "40.60 mm"'))[0] == expected


@pytest.mark.parametrize("strict", [False, True], ids=["inclusive", "strict"])
def test_a_range_on_its_limit(bench: Any, strict: bool) -> None:
    """40.35 - 40.15 is 0.20 as decimals and not as floats: inside when inclusive, outside when strict."""
    assert 40.35 - 40.15 != 0.20
    rows = [("Curlew", 1, "diameter", "seam", 1, "40.35"), ("Curlew", 1, "diameter", "across", 1, "40.15")]
    rows += [("Curlew", 2, "diameter", "seam", 1, "40.20"), ("Curlew", 2, "diameter", "across", 1, "40.10")]
    spec = bench.spec(clause('upper = "0.20 mm"', ball="range", strict=strict))
    found = bench.one(bench.readings(rows), spec, None, rule="simple", draws=None)
    assert found["decision"] == ("not met" if strict else "met")


@pytest.mark.parametrize(
    ("ball", "sample", "value"), [("mean", "mean", 40.2), ("midrange", "mean", 40.2), ("mean", "range", 0.1)]
)
def test_means_and_ranges_on_their_limits(bench: Any, ball: str, sample: str, value: float) -> None:
    """Means and ranges of decimals that come out exactly on the limit are inside it; strictly they are not."""
    rows = [
        ("Curlew", i, "diameter", axis, 1, v)
        for i, pair in enumerate((("40.1", "40.2"), ("40.2", "40.3")))
        for axis, v in zip("ab", pair, strict=True)
    ]
    path = bench.readings(rows)
    for strict, expected in ((False, "met"), (True, "not met")):
        spec = bench.spec(clause(f'upper = "{value} mm"', ball=ball, sample=sample, strict=strict))
        assert bench.one(path, spec, None, rule="simple", draws=None)["decision"] == expected


def test_the_simple_rule_says_nothing_of_uncertainty(bench: Any) -> None:
    """Its findings have no interval, no draws and a chance of 0 or 1, and the rule is named in the result."""
    path = bench.readings(one_ball("40.60"), COLUMNS)
    found = bench.judge(path, bench.spec(clause('upper = "40.60 mm"')), None, rule="simple", draws=None)
    (product,) = found["products"]
    (only,) = product["clauses"]
    assert found["rule"]["name"] == "simple"
    assert found["draws"] == 0
    assert (only["truth"], only["margin"], only["whole_ball"]) == (None, None, None)
    assert only["probability_met"] == 1.0


def test_corrections_of_the_bench_do_not_touch_raw_values(bench: Any) -> None:
    """The simple rule holds what was displayed against the limit, whatever the bench file corrects."""
    path = bench.readings(one_ball("40.60"), COLUMNS)
    shifted = """[instrument.caliper]
quantity = "diameter"
unit = "mm"
resolution = 0.01
calibration = { offset = -0.5, offset_sd = 0.01, scale_sd = 0.0 }
"""
    found = bench.one(path, bench.spec(clause('upper = "40.60 mm"')), shifted, rule="simple", draws=None)
    assert (found["decision"], found["as_read"]["value"]) == ("met", 40.6)


def test_allowed_outside_counts_balls(bench: Any) -> None:
    """With one ball allowed outside, one beyond the limit is met and two are not."""
    spec = clause('upper = "40.20 mm"', ball="mean") + "allowed_outside = 1\n"
    for beyond, expected in ((1, "met"), (2, "not met")):
        rows = [("Curlew", i, "diameter", "seam", 1, "40.30" if i < beyond else "40.10") for i in range(6)]
        found = bench.one(bench.readings(rows), bench.spec(spec, "sample_size = 6\n"), None, rule="simple", draws=None)
        assert (found["decision"], found["as_read"]["outside"]) == (expected, beyond)
