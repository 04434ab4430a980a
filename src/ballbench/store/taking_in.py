"""Write a whole test that comes from files: many rows of a table at once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import Connection, Table, func, insert, select
from sqlalchemy.sql.schema import ScalarElementColumnDefault

from ballbench.store.tables import amendment, attempt, ball, instrument, mark, place, reading, sitting, test_ball

__all__ = ["TABLES", "instrument_numbers", "number_balls", "write_many"]

TABLES = {
    "place": place, "reading": reading, "attempt": attempt, "amendment": amendment, "mark": mark, "sitting": sitting,
    "ball": ball,
}  # fmt: skip
"""Tables that are written many rows at once, by name."""

_AT_ONCE = 5_000


def write_many(
    connection: Connection, name: str, rows: Sequence[Mapping[str, Any]], shared: Mapping[str, Any] | None = None
) -> tuple[int, ...]:
    """Write rows of one of `TABLES` and give their numbers, which grow in the order of the rows.

    Parameters
    ----------
    name : str
        Of the table.
    rows : sequence of mapping
        Columns of each.
    shared : mapping or None
        Columns that are the same in all.
    """
    table = TABLES[name]
    numbers = _free_numbers(connection, table, len(rows))
    if not rows:
        return numbers
    usual = {one.name: one.default.arg for one in table.columns if isinstance(one.default, ScalarElementColumnDefault)}
    same = {**usual, **(shared or {})}
    names = [*dict.fromkeys([*same, *rows[0], "id"])]
    statement = insert(table).compile(dialect=connection.dialect, column_keys=names)
    order = statement.positiontup  # None: the driver takes names
    for start in range(0, len(rows), _AT_ONCE):
        part = zip(rows[start : start + _AT_ONCE], numbers[start : start + _AT_ONCE], strict=True)
        full = ({**same, **row, "id": number} for row, number in part)
        # Past the library's own way with each value, which takes longer than the database with all of them.
        connection.exec_driver_sql(
            str(statement), list(full) if order is None else [tuple(row[name] for name in order) for row in full]
        )
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


def number_balls(connection: Connection, test_id: int, numbers: Mapping[int, str]) -> None:
    """Put balls into a test, each with its number there; `numbers` by the ball's own number in the notebook."""
    rows = [{"test_id": test_id, "ball_id": ball_id, "number": number} for ball_id, number in numbers.items()]
    for start in range(0, len(rows), _AT_ONCE):
        connection.execute(insert(test_ball), rows[start : start + _AT_ONCE])


def instrument_numbers(connection: Connection, test_id: int) -> dict[tuple[str, str], int]:
    """Give the numbers of a test's instruments by name and quantity."""
    chosen = select(instrument.c.name, instrument.c.quantity, instrument.c.id).where(instrument.c.test_id == test_id)
    return {(name, quantity): number for name, quantity, number in connection.execute(chosen)}
