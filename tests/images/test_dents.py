from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import special

from ballbench.images.finding import outline_of

Floats = NDArray[np.float64]


def picture_of(change: float, width: float) -> Floats:
    """Draw a dark ball of 300 pixels with a Gaussian dent or bump at 1 radian, blurred by 1.2 pixels, with noise."""
    x, y = np.meshgrid(np.arange(760.0) - 379.6, 379.2 - np.arange(760.0))
    theta, rho = np.arctan2(y, x), np.hypot(x, y)
    limb = 300.0 + change * np.exp(-0.5 * ((theta - 1.0) / width) ** 2)
    light = 0.1 + 0.6 * special.ndtr((rho - limb) / 1.2)
    return light + 0.004 * np.random.default_rng(1).standard_normal(light.shape)


@pytest.mark.parametrize("change", [-2.0, 1.5])
@pytest.mark.parametrize("width", [2.5, 6.0])
def test_a_dent_or_bump_of_some_degrees_is_the_balls_own(change: float, width: float) -> None:
    """SD 2.5 or 6 degrees, 2 pixels deep or 1.5 high: kept, and as large as it was made to 0.15 pixel.

    Noise of a point is 0.02 pixel, a stretch is 0.4 degrees long.
    """
    found = outline_of(picture_of(change, math.radians(width)))
    near = np.abs(found.theta - 1.0) < math.radians(width)
    assert found.kept[near].all()
    extreme = found.radius[near].min() if change < 0 else found.radius[near].max()
    assert extreme - np.median(found.radius) == pytest.approx(change, abs=0.15)


def test_a_hair_is_dropped_and_counted() -> None:
    """A bump of half a degree and two pixels at the limb is dust: dropped, said, and filled to 0.15 pixel."""
    found = outline_of(picture_of(2.0, math.radians(0.3)))
    at = int(found.theta.size / (2.0 * math.pi))
    assert not found.kept[at]
    assert any("were dropped" in note for note in found.notes)
    assert found.radius[at] == pytest.approx(float(np.median(found.radius)), abs=0.15)


def test_of_several_gaps_each_is_counted() -> None:
    """Two bars as light as the ball reach its limb: about their share of the turn is missing, and the gap is said."""
    picture = picture_of(0.0, 1.0)
    picture[371:387, 640:] = 0.1  # 16 pixels of 300: 3.1 degrees
    picture[371:387, :120] = 0.1
    found = outline_of(picture)
    assert not found.refused
    assert found.coverage == pytest.approx(1.0 - 2.0 * math.degrees(16.0 / 300.0) / 360.0, abs=0.01)
    assert any("widest gap is 3." in note or "widest gap is 4." in note for note in found.notes)
    assert found.radius == pytest.approx(np.full(1440, 300.0), abs=0.2)


@pytest.mark.parametrize(("change", "width"), [(-9.0, 5.0), (-15.0, 5.0), (-15.0, 10.0)])
def test_a_deep_dent_is_followed(change: float, width: float) -> None:
    """9 and 15 pixels of 300 over some degrees, far beyond the window about the smooth line: as deep as they were made.

    A point on a ray is known to 0.3 pixel; the whole outline keeps to 0.6 (two of it), and no part is left out.
    """
    found = outline_of(picture_of(change, math.radians(width)))
    truth = 300.0 + change * np.exp(-0.5 * ((found.theta - 1.0) / math.radians(width)) ** 2)
    turn = np.exp(1j * found.theta)
    off = found.radius - truth
    off -= np.real(2.0 * np.mean(off * np.conj(turn)) * turn)  # the middle of the outline is not that of the circle
    far = np.abs(found.theta - 1.0) < math.radians(3.0 * width)
    assert found.coverage > 0.98
    assert np.abs(off[far]).max() < 0.6 + change**2 * 0.01 / 4.0  # a middle moved by e changes a radius by e^2/(2 R)
    assert any("deep dent is at" in note for note in found.notes)


@pytest.mark.parametrize("light", [0.60, 0.66, 0.80])
def test_a_highlight_at_the_limb_is_no_dent(light: float) -> None:
    """24 degrees, a twentieth of the radius, on a ball of 0.1 before 0.7: dropped, and the outline round to 0.3 pixel.

    As light as the background it would hide the limb; 0.04 off, 7 % of the step, the limb still shows.
    """
    picture = picture_of(0.0, 1.0)
    x, y = np.meshgrid(np.arange(760.0) - 379.6, 379.2 - np.arange(760.0))
    rho, away = np.hypot(x, y), np.arctan2(y, x) - 1.0
    within = 1.0 - np.hypot(away / math.radians(12.0), (rho - 300.0) / 15.0)
    spot = special.ndtr(15.0 * within / 1.2) * special.ndtr((300.0 - rho) / 1.2)
    found = outline_of(picture + (light - 0.1) * spot)
    assert not found.refused
    assert found.coverage == pytest.approx(1.0 - 24.0 / 360.0, abs=0.02)
    assert not any("deep dent" in note for note in found.notes)
    assert found.radius[found.kept] == pytest.approx(300.0, abs=0.3)


def test_what_sticks_out_far_is_left_out() -> None:
    """Nine pixels of 300 over some degrees are fluff or flash: dropped and counted, and the rest is round."""
    found = outline_of(picture_of(9.0, math.radians(5.0)))
    assert not any("deep dent" in note for note in found.notes)
    assert found.coverage < 0.99
    assert found.radius[np.abs(found.theta - 1.0) > math.radians(20.0)] == pytest.approx(300.0, abs=0.6)


def test_a_dent_before_light_that_changes_is_followed() -> None:
    """The background is a third lighter on one side of the picture: it is as light on both sides of the line."""
    x = np.arange(760.0) / 760.0
    found = outline_of(picture_of(-12.0, math.radians(5.0)) * (0.85 + 0.3 * x)[None, :])
    assert any("deep dent" in note for note in found.notes)
    assert found.radius.min() - np.median(found.radius) == pytest.approx(-12.0, abs=0.7)


def test_a_post_is_no_dent() -> None:
    """A bar as light as the ball runs from its limb out of the picture: no step there, so it stays a gap."""
    picture = picture_of(0.0, 1.0)
    picture[360:400, 640:] = 0.1
    found = outline_of(picture)
    assert found.coverage == pytest.approx(1.0 - math.degrees(40.0 / 300.0) / 360.0, abs=0.01)
    assert not any("deep dent" in note for note in found.notes)
