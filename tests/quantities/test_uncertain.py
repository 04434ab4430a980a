from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from ballbench.errors import BadRequest
from ballbench.quantities.uncertain import Uncertain, coverage_factor

REFERENCE = Path(__file__).resolve().parents[1] / "reference"


@pytest.mark.parametrize(
    ("dof", "confidence", "printed"),
    [(16, 0.95, 2.12), (16, 0.9545, 2.17), (16, 0.99, 2.92), (math.inf, 0.9545, 2.00)],
)
def test_coverage_factors_are_those_of_the_t_table(dof: float, confidence: float, printed: float) -> None:
    """The factor k agrees with JCGM 100:2008, Table G.2 (points seen second-hand)."""
    assert coverage_factor(dof, confidence) == pytest.approx(printed, abs=0.005)


def test_half_widths_of_means_are_those_of_a_textbook_table() -> None:
    """The half width k/sqrt(n) agrees with Berthouex and Brown, Table 21.1 (seen; it misprints 0.55 as 0.50)."""
    table = np.genfromtxt(REFERENCE / "tolerance_factors" / "two_sided_95.csv", delimiter=",", names=True)
    for n, printed in zip(table["n"], table["t_over_root_n"], strict=True):
        expected = 0.55 if n == 15 else printed
        assert coverage_factor(n - 1) / math.sqrt(n) == pytest.approx(expected, abs=0.0051)


def test_broken_degrees_of_freedom_are_cut_to_the_next_lower_whole_number() -> None:
    """16.7 counts as 16 (JCGM 100:2008, H.1.6 with the note to G.4.1), and 0.5 is left alone."""
    assert coverage_factor(16.7) == coverage_factor(16)
    assert coverage_factor(0.5) > coverage_factor(1)


def test_an_interval_is_the_value_and_its_expanded_uncertainty_on_either_side() -> None:
    """A u of 32 nm with 16 degrees of freedom gives U99 = 93 nm (JCGM 100:2008, H.1.6, seen second-hand)."""
    length = Uncertain(838.0, 32.0, 16, "nm")
    assert length.expanded(0.99) == pytest.approx(93.0, abs=0.5)
    assert length.interval(0.99) == pytest.approx((745.0, 931.0), abs=0.6)


def test_undefined_degrees_of_freedom_give_no_interval() -> None:
    """NaN degrees of freedom give NaN, not a number that looks right."""
    assert all(math.isnan(end) for end in Uncertain(1.0, 0.1, math.nan).interval())


def test_all_that_is_wrong_with_a_value_is_said_at_once() -> None:
    """Three faults, three lines, each naming its argument."""
    with pytest.raises(BadRequest) as caught:
        Uncertain(math.nan, -1.0, 0.0)
    assert [fault.where for fault in caught.value.faults] == ["Uncertain, value", "Uncertain, u", "Uncertain, dof"]


def test_a_confidence_outside_its_range_is_refused() -> None:
    """95 instead of 0.95 is said, not computed."""
    with pytest.raises(BadRequest, match="confidence"):
        Uncertain(1.0, 0.1).expanded(95)
    with pytest.raises(BadRequest, match="dof"):
        coverage_factor(-1.0)
