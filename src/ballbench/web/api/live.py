"""What happens in a test while it is open in several places: the stream of changes, and who is at which place."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any
from uuid import UUID

from fastapi import APIRouter, Header, Query, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response, StreamingResponse

from ballbench.errors import Fault
from ballbench.web.api.acts import LARGEST_ID, Body, Name, Number, TestId
from ballbench.web.api.answers import json_answer, problems
from ballbench.web.bodies import JsonRoute
from ballbench.web.claims import Claims
from ballbench.web.live import Hub, LiveAnswer
from ballbench.web.pairing import Pairing
from ballbench.web.problems import Refused
from ballbench.workflows.bench import piece_of_place

if TYPE_CHECKING:
    from ballbench.workflows.opening import Notebook

__all__ = ["live_router"]

_STREAM: dict[int | str, dict[str, Any]] = {
    200: {"description": "Events without end.", "content": {"text/event-stream": {}}}
}


class Claimed(Body):
    """A place that somebody is at; null leaves it."""

    client: UUID
    by: Name
    place: Number | None


class ClaimAnswer(Body):
    """Whether the place and its ball were free, and who is where; a refused place is with whoever has its ball."""

    granted: bool
    held: dict[str, str]


def live_router(notebook: Notebook, hub: Hub, claims: Claims, pairing: Pairing) -> APIRouter:
    """Give the routes of streams and claims.

    Parameters
    ----------
    notebook : Notebook
        Open.
    hub : Hub
        The streams.
    claims : Claims
        Who is where.
    pairing : Pairing
        The stream of a device that is shut out ends.
    """
    router = APIRouter(prefix="/api/tests/{t}", tags=["live"], route_class=JsonRoute)

    @router.get("/live", response_class=StreamingResponse, responses={**_STREAM, **problems(404, 429)})
    async def live(
        t: TestId,
        request: Request,
        after: Annotated[int, Query(ge=0, le=LARGEST_ID)] = 0,
        last: Annotated[int | None, Header(alias="Last-Event-ID", ge=0, le=LARGEST_ID)] = None,
    ) -> Response:
        """Tell every change after a revision, oldest first, and go on; `Last-Event-ID` goes before `after`."""
        await run_in_threadpool(_known, notebook, t)
        device = request.state.device

        def welcome() -> bool:
            return device is None or device in pairing.devices()

        peer = request.client.host if request.client else ""
        return LiveAnswer(hub, hub.stream(t, after if last is None else last, welcome), peer)

    @router.post("/claims", response_model=ClaimAnswer, responses=problems(404, body=True))
    def claim(t: TestId, claimed: Claimed) -> Response:
        """Take a place for a minute, renew it, or leave it; false: somebody else has its ball."""
        _known(notebook, t)
        client, place = str(claimed.client), claimed.place
        piece = "" if place is None else piece_of_place(notebook, t, place)
        granted = claims.claim(t, client, claimed.by, place, piece)
        hub.ring(t)
        held = {str(one.place): one.by for one in claims.held(t)}
        holder = "" if granted or place is None else claims.holder(t, client, place, piece)
        return json_answer({"granted": granted, "held": {**held, str(place): holder} if holder else held})

    return router


def _known(notebook: Notebook, test: int) -> None:
    """Refuse a test that there is not: each has at least one change, by which it came to be."""
    if not notebook.changes(test, 0, 1):
        raise Refused(
            404, Fault("test", f"no test {test} in this notebook", "a test of the library", "look under Past tests")
        )
