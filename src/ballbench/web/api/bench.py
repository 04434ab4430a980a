"""The bench: its state, readings and what is said of them there, sittings, marks."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any, Literal, get_type_hints

from fastapi import APIRouter, Query
from pydantic import Field
from starlette.responses import Response

from ballbench.web.api.acts import Act, Number, TestId, Written
from ballbench.web.api.answers import json_answer, problems
from ballbench.web.api.shapes import BENCH, BENCH_STATE, answer_shape, several
from ballbench.web.bodies import JsonRoute
from ballbench.workflows import bench, measure, sittings
from ballbench.workflows import bench_requests as requests
from ballbench.workflows.which_ball import which_ball_is_this

if TYPE_CHECKING:
    from ballbench.workflows.opening import Notebook

__all__ = ["bench_router"]

_PLACE, _SITTING = BENCH["places"], BENCH["sitting"]
_ENTERED = answer_shape(
    "Entered", "kept", "asked", reading=BENCH["readings"] | None, check=BENCH["checks"] | None,
    question=BENCH["questions"] | None, also=several(BENCH["readings"]),
)  # fmt: skip
_TAKEN_BACK = answer_shape("TakenBack", "taken back", reading=BENCH["readings"])
_SPOILED = answer_shape("SpoiledPlace", "spoiled", place=_PLACE)
_PUT_OFF = answer_shape("PutOff", "put off", place=_PLACE)
_ASKED_AGAIN = answer_shape("AskedAgain", "asked for again", place=_PLACE)
_NOTED = answer_shape("Noted", "noted", balls=several(BENCH["balls"]), sitting=_SITTING | None)
_SITS = answer_shape("SittingAnswer", "begun", "ended", sitting=_SITTING)
_WHICH: Any = get_type_hints(which_ball_is_this)["return"]
_PROBLEMS = problems(404, body=True)


class NewEntry(Act):
    """What was typed for a place; `confirms` is the key of the entry that was asked about."""

    place: Number
    text: Written
    confirms: str | None = Field(default=None, max_length=200)


class ReadingTakenBack(Act):
    """A reading that no longer counts."""

    reading: Number
    reason: str = ""


class Spoiled(Act):
    """An attempt that gave no reading."""

    place: Number
    reason: str


class Later(Act):
    """A place that is left for later."""

    place: Number


class Again(Act):
    """One more reading of a ball at an axis."""

    ball: Number
    quantity: str
    axis: str
    reason: str


class NewMark(Act):
    """Something else that happened; without a ball: to all balls, or to the bench."""

    kind: str
    value: float | None = None
    ball: Number | None = None
    note: str = ""


class NewSitting(Act):
    """A sitting at the bench, or of typing from paper; temperatures in degC."""

    kind: Literal["bench", "paper"]
    label: str = ""
    air_c: float | None = None
    ball_c: float | None = None


class SittingEnded(Act):
    """The sitting that goes on is over."""


def bench_router(notebook: Notebook) -> APIRouter:
    """Give the routes of the bench."""
    router = APIRouter(prefix="/api/tests/{t}", tags=["bench"], route_class=JsonRoute)
    _readings(router, notebook)
    _places(router, notebook)
    _sittings(router, notebook)
    return router


def _readings(router: APIRouter, notebook: Notebook) -> None:
    @router.get("/bench", response_model=BENCH_STATE, responses=problems(404))
    def state(t: TestId) -> Response:
        """Everything that the measuring page needs to go on."""
        return json_answer(bench.bench_state(notebook, t))

    @router.get("/which-ball", response_model=_WHICH, responses=problems(404))
    def which(t: TestId, text: Annotated[Written, Query()]) -> Response:
        """Tell a ball by its mass as the scale shows it."""
        return json_answer(which_ball_is_this(notebook, t, text))

    @router.post("/readings", response_model=_ENTERED, responses=_PROBLEMS)
    def enter(t: TestId, body: NewEntry) -> Response:
        """Take in what was typed for a place: it is kept, or asked about and not yet kept."""
        entry = requests.Entry(*body.stamp(), body.place, body.text, body.confirms or "")
        return json_answer(measure.enter(notebook, t, entry))

    @router.post("/taken-back", response_model=_TAKEN_BACK, responses=_PROBLEMS)
    def take_back(t: TestId, body: ReadingTakenBack) -> Response:
        """Take a reading back: it stays in the notebook, and no longer counts."""
        return json_answer(measure.take_back(notebook, t, requests.TakeBack(*body.stamp(), **body.more())))


def _places(router: APIRouter, notebook: Notebook) -> None:
    @router.post("/spoiled", response_model=_SPOILED, responses=_PROBLEMS)
    def spoil(t: TestId, body: Spoiled) -> Response:
        """Note an attempt that gave no reading."""
        return json_answer(measure.spoil(notebook, t, requests.Spoil(*body.stamp(), **body.more())))

    @router.post("/later", response_model=_PUT_OFF, responses=_PROBLEMS)
    def put_off(t: TestId, body: Later) -> Response:
        """Leave a place for later."""
        return json_answer(measure.put_off_place(notebook, t, requests.PutOff(*body.stamp(), **body.more())))

    @router.post("/again", response_model=_ASKED_AGAIN, responses=_PROBLEMS)
    def read_again(t: TestId, body: Again) -> Response:
        """Ask for one more reading of a ball at an axis."""
        return json_answer(measure.read_again(notebook, t, requests.ReadAgain(*body.stamp(), **body.more())))


def _sittings(router: APIRouter, notebook: Notebook) -> None:
    @router.post("/marks", response_model=_NOTED, responses=_PROBLEMS)
    def mark(t: TestId, body: NewMark) -> Response:
        """Note what else happened: temperatures, zeroed instruments, impacts, conditioning."""
        return json_answer(sittings.note(notebook, t, requests.Mark(*body.stamp(), **body.more())))

    @router.post("/sittings", response_model=_SITS, responses=_PROBLEMS)
    def begin(t: TestId, body: NewSitting) -> Response:
        """Begin a sitting."""
        return json_answer(sittings.begin(notebook, t, requests.BeginSitting(*body.stamp(), **body.more())))

    @router.post("/sittings/end", response_model=_SITS, responses=_PROBLEMS)
    def end(t: TestId, body: SittingEnded) -> Response:
        """End the sitting that goes on."""
        return json_answer(sittings.end(notebook, t, requests.EndSitting(*body.stamp(), **body.more())))
