"""The display step as people write it down: one unit of the last decimal."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ballbench.records.importers.named_table import NamedTable
from ballbench.records.written_numbers import decimals_written

__all__ = ["written_steps"]


def written_steps(table: NamedTable, columns: Sequence[str]) -> list[float]:
    """Give for each row one unit of its last decimal, in the unit in which it is written.

    Parameters
    ----------
    table : NamedTable
        The cells.
    columns : sequence of str
        Those that one display filled: the one with most decimals counts.

    Returns
    -------
    list of float
        1 where whole numbers were written, or none.
    """
    cells = table.cells
    each = [decimals_written(cells.get_column(name).str.replace(",", ".", literal=True)) for name in columns]
    return [float(10.0**-most) for most in np.max(each, axis=0).tolist()]
