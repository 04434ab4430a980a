"""Keep files by the hash of their bytes: the same recording twice is one file."""

from __future__ import annotations

import hashlib
import os
import tempfile
from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Row, insert, select
from sqlalchemy.exc import IntegrityError

from ballbench.errors import BadNotebook, Fault, NotFound
from ballbench.store.inserting import inserted
from ballbench.store.notebook import Notebook
from ballbench.store.tables import recording, test_recording

__all__ = ["LaidDown", "attach_recording", "lay_down", "read_recording", "recordings_of", "write_recording"]


@dataclass(frozen=True, slots=True)
class LaidDown:
    """A file whose bytes are safe.

    Parameters
    ----------
    digest : str
        SHA-256 of the bytes, 64 hexadecimal digits.
    size : int
        How many bytes.
    content : bytes or None
        The bytes, where the notebook has no folder for them.
    """

    digest: str
    size: int
    content: bytes | None


def lay_down(notebook: Notebook, chunks: Iterable[bytes]) -> LaidDown:
    """Write bytes into the notebook's folder under their hash, on the disk before this returns.

    Raises
    ------
    BadNotebook
        The folder cannot be written to.
    """
    if notebook.recordings is None:
        content = b"".join(chunks)
        return LaidDown(hashlib.sha256(content).hexdigest(), len(content), content)
    try:
        return _into_folder(notebook.recordings, chunks)
    except OSError as error:
        found = f"a folder that cannot be written to ({error.strerror})"
        todo = "check the room on the disk, and send it again"
        raise BadNotebook(Fault(f"notebook {notebook.place}", found, "room for the recording", todo)) from error


def _into_folder(folder: Path, chunks: Iterable[bytes]) -> LaidDown:
    digest, size = hashlib.sha256(), 0
    handle, name = tempfile.mkstemp(prefix="coming-", dir=folder)
    coming = Path(name)
    try:
        with os.fdopen(handle, "wb") as out:
            for chunk in chunks:
                digest.update(chunk)
                size += len(chunk)
                out.write(chunk)
            out.flush()
            os.fsync(out.fileno())
        coming.replace(folder / digest.hexdigest())
    finally:
        coming.unlink(missing_ok=True)
    _sync_folder(folder)
    return LaidDown(digest.hexdigest(), size, None)


def _sync_folder(folder: Path) -> None:
    """Put the file's name on the disk too, where the system can."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def write_recording(connection: Connection, laid: LaidDown, media_type: str, row: Mapping[str, Any]) -> int:
    """Write that a test has a recording, and the recording itself where it is new; `row` as in `test_recording`."""
    known = connection.execute(select(recording.c.digest).where(recording.c.digest == laid.digest)).one_or_none()
    if known is None:
        values = {"digest": laid.digest, "media_type": media_type, "bytes": laid.size, "content": laid.content}
        # Another server may write the same bytes at this moment: then that row is there, and is the one.
        with suppress(IntegrityError), connection.begin_nested():
            connection.execute(insert(recording).values(**values))
    return inserted(connection, test_recording, {**row, "digest": laid.digest})


def attach_recording(connection: Connection, row: Mapping[str, Any]) -> int:
    """Write that a reading belongs to a recording that the notebook has; `row` as in `test_recording`."""
    return inserted(connection, test_recording, row)


def recordings_of(connection: Connection, test_id: int) -> tuple[Row[Any], ...]:
    """Give the recordings of a test: digest, name, media type and size, oldest first."""
    chosen = (
        select(test_recording, recording.c.media_type, recording.c.bytes)
        .join(recording, recording.c.digest == test_recording.c.digest)
        .where(test_recording.c.test_id == test_id)
        .order_by(test_recording.c.id)
    )
    return tuple(connection.execute(chosen).all())


def read_recording(notebook: Notebook, digest: str) -> bytes:
    """Give the bytes of a recording.

    Raises
    ------
    NotFound
        The notebook has none of that hash, or its file is gone or was changed.
    """
    with notebook.read() as connection:
        row = connection.execute(select(recording).where(recording.c.digest == digest)).one_or_none()
    content = None if row is None else row.content
    if row is not None and content is None and notebook.recordings is not None:
        file = notebook.recordings / row.digest
        content = file.read_bytes() if file.is_file() else None
    if content is None or hashlib.sha256(content).hexdigest() != digest:
        found = "no such file, or one that was changed outside of the notebook"
        raise NotFound(Fault(f"recording {digest[:12]}", found, "a recording of this notebook", "look at the folder"))
    return bytes(content)
