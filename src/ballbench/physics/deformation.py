"""Readings of a press: how far a ball gives way under a load, in which orientation, after how long.

Rigs differ in plates, speed and timing, so a number of one press says nothing about a ball read on another, unless both
have read the same balls. Every result here carries that label.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from ballbench.errors import BadReadings, BadRequest, Fault

__all__ = [
    "CREEP_NOTE", "NEEDED", "OPTIONAL", "RIG_LABEL", "PressGroup", "PressReading", "PressReturn", "PressStudy",
    "press_readings", "press_study",
]  # fmt: skip

RIG_LABEL = "this rig only"
CREEP_NOTE = (
    "A ball goes on giving way under a standing load: readings compare only where they were taken after the same time."
)
NEEDED = ("ball", "orientation", "direction", "load_n", "preload_n", "seconds", "deformation_mm")
"""Fields that every record has: ball; orientation such as ``seam``; ``forward`` or ``return``; load and preload, N;
time under the load when it was read, s; movement of the plate since the preload, mm."""
OPTIONAL = ("repeat",)
"""A whole number from 1, 1 when left out."""

_LIMITS = {
    "load_n": (0.0, 5000.0),
    "preload_n": (0.0, 5000.0),
    "seconds": (0.0, 3600.0),
    "deformation_mm": (0.0, 100.0),
}
_DIRECTIONS = ("forward", "return")
_UNEVEN = 1.5  # longest over shortest time from which readings are said to be timed unevenly (own choice)
_LEVER = 2.0  # the same within one ball and group, from which creep is computed (own choice)

Direction = Literal["forward", "return"]


@dataclass(frozen=True, slots=True)
class PressReading:
    """One reading of a press; fields as in `NEEDED`."""

    ball: str
    orientation: str
    direction: Direction
    load_n: float
    preload_n: float
    seconds: float
    deformation_mm: float
    repeat: int = 1


@dataclass(frozen=True, slots=True)
class PressGroup:
    """Readings of one orientation, direction, load and preload.

    Parameters
    ----------
    orientation, direction, load_n, preload_n
        What they share.
    balls, readings : int
        How many.
    mean : float
        Mean of the balls' means, mm.
    u, sd : float
        Standard uncertainty of the mean, mm, sd over the root of `balls`, with one degree of freedom less than balls;
        SD between the balls' means, mm. Both NaN for one ball. What the rig itself does wrong is in neither.
    seconds : tuple of float
        Shortest and longest time under load.
    creep : float
        mm more for ten times the time under load, within balls; NaN where no ball was read at two times of which one
        is twice the other.
    label : str
        `RIG_LABEL`.
    """

    orientation: str
    direction: Direction
    load_n: float
    preload_n: float
    balls: int
    readings: int
    mean: float
    u: float
    sd: float
    seconds: tuple[float, float]
    creep: float
    label: str = RIG_LABEL


@dataclass(frozen=True, slots=True)
class PressReturn:
    """How much further in a ball still is on the way back: return less forward, paired by ball, mm.

    `mean`, `u` and `sd` are over `balls` as in `PressGroup`; orientation, load and preload are what they share.
    """

    orientation: str
    load_n: float
    preload_n: float
    balls: int
    mean: float
    u: float
    sd: float
    label: str = RIG_LABEL


@dataclass(frozen=True, slots=True)
class PressStudy:
    """All that a press told: groups in the order of orientation, direction and load; returns; notes for the reader."""

    groups: tuple[PressGroup, ...]
    returns: tuple[PressReturn, ...]
    notes: tuple[str, ...]
    label: str = RIG_LABEL


def press_readings(rows: Sequence[Mapping[str, object]], where: str = "press readings") -> tuple[PressReading, ...]:
    """Check records of a press, all at once.

    Parameters
    ----------
    rows : sequence of mapping of str to object
        One a reading, with the fields of `NEEDED` and perhaps of `OPTIONAL`; numbers as numbers or as text with a
        decimal point.
    where : str
        How messages call the table.

    Returns
    -------
    tuple of PressReading
        In the order given.

    Raises
    ------
    BadReadings
        Every fault of every row: a field missing or unknown, a number that cannot be, a load that is not above its
        preload, a reading that stands there twice.
    """
    faults: list[Fault] = []
    read: list[PressReading] = []
    seen: dict[tuple[object, ...], int] = {}
    for line, row in enumerate(rows, 1):
        place = f"{where}, row {line}"
        wrong = _shape_faults(row, place)
        numbers = {name: _number(row[name]) for name in _LIMITS if name in row}
        wrong += _number_faults(row, numbers, place)
        repeat = _number(row.get("repeat", 1))
        if not (repeat >= 1.0 and repeat.is_integer()):
            found = f'"{row.get("repeat")}"'
            wrong.append(Fault(f"{place}, repeat", found, "a whole number from 1", "count the repeats"))
        if wrong:
            faults += wrong
            continue
        ball, orientation = (str(row[name]).strip() for name in ("ball", "orientation"))
        direction: Direction = "forward" if str(row["direction"]).strip() == "forward" else "return"
        made = PressReading(ball, orientation, direction, **numbers, repeat=int(repeat))
        key = (ball, orientation, direction, made.load_n, made.preload_n, made.seconds, made.repeat)
        if key in seen:
            found, rule = f"the same reading as in row {seen[key]}", "each reading once"
            faults.append(Fault(place, found, rule, "number the repeats, or take one out"))
        seen.setdefault(key, line)
        read.append(made)
    if faults:
        raise BadReadings(faults)
    return tuple(read)


def press_study(readings: Sequence[PressReading]) -> PressStudy:
    """Give deformation by orientation, direction and load, and what the way back adds.

    Parameters
    ----------
    readings : sequence of PressReading
        From `press_readings`; at least one.

    Returns
    -------
    PressStudy
        For one rig alone.

    Raises
    ------
    BadRequest
        No reading.

    Notes
    -----
    Means over balls, each ball its mean over repeats (JCGM 100:2008, 4.2.3, with one value a ball). Creep by least
    squares of deformation on the decimal logarithm of time, each ball with its own level: rubber creeps by about the
    same amount in each decade (common practice, no source).
    """
    if not readings:
        raise BadRequest(Fault("press_study", "no reading", "one at least", "give the readings of the press"))
    keys = sorted({_key(item) for item in readings})
    groups = tuple(_group([item for item in readings if _key(item) == key]) for key in keys)
    returns = [_returned(readings, key) for key in keys if key[1] == "forward"]
    uneven = [group for group in groups if group.seconds[1] > _UNEVEN * group.seconds[0]]
    notes = [CREEP_NOTE]
    notes += [
        f"{group.orientation}, {group.direction}, {group.load_n:g} N: read {group.seconds[0]:g} to "
        f"{group.seconds[1]:g} s after loading, so creep is part of their scatter."
        for group in uneven
    ]
    return PressStudy(groups, tuple(item for item in returns if item is not None), tuple(notes))


def _shape_faults(row: Mapping[str, object], place: str) -> list[Fault]:
    """Say which fields are missing, empty, unknown or no direction."""
    known = ", ".join((*NEEDED, *OPTIONAL))
    faults = [
        Fault(f"{place}, {name}", "nothing", f"the fields {', '.join(NEEDED)}", "write it down, or take the row out")
        for name in NEEDED
        if _empty(row.get(name))
    ]
    faults += [
        Fault(f"{place}, {name}", "a field that is not known", f"one of {known}", "correct its name")
        for name in row
        if name not in NEEDED and name not in OPTIONAL
    ]
    direction = row.get("direction")
    if not _empty(direction) and str(direction).strip() not in _DIRECTIONS:
        faults.append(Fault(f"{place}, direction", f'"{direction}"', "forward or return", "say which way"))
    return faults


def _empty(value: object) -> bool:
    """Say whether a cell holds nothing."""
    return value is None or not str(value).strip()


def _number(value: object) -> float:
    """Read a number; NaN where it is none."""
    try:
        return float(str(value).strip())
    except ValueError:
        return math.nan


def _number_faults(row: Mapping[str, object], numbers: Mapping[str, float], place: str) -> list[Fault]:
    """Say which numbers cannot be; time is above 0."""
    faults = []
    for name, value in numbers.items():
        low, high = _LIMITS[name]
        allowed = low < value <= high if name in {"seconds", "load_n"} else low <= value <= high
        if not (allowed or _empty(row[name])):
            rule = f"a number {'above' if name in {'seconds', 'load_n'} else 'from'} {low:g} to {high:g}"
            faults.append(Fault(f"{place}, {name}", f'"{row[name]}"', rule, "correct it; decimals with a point"))
    load, preload = numbers.get("load_n", math.nan), numbers.get("preload_n", math.nan)
    if load <= preload:
        found = f"a preload of {preload:g} N under a load of {load:g} N"
        faults.append(Fault(f"{place}, preload_n", found, "less than the load", "exchange them, or correct one"))
    return faults


def _key(item: PressReading) -> tuple[str, str, float, float]:
    return item.orientation, item.direction, item.load_n, item.preload_n


def _over_balls(values: Mapping[str, float]) -> tuple[float, float, float]:
    """Give mean, its standard uncertainty and SD over balls."""
    numbers = np.array([*values.values()])
    sd = float(numbers.std(ddof=1)) if numbers.size > 1 else math.nan
    return float(numbers.mean()), sd / math.sqrt(numbers.size), sd


def _ball_means(readings: Sequence[PressReading]) -> dict[str, float]:
    """Give the mean deformation of each ball."""
    balls = dict.fromkeys(item.ball for item in readings)
    return {ball: float(np.mean([item.deformation_mm for item in readings if item.ball == ball])) for ball in balls}


def _group(readings: Sequence[PressReading]) -> PressGroup:
    """Give mean, spread and creep of readings that share all but ball, time and repeat."""
    one, means = readings[0], _ball_means(readings)
    mean, u, sd = _over_balls(means)
    times = [item.seconds for item in readings]
    return PressGroup(
        one.orientation, one.direction, one.load_n, one.preload_n, len(means), len(readings), mean, u, sd,
        (min(times), max(times)), _creep(readings),
    )  # fmt: skip


def _creep(readings: Sequence[PressReading]) -> float:
    """Give mm for each decade of time, within balls."""
    top = bottom = 0.0
    lever = False
    for ball in dict.fromkeys(item.ball for item in readings):
        own = [item for item in readings if item.ball == ball]
        logs = np.log10([item.seconds for item in own])
        moved = np.array([item.deformation_mm for item in own])
        lever = lever or float(np.ptp(logs)) >= math.log10(_LEVER) - 1e-12
        top += float((logs - logs.mean()) @ moved)
        bottom += float((logs - logs.mean()) @ logs)
    return top / bottom if lever else math.nan


def _returned(readings: Sequence[PressReading], key: tuple[str, str, float, float]) -> PressReturn | None:
    """Give return less forward for balls that were read both ways."""
    orientation, _, load, preload = key
    ways = [
        _ball_means([item for item in readings if _key(item) == (orientation, way, load, preload)])
        for way in _DIRECTIONS
    ]
    both = {ball: ways[1][ball] - ways[0][ball] for ball in ways[0] if ball in ways[1]}
    if not both:
        return None
    return PressReturn(orientation, load, preload, len(both), *_over_balls(both))
