from __future__ import annotations

import math
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ballbench.errors import BadRequest
from ballbench.quantities.rounding import decimals_for, decimals_of, format_value, percent, round_to_uncertainty


@pytest.mark.parametrize(
    ("value", "u", "printed"),
    [
        (10.05762, 0.027, "10.058"),  # JCGM 100:2008, 7.2.6, its own example (from memory)
        (40.3617, 0.0123, "40.362"),
        (40.3617, 0.0351, "40.36"),
        (40.3617, 0.35, "40.4"),
        (40.3617, 3.5, "40"),
        (40.3617, 25.0, "40"),
        (1234.5, 35.0, "1230"),
        (1234.5, 250.0, "1230"),
        (1234.5, 3500.0, "1000"),
        (0.00012345, 0.0000031, "0.000123"),
        (7.0, 0.0, "7.000000"),
        (math.nan, 0.1, "not known"),
    ],
)
def test_a_value_stops_at_the_last_figure_that_its_uncertainty_supports(value: float, u: float, printed: str) -> None:
    """Two figures of u where it begins with 1 or 2, one otherwise (own convention within JCGM 100:2008, 7.2.6)."""
    assert round_to_uncertainty(value, u) == printed


@settings(deadline=None, derandomize=True)
@given(value=st.floats(-1e6, 1e6), u=st.floats(1e-5, 1e5))
def test_rounding_moves_a_value_by_at_most_a_sixth_of_its_uncertainty(value: float, u: float) -> None:
    """Printed and true value differ by at most u/6 (exact algebra on the convention)."""
    assert abs(Decimal(round_to_uncertainty(value, u)) - Decimal(value)) <= Decimal(u) / 6 + Decimal("1e-15")


@settings(deadline=None, derandomize=True)
@given(value=st.floats(-1e9, 1e9), decimals=st.integers(-6, 6))
def test_negative_zero_is_never_printed(value: float, decimals: int) -> None:
    """No text is a minus sign before zeros only, and every text has the decimals asked for (exact algebra)."""
    text = format_value(value, decimals)
    assert not (text.startswith("-") and set(text) <= set("-0."))
    assert len(text.partition(".")[2]) == max(decimals, 0)
    assert abs(Decimal(text) - Decimal(repr(value))) <= Decimal(1).scaleb(-decimals) / 2


@pytest.mark.parametrize(
    ("value", "decimals", "printed"),
    [
        (40.605, 2, "40.60"),  # the float lies below, the decimal number on the half: to the even figure
        (40.615, 2, "40.62"),
        (2.5, 0, "2"),
        (3.5, 0, "4"),
        (-0.004, 2, "0.00"),
        (-0.0, 1, "0.0"),
        (-0.006, 2, "-0.01"),
        (-3.0, -1, "0"),
        (1e22, 0, "10000000000000000000000"),
        (math.inf, 2, "∞"),
        (-math.inf, 2, "-∞"),
    ],
)
def test_halves_go_to_the_even_decimal_figure(value: float, decimals: int, printed: str) -> None:
    """The decimal number that a person reads is rounded (ISO 80000-1:2009, annex B, rule A, from memory)."""
    assert format_value(value, decimals) == printed


@pytest.mark.parametrize(
    ("low", "high", "decimals"),
    [
        (40.3612, 40.4187, 3),  # half width 0.029
        (40.31, 40.41, 2),  # 0.05
        (0.0, 367.0, -1),  # 183
        (40.4, 40.4, 6),
        (-math.inf, 40.6, 0),
        (-math.inf, math.inf, 6),
    ],
)
def test_an_interval_has_one_number_of_decimals(low: float, high: float, decimals: int) -> None:
    """The half width stands for the uncertainty (own convention), in either order of the ends."""
    assert decimals_for(low, high) == decimals == decimals_for(high, low)


@pytest.mark.parametrize(
    ("low", "high", "printed"),
    [
        (0.0, 0.117, "0 % to 12 %"),
        (0.0312, 0.0745, "3.1 % to 7.4 %"),
        (-0.0123, 0.0041, "-1.2 % to 0.4 %"),
        (-0.0004, 0.119, "0 % to 12 %"),
        (0.05, 0.05, "5.00 %"),
        (0.05, 0.950001, "0 % to 100 %"),
    ],
)
def test_percentages_show_no_more_figures_than_their_interval_supports(low: float, high: float, printed: str) -> None:
    """24 good of 24 allow 0 % to 12 % bad, not 11.7346 % (own convention; 11.73 % is 1 - 0.05^(1/24))."""
    assert percent(low, high) == printed


def test_an_uncertainty_that_is_none_is_refused() -> None:
    """Negative and NaN are said, not printed."""
    for u in (-0.1, math.nan, math.inf):
        with pytest.raises(BadRequest, match="finite number from 0"):
            decimals_of(u)
