"""`watch` from files to findings: drawn clips with known truth, and each refusal provoked by a clip that earns it."""

from __future__ import annotations

import json
import math
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from examples.recorded.clips import Scene, film, motion_of, pictures, write_clip

from ballbench.errors import BadRequest
from ballbench.findings.watching.results import DropFindings, FilmedClip
from ballbench.presentation.drops_json import drops_to_json
from ballbench.records.importers.reading_file import read_readings
from ballbench.workflows.flight_words import FlightWords
from ballbench.workflows.watch import WatchRequest, watch
from ballbench.workflows.watch_readings import drop_readings

BALL = "40 mm, 2.7 g"
USUAL = Scene(rate=120.0, bounces=2, drag=0.39, air_density=1.18, contact=0.001)
LEAGUE = Path(__file__).parents[2] / "examples" / "winter-league" / "league-ball.toml"


@pytest.fixture(scope="module")
def clips(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, ...]:
    """Three drops of one ball from 305 mm."""
    folder = tmp_path_factory.mktemp("clips")
    found = []
    for number, e in enumerate((0.9375, 0.9370, 0.9380)):
        path = folder / f"Curlew_07_{number}.mp4"
        film(path, replace(USUAL, restitution=e), np.random.default_rng([5, number]))
        found.append(path)
    return tuple(found)


@pytest.fixture(scope="module")
def found(clips: tuple[Path, ...]) -> DropFindings:
    return watch(WatchRequest(clips, FlightWords(BALL, "305 mm", "steel block"), "0.85 mm/px", str(LEAGUE)))


def test_three_drops_of_a_ball(found: DropFindings) -> None:
    """Restitution 0.9375 gives about 250 mm by scipy's integration: the mean to 1.5 mm, each drop to 2 mm."""
    truths = [motion_of(replace(USUAL, restitution=e))[1].rebound for e in (0.9375, 0.9370, 0.9380)]
    (ball,) = found.balls
    assert (ball.product, ball.ball, ball.drops, ball.left_out) == ("Curlew", "07", 3, 0)
    assert ball.rebound is not None
    assert ball.rebound.value == pytest.approx(np.mean(truths), abs=1.5)
    for clip, truth in zip(found.clips, truths, strict=True):
        assert clip.rebound is not None
        assert clip.fell is not None
        assert clip.rebound.value == pytest.approx(truth, abs=2.0)
        assert clip.fell.value == pytest.approx(305.0, abs=2.5)
        assert all(check.agrees for check in clip.checks)
        assert {check.by for check in clip.checks} == {"the ball's own breadth", "the ruler"}


def test_the_clause_on_rebound_is_decided_where_its_conditions_held(found: DropFindings) -> None:
    """240 to 260 mm from 305 mm on a steel block: 250 mm is met."""
    (clause,) = [one for one in found.clauses if one.quantity == "rebound"]
    assert (clause.decision, clause.balls) == ("met", 1)


def test_the_json_has_the_keys_that_were_agreed(found: DropFindings) -> None:
    """Format ballbench/drops/1: file, refused, rebound, restitution, scale, each with value and u."""
    data = json.loads(drops_to_json(found))
    assert data["format"] == "ballbench/drops/1"
    assert {"seed", "assumptions", "notes", "clips"} <= data.keys()
    clip = data["clips"][0]
    assert clip["refused"] is None
    for name, unit in (("rebound", "mm"), ("restitution", "1"), ("scale", "mm/px")):
        assert {"value", "u", "unit"} <= clip[name].keys()
        assert clip[name]["unit"] == unit
    assert "picture" not in clip
    seen = json.loads(drops_to_json(found, picture=True))["clips"][0]["picture"]
    assert len(seen["times"]) == len(seen["heights"]) == len(seen["used"]) == len(seen["x"]) > 50


def test_the_same_request_gives_the_same_bytes(clips: tuple[Path, ...]) -> None:
    """Twice the same clip, twice the same JSON."""
    request = WatchRequest(clips[:1], FlightWords(BALL), seed=3)
    assert drops_to_json(watch(request)) == drops_to_json(watch(request))


def test_readings_go_to_judge(found: DropFindings, tmp_path: Path) -> None:
    """Two rows a clip that the importer of readings takes, the rebound to a tenth or whole mm."""
    path = tmp_path / "readings.csv"
    path.write_text(drop_readings(found), encoding="utf-8")
    table = read_readings(path)
    assert len(path.read_text(encoding="utf-8").splitlines()) == 7
    assert table is not None


