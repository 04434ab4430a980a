from __future__ import annotations

import re
from typing import Any

from alembic.autogenerate import compare_metadata
from alembic.runtime.migration import MigrationContext
from places import NotebookPlace
from sqlalchemy import CheckConstraint, Column, Integer, Table, UniqueConstraint, inspect
from sqlalchemy import MetaData as Declared

from ballbench.store import Notebook
from ballbench.store.tables import APPEND_ONLY, METADATA

TABLES = METADATA.sorted_tables


def test_the_migrated_tables_are_those_that_are_written_to(notebook: Notebook) -> None:
    """Alembic's comparison finds no table, column, type, null, index, unique or foreign key that differs."""
    with notebook.read() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, METADATA) == []
        other = Declared()
        Table("make", other, Column("id", Integer, primary_key=True), Column("name", Integer, nullable=False))
        found = compare_metadata(context, other)
    assert len(found) > len(TABLES), "the comparison itself sees what differs"


def squeezed(text: str) -> str:
    """A condition without what a database adds to it: brackets, casts, blanks, the other way to write IN."""
    bare = re.sub(r"::[a-z]+(\[\])?|[()\s\"]", "", str(text))
    return re.sub(r"=ANYARRAY\[([^\]]*)\]", r"IN\1", bare)


def declared(table: Table) -> set[tuple[str, str]]:
    """Check constraints as the code declares them."""
    checks = (one for one in table.constraints if isinstance(one, CheckConstraint))
    return {(str(one.name), squeezed(str(one.sqltext))) for one in checks}


def test_every_condition_of_a_row_came_into_the_database(notebook: Notebook) -> None:
    """Check constraints, which that comparison does not look at, have the declared names and conditions."""
    with notebook.read() as connection:
        seen = inspect(connection)
        for table in TABLES:
            found = seen.get_check_constraints(table.name)
            assert {(str(one["name"]), squeezed(one["sqltext"])) for one in found} == declared(table), table.name
    assert sum(len(declared(table)) for table in TABLES) == 9


def named(things: Any, columns: str = "column_names") -> dict[str, Any]:
    """Columns of indexes or keys by their names."""
    return {one["name"]: one[columns] for one in things}


def test_keys_and_indexes_have_their_declared_names(notebook: Notebook) -> None:
    """Each index, unique and foreign key has its declared name and columns, and is deferred where that is declared."""
    with notebook.read() as connection:
        seen = inspect(connection)
        for table in TABLES:
            unique = named(seen.get_unique_constraints(table.name))
            assert unique == {
                str(one.name): [c.name for c in one.columns]
                for one in table.constraints
                if isinstance(one, UniqueConstraint)
            }
            indexes = named(one for one in seen.get_indexes(table.name) if one["name"] not in unique)
            assert indexes == {str(one.name): [c.name for c in one.columns] for one in table.indexes}
            foreign = seen.get_foreign_keys(table.name)
            assert named(foreign, "constrained_columns") == {
                str(one.name): [c.name for c in one.columns] for one in table.foreign_key_constraints
            }
            late = {one["name"] for one in foreign if one["options"].get("initially") == "DEFERRED"}
            assert late == {one.name for one in table.foreign_key_constraints if one.initially == "DEFERRED"}


def test_what_is_written_once_has_its_triggers(notebook: Notebook, place: NotebookPlace) -> None:
    """Each table that is written once has one trigger for each way to change it, and no other table has any."""
    on_sqlite = "SELECT tbl_name, name FROM sqlite_master WHERE type = 'trigger'"
    on_server = "SELECT tgrelid::regclass::text, tgname FROM pg_trigger WHERE NOT tgisinternal"
    with place.raw() as line:
        found = line.execute(on_sqlite if place.server is None else on_server).fetchall()
    acts = ("update", "delete", "replace" if place.server is None else "truncate")
    assert sorted(found) == sorted((table, f"{table}_refuses_{act}") for table in APPEND_ONLY for act in acts)
    assert notebook.place
