"""What the pages load: style sheets and scripts of this package, and two sheets made from what the report has."""

from __future__ import annotations

from dataclasses import dataclass
from hashlib import sha256
from importlib import resources

from ballbench.presentation.tokens import DARK, LIGHT, css_tokens

__all__ = ["StaticFile", "static_file"]

_KINDS = {
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".json": "application/json",
    ".webmanifest": "application/manifest+json",
}


@dataclass(frozen=True, slots=True)
class StaticFile:
    """A file that a page loads.

    Parameters
    ----------
    content : bytes
        What it holds.
    media_type : str
        Of the answer that carries it.
    digest : str
        SHA-256 of the content in hexadecimal, for an entity tag.
    """

    content: bytes
    media_type: str
    digest: str


def static_file(name: str) -> StaticFile | None:
    """Give a file by its path below ``/static/``.

    Parameters
    ----------
    name : str
        Such as ``"house.css"`` or ``"measure/bench.js"``; ``"tokens.css"`` and ``"report.css"`` are made here.

    Returns
    -------
    StaticFile or None
        None: there is no such file, or its name is none that a page uses.
    """
    media_type = _KINDS.get("." + name.rpartition(".")[2])
    parts = name.split("/")
    if media_type is None or any(part.startswith(".") or "\\" in part or not part for part in parts):
        return None
    if name == "tokens.css":
        content = _tokens_sheet().encode()
    elif name == "report.css":
        content = resources.files("ballbench.presentation").joinpath("templates/page.css").read_bytes()
    else:
        found = resources.files("ballbench.presentation.screens").joinpath("static", *parts)
        if not found.is_file():
            return None
        content = found.read_bytes()
    return StaticFile(content, media_type, sha256(content).hexdigest())


def _tokens_sheet() -> str:
    """The colours as custom properties: light, dark where the reader's system is, and white paper in print."""
    light, dark = css_tokens(LIGHT), css_tokens(DARK)
    return (
        f":root{{color-scheme:light dark;{light}}}\n"
        f"@media (prefers-color-scheme:dark){{:root{{{dark}}}}}\n"
        f"@media print{{:root{{color-scheme:light;{light}--paper:#ffffff;--card:#ffffff;}}}}\n"
    )
