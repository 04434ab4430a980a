"""The invented photographs are what they say: the truth that the other tests are held against."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from examples.recorded import photos
from examples.recorded.photos import Ball, Lens, Lobe, Scene, coded, light_of, true_pixels, true_radius
from scipy import ndimage
from skimage import color

FOCAL = 900.0
LENS = Lens(FOCAL, 99.5, 89.5)


def plain(ball: Ball, lens: Lens = LENS, **changes: object) -> Scene:
    """A black ball on white, as sharp as pixels are."""
    settings: dict[str, object] = {"inside": 0.0, "outside": 1.0, "blur": 1e-3, **changes}
    return Scene(200, 180, lens, (ball,), **settings)  # type: ignore[arg-type]


def test_every_pixel_holds_the_share_that_the_ball_covers() -> None:
    """Pixels cut into 24 by 24 points, each inside or outside by the lobed circle itself: shares agree to 0.03.

    A ball so far away that perspective is 1e-6; the count of points along an edge is good to 1/24.
    """
    ball = Ball(10.0, (Lobe(3, 0.5, 0.4), Lobe(5, 0.15, 1.0)), 200_000.0)
    scene = replace(plain(ball, Lens(FOCAL * 800.0, 44.5, 41.5)), wide=90, high=84)
    fine = (np.arange(24) + 0.5) / 24.0 - 0.5
    x = (np.arange(90)[:, None] + fine).ravel()[None, :] - 44.5
    y = 41.5 - (np.arange(84)[:, None] + fine).ravel()[:, None]
    inside = np.hypot(x, y) < true_radius(ball, np.arctan2(y, x)) * 3.6
    share = inside.reshape(84, 24, 90, 24).mean(axis=(1, 3))
    light = light_of(scene)
    assert light == pytest.approx(1.0 - share, abs=0.03)
    assert light.sum() == pytest.approx((1.0 - share).sum(), abs=0.5)


def test_a_round_ball_shows_the_ellipse_of_its_cone() -> None:
    """Area of the dark part: pi a b of the ellipse cut out of the cone, a = f sin b cos b/(cos^2 p - sin^2 b)."""
    tilt, half = math.radians(1.5), math.asin(20.0 / 300.0)
    part = math.cos(tilt) ** 2 - math.sin(half) ** 2
    long = FOCAL * math.sin(half) * math.cos(half) / part
    short = FOCAL * math.sin(half) / math.sqrt(part)
    dark = 1.0 - light_of(plain(Ball(20.0, (), 300.0, 1.5, 0.0)))
    assert dark.sum() == pytest.approx(math.pi * long * short, abs=0.05)
    columns = np.arange(200)
    middle = FOCAL * math.sin(tilt) * math.cos(tilt) / part
    assert (dark.sum(axis=0) @ columns) / dark.sum() == pytest.approx(99.5 + middle, abs=0.005)
    moment = (dark.sum(axis=0) @ (columns - 99.5 - middle) ** 2) / dark.sum()
    assert moment == pytest.approx(long**2 / 4.0, rel=1e-3)  # second moment of an ellipse, a pixel's own 1/12 beside it


def test_the_lens_moves_points_by_its_polynomial() -> None:
    """A small ball on the axis of a lens with k1 = 0.5 is larger by 1 + k1 tan^2 b (algebra)."""
    ball = Ball(20.0, (), 300.0)
    plainly = 1.0 - light_of(plain(ball))
    bent = 1.0 - light_of(plain(ball, Lens(FOCAL, 99.5, 89.5, 0.5)))
    square = math.tan(math.asin(20.0 / 300.0)) ** 2
    assert math.sqrt(bent.sum() / plainly.sum()) == pytest.approx(1.0 + 0.5 * square, abs=2e-5)


def test_blur_and_smear_have_the_moments_that_they_state() -> None:
    """The slope of a nearly straight edge has the variance blur^2 + smear^2/12, and 1/6 for pixels and differences.

    Averaged over the places that an edge may have in a pixel: there the last part is f (1 - f), whose mean is 1/6.
    """
    ball = Ball(20_000.0, (), 200_000.0, math.degrees(math.atan(0.1)), 180.0)
    for smear in (0.0, 4.0):
        variances = []
        for shift in np.arange(8) / 8.0:
            lens = Lens(90_000.0, 99.5 + shift, 89.5)
            slope = np.abs(np.diff(light_of(plain(ball, lens, blur=2.0, smear=smear))[90]))
            assert slope.sum() == pytest.approx(1.0, abs=1e-4)
            place = np.arange(slope.size)
            variances.append((slope @ place**2) / slope.sum() - ((slope @ place) / slope.sum()) ** 2)
        assert np.mean(variances) == pytest.approx(4.0 + smear**2 / 12.0 + 1.0 / 6.0, abs=0.02)


def test_coding_is_that_of_srgb() -> None:
    """scikit-image decodes the coded levels to the light that went in, within half a level's light (0.005 at most)."""
    light = np.linspace(0.0, 1.0, 101)
    gray = np.repeat(coded(light)[None, :, None], 3, axis=2)
    assert color.rgb2xyz(gray)[0, :, 1] == pytest.approx(light, abs=0.005)


def test_true_pixels_are_millimetres_at_the_depth_of_the_centre() -> None:
    """At 300 mm a focal length of 900 pixels shows 3 pixels a millimetre; off the axis the depth is less by cos p."""
    scene = plain(Ball(20.0, (Lobe(2, 0.1, 0.0),), 300.0, 4.0))
    depth = 300.0 * math.cos(math.radians(4.0))
    assert true_pixels(scene, np.zeros(1))[0] == pytest.approx(20.1 * FOCAL / depth, rel=1e-12)


def test_noise_has_the_variance_that_it_states() -> None:
    """Over a flat field the light's variance is shot * light + read^2, to 3 % for 36,000 pixels, rounding beside it."""
    scene = plain(Ball(1.0, (), 10_000.0), outside=0.5, shot=4e-4, read=0.01)
    generator = np.random.default_rng(2)
    levels = photos.photographed(scene, generator)
    gray = np.repeat(levels[:, :, None], 3, axis=2)
    light = color.rgb2xyz(gray)[:, :, 1]
    inner = ndimage.binary_erosion(light > 0.2, iterations=1)
    step = 0.5 * 2.2 / 188.0  # light of a level there, about
    assert light[inner].var() == pytest.approx(4e-4 * 0.5 + 1e-4 + step**2 / 12.0, rel=0.03)
