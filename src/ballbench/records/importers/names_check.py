"""Names of a draft's rows: quantities in their canonical form, axes in one spelling, nothing required left blank."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

import polars as pl

from ballbench.errors import Fault
from ballbench.records.fault_list import FaultList, nearest, quoted
from ballbench.records.importers.draft import SHEET, Draft
from ballbench.records.importers.grid import plain_name
from ballbench.records.importers.row_faults import Row, add_row_faults, where_of

__all__ = ["EXTREMES", "canonical_axes", "canonical_quantities", "name_notes", "required_names"]

EXTREMES = ("largest found", "smallest found")
"""Axis names with a meaning of their own: the ball was turned in the jaws and the extreme written down."""


def canonical_quantities(draft: Draft, quantities: Mapping[str, str], faults: FaultList) -> pl.DataFrame:
    """Write every quantity by its canonical name and leave out rows whose quantity is not known.

    Parameters
    ----------
    draft : Draft
        Rows with quantities as written.
    quantities : mapping of str to str
        Base unit by canonical name.
    faults : FaultList
        Takes in one fault for every unknown name.

    Returns
    -------
    polars.DataFrame
        The draft's rows that can go on.
    """
    rows = draft.rows
    known = {plain_name(name.replace("_", " ")): name for name in quantities}
    spelt = {text: known.get(plain_name(text.replace("_", " "))) for text in rows.get_column("quantity").unique()}
    unknown = [text for text, name in spelt.items() if name is None and text]
    if unknown:
        of_unknown = rows.filter(pl.col("quantity").is_in(unknown))
        counts = dict(of_unknown.group_by("quantity").len().iter_rows())
        for row in of_unknown.unique("quantity", keep="first", maintain_order=True).iter_rows(named=True):
            faults.add(_unknown(draft, row, counts[row["quantity"]], quantities), row[SHEET], row["line"])
    changed = {text: name for text, name in spelt.items() if name is not None and name != text}
    if changed:
        rows = rows.with_columns(pl.col("quantity").replace(changed))
    return rows.filter(~pl.col("quantity").is_in(unknown)) if unknown else rows


def _unknown(draft: Draft, row: Row, count: int, quantities: Mapping[str, str]) -> Fault:
    """Say that a quantity is not known, and which one was probably meant."""
    text = str(row["quantity"])
    others = f" (and in {count - 1} more rows)" if count > 1 else ""
    meant = nearest(text.replace(" ", "_"), quantities, 0.7)
    todo = f'write "{meant}"' if meant else "correct the name, or declare it in the requirement"
    return Fault(where_of(draft, row, "quantity"), quoted(text) + others, ", ".join(quantities), todo)


def required_names(draft: Draft, rows: pl.DataFrame, faults: FaultList) -> pl.DataFrame:
    """Leave out rows without product, ball or quantity; a spoiled attempt needs no ball.

    Parameters
    ----------
    draft : Draft
        Where the rows come from.
    rows : polars.DataFrame
        Rows to look at.
    faults : FaultList
        Takes in one fault a row.

    Returns
    -------
    polars.DataFrame
        Rows that can go on.
    """
    spoiled = (pl.col("value") == "") & pl.col("note").str.to_lowercase().str.starts_with("spoiled")
    blank = {name: pl.col(name) == "" for name in ("product", "quantity", "ball")}
    blank["ball"] &= ~spoiled
    bad = rows.filter(pl.any_horizontal(*blank.values()))
    if bad.is_empty():
        return rows
    for name, is_blank in blank.items():
        add_row_faults(faults, bad.filter(is_blank), partial(_nameless, draft, name))
    return rows.filter(~pl.any_horizontal(*blank.values()))


def _nameless(draft: Draft, name: str, row: Row) -> Fault:
    """Say that a row lacks a name."""
    return Fault(
        where_of(draft, row, name), "an empty cell", f"the {name} of the reading", f"write the {name} in every row"
    )


def canonical_axes(rows: pl.DataFrame) -> tuple[pl.DataFrame, tuple[str, ...]]:
    """Give axes that differ only in capitals or blanks the spelling that came first.

    Parameters
    ----------
    rows : polars.DataFrame
        With axes as written.

    Returns
    -------
    polars.DataFrame, tuple of str
        The rows, and a note when spellings were brought together.
    """
    written = rows.get_column("axis").unique(maintain_order=True).to_list()
    first = {name: name for name in EXTREMES}
    spelling = {axis: first.setdefault(plain_name(axis.replace("_", " ")), axis) for axis in written}
    changed = {axis: name for axis, name in spelling.items() if axis != name}
    if not changed:
        return rows, ()
    pairs = ", ".join(f'"{axis}" as "{name}"' for axis, name in changed.items())
    return rows.with_columns(pl.col("axis").replace(changed)), (f"axes differ only in their spelling: {pairs}",)


def name_notes(table: pl.DataFrame) -> tuple[str, ...]:
    """Note products that differ only in capitals, and balls that differ only in zeros at the front.

    Parameters
    ----------
    table : polars.DataFrame
        Columns as in `ballbench.records.readings.SCHEMA`.

    Returns
    -------
    tuple of str
        Sentences; the names stay as they are.
    """
    products = table.get_column("product").unique(maintain_order=True)
    alike = products.to_frame().group_by(pl.col("product").str.to_lowercase().alias("plain"), maintain_order=True)
    several = alike.agg(pl.col("product")).filter(pl.col("product").list.len() > 1).get_column("product").head(5)
    notes = [
        f"products {' and '.join(map(quoted, names))} differ only in capitals and are taken as different"
        for names in several
    ]
    with_zero = table.filter(pl.col("ball").str.starts_with("0")).select("product", "box").unique()
    if with_zero.height:
        plain = pl.col("ball").str.strip_chars_start("0").alias("plain")
        balls = (
            table.join(with_zero, on=["product", "box"], how="semi")
            .select("product", "box", "ball")
            .unique(maintain_order=True)
        )
        alike_balls = balls.group_by("product", "box", plain, maintain_order=True).agg("ball")
        for product, _, _, names in alike_balls.filter(pl.col("ball").list.len() > 1).head(5).iter_rows():
            notes.append(f"balls {' and '.join(map(quoted, names))} of {product} are taken as different balls")
    return tuple(notes)
