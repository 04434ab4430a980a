"""Values brought to the base unit of their quantity, by exact factors; what was assumed is noted."""

from __future__ import annotations

from collections.abc import Mapping

import polars as pl

from ballbench.errors import Fault
from ballbench.quantities.units import UnitError
from ballbench.records.fault_list import FaultList, quoted
from ballbench.records.importers.draft import SHEET, Draft
from ballbench.records.importers.row_faults import where_of
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
    return _scaled(rows, scales), tuple(notes)


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
        (pl.col("number") * pl.col("scale")).alias("number"),
        pl.when(is_number).then(pl.col("spelt")).otherwise(pl.col("unit")).alias("unit"),
    ).drop("scale", "spelt")


def _wrong(draft: Draft, rows: pl.DataFrame, pair: tuple[str, str, int], base: str, faults: FaultList) -> None:
    """Say that a unit does not fit its quantity, once for all its rows."""
    quantity, unit, count = pair
    row = rows.filter((pl.col("quantity") == quantity) & (pl.col("unit") == unit)).row(0, named=True)
    others = f" (and in {count - 1} more rows)" if count > 1 else ""
    where = where_of(draft, row, "unit" if draft.sources[row["source"]] == "value" else "value")
    found = f"the unit {quoted(unit)} for {quantity}{others}"
    allowed = f"a unit that can be turned into {base}, such as {_EXAMPLES.get(base, base)}"
    faults.add(Fault(where, found, allowed, "correct the unit or the quantity"), row[SHEET], row["line"])
