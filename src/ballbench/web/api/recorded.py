"""What recordings tell: of a test's own, whose values become readings, and of one that belongs to none."""

from __future__ import annotations

import json
import tempfile
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from anyio import to_thread
from fastapi import APIRouter, Depends, File, Form, UploadFile
from fastapi import Path as PathPart
from pydantic import BaseModel, Field
from starlette.responses import Response

from ballbench.presentation.screens.recorded import RecordedResult
from ballbench.web.api.acts import Act, Body, Line, Number, TestId
from ballbench.web.api.answers import json_answer, problems
from ballbench.web.api.shapes import BENCH, answer_shape, several
from ballbench.web.bodies import JsonRoute, UploadRoute
from ballbench.web.decoding import Decoding
from ballbench.web.recording_uploads import named_file, plain_name
from ballbench.workflows.recorded.asked import Method, RecordedAsk
from ballbench.workflows.recorded.keeping import KeepRecorded, keep_recorded
from ballbench.workflows.recorded.pages import owner_of
from ballbench.workflows.recorded.reading import MOST_PICKS, picks_of_text, read_recorded
from ballbench.workflows.recorded.stated_fields import SAID_YES
from ballbench.workflows.recordings import recording_bytes, recordings

if TYPE_CHECKING:
    from ballbench.workflows.opening import Notebook

__all__ = ["recorded_router"]

_LONGEST_PICKS = 20_000
_KEPT = answer_shape(
    "KeptFromRecording", "kept", "asked", reading=BENCH["readings"] | None, check=BENCH["checks"] | None,
    question=BENCH["questions"] | None, also=several(BENCH["readings"]),
)  # fmt: skip
_Sent = Annotated[UploadFile, File()]
_Words = Annotated[Line, Form()]
_Mass = Annotated[Line, Form(description=f"`{SAID_YES}`: the mass is the true one, not what a balance shows in air.")]
_OF_A_SOUND = "moments of impacts, s, drop by drop"
_OF_A_FILM = (
    "one list a picture, nearest to a time in s: [s] leaves it out, [s, x, y] or [s, x, y, u] in px puts the ball there"
)
_Picked = Annotated[str, Form(max_length=_LONGEST_PICKS, description=f"JSON: {_OF_A_SOUND}.")]
_Marked = Annotated[str, Form(max_length=_LONGEST_PICKS, description=f"JSON: {_OF_A_FILM}.")]
_Digest = Annotated[str, PathPart(max_length=100)]
_Stated = Annotated[dict[str, str], Field(max_length=20, description="By the name of the command's option.")]
_Picks = Annotated[
    list[list[float]] | None,
    Field(
        max_length=MOST_PICKS,
        description=f"Of a sound {_OF_A_SOUND}; of a film {_OF_A_FILM}; null: what is found.",
    ),
]


def _of_flights(
    ball: _Words = "", drop_height: _Words = "", surface: _Words = "", contact_time: _Words = "", drag: _Words = "",
    temperature: _Words = "", pressure: _Words = "", humidity: _Words = "", latitude: _Words = "",
    altitude: _Words = "", true_mass: _Mass = "",
) -> dict[str, str]:  # fmt: skip
    """Give what a form states of ball, drop, air and place."""
    return {
        "ball": ball, "drop_height": drop_height, "surface": surface, "contact_time": contact_time, "drag": drag,
        "temperature": temperature, "pressure": pressure, "humidity": humidity, "latitude": latitude,
        "altitude": altitude, "true_mass": true_mass,
    }  # fmt: skip


_OfFlights = Annotated[dict[str, str], Depends(_of_flights)]


class TellRecording(Body):
    """How a recording of a test is to be read; `place`: of which ball it is."""

    place: Number | None = None
    method: Method
    stated: _Stated = Field(default_factory=dict)
    picks: _Picks = None


class KeptValue(Act):
    """A value of a recording that becomes a reading; `confirms` is the key of the entry that was asked about."""

    place: Number
    value: str = Field(max_length=120)
    method: Method
    stated: _Stated = Field(default_factory=dict)
    picks: _Picks = None
    confirms: str = Field(default="", max_length=200)


class _Value(BaseModel):
    """A value that can be kept as a reading, with its standard uncertainty."""

    name: str
    quantity: str
    unit: str
    value: float
    u: float
    words: str
    said: str


class _Told(BaseModel):
    """What a recording tells: the command's document, the same as HTML, what is drawn, and values to keep.

    `refused` says why nothing is told, and what to do; `shown` does not say that again.
    """

    document: dict[str, Any]
    shown: str
    view: dict[str, Any]
    values: list[_Value]
    refused: str


def recorded_router(notebook: Notebook, decoding: Decoding) -> APIRouter:
    """Give the routes.

    Parameters
    ----------
    notebook : Notebook
        Open.
    decoding : Decoding
        Whose turn it is.
    """
    router = APIRouter()
    router.include_router(_alone(decoding))
    router.include_router(_of_tests(notebook, decoding))
    return router


