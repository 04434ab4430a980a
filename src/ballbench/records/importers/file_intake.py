"""The door for every table and every bench file: what kind of file it is, whether it can be read, and its digest.

The bytes are looked at piece by piece and the reading stops at the first reason to refuse, so a huge or binary file
costs a few megabytes.
"""

from __future__ import annotations

import codecs
import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from ballbench.errors import BadInput, Fault
from ballbench.records.media.recording_file import named_kind

__all__ = ["LARGEST", "LONGEST_LINE", "TABLE", "TOML", "Intake", "Sort", "take_in"]

LARGEST = 256 * 1024 * 1024
"""Largest text file that is read, in bytes: about five million readings (own choice)."""

LONGEST_LINE = 1024 * 1024
"""Longest line that is read, in bytes (own choice)."""

_PIECE = 1024 * 1024
_ZIP = b"PK\x03\x04"
_COMPOUND = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_UTF16 = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)
_SHEET = "an XLSX workbook without a password, or CSV"
_MEANT = "check which file was meant"


@dataclass(frozen=True, slots=True)
class Sort:
    """What sort of file is wanted, in the words of the messages.

    Parameters
    ----------
    file : str
        ``"a CSV or XLSX file"``.
    content : str
        What stands in it.
    save : str
        How a file of that sort is made of another.
    largest : int
        Bytes that are read at most.
    smaller : str
        How a larger one is made smaller.
    """

    file: str
    content: str
    save: str
    largest: int
    smaller: str


TABLE = Sort(
    "a CSV or XLSX file", "a header and one row a reading", "save the sheet again as CSV UTF-8 or as XLSX", LARGEST,
    "split it by product",
)  # fmt: skip
TOML = Sort(
    "a TOML file", "a TOML file: [tables] and lines such as name = value", "save it again as UTF-8 text", 5_000_000,
    _MEANT,
)  # fmt: skip
"""A bench of a hundred instruments needs a hundredth of that size (own choice)."""


@dataclass(frozen=True, slots=True)
class Intake:
    """A file that can be read.

    Parameters
    ----------
    name : str
        The file's name without its folders.
    kind : {"text", "workbook"}
        A workbook is an XLSX file, whatever its name says.
    data : bytes
        Text as UTF-8 without a byte order mark, lines ended by a line feed; empty for a workbook.
    digest : str
        ``"sha256:..."`` of the file's bytes.
    notes : tuple of str
        What was unusual about the bytes.
    """

    name: str
    kind: Literal["text", "workbook"]
    data: bytes
    digest: str
    notes: tuple[str, ...] = ()


def take_in(path: Path, error: type[BadInput], sort: Sort = TABLE) -> Intake:
    """Read a file's bytes, or refuse it with the reason.

    Parameters
    ----------
    path : Path
        The file.
    error : type of BadInput
        What to raise.
    sort : Sort
        What is wanted.

    Returns
    -------
    Intake
        Its text, or the word that it is a workbook.

    Raises
    ------
    BadInput
        Of the class that was given: missing, a folder, empty, too large, binary, encrypted, not UTF-8, a line without
        end.
    """
    name = path.name
    fault = _unreadable(path, sort)
    if fault is not None:
        raise error(fault)
    try:
        with path.open("rb") as file:
            head = file.read(8)
            fault = _wrong_kind(name, head, sort)
            if fault is not None:
                raise error(fault)
            file.seek(0)
            if head.startswith(_ZIP):
                digest = hashlib.file_digest(file, "sha256").hexdigest()
                return Intake(name, "workbook", b"", f"sha256:{digest}")
            data = _bounded(file.read, name, error, sort, utf16=head.startswith(_UTF16))
    except OSError as failure:
        raise error(_unopened(name, failure)) from failure
    text, notes = _as_utf8(name, data, error, sort)
    if not text.strip():
        raise error(Fault(name, "nothing but blank lines", sort.content, _MEANT))
    return Intake(name, "text", text, f"sha256:{hashlib.sha256(data).hexdigest()}", notes)


