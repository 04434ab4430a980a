"""Write one row."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlalchemy import Connection, Table, insert

__all__ = ["inserted"]


def inserted(connection: Connection, table: Table, row: Mapping[str, Any]) -> int:
    """Write one row, as the columns of a table that numbers its rows, and give its number."""
    number = connection.execute(insert(table), dict(row)).inserted_primary_key
    assert number is not None  # noqa: S101 - a single-row INSERT always has one; the library's type says otherwise
    return int(number[0])
