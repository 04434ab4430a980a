"""Quick checks: one ball in dispute, one quantity, the decision with its certainty."""

from __future__ import annotations

import json
from dataclasses import fields
from typing import TYPE_CHECKING, Any, get_type_hints

from fastapi import APIRouter
from pydantic import Field, create_model
from starlette.responses import Response

from ballbench.presentation.findings_json import FORMAT, findings_to_json
from ballbench.web.api.acts import LONGEST_REQUIREMENT, Act, QuickId, Written
from ballbench.web.api.answers import json_answer, problems
from ballbench.web.bodies import JsonRoute
from ballbench.web.judging import Judging
from ballbench.workflows.quick_check import QuickCheck, QuickInstrument, quick_check, quick_result

if TYPE_CHECKING:
    from ballbench.workflows.opening import Notebook

__all__ = ["quick_router"]


class NewQuickCheck(Act):
    """One ball, one quantity, the readings as they were typed, and where on the ball each was taken."""

    requirement: str = Field(max_length=LONGEST_REQUIREMENT)
    quantity: str
    ball: str
    instrument: QuickInstrument
    texts: tuple[Written, ...]
    axes: tuple[str, ...] = ()
    conditions: dict[str, str] | None = None
    note: str = ""


def quick_router(notebook: Notebook, judging: Judging) -> APIRouter:
    """Give the routes of quick checks.

    Parameters
    ----------
    notebook : Notebook
        Open.
    judging : Judging
        Whose turn it is.
    """
    router = APIRouter(prefix="/api/quick-checks", tags=["quick checks"], route_class=JsonRoute)

    @router.post("", status_code=201, response_model=_ANSWER, responses=problems(body=True))
    async def check(body: NewQuickCheck) -> Response:
        """Keep the readings of one ball and decide."""
        request = QuickCheck(*body.stamp(), **body.more())
        return _answer(await judging.quick(lambda: quick_check(notebook, request)), 201)

    @router.get("/{id}", response_model=_ANSWER, responses=problems(404))
    async def result(number: QuickId) -> Response:
        """Give a quick check that was kept."""
        return _answer(await judging.quick(lambda: quick_result(notebook, number)), 200)

    return router


def _answer(result: Any, status: int) -> Response:
    """Write a quick check; its findings as the document that they are everywhere."""
    own = {field.name: getattr(result, field.name) for field in fields(result)}
    return json_answer({**own, "findings": json.loads(findings_to_json(result.findings))}, status)


def _shape() -> Any:
    """Describe the answer: the record's own fields, and the findings as a document."""
    hints = get_type_hints(get_type_hints(quick_result)["return"])
    shown: dict[str, Any] = {name: (kind, ...) for name, kind in hints.items()}
    return create_model(
        "QuickAnswer", **{**shown, "findings": (dict[str, Any], Field(description=f"Format {FORMAT}."))}
    )


_ANSWER = _shape()
