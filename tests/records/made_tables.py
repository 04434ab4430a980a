"""Tables of invented readings with known truth, for the tests of this folder."""

from __future__ import annotations

import numpy as np
import polars as pl

from ballbench.records import SCHEMA, Readings


def readings_of(columns: dict[str, object]) -> Readings:
    """Make readings of some columns; the others are blank, whole tables in millimetres of diameter by default."""
    frame = pl.DataFrame(columns)
    usual = {
        "product": pl.lit("A"),
        "quantity": pl.lit("diameter"),
        "repeat": pl.lit(1),
        "decimals": pl.lit(2),
        "unit": pl.col("quantity").replace_strict({"mass": "g"}, default="mm"),
        "value": pl.lit(None),
        "answer": pl.lit(None),
        "line": pl.int_range(2, pl.len() + 2),
    }
    for name, kind in SCHEMA.items():
        if name not in frame.columns and name != "unit":
            frame = frame.with_columns(usual.get(name, pl.lit("")).cast(kind).alias(name))
    if "unit" not in frame.columns:
        frame = frame.with_columns(usual["unit"].alias("unit"))
    return Readings(frame.select(pl.col(name).cast(kind) for name, kind in SCHEMA.items()))


def clean_products(
    rng: np.random.Generator,
    products: int,
    balls: int,
    axes: int,
    *,
    ball_sd: float,
    reading_sd: float,
    mean: float = 40.0,
) -> Readings:
    """Draw normal readings of clean balls, written to two decimals, two boxes a product."""
    count = products * balls * axes
    row = np.arange(count)
    ball = row // axes % balls
    value = mean + rng.normal(0.0, ball_sd, products * balls)[row // axes] + rng.normal(0.0, reading_sd, count)
    return readings_of(
        {
            "product": pl.Series(row // (balls * axes)).cast(pl.String),
            "box": pl.Series(ball * 2 // balls).cast(pl.String),
            "ball": pl.Series(ball).cast(pl.String),
            "axis": pl.Series(row % axes).cast(pl.String),
            "value": np.round(value, 2),
        }
    )
