"""Files that phones leave, through the commands that read them: a value where it is right, else one clear message."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from examples.recorded.sounds import CONTACTS, bounces_of, hiss, in_a_room, sound_of
from tests.cli.conftest import Ran
from tests.records.media.phone_files import boxes_of, edited, joined, sounds, tiff

from ballbench.physics.vertical_flight import Faller

Program = Callable[..., Ran]
RATE = 48_000
BALL = ("--ball", "40.0 mm, 2.70 g", "--drop-height", "305 mm")


def drop() -> tuple[np.ndarray, np.ndarray]:
    """The sound of a drop with ten impacts, and when each begins."""
    generator = np.random.default_rng(3)
    bounces = bounces_of(0.305, np.full(10, 0.92), Faller(2.74e-3, 0.040, 0.45, 1.19, 9.81))
    dry, onsets = sound_of(bounces, CONTACTS["light shell on steel"], generator, rate=RATE, start=1.0)
    wet = in_a_room(dry, generator, rate=RATE)
    return 0.3 * wet / np.abs(wet).max() + 2e-4 * hiss(wet.size, generator), onsets


def heard(ballbench: Program, path: Path) -> dict:
    ran = ballbench("listen", str(path), *BALL, "--json", "-")
    return json.loads(ran.out)["recordings"][0]


def test_times_across_a_gap_tell_nothing(ballbench: Program, tmp_path: Path) -> None:
    """10 ms that are missing between two impacts: those before tell what they told, those behind are left out.

    10 ms on a flight of 0.34 s would be 0.03 of restitution.
    """
    samples, onsets = drop()
    whole, gap = tmp_path / "Curlew_07.m4a", tmp_path / "Curlew_07_gap.m4a"
    cut = round((onsets[4] + 0.1) * RATE) // 4096 * 4096
    sounds(whole, [(samples, "alac")])
    sounds(gap, [(samples, "alac")], pause=(cut / RATE, 0.01))
    told, cut_off = (heard(ballbench, path)["drops"][0] for path in (whole, gap))
    before = sum(onset < cut / RATE for onset in onsets)
    assert len(told["impacts_s"]) == len(onsets)
    assert len(cut_off["impacts_s"]) == before
    values = [[one["value"] for one in drop["restitution"]] for drop in (told, cut_off)]
    assert values[1] == pytest.approx(values[0][: before - 1], abs=1e-4)
    assert any("is missing" in note for note in cut_off["notes"])


@pytest.mark.parametrize(
    ("command", "options", "make", "words"),
    [
        ("listen", BALL, "unfinished", "table of contents"), ("watch", BALL, "unfinished", "table of contents"),
        ("listen", BALL, "edited", "was edited"), ("trace", (), "raw", "raw photograph"),
        ("trace", (), "film", "a film is for `ballbench watch`"),
        ("listen", BALL, "raw", "a photograph (TIFF)"),
    ],
)  # fmt: skip
def test_what_cannot_be_used_ends_with_one_message(
    ballbench: Program, tmp_path: Path, command: str, options: tuple[str, ...], make: str, words: str
) -> None:
    """Status 2, the file's name, what was found and what to do; no traceback."""
    path = tmp_path / "Curlew_07.mp4"
    if make == "raw":
        path.write_bytes(tiff([(254, 4, 0), (262, 3, 32803)]))
    else:
        data = sounds(path, [(0.1 * np.ones(RATE), "aac")])
        boxes = boxes_of(data)
        if make == "unfinished":
            path.write_bytes(joined(one for one in boxes if one[0] != b"moov"))
        elif make == "edited":
            path.write_bytes(edited(data, [(0.3, 0.5, 1.0), (0.3, 0.0, 1.0)]))
    ran = ballbench(command, str(path), *options)
    assert ran.status == 2
    text = " ".join((ran.out + ran.err).split())
    assert words in text
    assert text.count("Curlew_07.mp4: ") >= 1
    assert "Traceback" not in text
