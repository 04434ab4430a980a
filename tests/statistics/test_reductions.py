from __future__ import annotations

import statistics

import numpy as np
import pytest

from ballbench.statistics.reductions import BallValues, over_balls

VALUES = 40 + 0.01 * np.random.default_rng(1).standard_normal((4, 5, 7))
READ = np.random.default_rng(2).random((4, 5)) < 0.7
READ[0] = True
ONE_BALL = {
    "mean": statistics.fmean,
    "median": statistics.median,
    "max": max,
    "min": min,
    "range": lambda v: max(v) - min(v),
    "midrange": lambda v: (max(v) + min(v)) / 2,
}
ALL_BALLS = {
    "mean": statistics.fmean,
    "sd": statistics.stdev,
    "max": max,
    "min": min,
    "range": lambda v: max(v) - min(v),
}


@pytest.mark.parametrize("how", list(ONE_BALL))
@pytest.mark.parametrize("all_read", [True, False])
def test_ball_reductions_equal_plain_loops(how: str, all_read: bool) -> None:
    """Every reduction of a ball equals Python's own statistics over the places that were read, and no others."""
    found = BallValues(VALUES, None if all_read else READ)(how)
    for i in range(5):
        for m in range(7):
            own = [float(VALUES[j, i, m]) for j in range(4) if all_read or READ[j, i]]
            assert found[i, m] == pytest.approx(ONE_BALL[how](own), abs=1e-12)


@pytest.mark.parametrize("how", list(ALL_BALLS))
def test_sample_reductions_equal_plain_loops(how: str) -> None:
    """Every reduction over the balls equals Python's own statistics; the SD divides by n - 1."""
    found = over_balls(VALUES[0], how)
    for m in range(7):
        assert found[m] == pytest.approx(ALL_BALLS[how](VALUES[0, :, m].tolist()), abs=1e-12)


def test_one_place_has_no_range_and_is_its_own_extreme() -> None:
    """A ball read at one place has range 0, and its mean, largest, smallest and midrange are that value."""
    one = BallValues(VALUES[:1])
    assert not one("range").any()
    for how in ("mean", "median", "max", "min", "midrange"):
        assert np.array_equal(one(how), VALUES[0])


def test_one_ball_has_no_spread() -> None:
    """The SD of one ball does not exist: NaN, never 0."""
    assert np.isnan(over_balls(VALUES[0, :1], "sd")).all()
