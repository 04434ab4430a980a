"""Real photographs that scikit-image ships: coins (makers unknown, lit from the side), and many without a ball."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import skimage
from numpy.typing import NDArray
from scipy import optimize
from skimage import data, feature

from ballbench.images.finding import outline_of
from ballbench.records.media.photo_file import linear_light, read_photo

COINS = (
    (154, 198, 19), (213, 193, 24), (102, 196, 22), (335, 44, 29), (102, 126, 19), (347, 187, 32), (46, 260, 28),
    (244, 263, 24), (155, 51, 23), (205, 124, 20), (277, 52, 20),
)  # fmt: skip
"""x, y and radius by eye, pixels, of eleven that are round; one at 273, 193 has a piece broken off."""


def circle_through_ridges(light: NDArray[np.float32], place: tuple[int, int, int]) -> NDArray[np.float64]:
    """Fit a circle to the edge pixels of scikit-image's Canny detector by scipy's robust least squares."""
    rows, columns = np.nonzero(feature.canny(light, sigma=1.5))
    near = np.abs(np.hypot(columns - place[0], rows - place[1]) - place[2]) < 4.0
    x, y = columns[near], rows[near]
    fitted = optimize.least_squares(
        lambda p: np.hypot(x - p[0], y - p[1]) - p[2], np.array(place, dtype=float), loss="soft_l1", f_scale=0.3
    )
    return np.asarray(fitted.x)


@pytest.mark.parametrize("place", COINS, ids=[f"{x},{y}" for x, y, _ in COINS])
def test_outlines_of_coins_agree_with_an_independent_fit(place: tuple[int, int, int]) -> None:
    """Middle and radius agree with a circle through Canny's edge pixels within 0.6 and 0.5 pixel.

    Canny's points are whole pixels (SD 0.29 each, so a circle through a hundred is good to some hundredths); the coins'
    rims are bevelled and lit from one side, which shows the two methods edges up to half a pixel apart.
    """
    picture = data.coins()
    found = outline_of(picture, near=place[:2], radius=place[2], least_radius=10.0)
    assert not found.refused
    assert found.coverage > 0.75  # rims are worn, and one has a shadow beside it
    x, y, radius = circle_through_ridges(linear_light(picture), place)
    assert found.centre == pytest.approx((x, y), abs=0.6)
    assert found.radius.mean() == pytest.approx(radius, abs=0.5)


@pytest.mark.parametrize("name", [
    "astronaut.png", "brick.png", "camera.png", "cell.png", "chelsea.png", "chessboard_GRAY.png", "clock_motion.png",
    "coffee.png", "color.png", "grass.png", "gravel.png", "hubble_deep_field.jpg", "ihc.png", "logo.png",
    "microaneurysms.png", "moon.png", "motorcycle_left.png", "motorcycle_right.png", "page.png", "phantom.png",
    "rocket.jpg", "text.png",
])  # fmt: skip
def test_real_photographs_without_a_ball_are_refused(name: str) -> None:
    """A person, brick, grass, gravel, a cup seen from the side, a moved clock and others: a reason each."""
    photo = read_photo(Path(skimage.__file__).parent / "data" / name)
    found = outline_of(photo.coded, least_radius=20.0)
    assert found.refused
    assert found.radius.size == 0
    assert "over-exposed on 0 %" not in found.refused


def test_a_tray_of_coins_is_refused_as_several_round_things() -> None:
    """Two dozen coins: ten of them as large as half the best, and no word of a ball that is too small or hidden."""
    assert "round things stand in the picture" in outline_of(data.coins()).refused


def test_a_round_mask_with_a_tab_is_a_disk() -> None:
    """The back of an eye through a round mask: a light disk, its tab left out and said, and the circle kept.

    Nothing in the picture tells a mask from a ball; whoever looks at the dots does.
    """
    photo = read_photo(Path(skimage.__file__).parent / "data" / "retina.jpg")
    found = outline_of(photo.coded, least_radius=20.0)
    assert not found.refused
    assert 0.95 < found.coverage < 0.99
    assert any("edge were dropped" in note for note in found.notes)
    assert np.ptp(found.radius) < 0.005 * np.median(found.radius)
