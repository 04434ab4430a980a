from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import optimize

from ballbench.images.view import bent, straightened, view_of
from ballbench.records.media.camera_file import Camera

PLAIN = Camera(3000.0, 1999.5, 1499.5)
BARREL = Camera(3000.0, 1990.0, 1510.0, k1=-0.18, k2=0.09)


def test_a_sphere_off_the_axis_is_round_again() -> None:
    """The picture of a sphere is an ellipse: axis ratio cos b/sqrt(cos^2 p - sin^2 b), middle f sin p cos p/(...).

    Algebra of the cone of half-angle b about an axis at p cut by the picture's plane; taken as pixels, it must come out
    as a circle of f sin b/cos p about the place where the cone's axis meets the picture.
    """
    b, p, focal = math.radians(5.0), math.radians(4.0), 3000.0
    part = math.cos(p) ** 2 - math.sin(b) ** 2
    middle = focal * math.sin(p) * math.cos(p) / part
    long = focal * math.sin(b) * math.cos(b) / part
    short = long * math.sqrt(part) / math.cos(b)  # the stated ratio is long/short = cos b/sqrt(part)
    t = np.linspace(0.0, 2.0 * math.pi, 60, endpoint=False)
    x = PLAIN.cx + middle + long * np.cos(t)
    y = PLAIN.cy - short * np.sin(t)
    view = view_of(PLAIN.cx + focal * math.tan(p), PLAIN.cy, PLAIN)
    _, rho = view.about(x, y)
    assert rho == pytest.approx(np.full(60, focal * math.sin(b) / math.cos(p)), abs=1e-9)
    assert view.axis_angle == pytest.approx(4.0, abs=1e-9)


@pytest.mark.parametrize("camera", [None, PLAIN, BARREL], ids=["unknown", "plain", "barrel"])
def test_there_and_back(camera: Camera | None) -> None:
    """Polar coordinates to pixels and back give what went in, to rounding."""
    generator = np.random.default_rng(1)
    view = view_of(2300.0, 1200.0, camera)
    theta, rho = generator.uniform(0.0, 2.0 * math.pi, 200), generator.uniform(10.0, 900.0, 200)
    back, again = view.about(*view.shown(theta, rho))
    assert back == pytest.approx(theta, abs=1e-9)
    assert again == pytest.approx(rho, abs=1e-6)


def test_the_lens_is_taken_out_as_a_root_finder_takes_it_out() -> None:
    """The root of r (1 + k1 r^2 + k2 r^4) = shown by bracketing (scipy), at 40 distances, to 1e-10."""
    for shown in np.linspace(0.0, 0.6, 40):
        x = np.array([BARREL.cx + BARREL.focal * shown])
        across, up = straightened(BARREL, x, np.array([BARREL.cy]))
        root = optimize.brentq(lambda r, s=shown: r * (1.0 - 0.18 * r**2 + 0.09 * r**4) - s, 0.0, 1.5, xtol=1e-14)
        assert across[0] == pytest.approx(root, abs=1e-10)
        assert up[0] == 0.0
    assert bent(BARREL, np.array([0.0]), np.array([0.0]))[0][0] == BARREL.cx


def test_angles_go_counter_clockwise_from_the_right() -> None:
    """A pixel above the middle, whose row is smaller, is at a quarter turn."""
    for camera in (None, PLAIN):
        view = view_of(1999.5, 1499.5, camera)
        theta, rho = view.about(np.array([2099.5, 1999.5, 1899.5]), np.array([1499.5, 1399.5, 1499.5]))
        assert theta == pytest.approx([0.0, math.pi / 2.0, math.pi], abs=1e-12)
        assert rho == pytest.approx([100.0] * 3, rel=1e-3)  # an angle's sine and tangent differ by its square


def test_a_move_goes_where_it_is_told() -> None:
    """Ten pixels to the right and five up of a plain picture."""
    moved = view_of(500.0, 400.0, None).moved(10.0, 5.0)
    assert (moved.x, moved.y) == pytest.approx((510.0, 395.0))
