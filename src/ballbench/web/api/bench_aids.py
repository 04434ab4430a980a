"""Bench aids: what typed readings of a vee, a press or a ramp tell. Nothing is kept in the notebook."""

from __future__ import annotations

import json
from typing import Annotated, Any

from fastapi import APIRouter
from pydantic import BaseModel, Field
from starlette.responses import Response

from ballbench.presentation.press_json import FORMAT as PRESS
from ballbench.presentation.rolls_json import FORMAT as ROLL
from ballbench.presentation.screens.typed_entries import TypedResult
from ballbench.presentation.vee_json import FORMAT as VEE
from ballbench.web.api.acts import Body
from ballbench.web.api.answers import json_answer, problems
from ballbench.web.bodies import JsonRoute
from ballbench.web.judging import Judging
from ballbench.workflows.bench_aids import press_entries, roll_entries, vee_entries

__all__ = ["bench_aids_router"]

_Table = Annotated[str, Field(max_length=80_000, description="The table, as a CSV file would hold it.")]
_Spec = Annotated[str, Field(max_length=200, description="An id of the catalogue; empty: none.")]


class TypedVee(Body):
    """Readings of balls in a vee; `lobes` are crests over a turn that hold for all of them."""

    csv: _Table
    spec: _Spec = ""
    lobes: int | None = Field(default=None, strict=True, ge=2, le=50)


class TypedPress(Body):
    """Readings of a press."""

    csv: _Table
    spec: _Spec = ""


class TypedRoll(Body):
    """Runs of balls down a ramp."""

    csv: _Table
    spec: _Spec = ""


class _Told(BaseModel):
    """What they tell: the document of the command, the same as HTML, and the entries as read."""

    document: dict[str, Any] = Field(description=f"Format {VEE}, {PRESS} or {ROLL}.")
    shown: str
    entries: list[dict[str, str]]


def bench_aids_router(judging: Judging) -> APIRouter:
    """Give the routes of bench aids.

    Parameters
    ----------
    judging : Judging
        Whose turn it is.
    """
    router = APIRouter(prefix="/api", tags=["bench aids"], route_class=JsonRoute)

    @router.post("/vee", response_model=_Told, responses=problems(body=True))
    async def vee(body: TypedVee) -> Response:
        """Say between what the form of balls lies; nothing is kept."""
        key = ("vee", body.csv, body.lobes, body.spec)
        return _answer(await judging.once(key, lambda: vee_entries(body.csv, body.lobes, body.spec)))

    @router.post("/press", response_model=_Told, responses=problems(body=True))
    async def press(body: TypedPress) -> Response:
        """Say how far balls give way on this press; nothing is kept."""
        key = ("press", body.csv, body.spec)
        return _answer(await judging.once(key, lambda: press_entries(body.csv, body.spec)))

    @router.post("/roll", response_model=_Told, responses=problems(body=True))
    async def roll(body: TypedRoll) -> Response:
        """Say how far balls are out of balance by a ramp; nothing is kept."""
        key = ("roll", body.csv, body.spec)
        return _answer(await judging.once(key, lambda: roll_entries(body.csv, body.spec)))

    return router


def _answer(told: TypedResult) -> Response:
    return json_answer({"document": json.loads(told.document), "shown": told.shown, "entries": told.entries})
