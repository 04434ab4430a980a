"""Boxes: the list, and one with its balls over all its tests."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, get_args, get_type_hints

from fastapi import APIRouter, Path
from pydantic import create_model
from starlette.responses import Response

from ballbench.web.api.acts import LARGEST_ID
from ballbench.web.api.answers import json_answer, problems
from ballbench.web.api.shapes import several
from ballbench.web.bodies import JsonRoute
from ballbench.workflows.boxes import box_history, boxes

if TYPE_CHECKING:
    from ballbench.workflows.opening import Notebook

__all__ = ["BoxId", "boxes_router"]

BoxId = Annotated[int, Path(alias="id", ge=1, le=LARGEST_ID, description="Number of the box.")]

_BOXES = create_model("Boxes", boxes=(several(get_args(get_type_hints(boxes)["return"])[0]), ...))
_HISTORY = get_type_hints(box_history)["return"]


def boxes_router(notebook: Notebook) -> APIRouter:
    """Give the routes of boxes."""
    router = APIRouter(prefix="/api/boxes", tags=["boxes"], route_class=JsonRoute)

    @router.get("", response_model=_BOXES, responses=problems())
    def listed() -> Response:
        """List boxes, the newest first; none that only a blind test under way knows."""
        return json_answer({"boxes": boxes(notebook)})

    @router.get("/{id}", response_model=_HISTORY, responses=problems(404))
    def one(number: BoxId) -> Response:
        """Give a box with its balls: in each test number, impacts by then, and means of what was read."""
        return json_answer(box_history(notebook, number))

    return router
