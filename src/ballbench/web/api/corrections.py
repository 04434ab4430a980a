"""What is said of readings later: corrections, exclusions, and the history of both."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, get_args, get_type_hints

from fastapi import APIRouter
from pydantic import Field, create_model
from starlette.responses import Response

from ballbench.errors import BadRequest, Fault
from ballbench.web.api.acts import Act, Number, TestId, Written
from ballbench.web.api.answers import json_answer, problems
from ballbench.web.api.shapes import BENCH, answer_shape, several
from ballbench.web.bodies import JsonRoute
from ballbench.workflows.correct import MOST_AT_ONCE, Amend, amend_readings, history

if TYPE_CHECKING:
    from ballbench.workflows.opening import Notebook

__all__ = ["corrections_router"]

_AMENDED = answer_shape("Amended", "corrected", "excluded", "kept", reading=BENCH["readings"],
                        readings=several(BENCH["readings"]))  # fmt: skip
_LINE = get_args(get_type_hints(history)["return"])[0]
_HISTORY = create_model("History", lines=(several(_LINE), ...))


class Correction(Act):
    """What to say of a reading: the right value with `text`, that it does not count, or that it stands as read.

    Several `readings` are excluded or kept in one act, all for one reason.
    """

    reading: Number | None = None
    readings: tuple[Number, ...] = Field(default=(), max_length=MOST_AT_ONCE)
    action: Literal["correct", "exclude", "keep"]
    text: Written = ""
    reason: str


def corrections_router(notebook: Notebook) -> APIRouter:
    """Give the routes of corrections.

    Raises
    ------
    BadRequest
        In answer to a request that names both one reading and several, or neither.
    """
    router = APIRouter(prefix="/api/tests/{t}", tags=["corrections"], route_class=JsonRoute)

    @router.post("/corrections", response_model=_AMENDED, responses=problems(404, body=True))
    def amend(t: TestId, body: Correction) -> Response:
        """Correct a reading, exclude it, or keep it as read, with the reason; the reading itself stays."""
        if (body.reading is None) == (not body.readings):
            found = "both" if body.readings else "neither"
            raise BadRequest(Fault("reading", found, "one reading, or several readings", "name one or the other"))
        numbers = body.readings if body.reading is None else (body.reading,)
        reply = amend_readings(notebook, t, Amend(*body.stamp(), numbers, body.action, body.reason, body.text))
        return json_answer({**reply, "reading": reply["readings"][0]})

    @router.get("/history", response_model=_HISTORY, responses=problems(404, 409))
    def lines(t: TestId) -> Response:
        """Everything that was said of the readings of a test, the newest first."""
        return json_answer({"lines": history(notebook, t)})

    return router