def one(path: Path, scene: Scene, coding: dict[str, object] | None = None, ruler: str = "") -> FilmedClip:
    film(path, scene, np.random.default_rng(1), **(coding or {}))
    return watch(WatchRequest((path,), FlightWords(BALL), ruler=ruler)).clips[0]


REFUSED: tuple[tuple[str, dict[str, object], str], ...] = (
    ("slow motion", {"slowed": 8.0}, "times too slowly"),
    ("a little slow", {"slowed": 1.05}, "times too slowly"),
    ("fast", {"slowed": 0.9}, "times too fast"),
    ("clock changes", {"ramp": (0.40, 1.5)}, "clock|fly freely"),
    ("clock changes a little", {"ramp": (0.62, 1.04)}, "speed changes inside the clip"),
    ("clock changes by little", {"ramp": (0.45, 1.03)}, "speed changes inside the clip"),
    ("clock goes faster", {"ramp": (0.62, 0.96)}, "speed changes inside the clip"),
    ("from below", {"pitch": -28.0}, "the camera looks up"),
    ("from above", {"pitch": 25.0}, "the camera looks down"),
    ("leaves", {"eye": 0.02, "restitution": 0.93, "height": 400}, "leaves the picture"),
    ("sideways", {"drift": 0.5}, "leaves the picture|falls"),
    ("few pictures", {"rate": 15.0}, "too few pictures|fly freely"),
    ("lies still", {"drop": 0.0005, "bounces": 1}, "falls|few|moves"),
    ("no ball", {"off_picture": 300.0}, "nothing moves"),
)


@pytest.mark.parametrize(("change", "words"), [one[1:] for one in REFUSED], ids=[one[0] for one in REFUSED])
def test_clips_that_tell_nothing_are_refused_with_the_reason(
    tmp_path: Path, change: dict[str, object], words: str
) -> None:
    """Each trouble by itself: nothing is said of the rebound, and the reason names it and what to do."""
    clip = one(tmp_path / "a.mp4", replace(USUAL, **change))  # type: ignore[arg-type]
    assert re.search(words, clip.refused), clip.refused
    assert ";" in clip.refused
    assert clip.rebound is None


def test_a_long_fall_of_a_light_ball_is_no_change_of_clock(tmp_path: Path) -> None:
    """From 0.9 m drag makes the fall a fifth less bent than the rebound (scipy's integration): read, and to 4 mm."""
    scene = replace(USUAL, drop=0.9, drag=0.45, pixel=0.0025, eye=0.45)
    path = tmp_path / "a.mp4"
    truth = film(path, scene, np.random.default_rng(5))
    clip = watch(WatchRequest((path,), FlightWords(BALL))).clips[0]
    assert clip.refused == ""
    assert clip.rebound is not None
    assert clip.rebound.value == pytest.approx(truth.rebound, abs=4.0)


def test_a_clip_of_two_balls_is_refused(tmp_path: Path) -> None:
    """Two balls fall beside each other, one drawn above the other's picture."""
    scene = replace(USUAL, width=120)
    left = list(pictures(replace(scene, restitution=0.9), np.random.default_rng(1)))
    right = list(pictures(replace(scene, restitution=0.85), np.random.default_rng(2)))
    both = [(t, np.hstack([a, b])) for (t, a), (_, b) in zip(left, right, strict=False)]
    path = tmp_path / "two.mp4"
    write_clip(path, iter(both))
    clip = watch(WatchRequest((path,), FlightWords(BALL))).clips[0]
    assert "2 things fall and rebound" in clip.refused
    assert clip.rebound is None


def test_too_much_compression_is_refused(tmp_path: Path) -> None:
    """A ball that hardly stands out, coded so coarsely that its outline is lost."""
    clip = one(
        tmp_path / "a.mp4",
        replace(USUAL, ball=105.0, texture=14.0),
        coding={"options": {"crf": "51", "preset": "ultrafast"}},
    )
    assert clip.refused
    assert clip.rebound is None


def test_a_clip_that_ends_too_early_is_refused(tmp_path: Path) -> None:
    """The clip ends on the way up."""
    path = tmp_path / "a.mp4"
    shown = [(t, p) for t, p in pictures(USUAL, np.random.default_rng(1)) if t < 0.55]
    write_clip(path, iter(shown))
    clip = watch(WatchRequest((path,), FlightWords(BALL))).clips[0]
    assert re.search("ends before the top|falls and rebounds", clip.refused)


