"""Recordings that leave the notebook with a test: their list, and their files by digest."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from ballbench.errors import NotFound
from ballbench.records.ball_test import BallTest
from ballbench.records.cells import guarded
from ballbench.store import Notebook, Tx
from ballbench.store.ball_tests import balls_of
from ballbench.store.readings import readings_of
from ballbench.store.recordings import read_recording, recordings_of

__all__ = ["MOST_PACKED", "RECORDINGS", "RECORDING_COLUMNS", "SUMS", "packed_recordings", "recording_rows"]

RECORDINGS, SUMS = "recordings.csv", "SHA256SUMS"
RECORDING_COLUMNS = (
    "digest", "name", "product", "box", "ball", "quantity", "axis", "repeat", "by", "time", "media_type",
)  # fmt: skip
MOST_PACKED = 256 * 1024 * 1024
"""Recordings of a test that are larger together are listed and not packed (own choice): it is done in memory."""

_SUFFIX = re.compile(r"\.[a-z0-9]{1,8}")


def recording_rows(tx: Tx, test: BallTest) -> tuple[tuple[str, ...], ...]:
    """Give the recordings of a test as rows, cells as they are written; one of a reference piece names no ball."""
    rows = recordings_of(tx, test.id)
    wanted = {row.reading_id for row in rows if row.reading_id is not None}
    read = {one.id: one for one in readings_of(tx, test.id) if one.id in wanted} if wanted else {}
    balls = {row.id: row for row in balls_of(tx, test.id)}
    return tuple(
        (row.digest, guarded(row.name), *_of_reading(read.get(row.reading_id), balls), guarded(row.by), row.at,
         guarded(row.media_type))
        for row in rows
    )  # fmt: skip


def _of_reading(one: Any, balls: Mapping[int, Any]) -> tuple[str, ...]:
    if one is None or one.ball is None:
        return ("",) * 6
    ball = balls[one.ball]
    named = (ball.make, ball.box, ball.label, one.quantity, one.axis)
    return (*map(guarded, named), str(one.repeat))


def packed_recordings(notebook: Notebook, test_id: int) -> dict[str, bytes]:
    """Give the recordings of a test by their name in an archive; none where they are too large together.

    A file that is gone, or that was changed outside of the notebook, is left out: the list still names it.
    """
    with notebook.read() as tx:
        rows = {row.digest: row for row in reversed(recordings_of(tx, test_id))}
    if sum(row.bytes for row in rows.values()) > MOST_PACKED:
        return {}
    packed = {}
    for digest, row in sorted(rows.items()):
        suffix = re.search(r"\.[^.]*$", row.name.lower())
        known = suffix.group() if suffix is not None and _SUFFIX.fullmatch(suffix.group()) else ""
        try:
            packed[f"recordings/{digest}{known}"] = read_recording(notebook, digest)
        except NotFound:
            continue
    return packed
