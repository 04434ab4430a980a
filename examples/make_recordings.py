"""Write the recordings of the invented winter league: nothing here was ever recorded.

Run from the root: ``.venv/bin/python -m examples.make_recordings``. One function a kind of recording; each writes small
files into a folder and is seeded, so that the same files come out wherever the coders are the same.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
from examples.recorded.clips import Scene as Filmed
from examples.recorded.clips import film
from examples.recorded.photos import Ball, Lens, Lobe, Scene, photographed
from examples.recorded.ramps import Board, RolledBall, ramp_table, spot_table, write_table
from examples.recorded.sounds import CONTACTS, bounces_of, coded, hiss, hum, in_a_room, sound_of, speech_like
from numpy.typing import NDArray
from PIL import Image

from ballbench.physics.vertical_flight import Faller
from ballbench.records.media.said_invented import INVENTED_MARK

FOLDER = Path(__file__).parent / "winter-league" / "recordings"

_BALL = Faller(2.739e-3, 0.040, 0.42, 1.19, 9.81)
"""A ball of 40 mm that a balance shows as 2.70 g."""
_DROPS = {
    "Curlew_07.m4a": (0.926, 0.9270, 0.9255),
    "Dunlin_03.m4a": (0.902, 0.9035, 0.9045),
    "Plover_11.m4a": (0.914, 0.9165, 0.9140),
}
"""Restitution at the first impact of each drop; it rises a little as the ball gets slower."""


def sounds(folder: Path) -> None:
    """Write three drops each of three balls from 305 mm onto a steel block, as a phone would have heard them."""
    for number, (name, firsts) in enumerate(_DROPS.items()):
        rng = np.random.default_rng([2026, number])
        parts = []
        for first in firsts:
            kept = first + 0.0012 * np.arange(8) + 0.0004 * rng.standard_normal(8)
            drop = bounces_of(0.305 + 0.0004 * rng.standard_normal(), kept, _BALL, 0.95e-3)
            parts.append(sound_of(drop, CONTACTS["light shell on steel"], rng, start=0.7)[0])
        dry = in_a_room(np.concatenate(parts), rng, wet=0.05)
        noise = 0.002 * hiss(dry.size, rng, colour=1.0) + 0.004 * hum(dry.size, rng)
        heard = dry / np.max(np.abs(dry)) * 0.7 + noise
        (folder / name).write_bytes(coded(heard, "aac", bit_rate=80_000, comment=INVENTED_MARK))


def talk(folder: Path) -> None:
    """Write somebody talking, with no ball at all."""
    rng = np.random.default_rng([2026, 9])
    said = 0.3 * speech_like(48_000 * 4, rng) + 0.002 * hiss(48_000 * 4, rng)
    (folder / "Curlew_08_talk.m4a").write_bytes(coded(said, "aac", bit_rate=64_000, comment=INVENTED_MARK))


_OUTLINES = {
    "Curlew_07": (Lobe(2, 0.004, 0.6), Lobe(3, 0.003, 2.0)),
    "Dunlin_03": (Lobe(3, 0.045, 1.2), Lobe(2, 0.020, 2.0), Lobe(5, 0.008, 0.4)),
    "Plover_11": (Lobe(3, 0.024, -0.8), Lobe(2, 0.005, 0.3)),
}
"""Lobes of three balls, mm and radians, as they stand in the first photograph."""
_TURNS = (0, 50, 130, 210)
_STAYS = (Lobe(2, 0.015, 0.5),)
"""What the camera adds to every outline, as pixels that are wider than high would."""


def _kept(levels: NDArray[np.uint8], path: Path) -> None:
    """Write a photograph that says of itself that it is invented."""
    exif = Image.Exif()
    exif[0x010E] = INVENTED_MARK
    Image.fromarray(levels).save(path, "JPEG", quality=85, exif=exif)


def photographs(folder: Path) -> None:
    """Write balls before a lamp: one each of three, three more of Dunlin 03 turned, and one that is cut off."""
    side, radius = 640, 250.0
    lens = Lens(radius * 1200.0 / 20.0, (side - 1) / 2.0, (side - 1) / 2.0)
    taken = [(f"{name}.jpg", lobes, 0) for name, lobes in _OUTLINES.items() if name != "Dunlin_03"]
    taken += [(f"Dunlin_03_turn{turn}.jpg", _OUTLINES["Dunlin_03"], turn) for turn in _TURNS]
    for number, (name, lobes, turn) in enumerate(taken):
        turned = tuple(Lobe(one.n, one.amplitude, one.phase - one.n * np.radians(turn)) for one in lobes)
        ball = Ball(20.0, (*turned, *(_STAYS if name.startswith("Dunlin") else ())), 1200.0)
        scene = Scene(side, side, lens, (ball,), read=0.002, shot=2e-5)
        _kept(photographed(scene, np.random.default_rng([2026, 20 + number])), folder / name)
    aside = Lens(lens.focal, 180.0, lens.cy)
    scene = Scene(side, side, aside, (Ball(20.0, (), 1200.0),), read=0.002, shot=2e-5)
    _kept(photographed(scene, np.random.default_rng([2026, 29])), folder / "Curlew_08_cut.jpg")


def ramps(folder: Path) -> None:
    """Write the logs of a ramp that leans by 1.2 mrad, and of balls that were floated: no recordings, but typed."""
    rng = np.random.default_rng(2)
    balls = [
        RolledBall("Curlew", "01", (0.010, -0.006, 0.004)), RolledBall("Curlew", "02", (-0.002, 0.001, 0.003)),
        RolledBall("Dunlin", "01", (0.075, -0.030, 0.040)), RolledBall("Dunlin", "02", (-0.050, 0.060, 0.055)),
    ]  # fmt: skip
    write_table(folder / "ramp.csv", ramp_table(balls, Board(angle=5.0, lean=1.2, noise=2.0), rng))
    rng = np.random.default_rng(4)
    floats = spot_table("Dunlin", "01", 10, 6, 0.7, rng, slow=25.0)
    write_table(folder / "floats.csv", floats + spot_table("Curlew", "01", 10, 6, 0.0, rng, slow=25.0))


def clips(folder: Path) -> None:
    """Write films of two drops from 305 mm, the second slowed down to a quarter, as an edited clip would be."""
    drop = Filmed(
        restitution=0.923, rate=120.0, bounces=2, drag=0.42, air_density=1.19, gravity=9.81, contact=0.95e-3,
        mass=2.739e-3, held=0.2, roll=0.8, pitch=1.0,
    )  # fmt: skip
    coding = {"crf": "23", "preset": "slow"}
    film(
        folder / "Curlew_07_film.mp4",
        drop,
        np.random.default_rng([2026, 40]),
        options=coding,
        rate=120,
        comment=INVENTED_MARK,
    )
    slow = replace(drop, restitution=0.902, slowed=4.0)
    film(
        folder / "Dunlin_03_slow.mp4",
        slow,
        np.random.default_rng([2026, 41]),
        options=coding,
        rate=120,
        comment=INVENTED_MARK,
    )


KINDS: tuple[Callable[[Path], None], ...] = (sounds, talk, photographs, ramps, clips)


def main(folder: Path = FOLDER) -> None:
    """Write all of them."""
    folder.mkdir(parents=True, exist_ok=True)
    for kind in KINDS:
        kind(folder)


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else FOLDER)
