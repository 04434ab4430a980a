"""The words in which a recording is refused that is of another kind, or that this machine cannot decode.

Sounds, clips and photographs are refused in the same words, so that one trouble looks the same to whoever has it.
"""

from __future__ import annotations

from ballbench.errors import BadRecording, Fault
from ballbench.records.media.recording_file import RecordingFile, described

__all__ = ["beyond_memory", "other_kind", "undecodable"]

_READ_BY = {
    "photograph": "a photograph of a ball is for `ballbench trace`",
    "sound": "a sound is for `ballbench listen`",
    "film": "a film is for `ballbench watch`, its sound for `ballbench listen`",
    "sound or film": "a film is for `ballbench watch`, a sound for `ballbench listen`",
}


def other_kind(file: RecordingFile, wanted: str, own: str, also: str = "") -> BadRecording:
    """Refuse what is no recording of the kind that is wanted.

    Parameters
    ----------
    file : RecordingFile
        What it is by its bytes.
    wanted : str
        What is allowed.
    own : str
        What to choose instead, such as ``"the photograph of the ball"``.
    also : str
        What else helps; empty: the command that reads such a file is named, where there is one.
    """
    helps = also or _READ_BY.get(file.family, "")
    return BadRecording(Fault(file.name, described(file), wanted, f"choose {own}" + (f"; {helps}" if helps else "")))


def undecodable(file: RecordingFile, wanted: str, export: str) -> BadRecording:
    """Refuse what has the mark of its kind, or none, and cannot be decoded; `export`: as what it may be saved anew."""
    found = f"{described(file)} that cannot be decoded: damaged, cut short, protected, or another thing under this name"
    return BadRecording(Fault(file.name, found, wanted, f"copy it from the phone again, or export it as {export}"))


def beyond_memory(file: RecordingFile, wanted: str, smaller: str) -> BadRecording:
    """Refuse what takes more memory than there is; `smaller`: how it is made so."""
    return BadRecording(Fault(file.name, f"{described(file)} too large for this machine", wanted, smaller))
