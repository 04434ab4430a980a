"""Whether a recording calls itself invented, in what its maker wrote into it."""

from __future__ import annotations

from pathlib import Path

__all__ = ["INVENTED_MARK", "calls_itself_invented"]

INVENTED_MARK = "Invented data, for demonstration"
"""What the description of a demonstration's photograph says (tag 270 of EXIF, ``ImageDescription``)."""
_HEAD = 64 * 1024
"""What a camera writes stands at the head of a file, within the largest segment of a JPEG."""


def calls_itself_invented(path: Path) -> bool:
    """Look for the mark at the head of a file; False where it cannot be opened."""
    try:
        with path.open("rb") as file:
            return INVENTED_MARK.encode("ascii") in file.read(_HEAD)
    except OSError:
        return False
