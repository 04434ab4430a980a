"""A made-up result of a recording, as the reader of sounds would give it, and how it is kept."""

from __future__ import annotations

import hashlib
import json
from dataclasses import replace
from typing import Any

from made_tests import places, sent

from ballbench.presentation.screens.recorded import RecordedResult, RecordedValue
from ballbench.store import Notebook
from ballbench.store.picks import write_picks
from ballbench.workflows.recorded.keeping import KeepRecorded, keep_recorded
from ballbench.workflows.recordings import NewRecording, keep_recording

__all__ = ["PICKS", "keep", "marked", "picked", "result", "sound"]

PICKS = ((0.5, 0.9, 1.25), (3.0, 3.41))
STATED = (("ball", "40 mm, 2.7 g"), ("drop_height", "305 mm"))


def result(rebound: float = 251.26, *, mended: bool = False) -> RecordedResult:
    """Two values of one drop; everything else that a reader gives is not looked at when one is kept."""
    values = (
        RecordedValue("drop 1, rebound", "rebound", "mm", rebound, 0.61, "Drop 1, rebound height", "251.3 mm"),
        RecordedValue("drop 1, impact 1, restitution", "bounce_restitution", "1", 0.912, 0.002, "Drop 1", "0.912"),
    )
    return RecordedResult("{}", "", json.dumps({"kind": "none"}), values, PICKS, mended=mended)


def sound(notebook: Notebook, test: int, content: bytes = b"a sound", name: str = "=drop.wav") -> str:
    """Keep a recording, and give its digest."""
    reply = keep_recording(notebook, test, NewRecording(**sent(name=name, media_type="audio/wav")), [content])
    return str(reply["digest"])


def keep(notebook: Notebook, test: int, digest: str, **more: Any) -> dict[str, Any]:
    """Keep the rebound as the reading of the first place for it."""
    usual = {
        "place": places(notebook, test, "rebound")[0].id, "digest": digest, "method": "listen", "stated": STATED,
        "picks": None, "value": "drop 1, rebound",
    }  # fmt: skip
    given = more.pop("given", None) or result()
    return keep_recorded(notebook, test, KeepRecorded(**{**sent(), **usual, **more}), given)


def marked(notebook: Notebook, test: int, digest: str, marks: tuple[tuple[float, ...], ...]) -> dict[str, Any]:
    """Keep the rebound of a film at the next place for it, with what a person marked there; none: what was found."""
    free = next(one for one in places(notebook, test, "rebound") if not one.filled)
    film = replace(result(mended=bool(marks)), picks=marks)
    return keep(notebook, test, digest, place=free.id, method="watch", picks=marks or None, given=film)


def picked(
    notebook: Notebook, test: int, reading: int, content: bytes, at: str, *, method: str = "listen",
    picks: str = "[[0.5, 0.9]]",
) -> None:  # fmt: skip
    """Say of a reading that is there how it came out of a recording of the test, at the moment when that was kept."""
    own = sent()
    row = {
        "key": own["key"], "test_id": test, "digest": hashlib.sha256(content).hexdigest(), "reading_id": reading,
        "method": method, "asked": '{"ball": "40 mm, 2.7 g"}', "picks": picks, "told": '{"mended": false}',
        "by": own["by"], "at": at,
    }  # fmt: skip

    def work(tx: Any) -> dict[str, Any]:
        write_picks(tx, row)
        return {"status": "written"}

    notebook.submit(own["key"], test, "written", own["client"], work)
