"""Work for processes of their own: what a reader of recordings may do, and what it should not."""

from __future__ import annotations

import os
import time
from pathlib import Path

from ballbench.errors import BadRecording, Fault

__all__ = ["ended_by_itself", "noted", "refused", "without_end"]


def noted(folder: str, words: str) -> str:
    """Leave a trace of each call, and give the process it ran in."""
    with (Path(folder) / words).open("a") as out:
        out.write("called\n")
    return str(os.getpid())


def refused() -> None:
    """Refuse a recording as a reader does."""
    raise BadRecording(Fault("drop.wav", "silence", "a sound of a drop", "record it again"))


def without_end(folder: str) -> None:
    """Say which process it is, and go on for good."""
    (Path(folder) / "pid").write_text(str(os.getpid()))
    while True:
        time.sleep(1.0)


def ended_by_itself() -> None:
    """End the process, as a decoder does that runs into a wall."""
    os._exit(11)
