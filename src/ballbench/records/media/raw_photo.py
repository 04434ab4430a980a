"""Whether a TIFF is a raw photograph: what the sensor saw, or only a preview of it, and no picture to be measured."""

from __future__ import annotations

import struct

from ballbench.records.media.recording_file import RecordingFile

__all__ = ["is_raw"]

_REDUCED, _COLOURS, _RAW_VERSION = 254, 262, 50706
_SENSOR = frozenset({32803, 34892})  # colour filter array, and the same made linear
_MOST_TAGS = 500


def is_raw(file: RecordingFile) -> bool:
    """Look at the first directory of a TIFF.

    Parameters
    ----------
    file : RecordingFile
        Of any kind.

    Returns
    -------
    bool
        True for a DNG or another raw photograph built as a TIFF: by its version tag, by levels of the sensor, or since
        its first picture calls itself a smaller preview of another. TIFF 6.0, section 8, and the DNG specification,
        from memory.
    """
    if file.kind != "TIFF":
        return False
    with file.path.open("rb") as opened:
        head = opened.read(12)
        order = "<" if head[:2] == b"II" else ">"
        if head[8:10] == b"CR":
            return True
        try:
            if struct.unpack_from(f"{order}H", head, 2)[0] != 42:
                return False
            opened.seek(struct.unpack_from(f"{order}I", head, 4)[0])
            count = min(struct.unpack(f"{order}H", opened.read(2))[0], _MOST_TAGS)
            entries = opened.read(12 * count)
            tags = dict(_number(entries, at, order) for at in range(0, len(entries) - 11, 12))
        except (struct.error, OSError):
            return False
    return _RAW_VERSION in tags or tags.get(_COLOURS, 0) in _SENSOR or bool(tags.get(_REDUCED, 0) & 1)


def _number(entries: bytes, at: int, order: str) -> tuple[int, int]:
    """Tag and, for a single whole number, its value; else 0."""
    tag, kind, count = struct.unpack_from(f"{order}HHI", entries, at)
    if count != 1 or kind not in {3, 4}:
        return tag, 0
    return tag, struct.unpack_from(f"{order}H" if kind == 3 else f"{order}I", entries, at + 8)[0]
