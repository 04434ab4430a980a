"""Which columns a table of readings has: long form, wide form, or not enough of either."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

from ballbench.errors import Fault
from ballbench.quantities.kinds import KINDS
from ballbench.records.fault_list import nearest, quoted
from ballbench.records.importers.grid import Grid, column, plain_name
from ballbench.records.importers.header_search import Recogniser

__all__ = ["COLUMNS", "REQUIRED", "WideName", "all_quantities", "header_faults", "is_wide", "recogniser", "wide_name"]

REQUIRED = ("product", "ball", "quantity", "value")
"""Columns that the long form must have."""

COLUMNS = (*REQUIRED, "box", "axis", "repeat", "unit", "instrument", "operator", "sitting", "time", "note")
"""Columns of the long form; all but `quantity` and `value` may stand in a wide table too."""

_SHARED = tuple(name for name in COLUMNS if name not in {"quantity", "value"})
_LONG_ONLY = ("quantity", "value")
_LONGEST_AXIS = 40
_UNIT = re.compile(r"\s*[\[(]\s*([^\[\]()]*?)\s*[\])]\s*$")
_LIKE = 0.6  # what a nearly known name counts, against 1 for a known one (own choice)


@dataclass(frozen=True, slots=True)
class WideName:
    """What a column of a wide table holds.

    Parameters
    ----------
    quantity : str
        Its canonical name.
    place : str
        What stands behind the quantity, before it is told whether that is an axis or a repeat.
    unit : str
        As written in brackets; empty where none is.
    """

    quantity: str
    place: str
    unit: str


def all_quantities(declared: Mapping[str, str] | None) -> dict[str, str]:
    """Give every quantity that a file may hold, with its base unit.

    Parameters
    ----------
    declared : mapping of str to str, or None
        Further quantities, from the requirement; they cannot change the unit of the trade's own.

    Returns
    -------
    dict of str to str
        Base unit by canonical name.
    """
    return {**(declared or {}), **{name: kind.unit for name, kind in KINDS.items()}}


def wide_name(text: str, quantities: Iterable[str]) -> WideName | None:
    """Read a wide table's column name such as ``"diameter seam [mm]"``.

    Parameters
    ----------
    text : str
        The header cell.
    quantities : iterable of str
        Canonical names.

    Returns
    -------
    WideName or None
        None when the cell does not begin with a quantity.
    """
    unit = _UNIT.search(text)
    words = plain_name((text[: unit.start()] if unit else text).replace("_", " "))
    for quantity in sorted(quantities, key=len, reverse=True):
        name = plain_name(quantity.replace("_", " "))
        if words == name or words.startswith(name + " "):
            place = words[len(name) + 1 :]
            return WideName(quantity, place, unit.group(1) if unit else "") if len(place) <= _LONGEST_AXIS else None
    return None


def recogniser(quantities: Iterable[str]) -> Recogniser:
    """Give the function that rates a cell as a column name of a table of readings."""
    return partial(_rate, quantities=tuple(quantities))


def _rate(cell: str, quantities: tuple[str, ...]) -> float:
    name = plain_name(cell)
    if name in COLUMNS:
        return 1.0
    wide = wide_name(cell, quantities)
    if wide is not None:
        return 1.0 if not wide.place or wide.unit else 0.9
    return _LIKE if nearest(name, COLUMNS) else 0.0


def is_wide(grid: Grid, quantities: Sequence[str]) -> bool:
    """Say whether a table is in the wide form: no column quantity and value, and one or more named by a quantity."""
    if column(grid, "quantity") is not None or column(grid, "value") is not None:
        return False
    return any(wide_name(name, quantities) is not None for name in grid.header)


def header_faults(grid: Grid, quantities: Sequence[str]) -> tuple[list[Fault], list[str]]:
    """Check a table's column names.

    Parameters
    ----------
    grid : Grid
        The table.
    quantities : sequence of str
        Canonical names.

    Returns
    -------
    list of Fault, list of str
        What is wrong (names given twice, misspelt, missing, both forms at once), and which columns are kept out.
    """
    wide = is_wide(grid, quantities)
    one_a_quantity = wide or not any(column(grid, name) or _near(grid, name) for name in _LONG_ONLY)
    where = f"{grid.where}, line {grid.header_line}"
    faults = _repeated(grid, where)
    kept_out, missing = [], [name for name in _needed(grid, wide=wide) if column(grid, name) is None]
    for name in grid.header:
        plain = plain_name(name)
        reads_as_wide = wide_name(name, quantities) is not None
        if plain in (_SHARED if wide else COLUMNS) or (wide and reads_as_wide):
            continue
        meant = _meant(plain, wide=one_a_quantity, quantities=quantities)
        if reads_as_wide:
            allowed = "either the columns quantity and value, or one column a quantity"
            faults.append(
                Fault(where, f"the column {quoted(name)} beside value", allowed, "keep to one of the two forms")
            )
        elif name and meant is not None:
            missing = [
                other for other in missing if other != meant and not (meant in quantities and other in _LONG_ONLY)
            ]
            faults.append(
                Fault(where, f"the column {quoted(name)}", f'"{meant}"', f'write "{meant}", or rename it clearly')
            )
        else:
            kept_out.append(name)
    if missing:
        faults.append(_missing(where, grid, missing))
    return faults, kept_out


def _near(grid: Grid, name: str) -> bool:
    """Say whether a column's name is nearly that name."""
    return any(nearest(plain_name(head), (name,)) for head in grid.header)


def _needed(grid: Grid, *, wide: bool) -> tuple[str, ...]:
    """Give the columns that this table must have; a sheet may stand for its product."""
    needed = ("product", "ball") if wide else REQUIRED
    return tuple(name for name in needed if not (name == "product" and grid.sheet))


def _meant(plain: str, *, wide: bool, quantities: Sequence[str]) -> str | None:
    """Give the known name that an unknown one is a misspelling of."""
    meant = nearest(plain, _SHARED if wide else COLUMNS)
    if meant is None and wide and plain:
        meant = nearest(plain.split(maxsplit=1)[0], quantities)
    return meant


def _repeated(grid: Grid, where: str) -> list[Fault]:
    """Find column names that occur more than once."""
    plain = [plain_name(name) for name in grid.header if name]
    twice = dict.fromkeys(name for name in plain if plain.count(name) > 1)
    return [
        Fault(where, f"the column {quoted(name)} {plain.count(name)} times", "each name once", "rename or remove one")
        for name in twice
    ]


def _missing(where: str, grid: Grid, missing: list[str]) -> Fault:
    """Say which columns a table lacks."""
    found = f"no column {' and no column '.join(missing)} among {', '.join(quoted(name) for name in grid.header[:20])}"
    allowed = f"the columns {', '.join(REQUIRED)}; or product, ball and columns such as diameter seam, mass"
    return Fault(where, found, allowed, "add what is missing")