def _unreadable(path: Path, sort: Sort) -> Fault | None:
    """Say why a path cannot be opened as a file of bytes."""
    name = path.name or str(path)
    try:
        if path.is_dir():
            return Fault(name, "a folder", sort.file, "name the file inside the folder")
        if not path.exists():
            return Fault(str(path), "no such file", "an existing file", "check the name and the folder")
        if not path.is_file():
            return Fault(name, "something that is not a regular file", sort.file, "copy it to a file")
        if path.stat().st_size == 0:
            return Fault(name, "an empty file", sort.content, _MEANT)
    except (OSError, ValueError) as failure:
        return _unopened(path.name, failure)
    return None


def _unopened(name: str, failure: Exception) -> Fault:
    """Say that the system would not open the file."""
    reason = getattr(failure, "strerror", None) or str(failure)
    return Fault(
        name, f"a file that cannot be opened ({reason})", "a readable file", "check its name and its permissions"
    )


def _wrong_kind(name: str, head: bytes, sort: Sort) -> Fault | None:
    """Tell by the first bytes, and by the name, that a file is of another sort."""
    suffix = Path(name).suffix.lower()
    if head.startswith(_COMPOUND):
        found = "an encrypted workbook, or one in the old .xls format"
        if sort is TABLE:
            return Fault(name, found, _SHEET, f"take the password off, or {sort.save}")
        return Fault(name, found, sort.content, _MEANT)
    if sort is TABLE and suffix in {".xlsx", ".xlsm"} and not head.startswith(_ZIP):
        found = "a file that is no XLSX workbook inside"
        return Fault(name, found, "a zip archive, as every XLSX file is", sort.save)
    if sort is TABLE and suffix in {".xls", ".ods", ".numbers"}:
        return Fault(name, f"a {suffix} file", "CSV or XLSX", sort.save)
    return None


def _binary(name: str, head: bytes, found: str, sort: Sort) -> Fault:
    """Say what a file is that is no text, where its first bytes tell."""
    kind = named_kind(head)
    if kind:
        return Fault(name, kind, sort.file, _MEANT)
    return Fault(name, found, "text in UTF-8, or UTF-16 with a byte order mark", f"{_MEANT}, or {sort.save}")


def _bounded(read: Callable[[int], bytes], name: str, error: type[BadInput], sort: Sort, *, utf16: bool) -> bytes:
    """Read to the end, stopping at the first reason to refuse."""
    pieces: list[bytes] = []
    size = since_break = 0
    while piece := read(_PIECE):
        if not utf16 and b"\x00" in piece:
            found = f"a zero byte at byte {size + piece.index(0) + 1}: a binary file"
            raise error(_binary(name, pieces[0] if pieces else piece, found, sort))
        last_break = max(piece.rfind(b"\n"), piece.rfind(b"\r"))
        since_break = since_break + len(piece) if last_break < 0 else len(piece) - last_break
        size += len(piece)
        if since_break > LONGEST_LINE:
            found = f"a line of more than {LONGEST_LINE // 1024 // 1024} MB"
            raise error(Fault(name, found, f"{sort.content}, each on a line of its own", _MEANT))
        if size > sort.largest:
            allowed = f"at most {sort.largest // 1_000_000} MB"
            raise error(Fault(name, "a larger file than is read at once", allowed, sort.smaller))
        pieces.append(piece)
    return b"".join(pieces)


def _as_utf8(name: str, data: bytes, error: type[BadInput], sort: Sort) -> tuple[bytes, tuple[str, ...]]:
    """Give the text as UTF-8 with line feeds, and what was noted."""
    notes: tuple[str, ...] = ()
    if data.startswith(_UTF16):
        try:
            data = data.decode("utf-16").encode()
        except UnicodeError as failure:
            raise error(Fault(name, "UTF-16 text that is damaged", "whole UTF-16 text", sort.save)) from failure
        notes = ("text in UTF-16",)
        if b"\x00" in data:
            raise error(_binary(name, b"", "zero characters: a binary file", sort))
    else:
        data = data.removeprefix(codecs.BOM_UTF8)
        try:
            codecs.utf_8_decode(data, "strict", True)
        except UnicodeDecodeError as failure:
            line = data.count(b"\n", 0, failure.start) + 1
            found = f"the byte {data[failure.start]:#04x}, which is not UTF-8"
            if named_kind(data):
                raise error(_binary(name, data, found, sort)) from failure
            raise error(Fault(f"{name}, line {line}", found, "text in UTF-8", sort.save)) from failure
    if b"\r" in data:
        data = data.replace(b"\r\n", b"\n") if b"\n" in data else data.replace(b"\r", b"\n")
    return data, notes
