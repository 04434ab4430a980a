"""Instruments: those that were qualified, and those of earlier tests, to be used again."""

from __future__ import annotations

from typing import TYPE_CHECKING, get_args, get_type_hints

from fastapi import APIRouter
from pydantic import create_model
from starlette.responses import Response

from ballbench.web.api.answers import json_answer, problems
from ballbench.web.api.shapes import several
from ballbench.web.bodies import JsonRoute
from ballbench.workflows.forms import instruments
from ballbench.workflows.qualified import qualified_instruments

if TYPE_CHECKING:
    from ballbench.workflows.opening import Notebook

__all__ = ["instruments_router"]

_ALL = create_model(
    "Instruments",
    instruments=(several(get_args(get_type_hints(instruments)["return"])[0]), ...),
    qualified=(several(get_args(get_type_hints(qualified_instruments)["return"])[0]), ...),
)


def instruments_router(notebook: Notebook) -> APIRouter:
    """Give the route of instruments."""
    router = APIRouter(prefix="/api/instruments", tags=["instruments"], route_class=JsonRoute)

    @router.get("", response_model=_ALL, responses=problems())
    def listed() -> Response:
        """Instruments of earlier set-ups, and those that were qualified, each name and quantity as it was last."""
        return json_answer({"instruments": instruments(notebook), "qualified": qualified_instruments(notebook)})

    return router
