from __future__ import annotations

import math
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from scipy import stats
from statsmodels.stats.proportion import proportion_confint

from ballbench.errors import BadRequest
from ballbench.statistics.counts import (
    acceptance,
    acceptance_lot,
    lot_bad_upper_bound,
    share_bounds,
    share_upper_bound,
    zero_bad_sample,
)

DATA = Path(__file__).resolve().parents[1] / "reference" / "acceptance"


@pytest.mark.parametrize(("n", "percent"), [(3, 63.2), (6, 39.3), (12, 22.1), (24, 11.7), (59, 5.0)])
def test_good_balls_alone_leave_a_share_of_bad_ones_open(n: int, percent: float) -> None:
    """24 good of 24 allow 11.7 % bad, 59 allow 5 % (exact algebra: 1 - 0.05^(1/n))."""
    bound = float(share_upper_bound(0, n))
    assert 100 * bound == pytest.approx(percent, abs=0.055)
    assert bound == pytest.approx(1 - 0.05 ** (1 / n), rel=1e-12)


@pytest.mark.parametrize(
    ("share", "confidence", "n"), [(0.05, 0.95, 59), (0.10, 0.95, 29), (0.01, 0.95, 299), (0.5, 0.5, 1)]
)
def test_the_size_of_a_zero_bad_sample(share: float, confidence: float, n: int) -> None:
    """59 good balls in a row show at most 5 % bad, 29 show 10 %, 299 show 1 % (exact algebra)."""
    assert zero_bad_sample(share, confidence) == n
    assert (1 - share) ** n <= 1 - confidence < (1 - share) ** (n - 1) + 1e-12


@pytest.mark.parametrize("n", [1, 5, 24])
def test_bounds_agree_with_a_second_opinion(n: int) -> None:
    """Clopper-Pearson intervals and one-sided bounds agree with statsmodels to 10 digits for every count."""
    for bad in range(n + 1):
        found = share_bounds(bad, n, 0.9)
        assert (found.low, found.high) == pytest.approx(proportion_confint(bad, n, 0.1, method="beta"), rel=1e-10)
    one_sided = share_upper_bound(np.arange(n + 1), n, 0.95)
    expected = [proportion_confint(bad, n, 0.1, method="beta")[1] for bad in range(n + 1)]
    assert one_sided == pytest.approx(expected, rel=1e-10)


def test_bounds_keep_the_shape_of_the_counts() -> None:
    """A table of counts gives a table of bounds (the algebra of one entry at a time)."""
    counts = np.array([[0, 1, 2], [2, 24, 0]])
    table = share_upper_bound(counts, 24)
    assert table.shape == counts.shape
    assert table[1, 1] == 1.0
    assert table[0, 2] == table[1, 0] == pytest.approx(float(share_upper_bound(2, 24)))
    assert lot_bad_upper_bound(counts, 24, 100).shape == counts.shape


def test_the_bound_is_wrong_at_most_as_often_as_it_says() -> None:
    """Summed over all outcomes, the bound is under the true share in at most 5 % (exact binomial sums)."""
    n = 24
    bounds = share_upper_bound(np.arange(n + 1), n, 0.95)
    for share in (0.01, 0.05, 0.1172, 0.3, 0.9):
        misses = float(stats.binom.pmf(np.arange(n + 1), n, share) @ (bounds < share))
        assert misses <= 0.05


def test_a_box_of_a_hundred_may_hide_ten_bad_balls() -> None:
    """24 good of a box of 100 leave up to 10 bad ones plausible (computed before by hand: 10 has a chance over 5 %)."""
    assert int(lot_bad_upper_bound(0, 24, 100)) == 10
    chance = [math.comb(100 - bad, 24) / math.comb(100, 24) for bad in (10, 11)]
    assert chance[0] > 0.05 > chance[1]


def test_bounds_of_small_boxes_agree_with_listing_every_sample() -> None:
    """For a box of 8 with samples of 4 the bound follows from counting all 70 samples (enumeration)."""
    for seen in range(5):
        plausible = [
            bad
            for bad in range(seen, 4 + seen + 1)
            if sum(len([ball for ball in chosen if ball < bad]) <= seen for chosen in combinations(range(8), 4)) / 70
            > 0.05
        ]
        assert int(lot_bad_upper_bound(seen, 4, 8)) == max(plausible)


def test_a_box_that_was_read_to_the_last_ball_hides_nothing() -> None:
    """With n = lot the bound is the count (exact)."""
    assert lot_bad_upper_bound([0, 3, 12], 12, 12).tolist() == [0, 3, 12]


def test_a_large_box_is_a_batch() -> None:
    """The bound of a box of 100,000 tends to the binomial one (limit)."""
    assert int(lot_bad_upper_bound(1, 24, 100_000)) / 100_000 == pytest.approx(
        float(share_upper_bound(1, 24)), abs=2e-4
    )


def test_the_handbook_plan_accepts_as_often_as_printed() -> None:
    """Plan 52/3 agrees to 0.001 with NIST/SEMATECH handbook 6.2.3.2 (from memory; 1 unit apart at 0.04 and 0.05)."""
    share, printed = np.loadtxt(DATA / "plan_52_3.csv", delimiter=",", skiprows=1, unpack=True)
    assert acceptance(52, 3, share) == pytest.approx(printed, abs=1.1e-3)


def test_operating_points_of_five_plans() -> None:
    """Shares accepted with chance 0.95, 0.50, 0.10 (computed for this project; 80/2 as ISO 2859-1, from memory)."""
    for n, c, *percents in np.loadtxt(DATA / "oc_points.csv", delimiter=",", skiprows=1):
        for percent, chance in zip(percents, (0.95, 0.50, 0.10), strict=True):
            assert float(acceptance(int(n), int(c), percent / 100)) == pytest.approx(chance, abs=2e-5)


def test_acceptance_of_a_finite_box_is_exact() -> None:
    """2 bad of 20, 5 looked at, none allowed: 21/38 (exact algebra); all bad and none bad are sure."""
    assert float(acceptance_lot(5, 0, 20, 2)) == pytest.approx(21 / 38, rel=1e-12)
    assert acceptance_lot(5, 0, 20, [0, 20]) == pytest.approx([1.0, 0.0], abs=1e-15)
    assert acceptance(5, 0, [0.0, 1.0]).tolist() == [1.0, 0.0]


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        (lambda: share_bounds(3, 2), "whole numbers from 0 to 2"),
        (lambda: share_bounds(0, 0), "look at one ball"),
        (lambda: share_upper_bound([0, -1], 5), "whole numbers from 0 to 5"),
        (lambda: share_upper_bound([0.5], 5), "whole numbers"),
        (lambda: share_upper_bound(0, 5, 95), "0.95 for 95 %"),
        (lambda: zero_bad_sample(0.0), "0.05 for 5 %"),
        (lambda: lot_bad_upper_bound(0, 12, 10), "count the balls of the box"),
        (lambda: acceptance(5, -1, 0.1), "how many bad balls"),
        (lambda: acceptance(0, 0, 0.1), "look at one ball"),
        (lambda: acceptance(5, 0, 1.1), "numbers from 0 to 1"),
        (lambda: acceptance_lot(5, 0, 20, 21), "from 0 to 20"),
    ],
)
def test_counts_that_cannot_be_are_refused(wrong: object, words: str) -> None:
    """Each gives one message that says what is allowed or what to do."""
    with pytest.raises(BadRequest, match=words):
        wrong()  # type: ignore[operator]
