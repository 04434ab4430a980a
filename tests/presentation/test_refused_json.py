"""A recording that was refused tells no value: whatever was worked out before the refusal stays out of the JSON."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np
from examples.recorded.clips import Scene
from examples.recorded.ramps import Board, made_balls, ramp_table, write_table
from tests.findings.watching.made_films import places_in, read, track_of
from tests.presentation.example_bounces import bounces
from tests.presentation.test_outline_pictures import LOBES, photo

from ballbench.findings.footing import Footing
from ballbench.findings.tracing.results import OutlineFindings
from ballbench.findings.watching.results import DropFindings
from ballbench.presentation.bounces_json import bounces_to_json
from ballbench.presentation.drops_json import drops_to_json
from ballbench.presentation.outlines_json import outlines_to_json
from ballbench.presentation.rolls_json import rolls_to_json
from ballbench.workflows.roll import roll_typed

WHY = "the clip runs too slowly; use the original"
OF_THE_FILE = {
    "seconds", "rate", "frames", "frames_in_flight", "frames_repeated", "frames_left_out", "frames_by_hand",
}  # fmt: skip
"""What a file is, not what a ball does."""


def numbers(data: Any, name: str = "") -> Iterator[str]:
    """Give the names of all numbers in JSON."""
    if isinstance(data, dict):
        for key, value in data.items():
            yield from numbers(value, key)
    elif isinstance(data, list):
        for value in data:
            yield from numbers(value, name)
    elif isinstance(data, int | float) and not isinstance(data, bool):
        yield name


def test_a_refused_sound_tells_no_value() -> None:
    """A recording with drops, restitutions and a rebound, then refused."""
    found = bounces()
    first = replace(found.recordings[0], refused=WHY)
    told = json.loads(bounces_to_json(replace(found, recordings=(first, *found.recordings[1:]))))["recordings"]
    assert told[0]["refused"] == WHY
    assert set(numbers(told[0])) <= OF_THE_FILE
    assert "value" in set(numbers(told[1])), "one that was not refused tells values"


def test_a_refused_film_tells_no_value() -> None:
    """A clip whose scale by the ball's breadth spoke against gravity after all had been worked out."""
    scene = Scene(rate=120.0)
    places, _ = places_in(scene, 0.05, np.random.default_rng(1))
    track = track_of(scene, places)
    assert not isinstance(track, str)
    clip = read(track, "Curlew_1.mp4", "305 mm")
    assert clip.checks, "without a check of the scale this test proves little"
    settings = bounces().settings
    told = json.loads(
        drops_to_json(DropFindings((replace(clip, refused=WHY), clip), (), (), settings, 0.85, 1, None, Footing()))
    )
    refused, used = told["clips"]
    assert set(numbers(refused)) <= OF_THE_FILE
    assert refused["scale_checks"] == refused["budget"] == refused["impacts"] == []
    assert {"value", "u", "scale_change_percent", "scatter"} <= set(numbers(used))


def test_a_refused_photograph_tells_no_value() -> None:
    """An outline with its lobes, then refused."""
    one = photo(LOBES)
    found = OutlineFindings((replace(one, refused=WHY), one), (), None, (), 50.0, "mm", 1, None, Footing())
    refused, used = json.loads(outlines_to_json(found))["photos"]
    assert set(numbers(refused)) == set()
    assert {"value", "u", "amplitude", "radius_px"} <= set(numbers(used))


def test_an_axis_that_cannot_be_told_has_no_value() -> None:
    """Rolled one way round only: runs are counted, and nothing else is said of that axis."""
    rng = np.random.default_rng(3)
    rows = ramp_table(made_balls("Curlew", 2, 0.05, rng), Board(noise=2.0), rng)
    one_way = [row for row in rows if (row["ball"], row["orientation"], row["direction"]) != ("01", "A", "turned")]
    assert len(one_way) < len(rows)
    told = json.loads(rolls_to_json(roll_typed(write_table(None, one_way))))
    axes = {axis["axis"]: axis for axis in told["products"][0]["balls_found"][0]["axes"]}
    assert axes["A"]["reason"]
    assert set(numbers(axes["A"])) == {"runs_as_placed", "runs_turned"}
    assert "offset" in set(numbers(axes["B"]))
