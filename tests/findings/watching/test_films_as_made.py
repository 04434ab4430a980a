"""Films as phones make them: few pictures, long shutters, rolling rows, slow motion, turned; balls that drift."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from examples.recorded.clips import Scene, film, pictures, write_clip
from tests.findings.watching.made_films import places_in, read, track_of

from ballbench.findings.watching.results import FilmedClip
from ballbench.records.media.clip_file import read_clip
from ballbench.signals.track import track_ball

SCENE = Scene(drag=0.39, air_density=1.18)


def told(scene: Scene, seed: int = 3, slowed: float = 1.0) -> tuple[FilmedClip, float]:
    """Read the places that a scene shows, each off by 0.05 px; give the true rebound as well."""
    places, truth = places_in(scene, 0.05, np.random.default_rng(seed))
    track = track_of(scene, replace(places, t=places.t * slowed))
    assert not isinstance(track, str), track
    return read(replace(track, pace=track.pace * slowed), "a"), truth.rebound


@pytest.mark.parametrize(
    "change",
    [
        {"rate": 30.0, "exposure": 0.5}, {"rate": 60.0, "exposure": 1.0}, {"rate": 60.0, "readout": 0.012},
        {"rate": 30.0, "readout": -0.02}, {"rate": 240.0, "readout": 0.0035, "exposure": 0.9},
    ],
    ids=["30, 1/60 s", "60, 1/60 s", "60, rows", "30, rows", "240, rows"],
)  # fmt: skip
def test_long_shutters_and_rolling_rows_are_read(change: dict[str, float]) -> None:
    """Few pictures, a shutter that is open for the whole picture, rows read down or up: inside 2.6 u and 1.5 mm."""
    clip, truth = told(replace(SCENE, **change))
    assert clip.refused == ""
    assert clip.rebound is not None
    assert abs(clip.rebound.value - truth) < min(2.6 * clip.rebound.u, 1.5)
    hit = clip.impacts[0].restitution
    assert abs(hit.value - SCENE.restitution) < 2.6 * hit.u


def test_slow_motion_that_does_not_say_so_is_refused() -> None:
    """240 pictures a second stored as 30: by gravity a pixel is 64 times too large, the clock 8 times too slow."""
    clip, _ = told(replace(SCENE, rate=240.0), slowed=8.0)
    assert clip.rebound is None
    said = re.search(r"the clip runs ([\d.]+) times too slowly", clip.refused)
    assert said is not None, clip.refused
    assert float(said[1]) == pytest.approx(8.0, rel=0.025)  # 2.5 %: the ball's size is known to no better


@pytest.mark.parametrize(
    "change",
    [
        {"depth_drift": 0.3}, {"depth_drift": -0.3, "pitch": 3.0}, {"depth_drift": 0.4}, {"depth_drift": -0.6},
        {"thrown": 0.3, "depth_drift": 0.2}, {"drift": 0.15, "roll": 3.0},
    ],
    ids=["nearer", "away", "much nearer", "far away", "all along", "sideways"],
)  # fmt: skip
def test_a_ball_that_drifts_is_followed(change: dict[str, float]) -> None:
    """Towards the camera, away, sideways, from 1.2 m: rebound and restitution inside 2.6 u (geometry of a pinhole)."""
    clip, truth = told(replace(SCENE, rate=120.0, **change))
    assert clip.refused == ""
    assert clip.rebound is not None
    assert abs(clip.rebound.value - truth) < min(2.6 * clip.rebound.u, 1.5)
    hit = clip.impacts[0].restitution
    assert abs(hit.value - SCENE.restitution) < 2.6 * hit.u
    if "drift" not in change:
        assert any("% of its distance" in note for note in clip.notes)


@pytest.mark.parametrize("speed", [0.9])
def test_a_ball_that_comes_much_too_near_is_never_read_wrongly(speed: float) -> None:
    """0.9 m/s towards a camera 1.2 m away: inside 2.6 u, or refused, and not as slow motion."""
    clip, truth = told(replace(SCENE, rate=120.0, depth_drift=speed))
    assert "slow" not in clip.refused
    if clip.rebound is not None:
        assert abs(clip.rebound.value - truth) < 2.6 * clip.rebound.u


def test_a_portrait_film_is_read_upright(tmp_path: Path) -> None:
    """30 pictures a second, 1/60 s, lying in the file with the flag to turn it: inside 2.6 u and 2 mm as upright."""
    scene = replace(SCENE, rate=30.0, exposure=0.5)
    lying = tmp_path / "lying.mp4"
    truth = film(tmp_path / "upright.mp4", scene, np.random.default_rng(1))
    shown = ((time, np.ascontiguousarray(np.rot90(one, -1))) for time, one in pictures(scene, np.random.default_rng(1)))
    write_clip(lying, shown, turned=90)
    for path in (tmp_path / "upright.mp4", lying):
        clip = read_clip(path)
        assert clip.height > clip.width
        found = read(track_ball(clip), path.name)
        assert found.refused == ""
        assert found.rebound is not None
        assert abs(found.rebound.value - truth.rebound) < min(2.6 * found.rebound.u, 2.0)


@pytest.mark.parametrize("off", [1.01, 0.99, 1.05])
def test_a_clock_moves_the_rebound_and_not_the_one_carried(off: float) -> None:
    """A clock 1 % off: rebound off by 2 % (g T^2/8), its ratio to the fall by less than 0.3 %; 5 %: refused."""
    places, truth = places_in(SCENE, 0.05, np.random.default_rng(3))
    track = track_of(SCENE, replace(places, t=places.t * off))
    assert not isinstance(track, str)
    clip = read(track, "a", f"{1e3 * SCENE.drop:.1f} ± 0.5 mm")
    if off > 1.02:
        assert "too slowly" in clip.refused
        return
    assert clip.rebound is not None
    assert clip.at_height is not None
    assert clip.rebound.value / truth.rebound == pytest.approx(off**2, abs=4e-3)
    assert clip.at_height.value / truth.rebound == pytest.approx(1.0, abs=3e-3)
    assert any("clock is off by" in note for note in clip.notes)
