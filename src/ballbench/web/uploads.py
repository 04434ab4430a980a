"""Files that a request brings, laid out for a workflow under names of our own: the sender's are never a path."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

from fastapi import UploadFile

__all__ = ["laid_out"]


@contextmanager
def laid_out(files: Mapping[str, UploadFile | None]) -> Iterator[dict[str, Path | None]]:
    """Write files into a folder that goes away with the block.

    Parameters
    ----------
    files : mapping of str to UploadFile or None
        By the field that they came in, which becomes their name, so that a fault names the field; None: not sent.

    Yields
    ------
    dict
        Their places; None where there is none, or where a form sent an empty field.
    """
    with tempfile.TemporaryDirectory(prefix="ballbench-") as folder:
        yield {field: _write(Path(folder) / field, file) for field, file in files.items()}


def _write(place: Path, file: UploadFile | None) -> Path | None:
    if file is None or (not file.filename and not file.size):
        return None
    with place.open("wb") as out:
        shutil.copyfileobj(file.file, out)
    return place
