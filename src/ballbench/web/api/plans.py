"""Plans: made, listed, given as the command line writes them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, get_args, get_type_hints

from fastapi import APIRouter, Path, Query
from pydantic import BaseModel, Field, create_model
from starlette.responses import Response

from ballbench.presentation.plan_json import FORMAT
from ballbench.web.api.acts import LARGEST_ID, LONGEST_REQUIREMENT, Act, Number
from ballbench.web.api.answers import document, json_answer, json_text, problems
from ballbench.web.api.shapes import answer_shape, several
from ballbench.web.bodies import JsonRoute
from ballbench.web.planning import Planning
from ballbench.workflows.plan_at_bench import AskPlan, make_plan, plan_json, plans
from ballbench.workflows.set_up import InstrumentPlan

if TYPE_CHECKING:
    from ballbench.workflows.opening import Notebook

__all__ = ["PlanId", "PlanQuery", "plans_router"]

PlanId = Annotated[int, Path(alias="id", ge=1, le=LARGEST_ID, description="Number of the plan.")]
PlanQuery = Annotated[int | None, Query(ge=1, le=LARGEST_ID)]
"""Number of a plan in an address."""
_Counts = Annotated[tuple[int, ...], Field(max_length=60)]


class NewPlan(Act):
    """A plan to be made, as the workflow takes it.

    Parameters
    ----------
    requirement : str
        An id, or the text of a requirement file.
    qualification : int or None
        A kept qualification of the notebook: the test is planned with that instrument.
    instrument : InstrumentPlan or None
        Instead: an instrument with its numbers; without a name it is a usual one of that display step.
    """

    requirement: str = Field(max_length=LONGEST_REQUIREMENT)
    true_sd: str
    true_mean: str = ""
    true_form_sd: str = "0"
    quantity: str = ""
    qualification: Number | None = None
    instrument: InstrumentPlan | None = None
    balls: _Counts = (6, 12, 24)
    axes: _Counts = (3,)
    repeats: _Counts = (1,)
    form_spread: float = 0.0
    wanted: float = 0.9
    difference: str = ""
    gains: bool = False
    surface: bool = False
    boxes: _Counts = ()
    bad_share: float = 0.1
    rule: str = "guarded"
    risk: float = 0.05
    tests: int = 400
    seed: int = 1
    accept_unverified: bool = False


class HowFarPlanned(BaseModel):
    """How far a plan is that is being worked out; `waiting`: another one comes first."""

    key: str
    waiting: bool
    what: str
    done: int
    total: int


_PLANS = create_model("Plans", plans=(several(get_args(get_type_hints(plans)["return"])[0]), ...))
_UNDER_WAY = create_model("PlansUnderWay", plans=(several(HowFarPlanned), ...))
_PLANNED = answer_shape("Planned", "planned", plan=int, sentence=str)


def plans_router(notebook: Notebook, planning: Planning) -> APIRouter:
    """Give the routes of plans.

    Parameters
    ----------
    notebook : Notebook
        Open.
    planning : Planning
        Who works plans out.
    """
    router = APIRouter(prefix="/api/plans", tags=["plan"], route_class=JsonRoute)

    @router.get("", response_model=_PLANS, responses=problems())
    def listed() -> Response:
        """List plans, the newest first, with the tests that follow them."""
        return json_answer({"plans": plans(notebook)})

    @router.post("", status_code=201, response_model=_PLANNED, responses=problems(404, body=True))
    async def made(body: NewPlan) -> Response:
        """Work a plan out by simulated tests, and keep it; the answer comes when it is done."""
        asked = AskPlan(*body.stamp(), **body.more())
        return json_answer(await planning.once(asked.key, lambda tell: make_plan(notebook, asked, tell)), 201)

    @router.get("/progress", response_model=_UNDER_WAY, responses=problems())
    async def progress() -> Response:
        """Say how far the plans are that are being worked out."""
        told = ("key", "waiting", "what", "done", "total")
        return json_answer({"plans": [{name: getattr(one, name) for name in told} for one in planning.under_way]})

    @router.get("/{id}", responses={**document(FORMAT), **problems(404)})
    def one(number: PlanId) -> Response:
        """Give a plan; what `ballbench plan --json -` says of the same request."""
        return json_text(plan_json(notebook, number))

    return router
