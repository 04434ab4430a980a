"""The one shape of an error: problem details (RFC 9457) with faults that say where, what, the rule and what to do.

The API answers them as JSON, the pages as a page with the same sentences.
"""

from __future__ import annotations

import logging
import re
import reprlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from http import HTTPStatus
from typing import Any

from pydantic_core import to_json
from starlette.exceptions import HTTPException
from starlette.responses import HTMLResponse, Response

from ballbench.errors import BadInput, BadNotebook, Conflict, Fault, NotConverged, NotFound
from ballbench.presentation.screens.problem_page import ProblemPage, problem_html

__all__ = [
    "MEDIA_TYPE",
    "Problem",
    "Refused",
    "answer",
    "is_page",
    "of_error",
    "of_framework",
    "of_ours",
    "of_validation",
]

MEDIA_TYPE = "application/problem+json"
_SHOWN = 50
_TITLES = {
    403: "This is not allowed here",
    404: "There is no such thing",
    405: "This cannot be done here",
    408: "The rest did not come",
    409: "Something else was done meanwhile",
    413: "This is too large",
    415: "This is the wrong kind of content",
    421: "This address is not the bench's",
    422: "This cannot be used",
    429: "Too many at once",
    500: "This is a fault of ballbench",
    503: "The notebook does not answer",
}
_ONE_OF = {"boxes": "box"}
_STATUS = ((NotFound, 404), (Conflict, 409), (BadNotebook, 503), (BadInput, 422))


@dataclass(frozen=True, slots=True)
class Problem:
    """An error to answer with.

    Parameters
    ----------
    status : int
        HTTP status.
    faults : tuple of Fault
        What is wrong; never empty.
    more : int
        How many further faults are not listed.
    headers : mapping
        What else the answer must carry.
    """

    status: int
    faults: tuple[Fault, ...]
    more: int = 0
    headers: Mapping[str, str] = field(default_factory=dict)

    @property
    def title(self) -> str:
        """What kind of problem it is, in words."""
        return _TITLES.get(self.status) or HTTPStatus(self.status).phrase


class Refused(HTTPException):
    """The web itself refuses a request.

    Parameters
    ----------
    status : int
        HTTP status.
    fault : Fault
        Why, and what to do.
    headers : mapping, optional
        What else the answer must carry.
    """

    def __init__(self, status: int, fault: Fault, headers: Mapping[str, str] | None = None) -> None:
        self.problem = Problem(status, (fault,), headers=headers or {})
        super().__init__(status, str(fault))


def is_page(path: str) -> bool:
    """Say whether a person looks at the answer, so that it must be a page."""
    return not path.startswith(("/api/", "/static/"))


def answer(problem: Problem, path: str) -> Response:
    """Write a problem as the path's reader expects it.

    Parameters
    ----------
    problem : Problem
        What is wrong.
    path : str
        Of the request.
    """
    headers = dict(problem.headers)
    if is_page(path):
        page = problem_html(ProblemPage(problem.status, problem.title, problem.faults))
        return HTMLResponse(page, problem.status, headers)
    body = {
        "type": "about:blank", "title": problem.title, "status": problem.status,
        "faults": [asdict(fault) for fault in problem.faults],
    }  # fmt: skip
    if problem.more:
        body["more"] = problem.more
    return Response(to_json(body), problem.status, headers, MEDIA_TYPE)


def of_error(error: BadInput | NotConverged) -> Problem:
    """Turn what a workflow raised into a problem."""
    if isinstance(error, NotConverged):
        fault = Fault("readings", str(error), "readings that an answer can be computed from",
                      "give more readings, or readings with a finer display")  # fmt: skip
        return Problem(422, (fault,))
    status = next(status for kind, status in _STATUS if isinstance(error, kind))
    return Problem(status, error.faults[:_SHOWN], error.more + max(len(error.faults) - _SHOWN, 0))


def of_ours(error: BaseException) -> Problem:
    """Turn an unforeseen exception into a problem that gives nothing of it away; its traceback goes to the terminal."""
    logging.getLogger("ballbench.web").error("ballbench: a fault of its own", exc_info=error)
    todo = "send it again; what was acknowledged is safe. If it stays, report what the terminal shows"
    fault = Fault("ballbench", "a fault of its own, not of your data", "a request that it can answer", todo)
    return Problem(500, (fault,))


def of_framework(error: HTTPException) -> Problem:
    """Turn what the framework itself refuses into a problem: no such address or method, a body that is none."""
    if isinstance(error, Refused):
        return error.problem
    headers = dict(error.headers or {})
    if error.status_code == 404:
        fault = Fault("address", "nothing", "an address of the bench", "begin at the first page")
    elif error.status_code == 405:
        allowed = headers.get("allow", headers.get("Allow", "another method"))
        fault = Fault("method", "one that this address does not know", allowed, "use that one")
    elif error.status_code == 400:
        fault = Fault("body", str(error.detail), "a body that can be read", "send it again")
        return Problem(422, (fault,))
    else:
        fault = Fault("request", str(error.detail), "a request that can be answered", "change it")
    return Problem(error.status_code, (fault,), headers=headers)


def of_validation(errors: Iterable[Mapping[str, Any]]) -> Problem:
    """Turn what the framework says about a request into faults.

    Parameters
    ----------
    errors : iterable of mapping
        As pydantic gives them: ``loc``, ``type``, ``msg``, ``input``.
    """
    faults = tuple(_fault(error) for error in errors)
    return Problem(422, faults[:_SHOWN], max(len(faults) - _SHOWN, 0))


def _fault(error: Mapping[str, Any]) -> Fault:
    where = _place(error["loc"])
    kind, given = str(error["type"]), error.get("input")
    if kind in {"missing", "missing_argument"}:
        return Fault(where, "nothing", "a value", "add it")
    if kind == "json_invalid":
        return Fault("body", f"text that is not JSON: {error['ctx']['error']}", "JSON", "send it as JSON")
    if kind in {"extra_forbidden", "unexpected_keyword_argument"}:
        return Fault(where, _shown(given), "the fields of the interface only", "leave it out")
    return Fault(where, "nothing" if given is None else _shown(given), _rule(str(error["msg"])), "change it")


def _place(parts: Sequence[str | int]) -> str:
    """Name a place as the workflows do, counted from 1: ``"makes 1, box 2, balls"``."""
    named: list[str] = []
    for part in parts[1:] if parts and parts[0] in {"body", "query", "header"} else parts:
        if isinstance(part, int) and named:
            named[-1] = f"{_ONE_OF.get(named[-1], named[-1])} {part + 1}"
        else:
            named.append(str(part))
    return ", ".join(named) or "body"


def _rule(message: str) -> str:
    """Say a rule of pydantic's as a part of a sentence."""
    for before in ("Value error, ", "Assertion failed, "):
        message = message.removeprefix(before)
    text = re.sub(r"^(Input|\w+) should (be|have|match) ", "", message)
    return text[:1].lower() + text[1:]


def _shown(value: object) -> str:
    """Quote what stands there, shortened; what cannot be written is escaped."""
    short = reprlib.Repr()
    short.maxstring = short.maxother = 60
    return short.repr(value)
