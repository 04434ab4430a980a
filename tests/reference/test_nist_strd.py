from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from ballbench.statistics.spread import pooled_sd

DATA = Path(__file__).resolve().parent / "nist_strd"


def certified(name: str) -> dict[str, dict[str, float]]:
    """Read certified values, one row a data set."""
    with (DATA / name).open(encoding="utf-8") as lines:
        return {row.pop("set"): {key: float(value) for key, value in row.items()} for row in csv.DictReader(lines)}


def digits(found: float, expected: float) -> float:
    """Count the figures that agree."""
    return 16.0 if found == expected else -math.log10(abs(found - expected) / abs(expected))


def observations(name: str) -> NDArray[np.float64]:
    """Read a data set, or make it by its rule."""
    made = {"NumAcc2": 0.0, "NumAcc3": 1_000_000.0, "NumAcc4": 10_000_000.0}
    if name == "NumAcc1":
        return np.array([10_000_001.0, 10_000_003.0, 10_000_002.0])
    if name in made:
        tenths = 10 * made[name] + np.array([2.0, *(1.0, 3.0) * 500]) + (10.0 if name == "NumAcc2" else 0.0)
        return tenths / 10.0
    return np.loadtxt(DATA / f"{name}.csv")


@pytest.mark.parametrize("name", certified("certified_univariate.csv"))
def test_means_and_standard_deviations_keep_their_figures(name: str) -> None:
    """The mean and SD used everywhere agree with NIST StRD to 13 figures, to 8 where constant digits eat them."""
    expected = certified("certified_univariate.csv")[name]
    values = observations(name)
    assert values.size == expected["n"]
    assert digits(float(np.mean(values)), expected["mean"]) >= 13.0
    needed = 8.0 if name in {"NumAcc3", "NumAcc4"} else 13.0
    assert digits(float(np.std(values, ddof=1)), expected["sd"]) >= needed


@pytest.mark.parametrize(("name", "needed"), [("SiRstv", 12.0), ("AtmWtAg", 8.0)])
def test_one_way_layouts_keep_their_figures(name: str, needed: float) -> None:
    """The F of a one-way layout and the pooled SD agree with NIST StRD (copied from the data files scipy carries)."""
    expected = certified("certified_anova.csv")[name]
    table = np.loadtxt(DATA / f"{name}.csv", delimiter=",", skiprows=1)
    groups = [table[table[:, 0] == level, 1] for level in np.unique(table[:, 0])]
    assert len(groups) - 1 == expected["dof_between"]
    pooled = pooled_sd([float(np.std(group, ddof=1)) for group in groups], [group.size - 1 for group in groups])
    assert pooled.dof == expected["dof_within"]
    assert digits(pooled.sd, expected["residual_sd"]) >= needed
    assert digits(pooled.sd**2, expected["ms_within"]) >= needed
    assert digits(float(stats.f_oneway(*groups).statistic), expected["f"]) >= needed
