"""Recordings that leave the notebook with a test: their list, what was picked in them, and their files by digest."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from typing import Any

from ballbench.errors import NotFound
from ballbench.records.ball_test import BallTest
from ballbench.records.cells import guarded
from ballbench.records.clip_marks import marks_csv
from ballbench.records.picks import Pick, picks_csv
from ballbench.store import Notebook, Tx
from ballbench.store.ball_tests import balls_of
from ballbench.store.picks import PicksRow, picks_of
from ballbench.store.readings import readings_of
from ballbench.store.recordings import read_recording, recordings_of
from ballbench.workflows.recorded.marks import clip_marks

__all__ = [
    "MARKS",
    "MOST_PACKED",
    "PICKS",
    "RECORDINGS",
    "RECORDING_COLUMNS",
    "SUMS",
    "WORKED_OUT",
    "marks_text",
    "packed_recordings",
    "picks_text",
    "recording_rows",
]

RECORDINGS, PICKS, MARKS, SUMS = "recordings.csv", "picks.csv", "marks.csv", "SHA256SUMS"
WORKED_OUT = ("method", "stated", "picks", "told")
"""How the reading came out of the recording: by which command, and, as JSON, what was stated, picked and told."""
RECORDING_COLUMNS = (
    "digest", "name", "product", "box", "ball", "quantity", "axis", "repeat", "by", "time", "media_type", *WORKED_OUT,
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
    worked = {(one.digest, one.reading_id): one for one in picks_of(tx, test.id)}
    return tuple(
        (row.digest, guarded(row.name), *_of_reading(read.get(row.reading_id), balls), guarded(row.by), row.at,
         guarded(row.media_type), *_worked_out(worked.get((row.digest, row.reading_id))))
        for row in rows
    )  # fmt: skip


def _worked_out(one: PicksRow | None) -> tuple[str, ...]:
    return ("",) * len(WORKED_OUT) if one is None else (one.method, one.asked, one.picks, one.told)


def picks_text(tx: Tx, test_id: int) -> str:
    """Write what was picked in the sounds of a test as ``listen --picks`` reads it; empty where nothing was.

    Of each drop as it was kept last; a sound is named by the SHA-256 of its bytes.
    """
    last: dict[tuple[str, int], tuple[PicksRow, list[float]]] = {}
    for one in picks_of(tx, test_id):
        if one.method == "listen":
            for drop, times in enumerate(json.loads(one.picks), 1):
                last[one.digest, drop] = (one, times)
    rows = [
        Pick(0, f"sha256:{digest}", drop, impact, time, guarded(one.by), one.at)
        for (digest, drop), (one, times) in sorted(last.items(), key=lambda item: item[0])
        for impact, time in enumerate(times, 1)
    ]
    return picks_csv(tuple(rows)) if rows else ""


def marks_text(tx: Tx, test_id: int) -> str:
    """Write what was marked in the films of a test as ``watch --marks`` reads it; empty where nothing was.

    Of each film as it was kept last; a film is named by the SHA-256 of its bytes.
    """
    last = {one.digest: one for one in picks_of(tx, test_id) if one.method == "watch"}
    rows = [
        mark
        for digest, one in sorted(last.items())
        for mark in clip_marks(f"sha256:{digest}", json.loads(one.picks), guarded(one.by), one.at)
    ]
    return marks_csv(tuple(rows)) if rows else ""


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
