"""What the head of a WAV says of its length, held against how long the file is.

A recorder writes the length when it ends; one that is switched off before leaves 0, the largest number, or what it last
wrote. After the multimedia programming interface's RIFF form and EBU Tech 3306 (RF64, BW64), from memory.
"""

from __future__ import annotations

from dataclasses import dataclass

from ballbench.records.media.recording_file import RecordingFile

__all__ = ["Length", "length_of"]

_STREAMED = 0xFFFFFF00  # what a recorder writes that does not know the length beforehand, or more
_MOST_CHUNKS = 1000
_SLACK = 1024  # bytes that a file may be shorter than it says without a word


@dataclass(frozen=True, slots=True)
class Length:
    """Of the sound in a WAV.

    Parameters
    ----------
    cut_short : bool
        The file ends before the sound does that it promises.
    understated : bool
        Sound goes on behind where the head says that it ends.
    """

    cut_short: bool = False
    understated: bool = False


def length_of(file: RecordingFile) -> Length:
    """Hold what the head says against the file; of no other kind than WAV anything is said.

    Parameters
    ----------
    file : RecordingFile
        Any.

    Returns
    -------
    Length
        Whether the head is believed; neither, where it says that it does not know.
    """
    if file.kind != "WAV":
        return Length()
    with file.path.open("rb") as opened:
        at = 12
        for _ in range(_MOST_CHUNKS):
            opened.seek(at)
            head = opened.read(8)
            if len(head) < 8:
                return Length()
            long = int.from_bytes(head[4:], "little")
            if head[:4] == b"data":
                break
            at += 8 + long + long % 2
        else:
            return Length()
        end = at + 8 + long
        if long == 0 or long >= _STREAMED:
            return Length()
        if end > file.size:
            return Length(cut_short=end > file.size + _SLACK)
        opened.seek(end + long % 2)
        behind = opened.read(8)
    rest = file.size - end
    follows = len(behind) == 8 and all(32 <= letter < 127 for letter in behind[:4])
    follows = follows and int.from_bytes(behind[4:], "little") <= rest
    return Length(understated=rest > _SLACK and not follows)
