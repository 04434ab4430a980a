"""Open a notebook: a folder with one SQLite file, or a PostgreSQL database by its address."""

from __future__ import annotations

import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import URL, Connection, Engine, create_engine, event, inspect, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError, NoSuchModuleError
from sqlalchemy.pool import QueuePool

from ballbench.errors import BadNotebook, Fault
from ballbench.store.notebook import Notebook

__all__ = ["FILE", "open_notebook"]

FILE = "notebook.sqlite3"
_HEAD = b"SQLite format 3\0"  # SQLite documentation, "Database File Format", 1.3.1
_BUSY_MS = 10_000
_JOURNAL_BYTES = 64 * 2**20  # a journal that has grown beyond is cut back to it (own choice)
_MIGRATING = 7_246_013  # number of the lock that a PostgreSQL server holds while tables are made (own choice)
_ONE_OPENER = threading.Lock()  # the migration library knows one connection a process at a time


def open_notebook(place: Path | str) -> Notebook:
    """Open a notebook, and make it where there is none.

    Parameters
    ----------
    place : Path or str
        A folder, or the address of a PostgreSQL database such as ``postgresql://user@host/name``.

    Returns
    -------
    Notebook
        With the tables of this version. To be closed by the caller.

    Raises
    ------
    BadNotebook
        The place cannot be used, the file is no notebook, or a newer ballbench wrote it.
    """
    text = str(place)
    if "://" in text:
        return _on_server(text)
    return _in_folder(Path(text))


