"""Readings files of any size, invented, with a truth that the benchmarks check against."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import polars as pl

__all__ = ["BENCH", "CLAUSES", "SPEC", "write_readings"]

FOLDER = Path(__file__).parent / "invented"
BENCH = FOLDER / "bench.toml"
SPEC = FOLDER / "seven-diameters.toml"
CLAUSES = 7
AXES = ("seam", "across", "free", "slant")
MEAN, PRODUCT_SD, BALL_SD, FORM_SD, FORM_SPREAD = 40.25, 0.03, 0.02, 0.015, 0.3
"""mm, the last one of a logarithm; makes are cut off at three of their SDs, 0.16 mm inside 40.00 to 40.50 mm."""
OFFSET, NOISE = 0.004, 0.008
"""What the invented caliper adds, mm."""


def write_readings(path: Path, products: int, balls: int, axes: int, mean: float = MEAN, seed: int = 1) -> Path:
    """Write a readings file in the long form, products one after another.

    Parameters
    ----------
    path : Path
        Where.
    products, balls, axes : int
        So many makes, balls of each, and places read on each ball (four at most).
    mean : float
        True mean of the makes, mm; by default they differ, and every one lies well inside 40.00 to 40.50 mm.
    seed : int
        The same seed gives the same file.

    Returns
    -------
    Path
        The same, for chaining.
    """
    assert axes <= len(AXES)
    rng = np.random.default_rng(seed)
    row = np.arange(products * balls * axes)
    ball = row // axes
    make = ball // balls
    size = mean + (PRODUCT_SD if mean == MEAN else 0.0) * np.clip(rng.standard_normal(products), -3.0, 3.0)[make]
    size += BALL_SD * rng.standard_normal(products * balls)[ball]
    form = FORM_SD * np.exp(FORM_SPREAD * rng.standard_normal(products * balls))[ball]
    read = size + form * rng.standard_normal(row.size) + OFFSET + NOISE * rng.standard_normal(row.size)
    numbers = pl.DataFrame({"make": make, "ball": ball % balls + 1, "axis": row % axes, "value": np.round(read, 2)})
    names = pl.format("make {}", pl.col("make").cast(pl.String).str.zfill(5))
    numbers.select(
        names.alias("product"),
        pl.col("ball").cast(pl.String).str.zfill(2),
        pl.lit("diameter").alias("quantity"),
        pl.col("axis").replace_strict(dict(enumerate(AXES)), return_dtype=pl.String),
        pl.col("value"),
        pl.lit("mm").alias("unit"),
        pl.lit("caliper").alias("instrument"),
    ).write_csv(path, float_precision=2)
    return path
