from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ballbench.findings.results import Truth
from ballbench.presentation.numbers import as_read_number, measured, number, percent, share, truth_decimals
from ballbench.presentation.wording import duration_words, plural


def test_value_prints_no_finer_than_its_interval() -> None:
    """A half width of 0.03 mm supports two decimals (JCGM 100:2008, 7.2.6: at most two figures of the uncertainty)."""
    assert measured(Truth(40.3912, 40.3605, 40.4207), "mm") == "40.39 mm (40.36 to 40.42)"


def test_rounding_never_moves_a_value_to_the_other_side_of_a_limit() -> None:
    """A median of 40.597 under a limit of 40.60 prints 40.597, not 40.60; an end may print on the limit, not across."""
    assert measured(Truth(40.597, 40.560, 40.634), "mm") == "40.60 mm (40.56 to 40.63)"
    assert measured(Truth(40.597, 40.560, 40.634), "mm", (None, 40.60)) == "40.597 mm (40.560 to 40.634)"
    assert measured(Truth(40.560, 40.523, 40.597), "mm", (None, 40.60)) == "40.56 mm (40.52 to 40.60)"
    assert measured(Truth(40.560, 40.523, 40.597), "mm", (None, 40.598)) == "40.560 mm (40.523 to 40.597)"


def test_pure_number_has_no_unit() -> None:
    """The unit of a pure number, "1", is not printed."""
    assert measured(Truth(0.921, 0.884, 0.958), "1") == "0.92 (0.88 to 0.96)"


def test_negative_numbers_have_a_minus_sign_and_zero_has_none() -> None:
    """A printed negative number carries U+2212, and minus zero is printed as zero."""
    assert number(-0.126, 2) == "−0.13"
    assert number(-0.001, 2) == "0.00"


def test_raw_value_prints_no_more_digits_than_were_read() -> None:
    """A reading of 40.41 stays 40.41 beside a truth of three decimals."""
    assert as_read_number(40.41, 3) == "40.41"
    assert as_read_number(40.227083, 3) == "40.227"
    assert as_read_number(0.2, 3, least=2) == "0.20"


@pytest.mark.parametrize(
    ("probability", "text"),
    [(0.78, "78 %"), (0.998, "99.8 %"), (0.99999, "over 99.9 %"), (0.0, "under 0.1 %"), (0.004, "0.4 %"),
     (None, "not known"), (math.nan, "not known")],
)  # fmt: skip
def test_probabilities_are_finer_near_certainty_and_never_certain(probability: float | None, text: str) -> None:
    """A simulated share is never printed as 0 or 100 %, and what is not known is said so."""
    assert percent(probability) == text


@given(st.floats(0.0006, 0.9994), st.sampled_from([0.01, 0.05, 0.1, 0.25]))
def test_printed_probability_stays_on_its_side_of_the_threshold(probability: float, risk: float) -> None:
    """A chance of 94.96 % under a threshold of 95 % is never printed as 95 %, down to a ten-thousandth."""
    printed = float(percent(probability, (risk, 1 - risk)).removesuffix(" %")) / 100
    for threshold in (risk, 1 - risk):
        if abs(probability - threshold) > 1e-4:
            assert (printed >= threshold - 1e-12) == (probability >= threshold)


@given(st.floats(-1e4, 1e4), st.floats(1e-4, 10.0), st.floats(0.0, 1.0))
def test_printed_interval_holds_the_truth_to_its_last_figure(low: float, width: float, place: float) -> None:
    """Each printed end is within a fifth of the interval's width of the true end."""
    truth = Truth(low + place * width, low, low + width)
    decimals = truth_decimals(truth)
    assert abs(round(truth.low, decimals) - truth.low) <= 0.2 * width
    assert abs(round(truth.high, decimals) - truth.high) <= 0.2 * width


def test_share_keeps_its_figures_within_its_interval() -> None:
    """A share of 29 % known from 14 to 47 % prints whole per cents."""
    assert share(Truth(0.2931, 0.1408, 0.4712)) == "29 % (14 to 47)"
    assert share(Truth(0.0, 0.0, 0.0003)) == "under 0.1 %"


def test_counts_and_times_are_words_of_their_number() -> None:
    """One ball is singular, and bench time turns from minutes into hours at an hour and a half."""
    assert (plural(1, "ball"), plural(2, "axis", "axes")) == ("1 ball", "2 axes")
    assert (duration_words(20), duration_words(130), duration_words(math.nan)) == ("about 20 min", "about 2 h", "")


def test_a_spread_of_one_ball_is_not_known() -> None:
    """One ball has no spread between balls: NaN is said in words, and no number is made of it."""
    assert measured(Truth(math.nan, math.nan, math.nan), "mm", (40.0, None)) == "not known"
