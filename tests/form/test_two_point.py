from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import integrate, optimize
from scipy.spatial.transform import Rotation

from ballbench.errors import BadRequest
from ballbench.form.two_point import (
    ODD_LOBES,
    PlaneShape,
    SphereShape,
    axes_caught,
    blind_even_lobes,
    even_axes,
    mean_share_in_plane,
    square_axes,
    two_point_diameters,
)  # fmt: skip

OBLATE = SphereShape(((2, -0.02),))
BALLS = 40_000


def test_three_square_axes_catch_two_thirds_of_an_oblate_ball() -> None:
    """About 64 % on average and under 24 % for one ball in twenty (design numbers), and the exact integrals of both.

    On the face x = 1 of a cube a pole (1, y, z) with z <= y <= 1 has the range (1 - z^2)/(1 + y^2 + z^2), weighed by
    the solid angle (1 + y^2 + z^2)^(-3/2); 48 such parts make the sphere.
    """
    mean = integrate.dblquad(lambda z, y: (1 - z * z) * (1 + y * y + z * z) ** -2.5, 0, 1, 0, lambda y: y)[0]
    mean *= 48 / (4 * math.pi)

    def below(x: float) -> float:
        def inner(y: float) -> float:
            least = math.sqrt(min(max((1 - x * (1 + y * y)) / (1 + x), 0.0), y * y))
            ends = [z / ((1 + y * y) * math.sqrt(1 + y * y + z * z)) for z in (least, y)]
            return ends[1] - ends[0]

        return 48 / (4 * math.pi) * integrate.quad(inner, 0, 1, limit=200)[0] - 0.05

    twentieth = optimize.brentq(below, 0.05, 0.6)
    found = axes_caught(OBLATE, square_axes(3), np.random.default_rng(1), BALLS)
    assert found.mean == pytest.approx(mean, abs=4 * found.u)
    assert found.quantile(0.05) == pytest.approx(twentieth, abs=0.01)
    assert (round(mean, 2), round(twentieth, 2)) == (0.64, 0.24)


def test_two_square_axes_catch_four_over_three_pi() -> None:
    """E |x^2 - y^2| over directions is 4/(3 pi) = 42 % (exact algebra)."""
    found = axes_caught(OBLATE, square_axes(2), np.random.default_rng(2), BALLS)
    assert found.mean == pytest.approx(4 / (3 * math.pi), abs=4 * found.u)


def test_turning_the_axes_instead_of_the_ball_is_the_same() -> None:
    """Five uneven axes turned by random rotations over a fixed ball of degrees 2 and 4 catch the same (scipy)."""
    rng = np.random.default_rng(3)
    axes, shape = rng.standard_normal((5, 3)), SphereShape(((2, 0.03), (4, -0.02)))
    lines = axes / np.linalg.norm(axes, axis=1, keepdims=True)
    x = np.stack([Rotation.random(BALLS, random_state=4).apply(np.tile(u, (BALLS, 1)))[:, 2] for u in lines])
    read = 0.03 * (3 * x**2 - 1) / 2 - 0.02 * (35 * x**4 - 30 * x**2 + 3) / 8
    grid = np.linspace(0, 1, 200_001)
    full = np.ptp(0.03 * (3 * grid**2 - 1) / 2 - 0.02 * (35 * grid**4 - 30 * grid**2 + 3) / 8)
    assert shape.variation == pytest.approx(full, rel=1e-9)
    found = axes_caught(shape, axes, np.random.default_rng(5), BALLS)
    assert found.mean == pytest.approx(float(np.ptp(x * 0 + read, axis=0).mean()) / full, abs=6 * found.u)


@pytest.mark.parametrize(("lobes", "k"), [(2, 2), (2, 3), (4, 3), (2, 5), (6, 4), (4, 2), (6, 3)])
def test_even_lobes_in_a_plane_have_a_closed_form(lobes: int, k: int) -> None:
    """Simulation agrees with the perimeter of the readings' polygon over 2 pi (Cauchy); multiples of 2 k give 0."""
    shape, axes = PlaneShape(((lobes, 0.01, 0.4),)), even_axes(k)
    exact = mean_share_in_plane(lobes, np.arange(k) * math.pi / k)
    found = axes_caught(shape, axes, np.random.default_rng(6), BALLS)
    assert found.mean == pytest.approx(exact, abs=4 * found.u + 1e-12)
    assert (exact < 1e-12) == (lobes in blind_even_lobes(k))


