"""Recordings of a test: a phone's sound or picture, kept whole, by the hash of its bytes."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from ballbench.errors import BadRequest, Fault
from ballbench.store import Notebook, Reply, Tx
from ballbench.store.ball_tests import written_of
from ballbench.store.readings import reading_of
from ballbench.store.recordings import lay_down, read_recording, recordings_of, write_recording
from ballbench.workflows.bench_requests import Sent
from ballbench.workflows.sending import digest_of, refuse, sent_faults, who

__all__ = ["NewRecording", "Recording", "keep_recording", "recording_bytes", "recordings"]

_LONGEST_NAME = 200


@dataclass(frozen=True, slots=True)
class NewRecording(Sent):
    """A file from a phone or an instrument.

    Parameters
    ----------
    name : str
        What the sender calls it: a label only, never a path.
    media_type : str
        What the sender says that it is.
    reading : int or None
        The reading that it belongs to.
    """

    name: str
    media_type: str
    reading: int | None = None


@dataclass(frozen=True, slots=True)
class Recording:
    """A recording of a test: SHA-256 of its bytes, the sender's name for it, what it is said to be, and its size."""

    digest: str
    name: str
    media_type: str
    bytes: int


def keep_recording(notebook: Notebook, test_id: int, request: NewRecording, chunks: Iterable[bytes]) -> Reply:
    """Keep a file; sent again, it is the same file.

    Raises
    ------
    BadInput
        No such test or reading, the file is empty, or the notebook cannot write; nothing of it is kept.
    """
    refuse(sent_faults(request))
    with notebook.read() as tx:
        written_of(tx, test_id)
    laid = lay_down(notebook, chunks)
    if not laid.size:
        raise BadRequest(Fault("file", "an empty file", "a recording", "choose the file again"))
    name = "".join(c for c in request.name if c.isprintable()).strip()[:_LONGEST_NAME] or "recording"

    def work(tx: Tx) -> Reply:
        if request.reading is not None:
            reading_of(tx, test_id, request.reading)
        row = {"reading_id": request.reading, "name": name, **who(request, test_id)}
        write_recording(tx, laid, request.media_type[:_LONGEST_NAME], row)
        return {"digest": laid.digest, "name": name, "media_type": request.media_type[:_LONGEST_NAME],
                "bytes": laid.size}  # fmt: skip

    return notebook.submit(request.key, test_id, "recording", request.client, work,
                           digest_of(request, file=laid.digest))  # fmt: skip


def recordings(notebook: Notebook, test_id: int) -> tuple[Recording, ...]:
    """Give the recordings of a test, oldest first.

    Raises
    ------
    NotFound
        There is no such test.
    """
    with notebook.read() as tx:
        written_of(tx, test_id)
        return tuple(Recording(row.digest, row.name, row.media_type, row.bytes) for row in recordings_of(tx, test_id))


def recording_bytes(notebook: Notebook, test_id: int, digest: str) -> bytes:
    """Give the bytes of a recording of a test.

    Raises
    ------
    NotFound
        The test has none of that hash.
    """
    known = {one.digest for one in recordings(notebook, test_id)}
    return read_recording(notebook, digest if digest in known else "")
