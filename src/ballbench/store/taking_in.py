"""Write a whole test that comes from files: many rows of a table at once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import Connection, func, insert, select

from ballbench.store.inserting import inserted
from ballbench.store.tables import amendment, attempt, instrument, mark, place, reading, sitting

__all__ = ["TABLES", "instrument_numbers", "write_many", "write_past_sitting"]

TABLES = {"place": place, "reading": reading, "attempt": attempt, "amendment": amendment, "mark": mark}
"""Tables that are written many rows at once, by name."""

_AT_ONCE = 5_000


def write_many(connection: Connection, name: str, rows: Sequence[Mapping[str, Any]]) -> range:
    """Write rows of one of `TABLES` and give their numbers, which follow each other in the order of the rows.

    The writer holds the notebook alone, or, on a server, the table against other writers: numbers are taken from
    above the greatest that is there.
    """
    table = TABLES[name]
    if connection.dialect.name == "postgresql":
        connection.exec_driver_sql(f'LOCK TABLE "{table.name}" IN EXCLUSIVE MODE')
    first = (connection.execute(select(func.max(table.c.id))).scalar_one() or 0) + 1
    for start in range(0, len(rows), _AT_ONCE):
        part = rows[start : start + _AT_ONCE]
        numbered = [{**row, "id": first + start + index} for index, row in enumerate(part)]
        connection.execute(insert(table), numbered)
    if rows and connection.dialect.name == "postgresql":
        last = first + len(rows) - 1
        connection.exec_driver_sql(f"SELECT setval(pg_get_serial_sequence('\"{table.name}\"', 'id'), {last})")
    return range(first, first + len(rows))


def write_past_sitting(connection: Connection, test_id: int, label: str, by: str, at: str) -> int:
    """Write a sitting that is over, under the name that a file gives it, and give its number."""
    row = {"test_id": test_id, "label": label, "kind": "bench", "begun_by": by, "begun": at, "ended": at}
    return inserted(connection, sitting, row)


def instrument_numbers(connection: Connection, test_id: int) -> dict[tuple[str, str], int]:
    """Give the numbers of a test's instruments by name and quantity."""
    chosen = select(instrument.c.name, instrument.c.quantity, instrument.c.id).where(instrument.c.test_id == test_id)
    return {(name, quantity): number for name, quantity, number in connection.execute(chosen)}
