"""Recordings of a test: kept by the hash of their bytes, and given back as files that no browser takes for a page."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated, Any, get_args, get_type_hints
from uuid import UUID

from fastapi import APIRouter, File, Form, Path, UploadFile
from pydantic import BaseModel, create_model
from starlette.responses import Response

from ballbench.web.api.acts import LARGEST_ID, Line, Moment, TestId
from ballbench.web.api.answers import json_answer, problems
from ballbench.web.api.shapes import several
from ballbench.web.bodies import UploadRoute
from ballbench.web.sender_clock import taken_at
from ballbench.workflows.recordings import NewRecording, keep_recording, recording_bytes, recordings

if TYPE_CHECKING:
    from ballbench.workflows.opening import Notebook

__all__ = ["recordings_router"]

_PIECE = 1024 * 1024
_ONE: Any = get_args(get_type_hints(recordings)["return"])[0]
_ALL = create_model("Recordings", recordings=(several(_ONE), ...))
_BYTES: dict[int | str, dict[str, Any]] = {
    200: {"description": "The file.", "content": {"application/octet-stream": {}}}
}


class Kept(BaseModel):
    """A recording that is kept, and the change by which it was."""

    revision: int
    digest: str
    name: str
    media_type: str
    bytes: int


def recordings_router(notebook: Notebook) -> APIRouter:
    """Give the routes of recordings."""
    router = APIRouter(prefix="/api/tests/{t}/recordings", tags=["recordings"], route_class=UploadRoute)

    @router.post("", response_model=Kept, responses=problems(404, body=True))
    def keep(
        t: TestId,
        file: Annotated[UploadFile, File()],
        key: Annotated[UUID, Form()],
        by: Annotated[Line, Form()],
        client: Annotated[UUID | None, Form()] = None,
        at: Annotated[Moment | None, Form()] = None,
        reading: Annotated[int | None, Form(ge=1, le=LARGEST_ID)] = None,
    ) -> Response:
        """Keep a file; its name is a label."""
        request = NewRecording(
            str(key), str(client or ""), by, taken_at(at).isoformat() if at else "", file.filename or "",
            file.content_type or "", reading,
        )  # fmt: skip
        return json_answer(keep_recording(notebook, t, request, _pieces(file)))

    @router.get("", response_model=_ALL, responses=problems(404))
    def listed(t: TestId) -> Response:
        """List the recordings of a test, oldest first."""
        return json_answer({"recordings": recordings(notebook, t)})

    @router.get("/{digest}", response_class=Response, responses={**_BYTES, **problems(404)})
    def one(t: TestId, digest: Annotated[str, Path(max_length=100)]) -> Response:
        """Give a recording by its hash, whatever it says that it is: a browser stores it and shows nothing of it."""
        headers = {"Content-Disposition": f'attachment; filename="recording-{t}"'}
        return Response(recording_bytes(notebook, t, digest), 200, headers, "application/octet-stream")

    return router


def _pieces(file: UploadFile) -> Iterator[bytes]:
    return iter(lambda: file.file.read(_PIECE), b"")
