"""The catalogue: published requirements, one TOML file each, named by its id."""

from __future__ import annotations

import re
from difflib import get_close_matches
from functools import lru_cache
from importlib import resources
from pathlib import Path

from ballbench.errors import BadRequest, Fault
from ballbench.specs.faults import quoted
from ballbench.specs.loading import load_requirement, parse_requirement
from ballbench.specs.model import Requirement

__all__ = ["catalogue_ids", "catalogue_text", "find_requirement"]

_MOST_SUGGESTED = 6


@lru_cache(maxsize=1)
def catalogue_ids() -> tuple[str, ...]:
    """Give the ids of all requirements of the catalogue, sorted."""
    return tuple(sorted(f.name.removesuffix(".toml") for f in _folder().iterdir() if f.name.endswith(".toml")))


def find_requirement(id_or_path: str) -> Requirement:
    """Find a requirement by its catalogue id, or read it from a file.

    Parameters
    ----------
    id_or_path : str
        An id such as ``table-tennis-plastic``, or the path of a file. An id of the catalogue comes first: for a file
        of that very name write ``./NAME``.

    Returns
    -------
    Requirement
        As `load_requirement` gives it.

    Raises
    ------
    BadRequest
        Neither an id of the catalogue nor an existing file; the nearest ids are named.
    BadRequirement
        The file's content cannot be used.
    """
    if id_or_path in catalogue_ids():
        return parse_requirement(catalogue_text(id_or_path), f"{id_or_path}.toml")
    path = Path(id_or_path)
    if id_or_path.strip() and _exists(path):
        return load_requirement(path)
    allowed = "an id of the catalogue, or the path of a requirement file"
    near = nearest_ids(id_or_path)
    todo = f"try {', '.join(near)}" if near else "list the ids with: ballbench specs"
    raise BadRequest(Fault("the requirement", quoted(id_or_path), allowed, todo))


def catalogue_text(identity: str) -> bytes:
    """Give the file of a requirement of the catalogue as it stands.

    Raises
    ------
    BadRequest
        The catalogue has no such id; the nearest are named.
    """
    if identity not in catalogue_ids():
        near = nearest_ids(identity)
        todo = f"try {', '.join(near)}" if near else "choose one from the list"
        raise BadRequest(Fault("the requirement", quoted(identity), "an id of the catalogue", todo))
    return (_folder() / f"{identity}.toml").read_bytes()


def nearest_ids(text: str) -> tuple[str, ...]:
    """Give the catalogue ids that `text` may mean: those that share its words first, then those spelt alike.

    Parameters
    ----------
    text : str
        What the person asked for.

    Returns
    -------
    tuple of str
        At most six ids, best first; empty where nothing is near.
    """
    words = [word for word in re.split(r"[^a-z0-9]+", text.lower()) if len(word) > 1]
    shared = {name: sum(word in name for word in words) for name in catalogue_ids()}
    best = max(shared.values())
    most = [name for name, count in shared.items() if 0 < count == best]
    most.sort(key=lambda name: not name.startswith(words[0]))
    alike = get_close_matches(text.lower(), catalogue_ids(), n=_MOST_SUGGESTED, cutoff=0.6)
    return tuple(dict.fromkeys([*most, *alike]))[:_MOST_SUGGESTED]


def _folder() -> resources.abc.Traversable:
    return resources.files(__name__)


def _exists(path: Path) -> bool:
    """Say whether there is something at `path`; a text that cannot be a path is none."""
    try:
        return path.exists()
    except (OSError, ValueError):
        return False
