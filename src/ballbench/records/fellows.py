"""Where the fellows of every reading lie: medians and robust spreads of its box, axis and product."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import polars as pl

from ballbench.records.coding import codes_of
from ballbench.records.display import display_steps
from ballbench.records.readings import Readings

__all__ = ["FEWEST", "ONE_SIZE", "TIGHT_SHARE", "Fellows", "far_limit", "fellows_of", "fellows_of_one"]

Floats = npt.NDArray[np.float64]

FEWEST = 5
"""Readings that a group needs before a value can be far from it (own choice)."""

TIGHT_SHARE = 0.6
"""Share of a product's readings within 15 % of their median from which they are of one size (own choice)."""

ONE_SIZE = 0.15
"""Fellows within this share of their median count as one size (own choice)."""

_OWN_CENTRE = 8  # readings that a box and axis need for a median of their own (own choice)
_NORMAL = 1.4826  # SD of a normal distribution per median absolute deviation: 1 / 0.67449, its upper quartile


@dataclass(frozen=True, slots=True)
class Fellows:
    """For each of N readings, what its fellows say; all in the base unit of its quantity.

    Parameters
    ----------
    median : (N,) float64
        Of the product's readings of the quantity.
    count : (N,) int64
        How many those are.
    tight : (N,) float64
        Share of them within 15 % of that median.
    centre : (N,) float64
        Median of the same box and axis, or of the same axis, or of the product: the first with enough readings that
        is of the product's size.
    spread : (N,) float64
        Robust SD of the product's readings about their centres, at least one display step.
    limit : (N,) float64
        From how many of those SDs the reading is far from its fellows.
    """

    median: Floats
    count: npt.NDArray[np.int64]
    tight: Floats
    centre: Floats
    spread: Floats
    limit: Floats


def far_limit(count: npt.NDArray[np.int64]) -> Floats:
    """Give from how many robust SDs a reading is far from its fellows.

    Parameters
    ----------
    count : (N,) int64
        How many readings the robust SD comes from.

    Returns
    -------
    (N,) float64
        Infinite below `FEWEST`. 5 for many readings and more for few, because a spread from few readings is itself
        uncertain; the numbers are set by simulation so that clean normal readings are asked about less often than
        once in a thousand (own choice).
    """
    limit = 5.0 + 60.0 / np.maximum(count, 1)
    return np.where(count >= FEWEST, limit, np.inf)


def fellows_of(readings: Readings, numbers: pl.DataFrame) -> Fellows:
    """Compute what each reading's fellows say.

    Parameters
    ----------
    readings : Readings
        Where they come from.
    numbers : polars.DataFrame
        N rows of its table whose value is not null.

    Returns
    -------
    Fellows
        One entry a row.
    """
    product = codes_of(numbers, ["product", "quantity"])
    axis = codes_of(numbers, ["product", "quantity", "axis"])
    box = codes_of(numbers, ["product", "quantity", "axis", "box"])
    frame = pl.DataFrame({"v": numbers.get_column("value"), "p": product, "a": axis, "b": box})
    frame = frame.with_columns(
        pl.col("v").median().over("p").alias("of product"),
        pl.len().over("p").alias("count"),
        pl.col("v").median().over("a").alias("of axis"),
        pl.len().over("a").alias("in axis"),
        pl.col("v").median().over("b").alias("of box"),
        pl.len().over("b").alias("in box"),
    )
    of_product, size = pl.col("of product"), ONE_SIZE * pl.col("of product").abs()
    near = (pl.col("v") - of_product).abs() <= size
    frame = frame.with_columns(near.mean().over("p").alias("tight"))
    # Where most of one box are mistyped, its own median is no guide to the others of it.
    loose = pl.col("tight") < TIGHT_SHARE
    by_box = (pl.col("in box") >= _OWN_CENTRE) & (loose | ((pl.col("of box") - of_product).abs() <= size))
    by_axis = (pl.col("in axis") >= _OWN_CENTRE) & (loose | ((pl.col("of axis") - of_product).abs() <= size))
    centre = pl.when(by_box).then(pl.col("of box")).when(by_axis).then(pl.col("of axis")).otherwise(of_product)
    frame = frame.with_columns(centre.alias("centre"))
    frame = frame.with_columns((pl.col("v") - pl.col("centre")).abs().median().over("p").alias("deviation"))
    steps = _step_of_row(readings, numbers)
    count = frame.get_column("count").cast(pl.Int64).to_numpy()
    return Fellows(
        median=frame.get_column("of product").to_numpy(),
        count=count,
        tight=frame.get_column("tight").to_numpy(),
        centre=frame.get_column("centre").to_numpy(),
        spread=np.maximum(_NORMAL * frame.get_column("deviation").to_numpy(), steps),
        limit=far_limit(count),
    )


def fellows_of_one(
    value: float, same_make: tuple[float, ...], same_axis: tuple[float, ...], step: float, balls: int | None = None
) -> Fellows:
    """Compute what the readings kept so far say of one that has just been taken, as `fellows_of` would of all of them.

    Parameters
    ----------
    value : float
        The new reading, which counts as one of its fellows.
    same_make, same_axis : tuple of float
        Those kept of its make and quantity, and the ones among them at its axis.
    step : float
        Display step.
    balls : int or None
        How many balls all these come from; None: as many as there are readings. Repeats of few balls say little of
        how far apart balls are, so that the limit follows the balls where they are fewer.

    Returns
    -------
    Fellows
        With one entry. Where the axis has a centre of its own, count and spread are those of the axis too.
    """
    make, axis = np.array([*same_make, value]), np.array([*same_axis, value])
    of_make, of_axis = float(np.median(make)), float(np.median(axis))
    size = ONE_SIZE * abs(of_make)
    tight = float(np.mean(np.abs(make - of_make) <= size))
    by_axis = axis.size >= _OWN_CENTRE and (tight < TIGHT_SHARE or abs(of_axis - of_make) <= size)
    centre, about = (of_axis, axis) if by_axis else (of_make, make)
    spread = max(_NORMAL * float(np.median(np.abs(about - centre))), step)
    count = about.size
    return Fellows(
        median=np.array([of_make]),
        count=np.array([count]),
        tight=np.array([tight]),
        centre=np.array([centre]),
        spread=np.array([spread]),
        limit=far_limit(np.array([count if balls is None else min(count, balls)])),
    )


def _step_of_row(readings: Readings, numbers: pl.DataFrame) -> Floats:
    """Give the display step behind each row."""
    steps = display_steps(readings)
    table = pl.DataFrame(
        [(quantity, instrument, step) for (quantity, instrument), step in steps.items()],
        schema={"quantity": pl.String, "instrument": pl.String, "step": pl.Float64},
        orient="row",
    )
    joined = numbers.select("quantity", "instrument").join(
        table, on=["quantity", "instrument"], how="left", maintain_order="left"
    )
    return joined.get_column("step").to_numpy()