def test_known_values_of_the_closed_form() -> None:
    """Two square axes catch 2/pi of an oval in their plane, three at 60 degrees 3 sqrt(3)/(2 pi) (exact algebra)."""
    assert mean_share_in_plane(2, [0.3, 0.3 + math.pi / 2]) == pytest.approx(2 / math.pi, rel=1e-14)
    assert mean_share_in_plane(2, np.arange(3) * math.pi / 3) == pytest.approx(1.5 * math.sqrt(3) / math.pi, rel=1e-14)
    assert mean_share_in_plane(2, np.arange(400) * math.pi / 400) == pytest.approx(1.0, abs=1e-4)
    assert blind_even_lobes(2) == (4, 8, 12, 16, 20, 24)


def test_mixed_outlines_have_their_full_variation() -> None:
    """Range of 2 sum over even n on a grid of half a million angles (brute force); odd lobes add nothing."""
    shape = PlaneShape(((2, 0.020, 0.3), (3, 0.5, 0.0), (4, 0.012, 1.1), (6, 0.007, -2.0), (10, 0.004, 0.2)))
    theta = np.linspace(0, math.pi, 500_000)
    radius = sum(a * np.cos(n * theta + p) for n, a, p in shape.harmonics)
    opposite = sum(a * np.cos(n * (theta + math.pi) + p) for n, a, p in shape.harmonics)
    assert shape.variation == pytest.approx(float(np.ptp(radius + opposite)), rel=1e-8)
    assert shape.diameters(theta[:50]) == pytest.approx((radius + opposite)[:50], abs=1e-12)


def test_many_axes_catch_all_and_shares_never_exceed_one() -> None:
    """With 200 axes nearly all is caught; no share is over 1."""
    shape = PlaneShape(((2, 0.02, 0.0), (4, 0.01, 1.0)))
    found = axes_caught(shape, even_axes(200), np.random.default_rng(7), 2000)
    assert found.shares.min() > 0.999
    assert found.shares.max() <= 1.0 + 1e-12


def test_a_shape_of_constant_width_has_no_variation() -> None:
    """Reuleaux outlines by their tangents: every width is 1 but for rounding, while the radius varies."""
    for n in (3, 5, 7, 9):
        radii = reuleaux(n, 720 * n)
        assert two_point_diameters(radii) == pytest.approx(np.ones(360 * n), abs=4e-15)
        assert np.ptp(radii) > 0.015


def reuleaux(n: int, count: int) -> np.ndarray:
    """Distance of the tangents of a Reuleaux polygon of width 1 from its centre: a corner, or a corner's far arc."""
    theta = np.arange(count) * 2 * math.pi / count
    corner = 0.5 / math.cos(math.pi / (2 * n))
    off = np.mod(theta + math.pi / n, 2 * math.pi / n) - math.pi / n  # from the nearest corner
    far = np.mod(theta + math.pi + math.pi / n, 2 * math.pi / n) - math.pi / n
    return np.where(np.abs(off) <= math.pi / (2 * n), corner * np.cos(off), 1.0 - corner * np.cos(far))


def test_odd_lobes_are_refused_with_the_standing_note() -> None:
    """A ball with odd lobes alone has nothing that diameters could catch, and the note says why."""
    with pytest.raises(BadRequest, match="constant width"):
        axes_caught(PlaneShape(((3, 0.05, 0.0),)), even_axes(3), np.random.default_rng(1))
    with pytest.raises(BadRequest, match="constant width"):
        mean_share_in_plane(3, [0.0, 1.0])
    found = axes_caught(OBLATE, square_axes(3), np.random.default_rng(1), 10)
    assert found.note == ODD_LOBES
    assert PlaneShape(()).variation == 0.0


def test_directions_that_are_none_are_refused() -> None:
    """Wrong shapes, zero vectors, one axis, axes out of the plane, odd degrees: each with what to do."""
    rng = np.random.default_rng(1)
    for axes in ([[1, 0, 0]], [[1, 0, 0], [0, 0, 0]], [1, 2, 3], [[1, 0], [0, 1]]):
        with pytest.raises(BadRequest, match="unit vectors"):
            axes_caught(OBLATE, axes, rng)
    with pytest.raises(BadRequest, match="even_axes"):
        axes_caught(PlaneShape(((2, 0.1, 0.0),)), square_axes(3), rng)
    with pytest.raises(BadRequest, match="2 or more"):
        axes_caught(OBLATE, square_axes(3), rng, 1)
    for wrong in (lambda: SphereShape(((3, 1.0),)), lambda: PlaneShape(((0, 1.0, 0.0),)), lambda: square_axes(4),
                  lambda: even_axes(1), lambda: two_point_diameters(np.ones(7))):  # fmt: skip
        with pytest.raises(BadRequest):
            wrong()
