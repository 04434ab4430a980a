from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from ballbench.errors import BadRequest
from ballbench.statistics.outliers import generalized_esd, grubbs

DATA = Path(__file__).resolve().parents[1] / "reference" / "outliers"


def test_the_published_example_gives_three_outliers() -> None:
    """Statistics and critical values of Rosner (1983), NIST/SEMATECH handbook 1.3.5.17.3 (seen), to six decimals."""
    values = np.loadtxt(DATA / "esd_values.csv", skiprows=1)
    steps = np.loadtxt(DATA / "esd_steps.csv", delimiter=",", skiprows=1)
    found = generalized_esd(values, 10, 0.05)
    assert [step.statistic for step in found.steps] == pytest.approx(steps[:, 1].tolist(), abs=5.1e-7)
    assert [step.critical for step in found.steps] == pytest.approx(steps[:, 2].tolist(), abs=5.1e-7)
    assert sorted(values[list(found.outliers)].tolist()) == [5.34, 5.42, 6.01]
    assert found.notes == ()


def test_outliers_that_hide_each_other_are_found_all_the_same() -> None:
    """In that example neither the first nor the second step is beyond its critical value, the third is (seen)."""
    values = np.loadtxt(DATA / "esd_values.csv", skiprows=1)
    assert generalized_esd(values, 2).outliers == ()
    assert len(generalized_esd(values, 3).outliers) == 3
    assert not grubbs(values).outlier


def test_the_single_outlier_of_the_handbook_is_found() -> None:
    """G = 2.4687 against 2.032, NIST/SEMATECH handbook 1.3.5.17.1 (from memory, recomputed)."""
    values = np.loadtxt(DATA / "uranium.csv", skiprows=1)
    found = grubbs(values, side="high")
    assert found.statistic == pytest.approx(2.4687, abs=1e-4)
    assert found.critical == pytest.approx(2.032, abs=5e-4)
    assert found.outlier
    assert (found.index, found.value) == (7, 245.57)
    both = grubbs(values)
    assert both.critical == pytest.approx(2.12665, abs=6e-6)  # computed for this project, not published
    assert both.outlier
    assert not grubbs(values, side="low").outlier


def test_one_step_of_both_tests_is_the_same() -> None:
    """The first step of the many-outlier test is the two-sided test for one (their definitions)."""
    values = np.loadtxt(DATA / "uranium.csv", skiprows=1)
    step, single = generalized_esd(values, 1).steps[0], grubbs(values)
    assert (step.index, step.statistic, step.critical) == pytest.approx(
        (single.index, single.statistic, single.critical)
    )


def test_a_normal_sample_is_accused_as_often_as_alpha_says() -> None:
    """Of 4,000 normal samples of 30, 5 % are accused, within the scatter of the simulation (known truth)."""
    rng = np.random.default_rng(21)
    accused = [bool(generalized_esd(sample, 3).outliers) for sample in rng.standard_normal((4000, 30))]
    assert np.mean(accused) == pytest.approx(0.05, abs=4 * np.sqrt(0.05 * 0.95 / 4000))


def test_equal_values_hold_no_outlier() -> None:
    """A display that always shows the same number accuses nobody; what differs from it is still a step (exact)."""
    assert generalized_esd([40.1] * 10, 3).steps == ()
    assert grubbs([40.1] * 10).statistic == 0.0
    found = generalized_esd([40.1] * 9 + [41.0], 3)
    assert len(found.steps) == 1
    assert found.outliers == (9,)
    assert found.notes != ()


def test_what_cannot_be_tested_is_refused() -> None:
    """All faults at once, and a number of outliers that leaves nothing to compare with."""
    with pytest.raises(BadRequest) as caught:
        generalized_esd([1.0, float("nan")], 1, 5)
    assert [fault.where for fault in caught.value.faults] == ["values", "values", "alpha"]
    with pytest.raises(BadRequest, match="look for fewer"):
        generalized_esd([1.0, 2.0, 3.0], 2)
    with pytest.raises(BadRequest, match="both, low or high"):
        grubbs([1.0, 2.0, 3.0], side="left")  # type: ignore[arg-type]