def _in_folder(folder: Path) -> Notebook:
    """Open the SQLite file of a folder."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        (folder / "recordings").mkdir(exist_ok=True)
    except (OSError, ValueError) as error:  # ValueError: a name that no file can have
        reason = getattr(error, "strerror", None) or str(error)
        raise BadNotebook(
            Fault(f"notebook {folder}", f"a folder that cannot be made ({reason})", "a folder that can be written to",
                  "name another with --notebook")
        ) from error  # fmt: skip
    file = folder / FILE
    _check_file(file)
    engines = [_sqlite(file, write=write) for write in (True, False)]
    try:
        _bring_up_to_date(engines[0], f"notebook {file}", "SELECT 1")
    except BadNotebook:
        for engine in engines:
            engine.dispose()
        raise
    return Notebook(str(folder), folder / "recordings", engines[0], engines[1])


def _check_file(file: Path) -> None:
    """Refuse a file that is no database; SQLite itself would write over a very short one."""
    try:
        with file.open("rb") as content:
            head = content.read(len(_HEAD))
    except FileNotFoundError:
        return
    except OSError as error:
        reason = error.strerror or str(error)
        todo = "check its permissions, or name another folder with --notebook"
        raise BadNotebook(
            Fault(f"notebook {file}", f"a file that cannot be read ({reason})", "a notebook", todo)
        ) from error
    if head not in {b"", _HEAD}:
        todo = "name another folder with --notebook"
        raise BadNotebook(
            Fault(f"notebook {file}", "a file that is not a database", "a notebook, or no file yet", todo)
        )


def _sqlite(file: Path, *, write: bool) -> Engine:
    """Make an engine on the file: one connection that writes, or several that read.

    A transaction that writes begins IMMEDIATE, so that it never has to be given up half way for another writer.
    Every commit is on the disk before it is acknowledged: synchronous = FULL (SQLite documentation, "PRAGMA
    synchronous" and "Write-Ahead Logging").
    """
    engine = create_engine(
        URL.create("sqlite", database=str(file)),  # not as a text, in which ? and % of a folder's name mean something
        poolclass=QueuePool,
        pool_size=1 if write else 8,
        max_overflow=0 if write else 24,
        connect_args={"check_same_thread": False, "timeout": _BUSY_MS / 1000},
    )
    begin = "BEGIN IMMEDIATE" if write else "BEGIN"

    @event.listens_for(engine, "connect")
    def set_up(connection: Any, _record: object) -> None:
        connection.isolation_level = None  # transactions are begun by the listener below, not by the driver
        connection.create_function("lower", 1, _lower, deterministic=True)
        _keep_a_journal(connection, file)
        for pragma in (
            "synchronous = FULL", "foreign_keys = ON", f"busy_timeout = {_BUSY_MS}",
            f"journal_size_limit = {_JOURNAL_BYTES}",
        ):  # fmt: skip
            connection.execute(f"PRAGMA {pragma}")

    @event.listens_for(engine, "begin")
    def start(connection: Connection) -> None:
        connection.exec_driver_sql(begin)

    return engine


def _keep_a_journal(connection: Any, file: Path) -> None:
    """Have changes written ahead, or refuse the place: the answer is the old mode where the drive cannot share memory.

    Source: SQLite documentation, "Write-Ahead Logging", 1 (it does not work over a network file system).
    """
    mode = connection.execute("PRAGMA journal_mode = WAL").fetchone()[0]
    if mode != "wal":
        connection.close()
        found = f"a drive on which changes cannot be written ahead (journal mode {mode}), as network drives are"
        todo = "name a folder on a drive of this machine with --notebook"
        raise BadNotebook(Fault(f"notebook {file}", found, "a drive of this machine", todo))


def _lower(text: str | None) -> str | None:
    """Lower every letter; SQLite's own function knows ASCII only."""
    return None if text is None else text.lower()


def _on_server(address: str) -> Notebook:
    """Open the notebook of a PostgreSQL database, which keeps recordings too."""
    url = _url(address)
    shown = url.difference_update_query(_SECRETS).render_as_string(hide_password=True)
    where = f"notebook {shown}"
    try:
        engine = create_engine(url.set(drivername="postgresql+psycopg"), pool_size=8, max_overflow=24)
    except (NoSuchModuleError, ImportError) as error:
        todo = "install ballbench with its extra: pip install 'ballbench[postgresql]'"
        raise BadNotebook(Fault(where, str(error).splitlines()[0], "the psycopg driver", todo)) from error
    try:
        _bring_up_to_date(engine, where, f"SELECT pg_advisory_xact_lock({_MIGRATING})")
    except BadNotebook:
        engine.dispose()
        raise
    reader = engine.execution_options(isolation_level="REPEATABLE READ")  # all of one reading sees one moment
    return Notebook(shown, None, engine, reader)


_SECRETS = ("password", "sslpassword")
"""What an address may hold in its query and no message may show."""


def _url(address: str) -> URL:
    """Read the address of a PostgreSQL database."""
    todo = "name a folder, or an address that begins with postgresql://"
    try:
        url = make_url(address)
    except (ArgumentError, ValueError) as error:  # ValueError: a port that is no number
        allowed = "an address such as postgresql://user@host/name"
        raise BadNotebook(Fault("notebook", "an address that cannot be read", allowed, todo)) from error
    if url.get_backend_name() != "postgresql":
        raise BadNotebook(Fault("notebook", url.get_backend_name(), "postgresql", todo))
    return url


def _bring_up_to_date(engine: Engine, where: str, lock: str) -> None:
    """Make or change the tables, one process at a time, all or nothing."""
    try:
        with _ONE_OPENER, engine.begin() as connection:
            connection.exec_driver_sql(lock)
            config = Config()
            config.set_main_option("script_location", "ballbench.store:migrations")
            config.attributes["connection"] = connection
            scripts = ScriptDirectory.from_config(config)
            stands = MigrationContext.configure(connection).get_current_revision()
            known = {script.revision for script in scripts.walk_revisions()}
            if stands is None and connection.dialect.name == "sqlite" and inspect(connection).get_table_names():
                todo = "name another folder with --notebook"
                raise BadNotebook(Fault(where, "a database of another program", "a notebook, or no file yet", todo))
            if stands is not None and stands not in known:
                raise BadNotebook(
                    Fault(where, f"a notebook of a newer ballbench (shape {stands})",
                          f"a notebook up to shape {scripts.get_current_head()}", "use the newer ballbench")
                )  # fmt: skip
            if stands != scripts.get_current_head():
                _quietly(command.upgrade, config, "head")
    except DBAPIError as error:
        raise BadNotebook(_unusable(where, error)) from error


def _quietly(upgrade: Callable[[Config, str], None], config: Config, target: str) -> None:
    config.attributes["configure_logger"] = False
    upgrade(config, target)


def _unusable(where: str, error: DBAPIError) -> Fault:
    """Say in one line what the database would not do."""
    reason = str(error.orig).strip().splitlines()[0]
    todo = "check the place, its permissions and the room on the disk; what was acknowledged before is safe"
    return Fault(where, f"a database that answers: {reason}", "a notebook that can be read and written", todo)
