"""A ball followed through pictures that are drawn here, and a track cut into flights."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import pytest
from numpy.typing import NDArray
from skimage.measure import block_reduce

from ballbench.signals.track import Looks, Mark, track_ball
from ballbench.signals.track_blobs import blobs_in
from ballbench.signals.track_flights import FEW, NO_FALL, NOT_FREE, Flights, flights_of
from ballbench.signals.track_ground import Sampler, coarse, ground_of

HIGH, WIDE, RADIUS, PULL = 300, 90, 12.0, 6000.0


def disc(x: float, y: float, radius: float = RADIUS, smear: float = 0.0) -> np.ndarray:
    """Share of each pixel that a disc covers, the mean over a smear downwards, by nine times nine points a pixel."""
    fine = (np.arange(3) - 1.0) / 3.0
    covered = np.zeros((HIGH, WIDE))
    shifts = np.linspace(-smear / 2.0, smear / 2.0, 9) if smear else np.zeros(1)
    rows, columns = np.arange(HIGH) + 0.5, np.arange(WIDE) + 0.5
    for shift in shifts:
        for a in fine:
            for b in fine:
                covered += np.hypot(columns[None, :] + a - x, rows[:, None] + b - y - shift) < radius
    return covered / (shifts.size * 9)


def quick_disc(x: float, y: float) -> np.ndarray:
    """The same to a few hundredths: what a disc covers of a pixel falls from 1 to 0 over a pixel at its edge."""
    rows, columns = np.arange(HIGH) + 0.5, np.arange(WIDE) + 0.5
    return np.clip(RADIUS - np.hypot(columns[None, :] - x, rows[:, None] - y) + 0.5, 0.0, 1.0)


def bounce(t: np.ndarray, e: float = 0.8, held: float = 0.1, drop: float = 200.0, floor: float = 270.0) -> np.ndarray:
    """Places of a ball without air, px: held, dropped, four times up again (exact parabolas)."""
    y = np.full(t.size, floor - drop)
    begin, speed = held + math.sqrt(2.0 * drop / PULL), math.sqrt(2.0 * PULL * drop)
    fall = (t >= held) & (t < begin)
    y[fall] = floor - drop + PULL * (t[fall] - held) ** 2 / 2.0
    for _ in range(5):
        speed *= e
        end = begin + 2.0 * speed / PULL
        rows = (t >= begin) & (t < end)
        since = t[rows] - begin
        y[rows] = floor - speed * since + PULL * since**2 / 2.0
        begin = end
    y[t >= begin] = floor
    return y


@dataclass
class Drawn:
    """A clip that is drawn while it is looked at."""

    t: np.ndarray
    y: np.ndarray
    others: tuple[tuple[float, np.ndarray], ...] = ()
    repeated: int = 0
    noise: float = 1.0
    width: int = WIDE
    height: int = HIGH

    def frames(self, start: float = -math.inf, stop: float = math.inf) -> Iterator[tuple[float, NDArray[np.uint8]]]:
        """Draw the pictures between two times."""
        rng = np.random.default_rng(1)
        ground = 60.0 + 6.0 * np.random.default_rng(0).standard_normal((HIGH, WIDE))
        last = None
        for k, (time, y) in enumerate(zip(self.t, self.y, strict=True)):
            cover = quick_disc(30.0, y)
            for x, ys in self.others:
                cover = np.maximum(cover, quick_disc(x, ys[k]))
            seen = ground * (1.0 - cover) + 200.0 * cover + self.noise * rng.standard_normal(ground.shape)
            if last is None or not self.repeated or k % self.repeated:
                last = np.clip(np.rint(seen), 0, 255).astype(np.uint8)
            if start <= time <= stop:
                yield float(time), last


T = np.arange(0.0, 1.5, 1 / 100)


@pytest.mark.parametrize("smear", [0.0, 4.0, 15.0])
@pytest.mark.parametrize("y", [100.0, 100.25, 163.7])
def test_a_disc_is_found_where_it_is_drawn(y: float, smear: float) -> None:
    """Its centre to 0.08 px, smeared or not; its breadth to 3 % where the smear is less than a radius (geometry)."""
    rng = np.random.default_rng(4)
    level = 60.0 + 6.0 * rng.standard_normal((HIGH, WIDE))
    stack = np.clip(np.rint(level + rng.standard_normal((7, HIGH, WIDE))), 0, 255).astype(np.uint8)
    ground = ground_of(stack)
    assert ground is not None
    cover = disc(41.3, y, smear=smear)
    picture = np.clip(np.rint(level * (1 - cover) + 200 * cover + rng.standard_normal(level.shape)), 0, 255)
    (blob,) = blobs_in(picture.astype(np.uint8), ground)
    assert (blob.x, blob.y) == pytest.approx((41.3, y), abs=0.08)
    assert blob.height == pytest.approx(2 * RADIUS + smear * 0.5, abs=0.5 + smear / 2)
    assert blob.fill > 0.85
    if smear < RADIUS:
        assert blob.width == pytest.approx(2 * RADIUS, rel=0.03)


def test_a_lamp_that_flickers_is_taken_off() -> None:
    """A picture that is ten per cent brighter all over shows nothing new."""
    rng = np.random.default_rng(4)
    level = 80.0 + 6.0 * rng.standard_normal((HIGH, WIDE))
    stack = np.clip(np.rint(level + rng.standard_normal((7, HIGH, WIDE))), 0, 255).astype(np.uint8)
    ground = ground_of(stack)
    assert ground is not None
    assert blobs_in(np.clip(np.rint(1.1 * level), 0, 255).astype(np.uint8), ground) == ()


def test_what_stands_still_is_the_median_and_memory_is_bounded() -> None:
    """A disc that passes leaves no trace in the median of 500 pictures, of which fewer than 80 are kept."""
    sampler = Sampler()
    for k in range(500):
        sampler.add(np.where(disc(30.0, 20.0 + k / 2) > 0.5, 200, 60).astype(np.uint8))
    assert 20 <= len(sampler.pictures) < 80
    ground = ground_of(sampler.pictures)
    assert ground is not None
    assert np.all(ground.level == 60.0)
    assert ground_of(sampler.pictures[:4]) is None


def test_reducing_takes_means() -> None:
    """The mean over each square by numpy; what is left over at the edges is cut off."""
    picture = np.random.default_rng(1).integers(0, 255, (11, 14)).astype(np.uint8)
    small = coarse(picture, 3)
    assert small.shape == (3, 4)
    assert small[1, 2] == pytest.approx(picture[3:6, 6:9].mean(), rel=1e-6)


def test_a_ball_is_followed_through_its_bounces() -> None:
    """Exact parabolas: places to 0.15 px in the mean square, impacts to 1 ms, the floor to half a pixel."""
    track = track_ball(Drawn(T, bounce(T)))
    assert track.refused == ""
    assert track.flights is not None
    rows = np.concatenate(track.flights.parts)
    assert np.sqrt(np.mean((track.y[rows] - bounce(track.t[rows])) ** 2)) < 0.15
    first = 0.1 + math.sqrt(2 * 200 / PULL)
    speed = math.sqrt(2 * PULL * 200)
    truth = [first, first + 2 * 0.8 * speed / PULL, first + 2 * (0.8 + 0.64) * speed / PULL]
    assert track.flights.impacts[:3] == pytest.approx(truth, abs=1e-3)
    assert track.flights.floor == pytest.approx(270.0, abs=0.5)
    assert track.diameter == pytest.approx(2 * RADIUS, rel=0.03)
    assert track.flights.curvatures[:3] == pytest.approx([PULL] * 3, rel=0.02)


def test_repeated_pictures_are_left_out() -> None:
    """Each fifth picture shows the one before once more: none of them is used, and they are counted."""
    track = track_ball(Drawn(T, bounce(T), repeated=5))
    assert track.flights is not None
    rows = np.concatenate(track.flights.parts)
    again = {round(float(T[k]), 6) for k in range(0, T.size, 5)}
    assert not again & {round(float(time), 6) for time in track.t[rows]}
    inside = [time for time in again if track.t[rows[0]] < time < track.t[rows[-1]]]
    assert abs(track.repeated - len(inside)) <= 1


def test_a_ball_at_the_same_place_before_and_after_an_impact_is_no_repeated_picture() -> None:
    """Pictures whose moments lie so about the first impact that both show one place: none is said to be a repeat."""
    places = [bounce(T + shift) for shift in np.arange(0.0, 0.01, 1e-5)]
    hit = int(np.argmax(places[0][:45]))
    alike = [min(abs(y[k + 1] - y[k]) for k in (hit - 1, hit)) for y in places]
    y = places[int(np.argmin(alike))]
    track = track_ball(Drawn(T, y, noise=0.3))
    assert track.flights is not None
    assert track.repeated == 0


def test_two_balls_are_refused() -> None:
    """Two balls that fall beside each other: neither is chosen."""
    track = track_ball(Drawn(T, bounce(T), others=((70.0, bounce(T, e=0.75)),)))
    assert "2 things fall and rebound" in track.refused


def test_a_mark_picks_the_ball_and_stands_where_it_was_put() -> None:
    """Of two balls that fall the marked one is followed; a mark moves a place, another leaves a picture out."""
    y = bounce(T)
    marks = (Mark(0.40, 30.0, float(y[40]) + 2.0, 1.5), Mark(0.60, math.nan, math.nan))
    track = track_ball(Drawn(T, y, others=((70.0, bounce(T, e=0.75)),)), marks)
    assert track.flights is not None
    at = int(np.argmin(np.abs(track.t - 0.40)))
    assert (track.y[at], track.u[at]) == (float(y[40]) + 2.0, 1.5)
    assert np.nanmedian(track.x) == pytest.approx(30.0, abs=0.2)
    assert np.abs(track.t - 0.60).min() > 0.005
    assert np.isfinite(track.u).sum() == 1


def test_nothing_that_moves_nothing_that_falls() -> None:
    """A still picture, and a ball that drifts upwards, each with its own words."""
    assert "nothing moves" in track_ball(Drawn(T, np.full(T.size, 100.0))).refused
    assert "rebounds" in track_ball(Drawn(T, 250.0 - 130.0 * T)).refused
    assert "pictures" in track_ball(Drawn(T[:3], bounce(T[:3]))).refused


def test_a_ball_that_leaves_the_picture_is_refused() -> None:
    """Thrown down from the top, it rises beyond the upper edge."""
    y = bounce(T, e=0.9, drop=330.0, floor=270.0)
    assert "leaves the picture" in track_ball(Drawn(T, y)).refused


def test_flights_of_exact_parabolas() -> None:
    """Cut at the impacts, and no picture about an impact is in any part."""
    found = flights_of(T, bounce(T), 2 * RADIUS)
    assert isinstance(found, Flights)
    assert len(found.impacts) == 4
    for part in found.parts:
        assert np.all(np.diff(part) == 1)
        assert min(abs(T[row] - hit) for row in part for hit in found.impacts) > 0.01


def test_what_is_no_drop_says_why() -> None:
    """A straight way, a fall without a rebound, a fall of four pictures, a rebound that runs by another clock."""
    assert flights_of(T, 250.0 - 130.0 * T, 24.0) == NO_FALL
    assert flights_of(T[:35], bounce(T)[:35], 24.0) == NO_FALL
    few = T[::8]
    assert flights_of(few, bounce(few), 24.0) in {FEW, NOT_FREE}
    late = T + np.maximum(T - 0.55, 0.0)
    assert flights_of(late, bounce(T), 24.0) in {NOT_FREE, NO_FALL}


def test_a_rebound_is_not_taken_for_the_fall() -> None:
    """The first impact is hidden: the ball rises to where it seems to fall from, and nothing is read."""
    y = bounce(T)
    first = 0.1 + math.sqrt(2 * 200 / PULL)
    seen = (first + 0.05 < T) & (T < 1.4)
    assert isinstance(flights_of(T[seen], y[seen], 24.0), str)


@pytest.mark.parametrize("step", [1, 2, 3, 4])
def test_a_reduced_picture_is_that_of_squares(step: int) -> None:
    """Means over squares against scikit-image's block_reduce, what is left over cut off; to float32's last figures."""
    picture = np.random.default_rng(step).integers(0, 256, (97, 61)).astype(np.uint8)
    high, wide = (side // step * step for side in picture.shape)
    truth = block_reduce(picture[:high, :wide].astype(np.float64), (step, step), np.mean)
    small = coarse(picture, step)
    assert small.dtype == np.float32
    np.testing.assert_allclose(small, truth, rtol=2e-7)


def test_what_was_seen_before_is_not_looked_at_again() -> None:
    """A clip tracked with other marks, what was seen in it known: the same way as afresh, and no picture drawn."""
    clip, looks = Drawn(T, bounce(T)), Looks()
    track_ball(clip, looks=looks)
    mark = Mark(float(T[45]), 31.0, float(bounce(T)[45]) - 1.0)
    blind = replace(clip, t=T[:0])
    again, afresh = track_ball(blind, (mark,), looks), track_ball(clip, (mark,))
    for one, other in zip((again.t, again.x, again.y, again.u), (afresh.t, afresh.x, afresh.y, afresh.u), strict=True):
        np.testing.assert_array_equal(one, other)
    assert (again.refused, again.frames, again.noise) == (afresh.refused, afresh.frames, afresh.noise)
