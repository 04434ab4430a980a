"""An archive that comes in: `everything.zip`, laid out in a folder of our own.

Nothing that the archive says is trusted. No name in it is used as a path; what it unpacks to is counted while it is
read and not taken from its directory; what no test has is refused.
"""

from __future__ import annotations

import hashlib
import json
import re
import tempfile
import zipfile
import zlib
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from math import isfinite
from pathlib import Path
from typing import Any

from ballbench.errors import BadRequest, Fault
from ballbench.records.cells import unguarded
from ballbench.records.importers.named_table import read_named_table
from ballbench.workflows.recorded.marks import mark_faults
from ballbench.workflows.recording_list import MARKS, PICKS, RECORDING_COLUMNS, RECORDINGS, SUMS, WORKED_OUT

__all__ = ["METHODS", "MOST_BYTES", "PackedRecording", "Unpacked", "unpacked"]

METHODS = ("listen", "trace", "watch")
"""Commands by which a reading comes out of a recording."""

MOST_BYTES = 1024 * 1024 * 1024
"""An archive that unpacks to more is refused (own choice): a test with an hour of recorded sound is smaller."""
MOST_TEXT = 64 * 1024 * 1024
"""As many bytes as a file that is sent to the bench alone (own choice)."""
MOST_ENTRIES = 5_000
_TABLES = ("readings.csv", "corrections.csv", "balls.csv", "bench.toml", "requirement.toml", "test.toml", RECORDINGS)
_IDLE = ("checks.csv", "readings.xlsx", PICKS, MARKS)
"""What an archive may hold and a test is not made of: it is written anew, or stays with the original."""
_NEEDED = ("readings.csv", "requirement.toml")
_RECORDING = re.compile(r"recordings/(?P<digest>[0-9a-f]{64})(\.[a-z0-9]{1,8})?")
_PIECE = 1024 * 1024


@dataclass(frozen=True, slots=True)
class PackedRecording:
    """A recording of an archive: where its bytes lie now, and what is said of it; the rest as in `BroughtIn`."""

    path: Path
    digest: str
    name: str
    media_type: str
    by: str
    at: str
    reading: tuple[str, ...] | None
    worked: tuple[str, str, str, str] | None = None


@dataclass(frozen=True, slots=True)
class Unpacked:
    """The files of an archive by the names that they are handed out under, and its recordings."""

    paths: Mapping[str, Path]
    recordings: tuple[PackedRecording, ...]


@contextmanager
def unpacked(archive: Path) -> Iterator[Unpacked]:
    """Lay an archive out in a folder that goes away with the block.

    Parameters
    ----------
    archive : Path
        As `export_file` writes ``everything.zip``, or packed anew of the same files.

    Raises
    ------
    BadRequest
        It is no archive, holds what no test has, lacks a file, or unpacks to more than it may.
    """
    with tempfile.TemporaryDirectory(prefix="ballbench-") as folder:
        try:
            with zipfile.ZipFile(archive) as packed:
                entries = _entries(packed)
                paths = _laid_out(packed, entries, Path(folder))
        except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, OSError) as error:
            reason = str(error).splitlines()[0] if str(error) else type(error).__name__
            raise _bad(
                "archive", f"an archive that cannot be read ({reason})", "a ZIP archive", "pack it anew"
            ) from error
        _check_sums(paths)
        yield Unpacked(paths, _recordings(paths))


def _entries(packed: zipfile.ZipFile) -> dict[str, zipfile.ZipInfo]:
    """Give what is in it by name; only what a test is made of."""
    found = [one for one in packed.infolist() if one.filename != "recordings/"]
    faults = []
    allowed = f"{', '.join((*_TABLES, SUMS))} and recordings by their digest"
    if len(found) > MOST_ENTRIES:
        raise _bad(
            "archive", f"{len(found)} files", f"at most {MOST_ENTRIES}", "take the test in without its recordings"
        )
    for name, count in Counter(one.filename for one in found).items():
        shown = ascii(name[:80])
        if name not in {*_TABLES, *_IDLE, SUMS} and not _RECORDING.fullmatch(name):
            faults.append(Fault(f"archive, {shown}", "a file that no test has", allowed, "take it out of the archive"))
        if count > 1:
            faults.append(Fault(f"archive, {shown}", f"{count} files of this name", "each once", "pack it anew"))
    missing = set(_NEEDED) - {one.filename for one in found}
    faults += [Fault(f"archive, {name}", "nothing", "this file in every archive", "pack it with the others")
               for name in sorted(missing)]  # fmt: skip
    faults += [Fault(f"archive, {one.filename[:80]!a}", "a file that is encrypted", "plain files",
                     "pack it without a password") for one in found if one.flag_bits & 0x1]  # fmt: skip
    if faults:
        raise BadRequest(faults[:50], max(len(faults) - 50, 0))
    return {one.filename: one for one in found if one.filename not in _IDLE}


