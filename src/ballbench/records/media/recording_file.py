"""The door for every recording: whether the file can be opened, what it is by its first bytes, and its digest."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path

from ballbench.errors import BadRecording, Fault

__all__ = ["LARGEST_RECORDING", "RecordingFile", "described", "film_behind", "kind_of", "named_kind",
           "take_in_recording"]  # fmt: skip

LARGEST_RECORDING = 2 * 1024**3
"""Largest file that is opened, in bytes: ten minutes of a phone's film (own choice)."""

_HEAD = 96  # bytes that tell the kind
_PIECE = 1024 * 1024  # bytes that are looked through at a time
_ISO_PHOTOS = {
    b"avif": "AVIF", b"avis": "AVIF", b"heic": "HEIC", b"heix": "HEIC", b"heim": "HEIC", b"heis": "HEIC",
    b"hevc": "HEIC", b"hevx": "HEIC", b"mif1": "HEIC", b"mif2": "HEIC", b"msf1": "HEIC", b"crx ": "raw photograph",
}  # fmt: skip
"""Brands of photographs: ISO/IEC 23008-12, 10, and 23000-22; from memory."""
_ISO_FILMS = frozenset(
    {b"isom", b"iso2", b"iso4", b"iso5", b"iso6", b"mp41", b"mp42", b"avc1", b"qt  ", b"M4A ", b"M4V "}
)
_MARKS: tuple[tuple[int, bytes, str], ...] = (
    (0, b"\xff\xd8\xff", "JPEG"),
    (0, b"\x89PNG\r\n\x1a\n", "PNG"),
    (0, b"GIF8", "GIF"),
    (0, b"BM", "BMP"),
    (0, b"II*\x00", "TIFF"),
    (0, b"MM\x00*", "TIFF"),
    (0, b"II+\x00", "TIFF"),
    (0, b"MM\x00+", "TIFF"),
    (0, b"\xff\x0a", "JPEG XL"),
    (4, b"JXL ", "JPEG XL"),
    (4, b"jP  ", "JPEG 2000"),
    (8, b"WEBP", "WEBP"),
    (8, b"WAVE", "WAV"),
    (24, b"wave", "W64"),
    (8, b"AIFF", "AIFF"),
    (8, b"AIFC", "AIFF"),
    (0, b"caff", "CAF"),
    (0, b"#!AMR", "AMR"),
    (0, b".snd", "AU"),
    (8, b"AVI ", "AVI"),
    (0, b"fLaC", "FLAC"),
    (0, b"OggS", "OGG"),
    (0, b"ID3", "MP3"),
    (0, b"\x1aE\xdf\xa3", "Matroska or WebM"),
    (0, b"%PDF", "PDF"),
    (0, b"PK\x03\x04", "a zip archive"),
)
"""Where, which bytes, and what they say; from the formats' own descriptions, from memory."""

