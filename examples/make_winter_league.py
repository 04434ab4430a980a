"""Write the invented readings of the winter league: `python examples/make_winter_league.py`.

The winter league of an island group must choose its match ball. Three invented makes, two boxes of twelve each,
tested in a village hall with a caliper, a scale, a drop tube and a phone. Nothing here was ever measured: every number
comes from the seeded generator below. Curlew is good; Dunlin is good on average but out of round; Plover's mean sits
inside the limit by less than the caliper can tell.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from pathlib import Path

import numpy as np

FOLDER = Path(__file__).parent / "winter-league"
SEED = 20261125
BOXES, BALLS = 2, 12
AXES = ("seam", "across", "free")
DROPS = 3
HEADER = (
    "product",
    "box",
    "ball",
    "quantity",
    "axis",
    "repeat",
    "value",
    "unit",
    "instrument",
    "operator",
    "sitting",
    "note",
)


@dataclass(frozen=True)
class Make:
    """True values of an invented make: mean and SD between balls, SD of form between places of a ball."""

    name: str
    diameter: float
    ball_sd: float
    form_sd: float
    form_spread: float
    mass: float
    mass_sd: float
    rebound: float


MAKES = (
    Make("Curlew", 40.240, 0.022, 0.014, 0.3, 2.722, 0.014, 251.0),
    Make("Dunlin", 40.262, 0.026, 0.074, 0.5, 2.716, 0.016, 249.0),
    Make("Plover", 40.4728, 0.014, 0.010, 0.3, 2.731, 0.015, 252.5),
)
CALIPER_OFFSET, CALIPER_NOISE = 0.004, 0.008
SCALE_OFFSET, SCALE_NOISE = 0.002, 0.006
DROP_NOISE, HEIGHT_OFFSET, REBOUND_SD = 2.2, 0.6, 1.6
SLIPS = {("Curlew", 1, 7, "across"): "swapped", ("Plover", 2, 3, "seam"): "lost point"}
SPOILED = {("Dunlin", 1, 4, 2): "hit the tube", ("Curlew", 2, 9, 1): "spun"}


def diameters(make: Make, rng: np.random.Generator) -> np.ndarray:
    """Readings of one box, (balls, axes), mm."""
    size = make.diameter + make.ball_sd * rng.standard_normal((BALLS, 1))
    form = make.form_sd * np.exp(make.form_spread * rng.standard_normal((BALLS, 1)))
    truth = size + form * rng.standard_normal((BALLS, len(AXES)))
    return np.round(truth + CALIPER_OFFSET + CALIPER_NOISE * rng.standard_normal(truth.shape), 2)


def slipped(value: float, kind: str) -> str:
    """Write a reading the way tired fingers do."""
    text = f"{value:.2f}"
    if kind == "lost point":
        return text.replace(".", "")
    return text[0] + text[3] + "." + text[1] + text[4]


def rows_of(make: Make, box: int, rng: np.random.Generator) -> list[tuple[object, ...]]:
    """All rows of one box: diameters, masses, rebounds, a look for cracks."""
    label, sitting = f"{make.name[0]}-{box}", str(box)
    rows: list[tuple[object, ...]] = []
    sizes = diameters(make, rng)
    for ball in range(1, BALLS + 1):
        for j, axis in enumerate(AXES):
            value = float(sizes[ball - 1, j])
            kind = SLIPS.get((make.name, box, ball, axis))
            text = slipped(value, kind) if kind else f"{value:.2f}"
            rows.append((make.name, label, f"{ball:02d}", "diameter", axis, 1, text, "mm", "caliper", "E", sitting, ""))
    masses = make.mass + SCALE_OFFSET + make.mass_sd * rng.standard_normal(BALLS)
    masses = masses + SCALE_NOISE * rng.standard_normal(BALLS)
    for ball, mass in enumerate(masses, start=1):
        rows.append((make.name, label, f"{ball:02d}", "mass", "", 1, f"{mass:.2f}", "g", "scale", "E", sitting, ""))
    heights = make.rebound + HEIGHT_OFFSET + REBOUND_SD * rng.standard_normal(BALLS)
    for ball, height in enumerate(heights, start=1):
        for drop in range(1, DROPS + 1):
            value = f"{height + DROP_NOISE * rng.standard_normal():.0f}"
            reason = SPOILED.get((make.name, box, ball, drop))
            note = f"spoiled: {reason}" if reason else ""
            shown = "" if reason else value
            rows.append(
                (make.name, label, f"{ball:02d}", "rebound", "", drop, shown, "mm", "phone", "M", sitting, note)
            )
    balls = range(1, BALLS + 1)
    rows += [(make.name, label, f"{ball:02d}", "crack", "", 1, "no", "", "eye", "M", sitting, "") for ball in balls]
    return rows


def write(folder: Path = FOLDER) -> None:
    """Write readings and ball facts."""
    rng = np.random.default_rng(SEED)
    folder.mkdir(exist_ok=True)
    rows = [row for make in MAKES for box in range(1, BOXES + 1) for row in rows_of(make, box, rng)]
    with (folder / "readings.csv").open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows([("Invented data of the winter league; nothing was measured.",), HEADER, *rows])
    facts = sorted({(row[0], row[2], row[1]) for row in rows}, key=lambda row: (str(row[0]), str(row[2]), str(row[1])))
    with (folder / "balls.csv").open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows([("product", "ball", "box", "conditioned_h"), *((*f, 24) for f in facts)])


if __name__ == "__main__":
    write()
