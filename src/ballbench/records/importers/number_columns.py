"""Number columns of small tables: one decimal mark for all of them, and a message for every cell that is no number."""

from __future__ import annotations

import math

import polars as pl

from ballbench.errors import Fault
from ballbench.records.fault_list import FaultList, quoted
from ballbench.records.importers.named_table import NamedTable
from ballbench.records.written_numbers import read_numbers, what_is_wrong

__all__ = ["NumberColumns", "cell_place"]


def cell_place(table: NamedTable, line: int, name: str = "") -> str:
    """Say where a cell or a line stands."""
    return f"{table.where}, line {line}" + (f", column {name}" if name else "")


class NumberColumns:
    """The number columns of a table.

    Parameters
    ----------
    table : NamedTable
        The cells.
    names : tuple of str
        Columns that hold numbers.
    faults : FaultList
        Where faults are noted.
    """

    def __init__(self, table: NamedTable, names: tuple[str, ...], faults: FaultList) -> None:
        self.table, self.faults, self.names = table, faults, names
        self._texts = {name: table.cells.get_column(name) for name in names}
        rows = table.cells.height
        together = pl.concat([self._texts[name].alias("cells") for name in names])
        self._numbers = read_numbers(together)
        self._first = {name: position * rows for position, name in enumerate(names)}
        doubt = self._numbers.doubt
        if doubt is not None:
            name, index = names[doubt.row // rows], doubt.row % rows
            self._fault(name, index, doubt.found, "one decimal mark in the whole file", "write decimal points")

    def _line(self, index: int) -> int:
        return int(self.table.cells.get_column("at line")[index])

    def _fault(self, name: str, index: int, found: str, allowed: str, todo: str) -> None:
        line = self._line(index)
        self.faults.add(Fault(cell_place(self.table, line, name), found, allowed, todo), 0, line)

    def value(
        self,
        name: str,
        index: int,
        *,
        needed: bool = False,
        least: float | None = None,
        above: float | None = None,
        whole: bool = False,
    ) -> float | None:
        """Give one number, or note why it is none.

        Parameters
        ----------
        name : str
            The column.
        index : int
            The row, from 0.
        needed : bool
            An empty cell is a fault.
        least, above : float or None
            The number must be no less than the first, and more than the second.
        whole : bool
            It must be a whole number.

        Returns
        -------
        float or None
            None where the cell is empty or wrong.
        """
        text, numbers, at = str(self._texts[name][index]), self._numbers, self._first[name] + index
        if not text:
            if needed:
                self._fault(name, index, "an empty cell", "a number in every line", "write it down")
            return None
        value = float(numbers.values[at])
        if at in numbers.units:
            self._fault(name, index, quoted(text), "a number alone; the unit has its own place", "take the unit out")
        elif not math.isfinite(value):
            if numbers.doubt is None or "," not in text:
                found, todo = what_is_wrong(text)
                self._fault(name, index, found, "a number such as 24 or 21.5", todo)
        elif least is not None and value < least:
            self._fault(name, index, quoted(text), f"{least:g} or more", "correct the number")
        elif above is not None and value <= above:
            self._fault(name, index, quoted(text), f"more than {above:g}", "correct the number")
        elif whole and value != round(value):
            self._fault(name, index, quoted(text), "a whole number", "correct the number")
        else:
            return value
        return None
