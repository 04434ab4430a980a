"""Tests: the list, setting one up, finishing one."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any, get_args, get_type_hints

from fastapi import APIRouter
from pydantic import Field, create_model, field_validator
from starlette.responses import Response

from ballbench.web.api.acts import LONGEST_REQUIREMENT, Act, Name, Number, TestId, Word
from ballbench.web.api.answers import json_answer, problems
from ballbench.web.api.shapes import BALL_TEST, several
from ballbench.web.bodies import JsonRoute
from ballbench.workflows.bench_requests import Finish
from ballbench.workflows.keep import numbers
from ballbench.workflows.keep import tests as tests_of
from ballbench.workflows.left_of_plan import LeftOfPlan, left_of_test
from ballbench.workflows.repeat_study import Purpose
from ballbench.workflows.set_up import (
    BoxAgain,
    InstrumentPlan,
    MakePlan,
    QuantityPlan,
    ReferencePlan,
    SetUp,
    set_up_test,
)
from ballbench.workflows.sittings import finish

if TYPE_CHECKING:
    from ballbench.workflows.opening import Notebook

__all__ = ["tests_router"]

_TESTS = create_model("Tests", tests=(several(get_args(get_type_hints(tests_of)["return"])[0]), ...))


_NUMBERS = get_type_hints(numbers)["return"]
_OF_TEST: dict[str, Any] = {name: (kind, ...) for name, kind in get_type_hints(BALL_TEST).items()}
_ENDED = create_model("EndedTest", **_OF_TEST, left=(LeftOfPlan, ...))


class NewTest(Act):
    """A test to be set up, as the workflow takes it.

    Parameters
    ----------
    requirement : str
        An id, or the text of a requirement file.
    boxes : tuple of BoxAgain
        Boxes that the notebook has; `makes` are the new ones. Of both together at least one, but in a repeat study
        with reference pieces.
    people : tuple of str
        Who reads in a repeat study, each of them every place as often as `quantities` say.
    """

    requirement: str = Field(max_length=LONGEST_REQUIREMENT)
    boxes: tuple[BoxAgain, ...] = ()
    makes: tuple[MakePlan, ...] = ()
    quantities: tuple[QuantityPlan, ...]
    instruments: tuple[InstrumentPlan, ...] = ()
    references: tuple[ReferencePlan, ...] = ()
    title: str = ""
    conditions: dict[str, str] | None = None
    reference_c: float | None = None
    expansion: float | None = None
    expansion_relative_sd: float | None = None
    blind: bool = False
    invented: bool = False
    rule: str = "guarded"
    risk: float = 0.05
    seed: int | None = None
    control_every: int = 0
    purpose: Purpose = ""
    people: tuple[Name, ...] = ()
    plan: Number | None = None

    @field_validator("instruments", "quantities", mode="before")
    @classmethod
    def left_empty(cls, value: Any) -> Any:
        """Take a field of a form that was left empty as not said."""
        if not isinstance(value, list):
            return value
        return [_said(one) if isinstance(one, dict) else one for one in value]


class Finished(Act):
    """A test is finished, or taken up again."""

    again: bool = False


def tests_router(notebook: Notebook) -> APIRouter:
    """Give the routes of tests."""
    router = APIRouter(prefix="/api/tests", tags=["tests"], route_class=JsonRoute)

    @router.get("", response_model=_TESTS, responses=problems())
    def listed(search: Word = "") -> Response:
        """List tests, the newest first; with `search` those whose title, make, requirement or people hold it."""
        return json_answer({"tests": tests_of(notebook, search)})

    @router.post("", status_code=201, response_model=BALL_TEST, responses=problems(body=True))
    def set_up(body: NewTest) -> Response:
        """Set up a test; nothing is read yet."""
        return json_answer(set_up_test(notebook, SetUp(*body.stamp(), **body.more())), 201)

    @router.get("/{t}/numbers", response_model=_NUMBERS, responses=problems(404, 409))
    def marks(t: TestId) -> Response:
        """Which number goes on which ball; of a blind test only before its first reading, and when it is finished."""
        return json_answer(numbers(notebook, t))

    @router.post("/{t}/finish", response_model=_ENDED, responses=problems(404, body=True))
    def end(t: TestId, body: Finished) -> Response:
        """Finish a test, or take it up again; `left` says what of its plan was not taken."""
        test = finish(notebook, t, Finish(*body.stamp(), **body.more()))
        return json_answer({**asdict(test), "left": asdict(left_of_test(notebook, t))})

    return router


def _said(part: dict[str, Any]) -> dict[str, Any]:
    """Leave out what a form sends for an empty field: null, and the empty axis of a quantity without axes."""
    said = {name: value for name, value in part.items() if value is not None}
    if said.get("axes") == [""]:
        said["axes"] = []
    return said
