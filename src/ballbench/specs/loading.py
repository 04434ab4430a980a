"""From a requirement file to a `Requirement`, or to every fault that the file has, all at once."""

from __future__ import annotations

import hashlib
import re
import tomllib
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from ballbench.errors import BadRequirement, Fault
from ballbench.quantities.dotted_lines import MOST_DOTS, dotted_line
from ballbench.specs.assembling import assemble_clauses, assemble_source, unused_quantities
from ballbench.specs.faults import clause_place, quoted, shape_faults
from ballbench.specs.model import Requirement, Source
from ballbench.specs.shape import ClauseShape, QuantityShape, RequirementShape, SourceShape

__all__ = ["LARGEST_FILE", "load_requirement", "parse_requirement"]

LARGEST_FILE = 5_000_000
"""Bytes; a requirement of a hundred clauses needs a hundredth of it (own choice)."""

_AT_LINE = re.compile(r"\(at line (\d+), column (\d+)\)")
_TOML = "a TOML text file that describes a requirement"


def load_requirement(path: Path) -> Requirement:
    """Read a requirement file.

    Parameters
    ----------
    path : Path
        A TOML file.

    Returns
    -------
    Requirement
        Limits hold the text as written and the value in the unit of computation.

    Raises
    ------
    BadRequirement
        The file cannot be read, or its content cannot be used: all faults at once.
    """
    where = str(path)
    try:
        if path.is_file():
            with path.open("rb") as file:
                return parse_requirement(file.read(LARGEST_FILE + 1), where)
        found = "something that is not a regular file" if path.exists() else "no such file"
        found = "a folder" if path.is_dir() else found
    except OSError as error:
        found = f"a file that cannot be read ({error.strerror})"
    raise BadRequirement(Fault(where, found, _TOML, "check the name"))


def parse_requirement(data: bytes, where: str) -> Requirement:
    """Turn the bytes of a requirement file into a requirement.

    Parameters
    ----------
    data : bytes
        UTF-8 text in TOML, at most `LARGEST_FILE` bytes.
    where : str
        The file's name, for messages.

    Returns
    -------
    Requirement
        Its digest is the SHA-256 of `data`.

    Raises
    ------
    BadRequirement
        All faults at once.
    """
    content = _toml(_text(data, where), where)
    faults: list[Fault] = []
    shape: RequirementShape | None = None
    try:
        shape = RequirementShape.model_validate(content)
        faults.extend(unused_quantities(shape, where))
    except ValidationError as error:
        faults.extend(shape_faults(error, content, where))
    source = _source(content, where, faults)
    clauses = assemble_clauses(_clause_shapes(content, where), _declared(content), source, where, faults)
    if shape is None or faults:
        raise BadRequirement(faults)
    return Requirement(
        id=shape.id,
        sport=shape.sport,
        title=shape.title,
        edition=shape.edition,
        source=source,
        clauses=clauses,
        digest="sha256:" + hashlib.sha256(data).hexdigest(),
        sample_size=shape.sample_size,
        axes=shape.axes,
        notes=tuple(shape.notes),
        cautions=tuple(shape.cautions),
    )


def _text(data: bytes, where: str) -> str:
    """Decode a file, or say why it is no text."""
    if len(data) > LARGEST_FILE:
        allowed = f"at most {LARGEST_FILE // 1_000_000} MB"
        raise BadRequirement(Fault(where, "a larger file", allowed, "give the requirement file, not the readings"))
    if not data.strip():
        raise BadRequirement(Fault(where, "an empty file", _TOML, "write the requirement into it"))
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        found = f"bytes that are not UTF-8, in line {line}"
        todo = "check which file was meant, or save it as UTF-8 text"
        raise BadRequirement(Fault(where, found, f"{_TOML}, in UTF-8", todo)) from error
    if "\0" in text:
        raise BadRequirement(Fault(where, "a binary file", _TOML, "give a text file"))
    if dotted_line(text) is not None:
        raise BadRequirement(Fault(where, f"a line with more than {MOST_DOTS} dots", _TOML, "break the line"))
    return text


def _toml(text: str, where: str) -> dict[str, Any]:
    """Parse TOML, or say at which line it breaks off."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise BadRequirement(_syntax_fault(str(error), text, where)) from error
    except RecursionError as error:
        raise BadRequirement(Fault(where, "brackets nested too deep", _TOML, "remove them")) from error
    except (ValueError, OverflowError) as error:  # such as a whole number of thousands of digits
        raise BadRequirement(Fault(where, f"a value that cannot be read ({error})", _TOML, "correct it")) from error


def _syntax_fault(message: str, text: str, where: str) -> Fault:
    match = _AT_LINE.search(message)
    reason = _AT_LINE.sub("", message).strip()
    if match is None:
        return Fault(f"{where}, last line", "an unfinished entry", f"TOML ({reason})", "finish or remove the entry")
    line, column = int(match[1]), int(match[2])
    lines = text.replace("\r\n", "\n").split("\n")
    found = quoted(lines[line - 1].strip()) if line <= len(lines) else "an unfinished entry"
    return Fault(f"{where}, line {line}, column {column}", found, f"TOML ({reason})", "correct this line")


def _source(content: dict[str, Any], where: str, faults: list[Fault]) -> Source:
    """Give the requirement's source; where its shape is wrong, which is a fault already, a stand-in."""
    try:
        shape = SourceShape.model_validate(content.get("source"))
    except ValidationError:
        return Source("", "", "own")
    return assemble_source(shape, where, faults)


def _clause_shapes(content: dict[str, Any], where: str) -> list[tuple[str, ClauseShape]]:
    """Give the clauses whose shape is right, so that their meaning is checked even if another's shape is wrong."""
    raw = content.get("clause")
    shapes = []
    for index, item in enumerate(raw if isinstance(raw, list) else []):
        try:
            shapes.append((clause_place(where, content, index), ClauseShape.model_validate(item)))
        except ValidationError:
            continue
    return shapes


def _declared(content: dict[str, Any]) -> dict[str, QuantityShape]:
    """Give the declared quantities whose shape is right."""
    raw = content.get("quantity")
    declared = {}
    for name, item in raw.items() if isinstance(raw, dict) else ():
        try:
            declared[name] = QuantityShape.model_validate(item)
        except ValidationError:
            continue
    return declared
