"""Style sheets and scripts: served from the package by a list of names made at the start, never by a path."""

from __future__ import annotations

from hashlib import sha256
from importlib import resources
from importlib.resources.abc import Traversable

from fastapi import APIRouter, Request
from starlette.responses import Response

from ballbench.errors import Fault
from ballbench.presentation.screens.static_files import StaticFile, static_file
from ballbench.web.problems import Refused

__all__ = ["static_router"]

_SCREENS = "ballbench.presentation.screens"
_MADE = frozenset({"tokens.css", "report.css"})
"""Sheets that the screens make."""
_OWN = ("pair.js", "share.js")


def static_router() -> APIRouter:
    """Give the routes of everything below ``/static/``."""
    router = APIRouter(include_in_schema=False)
    names = _MADE | frozenset(_below(resources.files(_SCREENS) / "static"))

    @router.get("/static/{name:path}")
    def static(name: str, request: Request) -> Response:
        found = _own(name) or (static_file(name) if name in names else None)
        if found is None:
            fault = Fault("static file", ascii(name[:80]), "a file that a page uses", "load the page again")
            raise Refused(404, fault)
        tag = f'"{found.digest[:32]}"'
        headers = {"ETag": tag, "Cache-Control": "no-cache"}
        if _known(request.headers.get("if-none-match", ""), tag):
            return Response(status_code=304, headers=headers)
        return Response(found.content, headers=headers, media_type=found.media_type)

    return router


def _own(name: str) -> StaticFile | None:
    if name not in _OWN:
        return None
    content = resources.files("ballbench.web").joinpath("static", name).read_bytes()
    return StaticFile(content, "text/javascript; charset=utf-8", sha256(content).hexdigest())


def _below(folder: Traversable, before: str = "") -> list[str]:
    """List the files of a folder and its folders, as ``"house.css"`` and ``"measure/bench.js"``."""
    names = []
    for entry in folder.iterdir():
        name = f"{before}{entry.name}"
        names += _below(entry, f"{name}/") if entry.is_dir() else [name]
    return names


def _known(header: str, tag: str) -> bool:
    """Compare entity tags weakly, RFC 9110 section 13.1.2."""
    return header.strip() == "*" or tag in [part.strip().removeprefix("W/") for part in header.split(",")]