_FAMILIES = {
    "JPEG": "photograph", "PNG": "photograph", "HEIC": "photograph", "GIF": "picture", "BMP": "photograph",
    "TIFF": "photograph", "WEBP": "photograph", "AVIF": "photograph", "raw photograph": "picture",
    "JPEG XL": "picture", "JPEG 2000": "picture", "WAV": "sound", "FLAC": "sound", "MP3": "sound", "AAC": "sound",
    "W64": "sound", "AIFF": "sound", "CAF": "sound", "AMR": "sound", "AU": "sound",
    "OGG": "sound or film", "MP4 or MOV": "sound or film", "AVI": "film", "Matroska or WebM": "sound or film",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class RecordingFile:
    """A file that can be opened.

    Parameters
    ----------
    path : Path
        Where it is.
    name : str
        Its name without folders.
    kind : str
        What its first bytes say: ``"JPEG"``, ``"WAV"``, ``"MP4 or MOV"`` and so on; empty when they say nothing known.
    family : str
        ``"photograph"``, ``"picture"``, ``"sound"``, ``"film"``, ``"sound or film"``; empty when not known.
    digest : str
        ``"sha256:..."`` of its bytes.
    size : int
        In bytes.
    """

    path: Path
    name: str
    kind: str
    family: str
    digest: str
    size: int


def take_in_recording(path: Path, wanted: str) -> RecordingFile:
    """Open a file far enough to say what it is.

    Parameters
    ----------
    path : Path
        The file.
    wanted : str
        What is allowed, for messages, such as ``"a photograph (JPEG, PNG or HEIC)"``.

    Returns
    -------
    RecordingFile
        What it is; whether it can be decoded is for the decoder to say.

    Raises
    ------
    BadRecording
        Missing, a folder, no regular file, empty, too large, or not to be opened.
    """
    try:
        fault = _unusable(path, wanted)
        if fault is not None:
            raise BadRecording(fault)
        with path.open("rb") as file:
            head = file.read(_HEAD)
            file.seek(0)
            digest = hashlib.file_digest(file, "sha256").hexdigest()
        size = path.stat().st_size
    except (OSError, ValueError) as failure:
        if isinstance(failure, BadRecording):
            raise
        reason = getattr(failure, "strerror", None) or str(failure)
        todo = "check its name and its permissions"
        raise BadRecording(
            Fault(path.name, f"a file that cannot be opened ({reason})", "a readable file", todo)
        ) from failure
    kind = kind_of(head)
    return RecordingFile(path, path.name, kind, _FAMILIES.get(kind, ""), f"sha256:{digest}", size)


def kind_of(head: bytes) -> str:
    """Say what the first bytes of a file make it, 16 at least; empty when they are not known."""
    if head[4:8] == b"ftyp":
        end = min(int.from_bytes(head[:4], "big"), len(head))
        brands = [head[8:12], *(head[at : at + 4] for at in range(16, end - 3, 4))]
        photos = [_ISO_PHOTOS[brand] for brand in brands if brand in _ISO_PHOTOS]
        film = brands[0] in _ISO_FILMS or not photos
        return "MP4 or MOV" if film else _ISO_PHOTOS.get(brands[0], photos[0])
    if head[4:8] in {b"moov", b"mdat", b"wide", b"free", b"skip"}:
        return "MP4 or MOV"
    for start, mark, kind in _MARKS:
        if head[start : start + len(mark)] == mark:
            return kind
    if len(head) > 1 and head[0] == 0xFF and head[1] & 0xE0 == 0xE0:
        return {0: "AAC", 2: "MP3", 4: "MP3"}.get(head[1] & 0x06, "")  # layer III and II; I is the mark of UTF-16
    return ""


def named_kind(head: bytes) -> str:
    """Say in words what the first bytes of a file make it, such as ``"a photograph (JPEG)"``; empty: not known."""
    kind = kind_of(head[:_HEAD])
    return _in_words(kind, _FAMILIES.get(kind, ""))


def described(file: RecordingFile) -> str:
    """Say what a file is, such as ``"a photograph (JPEG)"`` or ``"a file of no known kind"``."""
    return _in_words(file.kind, file.family) or "a file of no known kind"


def film_behind(file: RecordingFile) -> bool:
    """Whether a photograph has a short film behind it, as phones append it to a JPEG or put it into a HEIC."""
    if file.kind not in {"JPEG", "HEIC"}:
        return False
    with file.path.open("rb") as opened:
        opened.seek(_HEAD)
        before = b""
        while piece := opened.read(_PIECE):
            held = before + piece
            if file.kind == "HEIC" and b"mpvd" in held:
                return True
            at = held.find(b"ftyp")
            while at >= 0:
                if at >= 4 and held[at + 4 : at + 8] in _ISO_FILMS and int.from_bytes(held[at - 4 : at], "big") < _HEAD:
                    return True
                at = held.find(b"ftyp", at + 1)
            before = held[-12:]
    return False


def _in_words(kind: str, family: str) -> str:
    if kind in {"PDF", "raw photograph"}:
        return f"a {kind}"
    return f"a {family} ({kind})" if family else kind


def _unusable(path: Path, wanted: str) -> Fault | None:
    name = path.name or str(path)
    if path.is_dir():
        return Fault(name, "a folder", wanted, "name the file inside the folder")
    if not path.exists():
        pattern = "no file fits this pattern; " if any(sign in name for sign in "*?") else ""
        return Fault(str(path), "no such file", "an existing file", f"{pattern}check the name and the folder")
    if not path.is_file():
        return Fault(name, "something that is not a regular file", wanted, "copy it to a file")
    size = path.stat().st_size
    if size == 0:
        return Fault(name, "an empty file", wanted, "copy it from the phone again")
    if size > LARGEST_RECORDING:
        found = f"a file of {size / 1024**3:.1f} GiB"
        return Fault(name, found, f"at most {LARGEST_RECORDING // 1024**3} GiB", "cut out the part with the ball")
    return None
