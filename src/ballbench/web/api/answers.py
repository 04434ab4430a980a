"""How the interface answers: JSON of records as they are, and which problems an operation can have."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import BaseModel, Field
from pydantic.json_schema import models_json_schema
from pydantic_core import to_json
from starlette.responses import Response

from ballbench.web.problems import MEDIA_TYPE

__all__ = ["PROBLEM_SCHEMAS", "document", "json_answer", "json_text", "problems"]


class Fault(BaseModel):
    """One thing that is wrong: where, what was found, what is allowed, what to do."""

    where: str
    found: str
    allowed: str
    todo: str


class Problem(BaseModel):
    """An error (RFC 9457)."""

    type: Literal["about:blank"]
    title: str
    status: int
    faults: list[Fault] = Field(min_length=1)
    more: int | None = Field(default=None, description="How many further faults are not listed.")


PROBLEM_SCHEMAS: dict[str, Any] = models_json_schema(
    [(Problem, "serialization")], ref_template="#/components/schemas/{model}"
)[1]["$defs"]
"""Shapes of a problem, for the description's components."""

_SAID = {
    403: "Asked for by another place's page, or by a device that is not paired.",
    404: "There is no such thing.",
    408: "The body did not come on.",
    409: "What was done meanwhile stands against it.",
    413: "The body is too large.",
    415: "The body is of the wrong kind.",
    421: "The Host header is not the bench's.",
    422: "It cannot be used.",
    429: "Too many at once.",
    503: "The notebook does not answer; nothing was kept, and it can be sent again.",
}
_ALWAYS = (403, 421, 422, 503)
_OF_BODIES = (408, 409, 413, 415)


def json_answer(value: Any, status: int = 200) -> Response:
    """Answer with JSON.

    Parameters
    ----------
    value : record, dict, list or plain value
        Frozen records become objects of their fields; a number that is none becomes null.
    status : int
        Of the answer.
    """
    return Response(to_json(value, inf_nan_mode="null"), status, media_type="application/json")


def json_text(text: str, status: int = 200) -> Response:
    """Answer with JSON that is written already: the bytes that the command line gives."""
    return Response(text.encode("utf-8"), status, media_type="application/json")


def document(name: str) -> dict[int | str, dict[str, Any]]:
    """Describe a document by the name of its format, which its own text holds."""
    schema = {"type": "object", "required": ["format"], "properties": {"format": {"const": name}}}
    return {200: {"description": f"Format {name}.", "content": {"application/json": {"schema": schema}}}}


def problems(*more: int, body: bool = False) -> dict[int | str, dict[str, Any]]:
    """Say in the interface's description which problems an operation can have.

    Parameters
    ----------
    more : int
        Statuses beside those that every operation has.
    body : bool
        It brings a body.
    """
    statuses = sorted({*_ALWAYS, *more, *(_OF_BODIES if body else ())})
    content = {MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}}}
    return {status: {"description": _SAID[status], "content": content} for status in statuses}
