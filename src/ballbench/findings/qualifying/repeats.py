"""A repeat study out of a table of readings: who read which ball where, and what follows for telling balls apart."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import polars as pl
from numpy.typing import NDArray
from scipy import stats

from ballbench.errors import BadRequest, Fault
from ballbench.findings.qualification import ComponentFound, PersonFound, RepeatsFound, Telling
from ballbench.statistics.distinguishable import tells_apart
from ballbench.statistics.repeat_study import Component, RepeatStudy, repeat_study

__all__ = ["repeats_of"]

Floats = NDArray[np.float64]

READINGS_A_BALL = (1, 3)
"""Answers are given for one reading of each ball, and for the mean of three."""
_PART = ("product", "box", "ball", "axis")


def repeats_of(table: pl.DataFrame, resolution: float, where: str) -> RepeatsFound | None:
    """Take the readings of one instrument and one quantity as a repeat study.

    Parameters
    ----------
    table : polars.DataFrame
        Columns of `ballbench.records.SCHEMA`, one quantity and one instrument, every row with a value.
    resolution : float
        Display step in the base unit.
    where : str
        File and quantity, for messages.

    Returns
    -------
    RepeatsFound or None
        None where nothing was read twice at all: then nothing is said of repeats.

    Raises
    ------
    BadRequest
        The table cannot be taken apart: too many places for one study.
    """
    parts = table.select(pl.concat_str(*_PART, separator="\x1f")).to_series().to_list()
    people = table["operator"].to_list()
    values = table["value"].to_numpy()
    if len(set(zip(parts, people, strict=True))) == len(values) and len(set(people)) == 1:
        return None
    try:
        study = repeat_study(values, parts, people, resolution=resolution)
    except BadRequest as error:
        raise BadRequest([Fault(where, f.found, f.allowed, f.todo) for f in error.faults]) from error
    balls = table.select("product", "box", "ball").n_unique()
    products = table["product"].unique(maintain_order=True).to_list()
    return RepeatsFound(
        product=", ".join(products),
        balls=balls,
        places=study.parts,
        people=study.people,
        readings=study.readings,
        balanced=study.table is not None,
        method=study.method.casefold(),
        components=_components(study),
        people_found=_people(values, parts, people),
        telling=tuple(_telling(study, m) for m in READINGS_A_BALL),
        coarse=study.coarse,
        notes=(*study.notes, *_amount(study)),
    )


def _components(study: RepeatStudy) -> tuple[ComponentFound, ...]:
    named: tuple[tuple[str, Component | None], ...] = (
        ("repeatability", study.repeatability),
        ("person", study.person),
        ("person and ball", study.interaction),
        ("reproducibility", study.reproducibility),
        ("measurement", study.total),
        ("between balls", study.ball),
    )
    return tuple(
        ComponentFound(name, one.sd, one.low, one.high, one.dof, one.negative) for name, one in named if one is not None
    )


def _people(values: Floats, parts: Sequence[str], people: Sequence[str]) -> tuple[PersonFound, ...]:
    """Give every person's offset from all together, over the places that all read, and the SD of own repeats."""
    names = list(dict.fromkeys(people))
    cells: dict[tuple[str, str], list[float]] = {}
    for value, part, person in zip(values.tolist(), parts, people, strict=True):
        cells.setdefault((part, person), []).append(value)
    common = [part for part in dict.fromkeys(parts) if all((part, name) in cells for name in names)]
    means = np.array([[np.mean(cells[part, name]) for name in names] for part in common])
    levels = dict(zip(common, means.mean(axis=1).tolist() if means.size else [], strict=True))
    return tuple(_person(name, index, cells, means, levels) for index, name in enumerate(names))


def _person(
    name: str, index: int, cells: dict[tuple[str, str], list[float]], means: Floats, levels: dict[str, float]
) -> PersonFound:
    own = [np.asarray(readings) for (_, person), readings in cells.items() if person == name]
    dof = sum(readings.size - 1 for readings in own)
    squares = math.fsum(float(((readings - readings.mean()) ** 2).sum()) for readings in own)
    sd = math.sqrt(squares / dof) if dof else math.nan
    difference = low = high = math.nan
    if means.size and means.shape[1] > 1:
        apart = means[:, index] - means.mean(axis=1)
        difference = float(apart.mean())
        if apart.size > 1:
            half = float(stats.t.ppf(0.975, apart.size - 1) * apart.std(ddof=1) / math.sqrt(apart.size))
            low, high = difference - half, difference + half
    departures = tuple(value - level for part, level in levels.items() for value in cells[part, name])
    return PersonFound(name, sum(r.size for r in own), difference, low, high, sd, float(dof), departures)


def _telling(study: RepeatStudy, readings: int) -> Telling:
    same = tells_apart(study, readings)
    different = different_high = math.nan
    if study.reproducibility is not None:
        others = tells_apart(study, readings, same_person=False)
        different, different_high = others.difference, others.high
    return Telling(readings, same.difference, same.high, different, different_high)


def _amount(study: RepeatStudy) -> tuple[str, ...]:
    """Say when the study is small."""
    dof = study.repeatability.dof
    if dof >= 10.0:
        return ()
    return (f"the repeatability rests on {dof:.0f} degrees of freedom only; five balls, three readings each, give ten",)
