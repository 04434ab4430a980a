"""A requirement as the notebook keeps it: the file's own text, so that it is the same years later."""

from __future__ import annotations

from ballbench.specs import Requirement, catalogue_ids, catalogue_text, parse_requirement

__all__ = ["requirement_of"]


def requirement_of(id_or_text: str) -> tuple[Requirement, str]:
    """Give a requirement of the catalogue, or the one that a text describes; never a file by its path.

    Parameters
    ----------
    id_or_text : str
        An id of the catalogue, or the text of a requirement file (TOML).

    Returns
    -------
    Requirement, str
        The requirement, and its text.

    Raises
    ------
    BadInput
        There is no such id, or the text cannot be used.
    """
    name = id_or_text.strip()
    if name in catalogue_ids() or "=" not in name:
        text = catalogue_text(name).decode("utf-8")
        return parse_requirement(text.encode("utf-8"), f"{name}.toml"), text
    return parse_requirement(id_or_text.encode("utf-8"), "the requirement"), id_or_text
