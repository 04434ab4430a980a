"""What a test says of its instrument, and keeping it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from anyio import to_thread
from fastapi import APIRouter
from pydantic import BaseModel
from starlette.responses import Response

from ballbench.presentation.qualification_json import FORMAT, qualification_to_json
from ballbench.web.api.acts import Act, TestId, Word
from ballbench.web.api.answers import document, json_answer, json_text, problems
from ballbench.web.api.shapes import answer_shape
from ballbench.web.bodies import JsonRoute
from ballbench.web.judging import Judging
from ballbench.workflows.keep import revision_of
from ballbench.workflows.left_of_plan import LeftOfPlan
from ballbench.workflows.qualify_test import Keep, keep_qualification, qualify_notebook_test

if TYPE_CHECKING:
    from ballbench.workflows.opening import Notebook

__all__ = ["qualifications_router"]


class KeptQualification(BaseModel):
    """A qualification as it was kept; `entry` is a bench file."""

    id: int
    test: int
    name: str
    quantity: str
    entry: str
    sentence: str
    by: str
    at: str


class NewQualification(Act):
    """Keep what a test says of its instrument; empty: of the first quantity that is read as a number."""

    quantity: str = ""


_KEPT = answer_shape("QualificationKept", "kept", qualification=KeptQualification, left=LeftOfPlan)


def qualifications_router(notebook: Notebook, judging: Judging) -> APIRouter:
    """Give the routes of qualifications.

    Parameters
    ----------
    notebook : Notebook
        Open.
    judging : Judging
        Whose turn it is.
    """
    router = APIRouter(prefix="/api/tests/{t}/qualification", tags=["qualify"], route_class=JsonRoute)

    @router.get("", responses={**document(FORMAT), **problems(404, 409)})
    async def found(t: TestId, quantity: Word = "") -> Response:
        """Qualify the instrument of a test; what `ballbench qualify --json -` says of its files."""
        key = ("qualification", t, quantity, await to_thread.run_sync(revision_of, notebook, t))
        work = lambda: qualification_to_json(qualify_notebook_test(notebook, t, quantity))  # noqa: E731 - as in judging
        return json_text(await judging.once(key, work))

    @router.post("", status_code=201, response_model=_KEPT, responses=problems(404, body=True))
    def keep(t: TestId, body: NewQualification) -> Response:
        """Keep it for the instrument, as it stands now; `left` says what of the test's plan was not taken."""
        return json_answer(keep_qualification(notebook, t, Keep(*body.stamp(), **body.more())), 201)

    return router
