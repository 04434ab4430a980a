"""Where results are to be written, looked at before the work: a minute's work must not be lost to a missing folder."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ballbench.errors import BadRequest, Fault
from ballbench.presentation.whole_files import beside

__all__ = ["check_places"]

_TRIED = bytes(4096)
"""Written beside a place and taken away again: less does not show that a disk is full."""
_ELSE = "name another; nothing was written"


@dataclass(frozen=True, slots=True)
class _Place:
    """A file to be written, and the option that names it or its folder; `folder` is made if it is missing."""

    option: str
    file: Path
    folder: Path | None = None

    @property
    def named(self) -> Path:
        """What the person named."""
        return self.file if self.folder is None else self.folder


def check_places(
    options: Mapping[str, Any], json: str | None, report: Path | None, name: str, **written: Path | None
) -> None:
    """Refuse, before any work, places that cannot be written to; leave no trace there.

    Parameters
    ----------
    options : mapping
        What was asked; texts and paths in it, alone or in a tuple, may name files that are read.
    json : str or None
        Where JSON goes; ``-``: to the screen.
    report : Path or None
        Folder of the report, made if it is missing.
    name : str
        Of the report's files, without ending.
    **written : Path or None
        By the name of the option, other files that are to be written.

    Raises
    ------
    BadRequest
        A place that is one of the inputs, that two options name, a folder where a file is wanted or the other way
        round, in no folder, or not to be written to; all of them at once.
    """
    places = [*_asked(json, written), *_of_report(report, name)]
    read = [part for value in options.values() for part in (value if isinstance(value, tuple) else (value,))]
    inputs = [Path(part) for part in read if isinstance(part, str | Path) and _exists(part)]
    faults: list[Fault] = []
    seen: dict[str, _Place] = {}
    for place in places:
        fault = _over_an_input(place, inputs) or _unwritable(place) or _named_twice(place, seen)
        if fault is not None and fault not in faults:
            faults.append(fault)
    if faults:
        raise BadRequest(faults)


def _asked(json: str | None, written: Mapping[str, Path | None]) -> Iterator[_Place]:
    if json is not None and json != "-":
        yield _Place("option --json", Path(json))
    for name, file in written.items():
        if file is not None:
            yield _Place(f"option --{name.replace('_', '-')}", file)


def _of_report(report: Path | None, name: str) -> Iterator[_Place]:
    if report is not None:
        yield _Place("option --report", report / f"{name}.html", report)
        yield _Place("option --report", report / f"{name}.pdf", report)


def _over_an_input(place: _Place, inputs: list[Path]) -> Fault | None:
    if not _exists(place.file) or not any(place.file.samefile(one) for one in inputs):
        return None
    return Fault(place.option, str(place.file), "a file that is not one of the inputs", _ELSE)


def _named_twice(place: _Place, seen: dict[str, _Place]) -> Fault | None:
    if str(place.file) == "-":
        return Fault(place.option, "-", "a file; only JSON goes to the screen, with --json -", "name a file")
    if place.file.exists() and not place.file.is_file():
        return None  # a terminal or a pipe takes several
    other = seen.setdefault(os.path.realpath(place.file), place)
    if other is place:
        return None
    found = f"{place.file}, which {other.option.removeprefix('option ')} writes too"
    return Fault(place.option, found, "a file for each option", "name another")


def _unwritable(place: _Place) -> Fault | None:
    """Try whether a file can be written; what is there already is opened, and not touched."""
    shown = str(place.named)
    try:
        if place.folder is not None and place.folder.exists() and not place.folder.is_dir():
            todo = "name a folder, or another name"
            return Fault(place.option, f"{shown}, which is a file", "a folder; it is made if it is missing", todo)
        if place.file.is_dir():
            return Fault(place.option, f"{place.file}, which is a folder", "a file", "name a file, or another folder")
        if place.file.exists():
            _open_for_writing(place.file)
            return None
        folder = place.folder or Path(os.path.realpath(place.file)).parent
        if place.folder is None and not folder.exists():
            found = f"{shown}, whose folder is not there"
            return Fault(place.option, found, "a file in a folder that is there", "make the folder, or name another")
        _try_a_file_in(_nearest(folder))
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        return Fault(place.option, f"{shown} ({reason})", "a place that can be written to", _ELSE)
    return None


def _open_for_writing(file: Path) -> None:
    """Open a file without altering it; a pipe is left alone, for that would wait for its other end."""
    if file.is_file():
        os.close(os.open(file, os.O_WRONLY))
    elif not os.access(file, os.W_OK):
        raise PermissionError(0, "Permission denied")


def _nearest(folder: Path) -> Path:
    """Give the folder itself, or the nearest one above it that is there: in that one folders would be made."""
    return next((one for one in (folder, *folder.absolute().parents) if one.exists()), folder)


def _try_a_file_in(folder: Path) -> None:
    tried = beside(folder / "tried")
    try:
        with tried.open("xb") as file:
            file.write(_TRIED)
    finally:
        tried.unlink(missing_ok=True)


def _exists(name: str | Path) -> bool:
    """Say whether there is such a file; a text that can be none, such as a very long one, is none."""
    try:
        return Path(name).exists()
    except (OSError, ValueError):
        return False
