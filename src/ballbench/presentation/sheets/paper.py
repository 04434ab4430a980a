"""Sizes of paper, and how a sheet becomes a PDF."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from importlib import resources
from pathlib import Path

import typst

from ballbench.errors import BadRequest, Fault
from ballbench.presentation.tokens import LIGHT

__all__ = ["PAPERS", "Paper", "paper_named", "printed", "shortened"]


@dataclass(frozen=True, slots=True)
class Paper:
    """A sheet of paper, upright; millimetres."""

    name: str
    width: float
    height: float


PAPERS: dict[str, Paper] = {"a4": Paper("a4", 210.0, 297.0), "letter": Paper("letter", 215.9, 279.4)}
"""A4 as in ISO 216; letter is 8 1/2 by 11 in."""


def paper_named(name: str) -> Paper:
    """Give a paper by its name.

    Raises
    ------
    BadRequest
        There is none of that name.
    """
    if name not in PAPERS:
        raise BadRequest(Fault("paper", ascii(name[:40]), " or ".join(PAPERS), "choose one of them"))
    return PAPERS[name]


def printed(template: str, calls: str, pictures: Mapping[str, bytes] | None = None) -> bytes:
    """Set a sheet.

    Parameters
    ----------
    template : str
        File of this package that defines what `calls` calls.
    calls : str
        Typst source; text of people in it is always a string literal.
    pictures : mapping of str to bytes, optional
        Files that it names.

    Returns
    -------
    bytes
        A PDF without a date: the same sheet gives the same bytes.
    """
    style = resources.files("ballbench.presentation.sheets").joinpath(template).read_text(encoding="utf-8")
    for token, colour in LIGHT.items():
        style = style.replace(f"@{token}@", colour)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for file, content in (pictures or {}).items():
            (folder / file).write_bytes(content)
        source = folder / "sheet.typ"
        source.write_text(f"{style}\n{calls}", encoding="utf-8")
        compiled: bytes = typst.compile(str(source), root=str(folder), format="pdf", timestamp=0)
    return compiled


def shortened(text: str, longest: int) -> str:
    """Give a text that has its room on paper, cut with an ellipsis where it is longer."""
    return text if len(text) <= longest else text[: longest - 1].rstrip() + "…"
