"""What a plan's axes catch of a diameter variation, by shape."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import integrate
from scipy.spatial.transform import Rotation

from ballbench.findings.planning.axes_of_form import FALL, SHAPES, ShapeCaught, shapes_caught, spread_axes

AXES = (2, 3, 4, 5)
BALLS = 40_000
Caught = dict[tuple[str, tuple[int, ...], int], ShapeCaught]


@pytest.fixture(scope="module")
def caught() -> Caught:
    return {(one.over, one.lobes, one.axes): one for one in shapes_caught(AXES, seed=1)}


def test_square_axes_catch_of_an_oval_ball_what_the_integral_says(caught: Caught) -> None:
    """4/(3 pi) with two axes (exact), 64 % and under 24 % for one in twenty with three (integral over the sphere)."""
    mean = integrate.dblquad(lambda z, y: (1 - z * z) * (1 + y * y + z * z) ** -2.5, 0, 1, 0, lambda y: y)[0]
    assert caught["ball", (2,), 2].mean == pytest.approx(4 / (3 * math.pi), abs=0.008)
    assert caught["ball", (2,), 3].mean == pytest.approx(48 / (4 * math.pi) * mean, abs=0.006)
    assert caught["ball", (2,), 3].twentieth == pytest.approx(0.24, abs=0.012)


@pytest.mark.parametrize("lobes", [2, 4, 6])
@pytest.mark.parametrize("k", AXES)
def test_one_number_of_lobes_has_the_perimeter_of_a_polygon(caught: Caught, lobes: int, k: int) -> None:
    """Mean width is perimeter over pi (Cauchy): the k readings are the corners of a polygon in a circle of radius 1/2.

    Corners at lobes times the angle of the axis; those that coincide count once.
    """
    turns = np.unique(np.round(np.mod(lobes * np.arange(k) * math.pi / k, 2 * math.pi), 9))
    turns = np.unique(np.where(np.isclose(turns, 2 * math.pi), 0.0, turns))
    gaps = np.diff(np.append(turns, turns[0] + 2 * math.pi))
    perimeter = np.sum(np.sin(gaps / 2)) if turns.size > 1 else 0.0
    assert caught["section", (lobes,), k].mean == pytest.approx(perimeter / math.pi, abs=0.01)


@pytest.mark.parametrize("lobes", [(2, 4), (2, 4, 6)])
def test_mixed_lobes_agree_with_outlines_that_are_read_point_by_point(caught: Caught, lobes: tuple[int, ...]) -> None:
    """4,000 outlines of 720 points, phases at random, read at k of them: the same shares (independent simulation)."""
    rng, points = np.random.default_rng(2), 720
    angle = np.arange(points) * math.pi / points
    for k in (3, 4):
        shares = []
        for _ in range(4000):
            width = sum(FALL**place * np.cos(n * angle + rng.uniform(0, 2 * math.pi)) for place, n in enumerate(lobes))
            at = (rng.integers(points) + np.arange(k) * points // k) % points
            shares.append(np.ptp(width[at]) / np.ptp(width))
        found = caught["section", lobes, k]
        assert found.mean == pytest.approx(float(np.mean(shares)), abs=0.015)  # SE of 4,000 outlines: under 0.004
        assert found.twentieth == pytest.approx(float(np.quantile(shares, 0.05)), abs=0.05)


def test_a_mixed_ball_agrees_with_balls_turned_by_random_rotations(caught: Caught) -> None:
    """Degrees 2 and 4, the second half as large, of either sign, turned by scipy: the same mean share."""
    grid = np.linspace(0, 1, 20_001)

    def width(x: np.ndarray, sign: float) -> np.ndarray:
        return np.asarray((3 * x**2 - 1) / 2 + sign * FALL * (35 * x**4 - 30 * x**2 + 3) / 8)

    axes, means = spread_axes(4), []
    for sign in (1.0, -1.0):
        turned = Rotation.random(BALLS, random_state=3).apply(np.array([0.0, 0.0, 1.0]))
        means.append(np.mean(np.ptp(width(turned @ axes.T, sign), axis=1)) / np.ptp(width(grid, sign)))
    assert caught["ball", (2, 4), 4].mean == pytest.approx(
        float(np.mean(means)), abs=0.015
    )  # 200 signs drawn: SE under 0.005


def test_spread_axes_catch_more_than_as_many_at_random() -> None:
    """Of an oval ball's variation |P2| as many random directions catch less on average (independent simulation)."""
    rng = np.random.default_rng(4)
    for k in (4, 5, 6):
        found = next(one for one in shapes_caught((k,), seed=1) if (one.over, one.lobes) == ("ball", (2,)))
        height = rng.uniform(0, 1, (BALLS, k))  # of random directions on any axis (Archimedes)
        assert found.mean > 1.05 * np.mean(np.ptp(height**2, axis=1))
        assert np.linalg.norm(spread_axes(k), axis=1) == pytest.approx(np.ones(k))


def test_every_shape_has_every_number_of_axes_and_the_same_seed_the_same_numbers(caught: Caught) -> None:
    """Shape by shape, numbers of axes in their order; shares from 0 to 1, the twentieth under the mean."""
    assert len(caught) == len(SHAPES) * len(AXES)
    assert [one.axes for one in shapes_caught((3, 4), seed=1)] == [3, 4] * len(SHAPES)
    assert shapes_caught((3,), seed=5) == shapes_caught((3,), seed=5)
    for one in caught.values():
        assert 0.0 <= one.twentieth <= one.mean + 1e-12 <= 1.0 + 1e-9
