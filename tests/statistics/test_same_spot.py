"""Counts of the same spot: enumeration of every outcome, the birthday numbers, simulation."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from scipy import stats

from ballbench.errors import BadRequest
from ballbench.statistics.same_spot import all_at_most, spot_tests, trials_up_to_tell


@pytest.mark.parametrize(("trials", "shares"), [(5, (0.5, 0.3, 0.2)), (6, (1 / 3,) * 3), (4, (0.1, 0.2, 0.3, 0.4))])
def test_the_chance_that_all_stay_under_their_bounds_is_enumerated(trials: int, shares: tuple[float, ...]) -> None:
    """Sum of scipy's multinomial chances over all outcomes within the bounds."""
    bounds = tuple(2 + k % 2 for k in range(len(shares)))
    every = [c for c in product(range(trials + 1), repeat=len(shares)) if sum(c) == trials]
    inside = [c for c in every if all(n <= b for n, b in zip(c, bounds, strict=True))]
    expected = sum(stats.multinomial.pmf(c, trials, shares) for c in inside)
    assert all_at_most(trials, shares, bounds) == pytest.approx(expected, rel=1e-9)
    assert all_at_most(trials, shares, (-1, *bounds[1:])) == 0.0


@pytest.mark.parametrize(("same", "people"), [(2, 23), (3, 88), (4, 187)])
def test_the_birthday_numbers(same: int, people: int) -> None:
    """So many people have an even chance that two, three, four share a birthday: 23, 88, 187 (well known, from memory).

    For 23 the chance is 50.7 % (likewise).
    """
    year = (1 / 365,) * 365
    chance = [1.0 - all_at_most(n, year, (same - 1,) * 365) for n in (people - 1, people)]
    assert chance[0] < 0.5 <= chance[1]
    if same == 2:
        assert chance[1] == pytest.approx(0.507, abs=5e-4)


@pytest.mark.parametrize(
    ("counts", "shares"),
    [((4, 1, 0, 0, 0, 0), (1 / 6,) * 6), ((3, 2, 1), (0.2, 0.3, 0.5)), ((0, 4, 1, 1), (0.1, 0.15, 0.25, 0.5))],
)
def test_the_first_chance_is_that_of_any_spot_standing_out_so(
    counts: tuple[int, ...], shares: tuple[float, ...]
) -> None:
    """Every outcome of the trials is listed, the smallest binomial tail (scipy) of each compared with the one seen."""
    n = sum(counts)

    def smallest(outcome: tuple[int, ...]) -> float:
        return min(stats.binomtest(k, n, p, "greater").pvalue for k, p in zip(outcome, shares, strict=True))

    seen = smallest(counts)
    every = [c for c in product(range(n + 1), repeat=len(shares)) if sum(c) == n]
    expected = sum(stats.multinomial.pmf(c, n, shares) for c in every if smallest(c) <= seen * (1 + 1e-9))
    assert spot_tests(counts, shares)[0].p == pytest.approx(expected, rel=1e-7)


def test_four_of_five_on_a_marked_cube() -> None:
    """Six sectors, four of five with one of them up: 6 (5 (1/6)^4 5/6 + (1/6)^5) = 156/7776 (exact algebra)."""
    first = spot_tests((0, 4, 1, 0, 0, 0), (1 / 6,) * 6)[0]
    assert (first.spot, first.p) == (1, pytest.approx(156 / 7776, rel=1e-9))
    assert trials_up_to_tell(5, (1 / 6,) * 6, 1 / 6) == 4
    every = [k for k in range(1, 31) if spot_tests((k, 30 - k, 0, 0), (0.1, 0.7, 0.1, 0.1))[0].p < 0.05]
    assert trials_up_to_tell(30, (0.1, 0.7, 0.1, 0.1), 0.1) == min(k for k in every if k > 3)
    assert trials_up_to_tell(2, (1 / 6,) * 6, 1 / 6) == 0  # both alike has the chance 1/6


def test_a_second_spot_is_told_beside_a_first() -> None:
    """10 of 20 up at one of eight sectors, 8 at another: of the ten left, eight of seven sectors' one, both told."""
    tests = spot_tests((10, 8, 1, 1, 0, 0, 0, 0), (1 / 8,) * 8)
    assert [test.spot for test in tests[:2]] == [0, 1]
    assert tests[1].p < 1e-3
    assert tests[2].p > 0.5
    assert len(spot_tests((10, 8, 1, 1, 0, 0, 0, 0), (1 / 8,) * 8, until=0.05)) == 3
    assert [test.p for test in tests] == sorted(test.p for test in tests)


def test_chance_is_called_more_than_chance_in_one_case_of_twenty_at_most() -> None:
    """2,000 balls without a heavy spot, 12 trials, six sectors: told at most 5 % (exact, discrete), 3 SD allowed."""
    rng = np.random.default_rng(3)
    counts = rng.multinomial(12, (1 / 6,) * 6, 2000)
    kinds, places = np.unique(np.sort(counts, axis=1), axis=0, return_inverse=True)
    told = np.array([spot_tests(kind.tolist(), (1 / 6,) * 6)[0].p < 0.05 for kind in kinds])
    assert told[places.ravel()].mean() <= 0.05 + 3 * np.sqrt(0.05 * 0.95 / 2000)


@pytest.mark.parametrize(
    ("counts", "shares", "words"),
    [((1, 2), (0.5, 0.4), "add up to 1"), ((0, 0), (0.5, 0.5), "trials that came to rest"),
     ((3,), (1.0,), "two at least"),
     ((-1, 2), (0.5, 0.5), "counts from 0"), ((1, 1), (0.0, 1.0), "above 0")],
)  # fmt: skip
def test_what_cannot_be_is_said(counts: tuple[int, ...], shares: tuple[float, ...], words: str) -> None:
    """Each wrong argument has a message that says what is allowed."""
    with pytest.raises(BadRequest, match=words):
        spot_tests(counts, shares)
