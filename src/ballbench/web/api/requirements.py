"""Requirements of the catalogue: the list, and one with its clauses in words."""

from __future__ import annotations

from functools import cache
from typing import Any, get_args, get_type_hints

from fastapi import APIRouter
from pydantic import create_model
from starlette.responses import Response

from ballbench.errors import Fault
from ballbench.web.api.answers import json_answer, problems
from ballbench.web.api.shapes import several
from ballbench.web.bodies import JsonRoute
from ballbench.web.problems import Refused
from ballbench.workflows.requirements import overview

__all__ = ["requirements_router"]

_ONE: Any = get_args(get_type_hints(overview)["return"])[0]
_ALL = create_model("Requirements", requirements=(several(_ONE), ...))


def requirements_router() -> APIRouter:
    """Give the routes of requirements."""
    router = APIRouter(prefix="/api/requirements", tags=["requirements"], route_class=JsonRoute)

    @router.get("", response_model=_ALL, responses=problems())
    def listed() -> Response:
        """Every requirement of the catalogue."""
        return json_answer({"requirements": tuple(_catalogue().values())})

    @router.get("/{name}", response_model=_ONE, responses=problems(404))
    def one(name: str) -> Response:
        """Give one requirement, by its id in the catalogue; never a file by its path."""
        found = _catalogue().get(name)
        if found is None:
            fault = Fault(
                "requirement", ascii(name[:80]), "an id of the catalogue", "choose one from /api/requirements"
            )
            raise Refused(404, fault)
        return json_answer(found)

    return router


@cache
def _catalogue() -> dict[str, Any]:
    """Give the catalogue by id; it does not change while the program runs."""
    return {one.id: one for one in overview()}
