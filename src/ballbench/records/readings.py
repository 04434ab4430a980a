"""Readings as they were written down, one row each, with their place in the file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import polars as pl

__all__ = ["SAYS_INVENTED", "SCHEMA", "Query", "Readings", "Spoiled"]

SAYS_INVENTED = "the file says above its header that its data are invented"
"""Note of a readings file whose first lines begin with "invented data"."""

SCHEMA: dict[str, pl.DataType] = {
    "product": pl.String(),
    "box": pl.String(),
    "ball": pl.String(),
    "quantity": pl.String(),
    "axis": pl.String(),
    "repeat": pl.Int64(),
    "value": pl.Float64(),
    "answer": pl.Boolean(),
    "decimals": pl.Int64(),
    "unit": pl.String(),
    "instrument": pl.String(),
    "operator": pl.String(),
    "sitting": pl.String(),
    "time": pl.String(),
    "note": pl.String(),
    "line": pl.Int64(),
}
"""Columns of `Readings.table`.

`value` is in the quantity's base unit and null for a yes/no result; `answer` is True for yes or passed and null
otherwise; `decimals` counts the decimals as written; `unit` is the unit as written or the base unit; `axis` is empty
where none was named; `repeat` counts from 1; `line` is the row's line in its file. Text columns are empty strings,
never null, where the file says nothing.
"""


@dataclass(frozen=True, slots=True)
class Spoiled:
    """Spoiled attempts of one product and quantity: counted, never readings; whose and when, where it is said."""

    product: str
    quantity: str
    reason: str
    count: int
    box: str = ""
    ball: str = ""
    axis: str = ""
    operator: str = ""
    sitting: str = ""
    time: str = ""


@dataclass(frozen=True, slots=True)
class Query:
    """A reading that the plausibility gate asks about; nothing was altered.

    Parameters
    ----------
    line : int
        Line in the readings file.
    product, ball, quantity, axis : str
        Which reading.
    repeat : int
        Which repeat, from 1.
    value : float
        As read, base unit.
    why : str
        What is odd about it, in a sentence part.
    gross : bool
        True: so far off that no result can stand before it is answered (a lost decimal point, a wrong unit, a
        duplicate); False: listed beside the result.
    suggestion : str
        A line for the corrections file that would answer it, the reason left to the person. Where product, ball,
        quantity, axis and repeat do not single the reading out, its box and line stand at the end.
    box : str
        The ball's box.
    """

    line: int
    product: str
    ball: str
    quantity: str
    axis: str
    repeat: int
    value: float
    why: str
    gross: bool
    suggestion: str
    box: str = ""


@dataclass(frozen=True, slots=True)
class Readings:
    """A readings file.

    Parameters
    ----------
    table : polars.DataFrame
        Columns as in `SCHEMA`, sorted by product, quantity, ball (in order of first appearance) and row.
    spoiled : tuple of Spoiled
        Attempts that gave no reading.
    notes : tuple of str
        How the file was read: layout, separator, decimal mark, rows above the header, units taken for granted.
    digest : str
        ``"sha256:..."`` of the file's bytes.
    units : mapping of str to str
        Base unit of quantities that a requirement declares; the trade's own are in `ballbench.quantities.kinds`.
    """

    table: pl.DataFrame
    spoiled: tuple[Spoiled, ...] = ()
    notes: tuple[str, ...] = ()
    digest: str = ""
    units: Mapping[str, str] = field(default_factory=dict)

    @property
    def invented(self) -> bool:
        """Whether the file itself says that its data are invented."""
        return SAYS_INVENTED in self.notes
