"""The hand-over to statistics: readings of one product and quantity as plain arrays, product by product.

One sort of the whole table, then slices: the cost is linear in the number of readings and small a product.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import polars as pl

from ballbench.records.coding import coded_names
from ballbench.records.display import base_unit, display_steps
from ballbench.records.readings import Readings

__all__ = ["Answers", "Sample", "answers_of", "samples_of"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Sample:
    """Readings of one product and one quantity: n balls, k axes, L levels of shared error, N readings.

    Parameters
    ----------
    product, quantity, unit : str
        Whose readings they are; `unit` is the base unit that every number here is in.
    balls, boxes : tuple of str, length n
        A ball is its box and its name, in order of first appearance in the product.
    axes : tuple of str, length k
        Names of the places; ``("",)`` where none was named.
    mean : (n, k) float64
        Mean of the readings of a ball at an axis; NaN where there is none.
    count : (n, k) int64
        How many readings that mean holds.
    sse : float
        Squared deviations of repeats from the mean of their ball, axis, instrument and sitting, summed.
    sse_dof : int
        Degrees of freedom of `sse`; 0 without repeats.
    shares : (n, k, L) float64
        Share of the cell's readings that belongs to the level, 0 to 1; 0 where the cell has no reading.
    levels : tuple of (str, str), length L
        Kind and key: ``("instrument", "caliper")``, ``("sitting", "caliper/2")``.
    origins : tuple of (str, str), length L
        The same as instrument and sitting, for names that hold a slash; the sitting is empty for an instrument.
    instrument : str
        The instrument of most readings; empty when none was named.
    step : float
        Display step of that instrument for this quantity, seen over the whole file.
    values : (N,) float64
        All readings, in the order of the file.
    cell : (N,) int64
        Flat index ``i * k + j`` of each reading's ball and axis.
    line : (N,) int64
        Line of each reading in its file.
    """

    product: str
    quantity: str
    unit: str
    balls: tuple[str, ...]
    boxes: tuple[str, ...]
    axes: tuple[str, ...]
    mean: Floats
    count: Ints
    sse: float
    sse_dof: int
    shares: Floats
    levels: tuple[tuple[str, str], ...]
    origins: tuple[tuple[str, str], ...]
    instrument: str
    step: float
    values: Floats
    cell: Ints
    line: Ints


class Answers(NamedTuple):
    """Yes/no results of one product and quantity.

    Parameters
    ----------
    balls, boxes : tuple of str, length n
        As in `Sample`.
    yes, trials : (n,) int64
        How many answers were yes or passed, and how many were given.
    """

    balls: tuple[str, ...]
    boxes: tuple[str, ...]
    yes: Ints
    trials: Ints


@dataclass(frozen=True, slots=True)
class _Names:
    """What the codes of a coded table stand for."""

    products: list[str]
    quantities: list[str]
    balls: list[tuple[str, str]]
    axes: list[str]
    instruments: list[str]
    sittings: list[tuple[str, str]]


def samples_of(readings: Readings, quantities: Sequence[str] | None = None) -> Iterator[tuple[str, dict[str, Sample]]]:
    """Give every product with its samples, one a quantity that has readings.

    Parameters
    ----------
    readings : Readings
        As imported, or as amended.
    quantities : sequence of str or None
        Only these; None: all. A quantity with yes/no results alone has no sample (see `answers_of`).

    Yields
    ------
    tuple of str and dict of str to Sample
        The product and its samples by quantity, both in order of first appearance in the file. A product without
        any such reading has an empty dict. Each product's arrays are made when it is reached.
    """
    table = readings.table
    products = table.get_column("product").unique(maintain_order=True).to_list()
    numbers = table.filter(pl.col("value").is_not_null())
    if quantities is not None:
        numbers = numbers.filter(pl.col("quantity").is_in(list(quantities)))
    steps = display_steps(readings)
    units = {quantity: base_unit(readings, quantity) for quantity in numbers.get_column("quantity").unique()}
    coded, names = _coded(numbers)
    arrays = {name: coded.get_column(name).to_numpy() for name in coded.columns}
    runs: dict[str, list[tuple[int, int]]] = {}
    for start, stop in pairwise(_group_bounds(arrays["p"], arrays["q"])):
        runs.setdefault(names.products[int(arrays["p"][start])], []).append((start, stop))
    for product in products:
        samples = (
            _sample({name: array[start:stop] for name, array in arrays.items()}, names, units, steps)
            for start, stop in runs.get(product, ())
        )
        yield product, {sample.quantity: sample for sample in samples}


def answers_of(readings: Readings) -> dict[tuple[str, str], Answers]:
    """Count the yes/no results of every product and quantity.

    Parameters
    ----------
    readings : Readings
        As imported, or as amended.

    Returns
    -------
    dict of (str, str) to Answers
        By product and quantity, in order of first appearance; products without yes/no results do not occur.
    """
    counted = (
        readings.table.filter(pl.col("answer").is_not_null())
        .group_by("product", "quantity", "box", "ball", maintain_order=True)
        .agg(pl.col("answer").sum().cast(pl.Int64).alias("yes"), pl.len().cast(pl.Int64).alias("trials"))
    )
    parts = counted.partition_by("product", "quantity", maintain_order=True, as_dict=True)
    return {
        (str(product), str(quantity)): Answers(
            balls=tuple(part.get_column("ball")),
            boxes=tuple(part.get_column("box")),
            yes=part.get_column("yes").to_numpy(),
            trials=part.get_column("trials").to_numpy(),
        )
        for (product, quantity), part in parts.items()
    }


def _coded(numbers: pl.DataFrame) -> tuple[pl.DataFrame, _Names]:
    """Turn names into integer codes in order of first appearance, rows sorted by product and quantity, stably."""
    keys = {
        "p": ["product"],
        "q": ["quantity"],
        "b": ["product", "box", "ball"],
        "a": ["axis"],
        "i": ["instrument"],
        "s": ["instrument", "sitting"],
    }
    coded, uniques = {}, {}
    for code, columns in keys.items():
        coded[code], uniques[code] = coded_names(numbers, columns)
    names = _Names(
        products=uniques["p"].get_column("product").to_list(),
        quantities=uniques["q"].get_column("quantity").to_list(),
        balls=[(box, ball) for _, box, ball in uniques["b"].iter_rows()],
        axes=uniques["a"].get_column("axis").to_list(),
        instruments=uniques["i"].get_column("instrument").to_list(),
        sittings=[(instrument, sitting) for instrument, sitting in uniques["s"].iter_rows()],
    )
    rows = pl.DataFrame({**coded, "value": numbers.get_column("value"), "line": numbers.get_column("line")})
    return rows.sort("p", "q", maintain_order=True), names


def _group_bounds(products: Ints, quantities: Ints) -> list[int]:
    """Give where each run of one product and quantity starts, and the end."""
    if products.size == 0:
        return [0]
    changes = (np.diff(products) != 0) | (np.diff(quantities) != 0)
    return [0, *(np.flatnonzero(changes) + 1).tolist(), products.size]


def _sample(
    rows: Mapping[str, npt.NDArray[np.float64] | npt.NDArray[np.int64]],
    names: _Names,
    units: Mapping[str, str],
    steps: Mapping[tuple[str, str], float],
) -> Sample:
    """Make one sample of the coded rows of one product and quantity."""
    values = np.ascontiguousarray(rows["value"], dtype=np.float64)
    ball_codes, ball = np.unique(rows["b"], return_inverse=True)
    axis_codes, axis = np.unique(rows["a"], return_inverse=True)
    tool_codes, tool = np.unique(rows["i"], return_inverse=True)
    sitting_codes, sitting = np.unique(rows["s"], return_inverse=True)
    n, k = ball_codes.size, axis_codes.size
    cell = (ball * k + axis).astype(np.int64)
    count = np.bincount(cell, minlength=n * k)
    sums = np.bincount(cell, weights=values, minlength=n * k)
    mean = np.divide(sums, count, out=np.full(n * k, np.nan), where=count > 0)
    sse, sse_dof = _within(values, cell * sitting_codes.size + sitting)
    levels = ((tool, tool_codes.size), (sitting, sitting_codes.size))
    shares = [_shares(cell, level, size, count) for level, size in levels]
    quantity = names.quantities[int(rows["q"][0])]
    instrument = names.instruments[int(tool_codes[np.argmax(np.bincount(tool))])]
    origins = [(names.instruments[code], "") for code in tool_codes] + [names.sittings[code] for code in sitting_codes]
    kinds = ["instrument"] * tool_codes.size + ["sitting"] * sitting_codes.size
    return Sample(
        product=names.products[int(rows["p"][0])],
        quantity=quantity,
        unit=units[quantity],
        balls=tuple(names.balls[code][1] for code in ball_codes),
        boxes=tuple(names.balls[code][0] for code in ball_codes),
        axes=tuple(names.axes[code] for code in axis_codes),
        mean=mean.reshape(n, k),
        count=count.reshape(n, k),
        sse=sse,
        sse_dof=sse_dof,
        shares=np.concatenate(shares, axis=1).reshape(n, k, len(origins)),
        levels=tuple(
            (kind, tool_name if kind == "instrument" else f"{tool_name}/{sitting_name}")
            for kind, (tool_name, sitting_name) in zip(kinds, origins, strict=True)
        ),
        origins=tuple(origins),
        instrument=instrument,
        step=steps[quantity, instrument],
        values=values,
        cell=cell,
        line=np.ascontiguousarray(rows["line"], dtype=np.int64),
    )


def _shares(cell: Ints, level: Ints, size: int, count: Ints) -> Floats:
    """Give the share of each cell's readings that belongs to each level, (cells, size)."""
    tally = np.bincount(cell * size + level, minlength=count.size * size).reshape(count.size, size)
    return tally / np.maximum(count, 1)[:, None]


def _within(values: Floats, group: Ints) -> tuple[float, int]:
    """Sum the squared deviations from each group's mean, and give their degrees of freedom."""
    groups, inverse, sizes = np.unique(group, return_inverse=True, return_counts=True)
    if groups.size == values.size:
        return 0.0, 0
    centred = values - (np.bincount(inverse, weights=values) / sizes)[inverse]
    return float(centred @ centred), int(values.size - groups.size)