def _alone(decoding: Decoding) -> APIRouter:
    router = APIRouter(prefix="/api", tags=["recordings"], route_class=UploadRoute)

    @router.post("/listen", response_model=_Told, responses=problems(429, body=True))
    async def listen(file: _Sent, stated: _OfFlights, spec: _Words = "", picks: _Picked = "") -> Response:
        """Say what a sound tells of how a ball bounces; nothing is kept."""
        return await _tell(decoding, file, _ask("listen", stated, picks_of_text(picks), spec))

    @router.post("/trace", response_model=_Told, responses=problems(429, body=True))
    async def trace(
        file: _Sent, diameter: _Words = "", scale: _Words = "", distance: _Words = "", spec: _Words = ""
    ) -> Response:
        """Say what a photograph tells of a ball's outline; nothing is kept."""
        stated = {"diameter": diameter, "scale": scale, "distance": distance}
        return await _tell(decoding, file, _ask("trace", stated, None, spec))

    @router.post("/watch", response_model=_Told, responses=problems(429, body=True))
    async def watch(
        file: _Sent, stated: _OfFlights, ruler: _Words = "", spec: _Words = "", picks: _Marked = ""
    ) -> Response:
        """Say what a film of a drop tells of how a ball bounces; nothing is kept."""
        return await _tell(decoding, file, _ask("watch", {**stated, "ruler": ruler}, picks_of_text(picks), spec))

    return router


def _of_tests(notebook: Notebook, decoding: Decoding) -> APIRouter:
    router = APIRouter(prefix="/api/tests/{t}/recordings/{digest}", tags=["recordings"], route_class=JsonRoute)

    @router.post("/told", response_model=_Told, responses=problems(404, 429, body=True))
    async def told(t: TestId, digest: _Digest, body: TellRecording) -> Response:
        """Say what a recording of a test tells; nothing is written."""
        ask = _ask(body.method, body.stated, _tuples(body.picks), "")
        return _answer(await _read(notebook, decoding, t, digest, ask, body.place))

    @router.post("/readings", response_model=_KEPT, responses=problems(404, 429, body=True))
    async def keep(t: TestId, digest: _Digest, body: KeptValue) -> Response:
        """Keep a value as a reading, with the recording and its picks: it is kept, or asked about and not yet kept."""
        picks = _tuples(body.picks)
        ask = _ask(body.method, body.stated, picks, "")
        result = await _read(notebook, decoding, t, digest, ask, body.place)
        request = KeepRecorded(
            *body.stamp(), body.place, digest, body.method, ask.stated, picks, body.value, body.confirms
        )
        return json_answer(await to_thread.run_sync(keep_recorded, notebook, t, request, result))

    return router


def _ask(method: Method, stated: dict[str, str], picks: tuple[tuple[float, ...], ...] | None, spec: str) -> RecordedAsk:
    """Put together what is asked; what is empty is not said."""
    said = tuple(sorted((name, text.strip()) for name, text in stated.items() if text.strip()))
    return RecordedAsk(method, said, picks, spec.strip())


def _tuples(picks: list[list[float]] | None) -> tuple[tuple[float, ...], ...] | None:
    return None if picks is None else tuple(map(tuple, picks))


async def _tell(decoding: Decoding, file: UploadFile, ask: RecordedAsk) -> Response:
    """Read a file that is gone with the answer."""
    with tempfile.TemporaryDirectory(prefix="ballbench-") as folder:
        place, digest = await to_thread.run_sync(named_file, Path(folder), file)
        result = await decoding.once((place.name, digest, ask), read_recorded, ask, str(place))
    return _answer(result)


async def _read(
    notebook: Notebook, decoding: Decoding, test: int, digest: str, ask: RecordedAsk, place: int | None
) -> RecordedResult:
    """Read a recording of a test, under the name that its sender gave it, as one of the ball of a place."""
    name = await to_thread.run_sync(_name_of, notebook, test, digest)
    ask = replace(ask, whose=await to_thread.run_sync(owner_of, notebook, test, place))
    with tempfile.TemporaryDirectory(prefix="ballbench-") as folder:
        file = Path(folder) / plain_name(name)
        await to_thread.run_sync(lambda: file.write_bytes(recording_bytes(notebook, test, digest)))
        return await decoding.once((file.name, digest, ask), read_recorded, ask, str(file))


def _name_of(notebook: Notebook, test: int, digest: str) -> str:
    return next((one.name for one in recordings(notebook, test) if one.digest == digest), "")


def _answer(result: RecordedResult) -> Response:
    return json_answer({
        "document": json.loads(result.document), "shown": result.shown, "view": json.loads(result.view),
        "values": result.values, "refused": result.refused,
    })  # fmt: skip
