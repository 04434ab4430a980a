"""Check one requirement file or a folder of them: what loads, what does not, and what the lint remarks."""

from __future__ import annotations

from collections import defaultdict
from pathlib import Path

from ballbench.errors import BadRequest, BadRequirement, Fault
from ballbench.specs.lint import Remark, lint
from ballbench.specs.loading import load_requirement
from ballbench.specs.model import Requirement

__all__ = ["check_requirement_files"]


def check_requirement_files(
    path: Path,
) -> tuple[tuple[str, Requirement | BadRequirement, tuple[Remark, ...]], ...]:
    """Load and lint a requirement file, or every ``*.toml`` of a folder.

    Parameters
    ----------
    path : Path
        A file or a folder; folders inside it are not entered.

    Returns
    -------
    tuple of (str, Requirement or BadRequirement, tuple of Remark)
        For each file, sorted by name: its name, the requirement or the faults that kept it from loading, and the
        remarks on it; no remarks where it did not load. An id that several files share is remarked on in each.

    Raises
    ------
    BadRequest
        Nothing is there, or the folder holds no ``.toml`` file.
    """
    if path.is_dir():
        files = sorted(file for file in path.glob("*.toml") if file.is_file())
    else:
        files = [path] if path.exists() else []
    if not files:
        found = "a folder without .toml files" if path.is_dir() else "no such file or folder"
        raise BadRequest(Fault(str(path), found, "a requirement file or a folder of them", "check the name"))
    loaded = [(file.name, _load(file)) for file in files]
    names = defaultdict(list)
    for name, result in loaded:
        if isinstance(result, Requirement):
            names[result.id].append(name)
    return tuple((name, result, _remarks(name, result, names)) for name, result in loaded)


def _load(file: Path) -> Requirement | BadRequirement:
    try:
        return load_requirement(file)
    except BadRequirement as error:
        return error


def _remarks(name: str, result: Requirement | BadRequirement, names: dict[str, list[str]]) -> tuple[Remark, ...]:
    if isinstance(result, BadRequirement):
        return ()
    others = [other for other in names[result.id] if other != name]
    shared = [Remark("", f'the id "{result.id}" is also that of {", ".join(others)}', "give each file its own id")]
    return (*(shared if others else ()), *lint(result))
