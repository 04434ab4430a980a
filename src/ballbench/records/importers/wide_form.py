"""The wide form: one row a ball, one column a place or a repeat."""

from __future__ import annotations

import re
from collections.abc import Sequence

import polars as pl

from ballbench.errors import Fault
from ballbench.records.importers.draft import DRAFT_TEXTS, SHEET, SOURCE, Draft
from ballbench.records.importers.grid import LINE, Grid, column
from ballbench.records.importers.layout import WideName, wide_name
from ballbench.records.importers.long_form import shared_columns, sheet_note

__all__ = ["wide_draft", "wide_faults"]

_PLACED = ("diameter", "circumference", "hardness", "deformation", "outline_form")
"""Quantities that are read at a place: a bare number behind them names the place, behind others it counts repeats."""

_NUMBER = re.compile(r"^(?:(.*) )?(\d+)$")
_NAMED_BLANKS = 5


def wide_draft(grid: Grid, quantities: Sequence[str]) -> Draft:
    """Turn a table in the wide form into a draft.

    Parameters
    ----------
    grid : Grid
        With the columns product (or a sheet), ball and one or more that begin with a quantity.
    quantities : sequence of str
        Canonical names.

    Returns
    -------
    Draft
        Rows in the order of the file, columns from left to right. A blank cell is a reading that was not taken, named
        in the notes; in a row whose note begins with "spoiled:" it is a spoiled attempt.
    """
    columns = _value_columns(grid, quantities)
    places = _axes_and_repeats(list(columns.values()))
    shared = {name: text for name, text in shared_columns(grid).items() if name not in {"axis", "repeat", "unit"}}
    own = shared_columns(grid)
    spoiled = own["note"].str.to_lowercase().str.starts_with("spoiled")
    some_blank = pl.any_horizontal(pl.col(list(columns)) == "")
    parts = []
    for source, ((key, name), (axis, repeat)) in enumerate(zip(columns.items(), places, strict=True)):
        texts = {
            **shared,
            "note": pl.when(spoiled & some_blank & (pl.col(key) != "")).then(pl.lit("")).otherwise(own["note"]),
            "quantity": pl.lit(name.quantity),
            "axis": pl.lit(axis) if axis else own["axis"],
            "repeat": pl.lit(repeat) if repeat else own["repeat"],
            "unit": pl.lit(name.unit) if name.unit else own["unit"],
            "value": pl.col(key),
        }
        parts.append(
            grid.cells.filter((pl.col(key) != "") | spoiled).select(
                *(texts[text].alias(text) for text in DRAFT_TEXTS),
                pl.col(LINE),
                pl.lit(0, dtype=pl.UInt32).alias(SHEET),
                pl.lit(source, dtype=pl.UInt32).alias(SOURCE),
            )
        )
    rows = pl.concat(parts).sort(LINE, maintain_order=True)
    sources = tuple(grid.header[int(key)] for key in columns)
    notes = (
        *grid.notes,
        *sheet_note(grid),
        _layout_note(sources, columns, places),
        *_blank_note(grid, columns, spoiled),
    )
    return Draft(rows, (grid.where,), sources, notes)


def wide_faults(grid: Grid, quantities: Sequence[str]) -> list[Fault]:
    """Check what only a wide table can get wrong.

    Parameters
    ----------
    grid : Grid
        A table in the wide form.
    quantities : sequence of str
        Canonical names.

    Returns
    -------
    list of Fault
        Axes, repeats or units given both in a column of their own and in the other columns' names; two columns for
        one and the same place.
    """
    columns = _value_columns(grid, quantities)
    places = _axes_and_repeats(list(columns.values()))
    where = f"{grid.where}, line {grid.header_line}"
    given = {
        "axis": any(axis for axis, _ in places),
        "repeat": any(repeat for _, repeat in places),
        "unit": any(name.unit for name in columns.values()),
    }
    faults = [
        Fault(
            where, f"a column {name} beside columns that name it too", "one or the other", f"remove the column {name}"
        )
        for name, in_names in given.items()
        if in_names and column(grid, name) is not None and _filled(grid, name)
    ]
    seen: dict[tuple[str, str, str], str] = {}
    for (key, name), (axis, repeat) in zip(columns.items(), places, strict=True):
        head = grid.header[int(key)]
        other = seen.setdefault((name.quantity, axis, repeat), head)
        if other != head:
            found = f'the columns "{other}" and "{head}" for one and the same place'
            faults.append(Fault(where, found, "one column a place", "rename or remove one"))
    return faults


def _value_columns(grid: Grid, quantities: Sequence[str]) -> dict[str, WideName]:
    """Give the columns that hold readings, by their key in the grid."""
    named = {str(index): wide_name(head, quantities) for index, head in enumerate(grid.header)}
    return {key: name for key, name in named.items() if name is not None}


def _axes_and_repeats(names: Sequence[WideName]) -> list[tuple[str, str]]:
    """Tell axis and repeat apart in what stands behind the quantity.

    A number at the end counts repeats when the columns of the same quantity and axis carry 1, 2 up to their count, and
    when there is an axis name before it or the quantity is not read at places.
    """
    split = [_split(name.place) for name in names]
    numbers: dict[tuple[str, str], set[int]] = {}
    for name, (axis, number) in zip(names, split, strict=True):
        if number:
            numbers.setdefault((name.quantity, axis), set()).add(int(number))
    result = []
    for name, (axis, number) in zip(names, split, strict=True):
        counted = numbers.get((name.quantity, axis), set())
        counts = bool(number) and counted == set(range(1, len(counted) + 1))
        several = bool(axis) and len(counted) > 1
        is_repeat = counts and (several or (not axis and name.quantity not in _PLACED))
        result.append((axis, str(int(number))) if is_repeat else (name.place, ""))
    return result


def _split(place: str) -> tuple[str, str]:
    """Take a number off the end of a place: ``"seam 2"`` gives seam and 2."""
    match = _NUMBER.match(place)
    return ((match.group(1) or "").strip(), match.group(2)) if match else (place, "")


def _filled(grid: Grid, name: str) -> bool:
    """Say whether a column holds anything."""
    key = column(grid, name)
    return key is not None and bool((grid.cells.get_column(key) != "").any())


def _layout_note(sources: Sequence[str], columns: dict[str, WideName], places: Sequence[tuple[str, str]]) -> str:
    """Say how each column was read."""
    read = []
    for source, name, (axis, repeat) in zip(sources, columns.values(), places, strict=True):
        parts = [name.quantity, f"axis {axis}" if axis else "", f"repeat {repeat}" if repeat else ""]
        parts.append(f"in {name.unit}" if name.unit else "")
        read.append(f'"{source}" as {", ".join(part for part in parts if part)}')
    return f"wide form: one row a ball; read {'; '.join(read)}"


def _blank_note(grid: Grid, columns: dict[str, WideName], spoiled: pl.Expr) -> tuple[str, ...]:
    """Name the blank cells that are taken as readings not taken."""
    lines = {key: grid.cells.filter((pl.col(key) == "") & ~spoiled).get_column(LINE) for key in columns}
    blank = [
        f'line {line} "{grid.header[int(key)]}"' for key, found in lines.items() for line in found.head(_NAMED_BLANKS)
    ]
    count = sum(found.len() for found in lines.values())
    if not count:
        return ()
    shown = ", ".join(blank[:_NAMED_BLANKS]) + (" and others" if count > _NAMED_BLANKS else "")
    return (f"{grid.where}: blank cells taken as not read: {count} ({shown})",)