def test_repeated_pictures_and_uneven_times_are_said_and_do_no_harm(tmp_path: Path) -> None:
    """Every sixth picture once more, times uneven by a third of a frame: noted, and the rebound within 2 mm."""
    scene = replace(USUAL, repeated=6, jitter=0.0025)
    path = tmp_path / "a.mp4"
    truth = film(path, scene, np.random.default_rng(4))
    clip = watch(WatchRequest((path,), FlightWords(BALL))).clips[0]
    assert clip.refused == ""
    assert clip.repeated > 8
    assert any("variable rate" in note for note in clip.notes)
    assert any("once more" in note for note in clip.notes)
    assert clip.rebound is not None
    assert clip.rebound.value == pytest.approx(truth.rebound, abs=2.0)


def test_a_fall_from_another_height_is_not_carried_over(tmp_path: Path) -> None:
    """Dropped from 305 mm, said to be 400 mm: the rebound as dropped is shown, and does not count for the ball."""
    path = tmp_path / "a.mp4"
    film(path, USUAL, np.random.default_rng(1))
    found = watch(WatchRequest((path,), FlightWords(BALL, "400 mm"), spec=str(LEAGUE)))
    (clip,) = found.clips
    assert clip.rebound is not None
    assert clip.at_height is None
    assert found.balls == ()
    assert found.sentences[0] == "No clip counts for its ball; why stands with each.", "a rebound is told, below"
    assert any("not from 400 mm" in note for note in clip.notes)
    assert "spoiled: fell from another height" in drop_readings(found)


def test_a_ruler_out_of_the_plane_is_said(tmp_path: Path) -> None:
    """A ruler 8 % off, the ball's own size agreeing with gravity: said, and nothing refused."""
    clip = one(tmp_path / "a.mp4", USUAL, ruler="0.918 mm/px")
    assert clip.refused == ""
    assert [check.agrees for check in clip.checks] == [True, False]
    assert any("does not lie in the plane" in note for note in clip.notes)


def test_marks_take_the_place_of_what_was_found(clips: tuple[Path, ...], tmp_path: Path) -> None:
    """A place put by hand is used where it was put; a picture that was left out is gone."""
    free = watch(WatchRequest(clips[:1], FlightWords(BALL))).clips[0]
    at, out = free.seen.times[40], free.seen.times[50]
    marks = tmp_path / "marks.csv"
    marks.write_text(
        f"file,time_s,what,x,y\n{clips[0].name},{at:.6f},ball,{free.seen.xs[40]:.2f},{free.seen.ys[40] + 1.0:.2f}\n"
        f"{clips[0].name},{out:.6f},leave out,,\n",
        encoding="utf-8",
    )
    found = watch(WatchRequest(clips[:1], FlightWords(BALL), marks=marks))
    clip = found.clips[0]
    assert clip.by_hand == 1
    row = clip.seen.by_hand.index(True)
    assert clip.seen.times[row] == pytest.approx(at, abs=1e-6)
    assert clip.seen.ys[row] == pytest.approx(free.seen.ys[40] + 1.0, abs=0.01)
    assert all(abs(time - out) > 1e-4 for time in clip.seen.times)
    assert found.marks_digest.startswith("sha256:")


def test_what_cannot_be_asked_is_refused_at_once(tmp_path: Path) -> None:
    """No file, a negative seed, a ruler without a unit, and a ball without a mass."""
    with pytest.raises(BadRequest) as caught:
        watch(WatchRequest((), FlightWords(BALL), ruler="0.85", seed=-1))
    assert all(words in str(caught.value) for words in ("no file", "--seed", "--ruler"))
    with pytest.raises(BadRequest, match="--ball"):
        watch(WatchRequest((tmp_path / "a.mp4",), FlightWords("40 mm")))


def test_a_file_that_is_no_clip_is_refused_and_the_others_count(clips: tuple[Path, ...], tmp_path: Path) -> None:
    """A text beside a clip: one is refused, the other read."""
    text = tmp_path / "Dunlin_01.mp4"
    text.write_text("nothing", encoding="utf-8")
    found = watch(WatchRequest((text, clips[0]), FlightWords(BALL)))
    assert [bool(clip.refused) for clip in found.clips] == [True, False]
    assert math.isnan(found.ruler)
    assert "Dunlin_01.mp4: not used" in found.sentences[-1]
