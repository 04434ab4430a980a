from __future__ import annotations

import itertools
import math
import statistics
from collections.abc import Callable

import numpy as np
import pytest

from ballbench.specs.bounds import confinement, largest_sample_sd
from ballbench.specs.model import Requirement

Parse = Callable[[str], Requirement]


def on_diameter(*bodies: str) -> str:
    """Write clauses on diameter, each from its reductions and limits."""
    return "".join(
        f'[[clause]]\nid = "c{number}"\ntext = "."\nquantity = "diameter"\n{body}\n'
        for number, body in enumerate(bodies)
    )


@pytest.mark.parametrize("n", range(2, 10))
def test_largest_sd_is_that_of_the_worst_assignment_to_the_two_ends(n: int) -> None:
    """No assignment of n values to 0 or c has a larger SD, and one reaches it (all 2^n tried; statistics.stdev)."""
    c = 0.25
    worst = max(statistics.stdev(values) for values in itertools.product((0.0, c), repeat=n))
    assert largest_sample_sd(c, n) == pytest.approx(worst, rel=1e-12)


@pytest.mark.parametrize("n", [2, 3, 24, 25])
def test_no_values_inside_the_interval_exceed_it(n: int) -> None:
    """Twenty thousand samples from [0, 1], most of them near the ends, stay at or below it (simulation)."""
    values = np.random.default_rng(20261125).beta(0.15, 0.15, size=(20_000, n))
    assert values.std(axis=1, ddof=1).max() <= largest_sample_sd(1.0, n) * (1 + 1e-12)


def test_largest_sd_of_two_values_is_the_largest_of_any_number() -> None:
    """For two values it is c/sqrt(2) (exact algebra), and for more it is never larger."""
    assert largest_sample_sd(1.0, 2) == pytest.approx(1 / math.sqrt(2), rel=1e-15)
    assert max(largest_sample_sd(1.0, n) for n in range(3, 400)) < largest_sample_sd(1.0, 2)


@pytest.mark.parametrize(("width", "n"), [(-0.1, 5), (0.1, 1)])
def test_largest_sd_refuses_what_has_none(width: float, n: int) -> None:
    """An interval of negative width, or one value, has no sample SD."""
    with pytest.raises(ValueError, match="width must be 0 or more and n 2 or more"):
        largest_sample_sd(width, n)


def test_limits_on_smallest_and_largest_confine_every_reduction(own: Parse) -> None:
    """By the order of numbers min <= mean, median, midrange <= max and max - min <= range of the limits."""
    both = own(
        on_diameter(
            'ball = "min"\nsample = "each"\nlower = "39.5 mm"', 'ball = "max"\nsample = "each"\nupper = "40.5 mm"'
        )
    ).clauses
    for ball in ("mean", "median", "midrange", "min", "max"):
        inside = confinement(both, "diameter", ball)
        assert (inside.low, inside.high) == (39.5, 40.5)
    spread = confinement(both, "diameter", "range")
    assert (spread.low, spread.high) == (0.0, 1.0)


def test_a_limit_on_the_mean_bounds_one_end_of_the_extremes_only(own: Parse) -> None:
    """A limit mean <= U says that min <= U, and leaves max free."""
    only = own(on_diameter('ball = "mean"\nsample = "each"\nlower = "40 mm"\nupper = "41 mm"')).clauses
    assert confinement(only, "diameter", "min").high == 41.0
    assert confinement(only, "diameter", "min").low == -math.inf
    assert confinement(only, "diameter", "max").low == 40.0
    assert confinement(only, "diameter", "max").high == math.inf
    assert confinement(only, "diameter", "midrange").width == math.inf


@pytest.mark.parametrize(
    "body",
    [
        'ball = "max"\nsample = "each"\nupper = "40.5 mm"\nallowed_outside = 1',
        'ball = "max"\nsample = "mean"\nupper = "40.5 mm"',
        'ball = "max"\nsample = "each"\nupper = "40.5 mm"\n[[clause.variant]]\nball = "mean"',
        'ball = "max"\nsample = "each"\nupper = "40.5 mm"\n[[clause.variant]]\nupper = ""\nlower = "40 mm"',
    ],
    ids=["allowance", "mean over the balls", "variant on another reduction", "variant without the limit"],
)
def test_what_does_not_hold_for_every_ball_under_every_reading_confines_nothing(body: str, own: Parse) -> None:
    """An allowance, a mean over the balls, or a wider variant leaves a ball's largest value open."""
    assert confinement(own(on_diameter(body)).clauses, "diameter", "max").high == math.inf


def test_the_widest_variant_counts(own: Parse) -> None:
    """A clause read as 40.5 and as 40.7 mm confines to 40.7 mm."""
    body = 'ball = "max"\nsample = "each"\nupper = "40.5 mm"\n[[clause.variant]]\nupper = "40.7 mm"'
    assert confinement(own(on_diameter(body)).clauses, "diameter", "max").high == 40.7


def test_largest_and_smallest_of_the_sample_confine_as_each_ball_does(own: Parse) -> None:
    """The largest ball at most U is every ball at most U; it says nothing about the lower end."""
    text = on_diameter('ball = "mean"\nsample = "max"\nlower = "39 mm"\nupper = "41 mm"')
    inside = confinement(own(text).clauses, "diameter", "mean")
    assert (inside.low, inside.high) == (-math.inf, 41.0)
