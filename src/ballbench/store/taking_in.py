"""Write a whole test that comes from files: many rows of a table at once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import Connection, Table, func, insert, select

from ballbench.store.inserting import inserted
from ballbench.store.tables import amendment, attempt, instrument, mark, place, reading, sitting

__all__ = ["TABLES", "instrument_numbers", "write_many", "write_past_sitting"]

TABLES = {"place": place, "reading": reading, "attempt": attempt, "amendment": amendment, "mark": mark}
"""Tables that are written many rows at once, by name."""

_AT_ONCE = 5_000


def write_many(connection: Connection, name: str, rows: Sequence[Mapping[str, Any]]) -> tuple[int, ...]:
    """Write rows of one of `TABLES` and give their numbers, which grow in the order of the rows."""
    table = TABLES[name]
    numbers = _free_numbers(connection, table, len(rows))
    numbered = [{**row, "id": number} for row, number in zip(rows, numbers, strict=True)]
    for start in range(0, len(numbered), _AT_ONCE):
        connection.execute(insert(table), numbered[start : start + _AT_ONCE])
    return numbers


def _free_numbers(connection: Connection, table: Table, count: int) -> tuple[int, ...]:
    """Give numbers for new rows: from the table's own sequence on a server, which others draw from at the same time.

    Elsewhere the writer holds the notebook alone, and no row is ever deleted: those above the greatest are free.
    """
    if connection.dialect.name == "postgresql":
        sequence = func.pg_get_serial_sequence(f'"{table.name}"', "id")
        drawn = select(func.nextval(sequence)).select_from(func.generate_series(1, count))
        return tuple(sorted(connection.execute(drawn).scalars()))
    first = (connection.execute(select(func.max(table.c.id))).scalar_one() or 0) + 1
    return tuple(range(first, first + count))


def write_past_sitting(connection: Connection, test_id: int, label: str, by: str, at: str) -> int:
    """Write a sitting that is over, under the name that a file gives it, and give its number."""
    row = {"test_id": test_id, "label": label, "kind": "bench", "begun_by": by, "begun": at, "ended": at}
    return inserted(connection, sitting, row)


def instrument_numbers(connection: Connection, test_id: int) -> dict[tuple[str, str], int]:
    """Give the numbers of a test's instruments by name and quantity."""
    chosen = select(instrument.c.name, instrument.c.quantity, instrument.c.id).where(instrument.c.test_id == test_id)
    return {(name, quantity): number for name, quantity, number in connection.execute(chosen)}
