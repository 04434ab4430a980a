"""What is around every route: the door, the bounds on bodies, and one way to say what is wrong."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any, cast

from fastapi import APIRouter, FastAPI, Request
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.responses import Response

import ballbench
from ballbench.errors import BadInput, Fault, NotConverged
from ballbench.web.api.answers import PROBLEM_SCHEMAS
from ballbench.web.bodies import Bodies
from ballbench.web.pairing import Pairing
from ballbench.web.problems import Problem, answer, of_error, of_framework, of_validation
from ballbench.web.right_notebook import RightNotebook
from ballbench.web.safety import Safety
from ballbench.web.settings import Settings

__all__ = ["shell"]


class _Described(FastAPI):
    """An application whose description of its interface holds the shape of a problem once."""

    def openapi(self) -> dict[str, Any]:
        """Describe the interface."""
        described = super().openapi()
        described.setdefault("components", {}).setdefault("schemas", {}).update(PROBLEM_SCHEMAS)
        return described


def shell(settings: Settings, pairing: Pairing, routers: Iterable[APIRouter], name: Callable[[], str]) -> FastAPI:
    """Put routes behind the door.

    Parameters
    ----------
    settings : Settings
        Names, neighbours and bounds.
    pairing : Pairing
        Devices that may come in from the network.
    routers : iterable of APIRouter
        What is inside.
    name : callable
        Gives the notebook's.
    """
    app = _Described(
        title="ballbench", version=ballbench.__version__, openapi_url="/api/openapi.json", docs_url=None,
        redoc_url=None, redirect_slashes=False,
        telemetry={"tracing": False, "metrics": False, "logs": False, "auto_configure": False},
        exception_handlers={
            BadInput: _on_error, NotConverged: _on_error, RequestValidationError: _on_validation,
            HTTPException: _on_framework,
        },
    )  # fmt: skip
    for router in routers:
        app.include_router(router)
    app.add_middleware(RightNotebook, name=name)
    app.add_middleware(Bodies, settings=settings)
    app.add_middleware(Safety, settings=settings, pairing=pairing)
    return app


async def _on_error(request: Request, error: Exception) -> Response:
    return answer(of_error(cast("BadInput | NotConverged", error)), request.url.path)


async def _on_framework(request: Request, error: Exception) -> Response:
    return answer(of_framework(cast("HTTPException", error)), request.url.path)


async def _on_validation(request: Request, error: Exception) -> Response:
    """Say what is wrong with a request; an address with a wrong number in it is an address of nothing."""
    errors = cast("RequestValidationError", error).errors()
    if any(one["loc"][0] == "path" for one in errors):
        found = ascii(str(errors[0].get("input"))[:80])
        fault = Fault("address", found, "a number from the notebook", "begin at the first page")
        return answer(Problem(404, (fault,)), request.url.path)
    return answer(of_validation(errors), request.url.path)
