"""Write and read what instruments were qualified for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, func, select

from ballbench.errors import Fault, NotFound
from ballbench.store.inserting import inserted
from ballbench.store.tables import ball_test, qualification

__all__ = ["QualificationRow", "latest_qualifications", "qualification_of", "qualifications_of", "write_qualification"]


@dataclass(frozen=True, slots=True)
class QualificationRow:
    """An instrument as it was qualified.

    Parameters
    ----------
    id : int
        In the notebook.
    test_id : int or None
        The test that it was found in.
    name, quantity : str
        The instrument, and what it reads.
    entry, sentence : str
        Its entry as a bench file, and what it tells apart.
    by, at : str
        Who kept it, and when (ISO 8601 with zone).
    invented : bool
        The data of that test are invented.
    """

    id: int
    test_id: int | None
    name: str
    quantity: str
    entry: str
    sentence: str
    by: str
    at: str
    invented: bool


_COLUMNS = tuple(qualification.c[name] for name in QualificationRow.__slots__ if name != "invented")


def write_qualification(connection: Connection, row: Mapping[str, Any]) -> int:
    """Write a qualification, as the columns of its table, and give its number."""
    return inserted(connection, qualification, row)


def qualification_of(connection: Connection, number: int) -> QualificationRow:
    """Give one qualification.

    Raises
    ------
    NotFound
        There is none of that number.
    """
    found = _rows(connection, qualification.c.id == number)
    if not found:
        missing = f"no qualification {number}"
        raise NotFound(Fault("notebook", missing, "a kept qualification", "choose an instrument from the list"))
    return found[0]


def qualifications_of(connection: Connection, test_id: int) -> tuple[QualificationRow, ...]:
    """Give what was kept from one test, the newest first."""
    return _rows(connection, qualification.c.test_id == test_id)


def latest_qualifications(connection: Connection) -> tuple[QualificationRow, ...]:
    """Give each instrument and quantity as it was qualified last, the newest first."""
    newest = select(func.max(qualification.c.id)).group_by(qualification.c.name, qualification.c.quantity)
    return _rows(connection, qualification.c.id.in_(newest))


def _rows(connection: Connection, which: Any) -> tuple[QualificationRow, ...]:
    chosen = (
        select(*_COLUMNS, ball_test.c.invented)
        .outerjoin(ball_test, ball_test.c.id == qualification.c.test_id)
        .where(which)
        .order_by(qualification.c.id.desc())
    )
    return tuple(
        QualificationRow(**{**row._mapping, "invented": bool(row.invented)})  # noqa: SLF001 - SQLAlchemy's own name for a row as a mapping
        for row in connection.execute(chosen)
    )
