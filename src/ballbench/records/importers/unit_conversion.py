"""Values brought to the base unit of their quantity, by exact factors; what was assumed is noted."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from functools import partial

import numpy as np
import numpy.typing as npt
import polars as pl

from ballbench.errors import Fault
from ballbench.quantities.units import UnitError
from ballbench.records.fault_list import FaultList, quoted
from ballbench.records.importers.draft import SHEET, Draft
from ballbench.records.importers.row_faults import Row, add_row_faults, where_of
from ballbench.records.written_units import exact_factor, plain_unit

__all__ = ["in_base_units"]

_EXAMPLES = {"mm": "mm, cm, in", "g": "g, kg, oz, lb", "1": "1, %"}


def in_base_units(
    draft: Draft, rows: pl.DataFrame, quantities: Mapping[str, str], faults: FaultList
) -> tuple[pl.DataFrame, tuple[str, ...]]:
    """Turn numbers into the base unit of their quantity.

    Parameters
    ----------
    draft : Draft
        Where the rows come from.
    rows : polars.DataFrame
        With ``number``, ``quantity`` and ``unit`` as written.
    quantities : mapping of str to str
        Base unit by canonical name.
    faults : FaultList
        Takes in one fault for every unit that does not fit its quantity.

    Returns
    -------
    polars.DataFrame, tuple of str
        Rows with ``number`` in base units and ``unit`` filled; which units were taken for granted or converted.
    """
    is_number = pl.col("number").is_not_null()
    pairs = rows.filter(is_number).group_by("quantity", "unit", maintain_order=True).len()
    scales, assumed, converted = [], [], []
    for quantity, unit, count in pairs.iter_rows():
        base = quantities[quantity]
        try:
            scale = exact_factor(unit, base) if unit else 1.0
        except UnitError:
            _wrong(draft, rows.filter(is_number), (quantity, unit, count), base, faults)
            scale = float("nan")
        scales.append((quantity, unit, scale, plain_unit(unit) if unit else base))
        assumed += [f"{quantity} in {base}"] if not unit and base != "1" else []
        converted += [f"{quantity} from {unit} to {base}"] if scale != 1.0 and scale == scale else []  # noqa: PLR0124 - NaN
    notes = [f"no unit given, taken for granted: {', '.join(assumed)}"] if assumed else []
    notes += [f"converted: {', '.join(converted)}"] if converted else []
    scaled = _scaled(rows, scales)
    too_large = scaled.filter(pl.col("number").is_infinite())
    add_row_faults(faults, too_large, partial(_too_large, draft))
    return scaled, tuple(notes)


def _too_large(draft: Draft, row: Row) -> Fault:
    """Say that a value overflows in the base unit."""
    found = f"{quoted(row['value'])}, which is too large for any reading"
    return Fault(where_of(draft, row, "value"), found, "a number such as 40.12", "write the reading as it was shown")


def _scaled(rows: pl.DataFrame, scales: list[tuple[str, str, float, str]]) -> pl.DataFrame:
    """Multiply numbers and write units."""
    if not scales:
        return rows
    if len({(scale, unit) for _, _, scale, unit in scales}) == 1 and scales[0][2] == 1.0:
        return rows.with_columns(
            pl.when(pl.col("number").is_not_null()).then(pl.lit(scales[0][3])).otherwise(pl.col("unit")).alias("unit")
        )
    schema = {"quantity": pl.String, "unit": pl.String, "scale": pl.Float64, "spelt": pl.String}
    table = pl.DataFrame(scales, schema=schema, orient="row")
    joined = rows.join(table, on=["quantity", "unit"], how="left", maintain_order="left")
    is_number = pl.col("number").is_not_null()
    return joined.with_columns(
        pl.Series("number", _products(joined), nan_to_null=True),
        pl.when(is_number).then(pl.col("spelt")).otherwise(pl.col("unit")).alias("unit"),
    ).drop("scale", "spelt")


def _products(rows: pl.DataFrame) -> npt.NDArray[np.float64]:
    """Multiply numbers by factors as decimals: digits as whole numbers, then one correctly rounded division.

    1.581 in is 1581 x 254 / 10^4 mm, which is the float64 nearest to 40.1574; products too long for that are
    multiplied plainly. NaN stands for an answer or a unit that does not fit.
    """
    number = rows.get_column("number").fill_null(float("nan")).to_numpy()
    scale = rows.get_column("scale").fill_null(float("nan")).to_numpy()
    decimals = rows.get_column("decimals").to_numpy()
    with np.errstate(over="ignore"):
        products: npt.NDArray[np.float64] = number * scale
        counts = np.rint(number * 10.0 ** np.minimum(decimals, _EXACT_TENS))
    for factor in np.unique(scale[np.isfinite(scale)]):
        digits = Decimal(repr(float(factor))).as_tuple()
        exponent = int(digits.exponent)
        whole = float(int("".join(map(str, digits.digits))) * 10 ** max(exponent, 0))
        places = decimals + max(-exponent, 0)
        short = (scale == factor) & (places <= _EXACT_TENS) & (np.abs(counts) < _EXACT_WHOLE / whole)
        products[short] = counts[short] * whole / 10.0 ** places[short]
    return products


_EXACT_TENS = 22  # 10^22 is the largest power of ten that is a float64 without rounding (IEEE 754: 5^22 < 2^53)
_EXACT_WHOLE = 2.0**53  # whole numbers below are float64 without rounding (IEEE 754)


def _wrong(draft: Draft, rows: pl.DataFrame, pair: tuple[str, str, int], base: str, faults: FaultList) -> None:
    """Say that a unit does not fit its quantity, once for all its rows."""
    quantity, unit, count = pair
    row = rows.filter((pl.col("quantity") == quantity) & (pl.col("unit") == unit)).row(0, named=True)
    others = f" (and in {count - 1} more rows)" if count > 1 else ""
    where = where_of(draft, row, "unit" if draft.sources[row["source"]] == "value" else "value")
    found = f"the unit {quoted(unit)} for {quantity}{others}"
    allowed = f"a unit that can be turned into {base}, such as {_EXAMPLES.get(base, base)}"
    faults.add(Fault(where, found, allowed, "correct the unit or the quantity"), row[SHEET], row["line"])
