"""Whether a recording calls itself invented, in what its maker wrote into it."""

from __future__ import annotations

from pathlib import Path

__all__ = ["INVENTED_MARK", "calls_itself_invented"]

INVENTED_MARK = "Invented data, for demonstration"
"""What a demonstration's recording says of itself: tag 270 of EXIF (``ImageDescription``) of a photograph, the comment
of a sound or film."""
_END = 64 * 1024
"""What a recorder writes stands at the head of a file, within the largest segment of a JPEG, or at its tail."""


def calls_itself_invented(path: Path) -> bool:
    """Look for the mark at the head and the tail of a file; False where it cannot be opened.

    What is no regular file is left alone: opening a pipe waits for its other end, and a device may have no end.
    """
    mark = INVENTED_MARK.encode("ascii")
    try:
        if not path.is_file():
            return False
        with path.open("rb") as file:
            if mark in file.read(_END):
                return True
            file.seek(max(path.stat().st_size - _END, 0))
            return mark in file.read(_END)
    except OSError:
        return False
