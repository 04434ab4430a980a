"""Files: those of a test to take away, and a test that comes in from files."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any
from uuid import UUID

from fastapi import APIRouter, File, Form, UploadFile
from starlette.responses import Response

from ballbench.errors import BadRequest, Fault
from ballbench.web.api.acts import LONGEST_REQUIREMENT, Act, Line, Moment, TestId
from ballbench.web.api.answers import json_answer, problems
from ballbench.web.api.shapes import BALL_TEST
from ballbench.web.bodies import JsonRoute, UploadRoute
from ballbench.web.sender_clock import taken_at
from ballbench.web.uploads import laid_out
from ballbench.workflows.demo import example_folder
from ballbench.workflows.exchange import FILES, export_file
from ballbench.workflows.keep import EXAMPLE
from ballbench.workflows.take_in_test import TakeIn, TakeInWhole, take_in_test, take_in_whole

if TYPE_CHECKING:
    from ballbench.workflows.opening import Notebook

__all__ = ["files_router"]

_KINDS = {
    "csv": "text/csv; charset=utf-8",
    "toml": "text/plain; charset=utf-8",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    "zip": "application/zip",
}
_FILE: dict[int | str, dict[str, Any]] = {
    200: {"description": f"One of {', '.join(FILES)}.", "content": {kind: {} for kind in _KINDS.values()}}
}


def files_router(notebook: Notebook) -> APIRouter:
    """Give the routes of files."""
    router = APIRouter(tags=["files"])

    @router.get("/api/tests/{t}/files/{name}", response_class=Response, responses={**_FILE, **problems(404, 409)})
    def file(t: TestId, name: str) -> Response:
        """Give one file of a test; a blind test gives none while it goes on."""
        content = export_file(notebook, t, name)
        headers = {"Content-Disposition": f'attachment; filename="test-{t}-{name}"'}
        return Response(content, headers=headers, media_type=_KINDS[name.rpartition(".")[2]])

    _imports(router, notebook)
    return router


def _imports(router: APIRouter, notebook: Notebook) -> None:
    uploads, example = APIRouter(route_class=UploadRoute), APIRouter(route_class=JsonRoute)

    @uploads.post("/api/imports", status_code=201, response_model=BALL_TEST, responses=problems(body=True))
    def take_in(
        readings: Annotated[UploadFile, File()],
        requirement: Annotated[UploadFile | str, Form(description="An id, or a requirement file.")],
        key: Annotated[UUID, Form()],
        by: Annotated[Line, Form()],
        title: Annotated[Line, Form()] = "",
        client: Annotated[UUID | None, Form()] = None,
        at: Annotated[Moment | None, Form()] = None,
        corrections: Annotated[UploadFile | None, File()] = None,
        balls: Annotated[UploadFile | None, File()] = None,
        bench: Annotated[UploadFile | None, File()] = None,
        test: Annotated[UploadFile | None, File(description="test.toml of a test that was handed out.")] = None,
    ) -> Response:
        """Make a finished test of files, as `ballbench judge` reads them."""
        sent = {"readings": readings, "corrections": corrections, "balls": balls, "bench": bench, "test": test}
        with laid_out(sent) as files:
            request = TakeIn(
                str(key), str(client or ""), by, taken_at(at).isoformat() if at else "",
                _needed("readings", files["readings"]), _text_of(requirement), files["corrections"], files["balls"],
                files["bench"], title, test=files["test"],
            )  # fmt: skip
            return json_answer(take_in_test(notebook, request), 201)

    @uploads.post("/api/imports/whole", status_code=201, response_model=BALL_TEST, responses=problems(body=True))
    def take_whole_in(
        archive: Annotated[UploadFile, File(description="everything.zip of a test that was handed out.")],
        key: Annotated[UUID, Form()],
        by: Annotated[Line, Form()],
        title: Annotated[Line, Form()] = "",
        client: Annotated[UUID | None, Form()] = None,
        at: Annotated[Moment | None, Form()] = None,
    ) -> Response:
        """Make a finished test of an archive that a notebook handed out: its files, and its recordings."""
        with laid_out({"archive": archive}) as files:
            request = TakeInWhole(
                str(key), str(client or ""), by, taken_at(at).isoformat() if at else "",
                _needed("archive", files["archive"]), title,
            )  # fmt: skip
            return json_answer(take_in_whole(notebook, request), 201)

    @example.post(EXAMPLE, status_code=201, response_model=BALL_TEST, responses=problems(body=True))
    def take_in_example(body: Act) -> Response:
        """Make a test of the invented winter league."""
        folder = example_folder()
        rule = (folder / "league-ball.toml").read_text(encoding="utf-8")
        corrections, balls, bench = (folder / name for name in ("corrections.csv", "balls.csv", "bench.toml"))
        request = TakeIn(*body.stamp(), folder / "readings.csv", rule, corrections, balls, bench)
        return json_answer(take_in_test(notebook, request), 201)

    router.include_router(uploads)
    router.include_router(example)


def _needed(field: str, file: Path | None) -> Path:
    if file is None:
        allowed = {"readings": "a readings file, CSV or XLSX", "archive": "an archive, ZIP"}[field]
        raise BadRequest(Fault(field, "no file", allowed, "choose one"))
    return file


def _text_of(requirement: UploadFile | str) -> str:
    """Give the id, or the text of the file, of a requirement."""
    if isinstance(requirement, str):
        return requirement
    try:
        text = requirement.file.read(LONGEST_REQUIREMENT + 1).decode("utf-8-sig")
    except UnicodeDecodeError as error:
        fault = Fault("requirement", "a file that is not UTF-8", "a requirement file (TOML) in UTF-8", "save it so")
        raise BadRequest(fault) from error
    if len(text) > LONGEST_REQUIREMENT:
        found = f"more than {LONGEST_REQUIREMENT} characters"
        raise BadRequest(Fault("requirement", found, f"at most {LONGEST_REQUIREMENT}", "shorten it"))
    return text
