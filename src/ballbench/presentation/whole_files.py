"""Files on the disk whole, or not at all: written beside their places first, then put there, each in one step."""

from __future__ import annotations

import contextlib
import os
import secrets
import shutil
from collections.abc import Mapping
from pathlib import Path

__all__ = ["beside", "write_whole"]


def write_whole(files: Mapping[Path, bytes]) -> None:
    """Write files so that a failure, such as a full disk, leaves every one of their places as it was.

    Parameters
    ----------
    files : mapping of Path to bytes
        What is to stand where. A link is followed: the file that it points to is replaced and keeps its permissions.
        What is no regular file, such as a terminal or a pipe, and a file in a folder that takes no other, can only be
        written as they are, last.

    Raises
    ------
    OSError
        The first of them that cannot be written.
    """
    waiting: list[tuple[Path, Path]] = []
    plain: list[tuple[Path, bytes]] = []
    try:
        for place, content in files.items():
            true_place = Path(os.path.realpath(place))
            try:
                new = None if true_place.exists() and not true_place.is_file() else _begun(true_place, waiting)
            except PermissionError:
                if not true_place.is_file():
                    raise
                new = None
            if new is None:
                plain.append((true_place, content))
                continue
            new.write_bytes(content)
            if true_place.exists():
                shutil.copymode(true_place, new)
        for new, true_place in waiting:
            new.replace(true_place)
        for true_place, content in plain:
            true_place.write_bytes(content)
    finally:
        for new, _ in waiting:
            with contextlib.suppress(OSError):
                new.unlink(missing_ok=True)


def beside(place: Path) -> Path:
    """Give a name in the same folder that no file has, short and out of the way of a listing."""
    return place.with_name(f".ballbench-{secrets.token_hex(6)}")


def _begun(place: Path, waiting: list[tuple[Path, Path]]) -> Path:
    """Make the file that waits beside a place."""
    new = beside(place)
    new.open("xb").close()
    waiting.append((new, place))
    return new
