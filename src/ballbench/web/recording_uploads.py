"""A recording that a request brings, laid out under a name that says what the sender calls it and is never a path."""

from __future__ import annotations

import hashlib
import re
from pathlib import Path

from fastapi import UploadFile

__all__ = ["named_file", "plain_name"]

_PIECE = 1024 * 1024
_LONGEST = 80
_ODD = re.compile(r"[^\w .()+-]+")


def named_file(folder: Path, file: UploadFile) -> tuple[Path, str]:
    """Write a file into a folder that is this request's own, and give its place and the SHA-256 of its bytes."""
    place, digest = folder / plain_name(file.filename or ""), hashlib.sha256()
    with place.open("wb") as out:
        for piece in iter(lambda: file.file.read(_PIECE), b""):
            digest.update(piece)
            out.write(piece)
    return place, digest.hexdigest()


def plain_name(name: str) -> str:
    """Give a sender's name for a file as one that any folder takes, with its ending; ``recording`` where none is left.

    Letters, figures, blanks and a few signs stay; no part of a path, no leading dot, no more than 80 characters.
    """
    last = re.split(r"[/\\]", name)[-1]
    plain = _ODD.sub("_", last).strip(" .")
    stem, dot, ending = plain.rpartition(".")
    if not dot:
        stem, ending = plain, ""
    ending = ending[:8]
    stem = stem[: _LONGEST - len(ending) - 1].strip(" .") or "recording"
    return f"{stem}.{ending}" if ending else stem