def _laid_out(packed: zipfile.ZipFile, entries: Mapping[str, zipfile.ZipInfo], folder: Path) -> dict[str, Path]:
    """Write every entry under a name of our own; stop when it grows beyond what it may."""
    paths: dict[str, Path] = {}
    left = MOST_BYTES
    for number, (name, entry) in enumerate(entries.items()):
        own = name if name in {*_TABLES, SUMS} else f"recording-{number}"
        most = min(left, MOST_BYTES if name not in {*_TABLES, SUMS} else MOST_TEXT)
        paths[name] = folder / own
        size = 0
        with packed.open(entry) as content, paths[name].open("wb") as out:
            while piece := content.read(_PIECE):
                size += len(piece)
                if size > most:
                    found = f"a file that unpacks to more than {most // 1024**2} MiB"
                    todo = "take the test in without its recordings, or split it"
                    raise _bad(f"archive, {name}", found, f"at most {MOST_TEXT // 1024**2} MiB a table, "
                               f"{MOST_BYTES // 1024**2} MiB in all", todo)  # fmt: skip
                out.write(piece)
        left -= size
    return paths


def _check_sums(paths: Mapping[str, Path]) -> None:
    """Hold the files against the checksums that came with them, where any did."""
    if SUMS not in paths:
        return
    wanted = {}
    for line in paths[SUMS].read_text("utf-8", "replace").splitlines():
        digest, _, name = line.partition("  ")
        wanted[name] = digest
    faults = [
        Fault(f"archive, {name[:80]!a}", "other bytes than its line in SHA256SUMS says",
              "the file as it was handed out", "take a changed file in by itself, beside the others")
        for name, path in paths.items() if name in wanted and _digest(path) != wanted[name]
    ]  # fmt: skip
    if faults:
        raise BadRequest(faults)


def _digest(path: Path) -> str:
    with path.open("rb") as content:
        return hashlib.file_digest(content, "sha256").hexdigest()


def _recordings(paths: Mapping[str, Path]) -> tuple[PackedRecording, ...]:
    """Give the recordings that are listed and are there; the list may name more, where they were too large to pack."""
    if RECORDINGS not in paths:
        return ()
    table, faults = read_named_table(paths[RECORDINGS], RECORDING_COLUMNS, ("digest", "name"), BadRequest)
    faults.raise_if_any(BadRequest)
    lines = list(table.cells.iter_rows(named=True))
    _check_worked(lines)
    here = {name.removeprefix("recordings/")[:64]: path for name, path in paths.items() if _RECORDING.fullmatch(name)}
    found = []
    for row in lines:
        cell = {name: unguarded(str(row[name])) for name in RECORDING_COLUMNS}
        reading = tuple(cell[name] for name in ("product", "box", "ball", "quantity", "axis", "repeat"))
        if cell["digest"] in here:
            found.append(PackedRecording(
                here[cell["digest"]], cell["digest"], cell["name"], cell["media_type"], cell["by"], cell["time"],
                reading if any(reading) else None,
                (cell["method"], cell["stated"], cell["picks"], cell["told"]) if cell["method"] else None,
            ))  # fmt: skip
    return tuple(found)


def _check_worked(lines: Sequence[Mapping[str, Any]]) -> None:
    """Refuse a line that says of a reading how it came out of a recording, in a way that nobody could follow."""
    faults = []
    for number, row in enumerate(lines, 2):
        where = f"{RECORDINGS}, line {number}, column "
        if not row["method"]:
            continue
        if row["method"] not in METHODS:
            faults.append(Fault(f"{where}method", ascii(str(row["method"])[:40]), ", ".join(METHODS), "correct it"))
        for name, kind in zip(WORKED_OUT[1:], (dict, list, dict), strict=True):
            if not _is_json(str(row[name]), kind):
                words = "an object" if kind is dict else "a list"
                faults.append(Fault(f"{where}{name}", ascii(str(row[name])[:40]), f"{words} as JSON",
                                    "hand the test out again, or empty the column method"))  # fmt: skip
        if row["method"] == "watch":
            faults += _mark_faults(str(row["picks"]), f"{where}picks")
        if not any(row[name] for name in ("product", "ball", "quantity")):
            faults.append(Fault(f"{where}method", "a method for no reading", "a line that names its reading",
                                "name the reading, or empty the column"))  # fmt: skip
    if faults:
        raise BadRequest(faults[:50], max(len(faults) - 50, 0))


def _mark_faults(text: str, where: str) -> list[Fault]:
    """Say what is wrong with the marks of a film; none is a film that nobody marked."""
    marks = json.loads(text) if _is_json(text, list) else []
    todo = "hand the test out again, or empty the column method"
    return [Fault(where, one.found, one.allowed, todo) for one in (mark_faults(marks) if marks else ())]


def _is_json(text: str, kind: type) -> bool:
    """Say whether a text is JSON of a kind, a list one of lists of finite numbers."""
    try:
        found = json.loads(text)
    except (ValueError, RecursionError):
        return False
    if kind is dict:
        return isinstance(found, dict)
    return isinstance(found, list) and all(
        isinstance(drop, list)
        and all(isinstance(time, float | int) and not isinstance(time, bool) and isfinite(time) for time in drop)
        for drop in found
    )


def _bad(where: str, found: str, allowed: str, todo: str) -> BadRequest:
    return BadRequest(Fault(where, found, allowed, todo))
