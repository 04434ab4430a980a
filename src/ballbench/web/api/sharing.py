"""Pairing: links and devices for the machine that runs the bench, and the door where a device hands its link in."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Request
from pydantic import BaseModel, Field, StringConstraints
from starlette.responses import HTMLResponse, Response

from ballbench.errors import Fault
from ballbench.web.api.acts import Body, Number
from ballbench.web.api.answers import json_answer, problems
from ballbench.web.bodies import JsonRoute
from ballbench.web.link_picture import link_svg
from ballbench.web.pairing import LINK_S, Device, Pairing
from ballbench.web.problems import Refused
from ballbench.web.settings import Settings
from ballbench.web.share_pages import pair_html, share_html

__all__ = ["pair_link", "sharing_router"]


class Token(Body):
    """What stands behind the # of a link."""

    token: Annotated[str, StringConstraints(min_length=1, max_length=200)]


class WantedLink(Body):
    """Whose link it is to be."""

    name: Annotated[str, StringConstraints(max_length=60, strip_whitespace=True)] = ""


class Unpaired(Body):
    """A device to shut out."""

    device: Number


class Paired(BaseModel):
    """The device that came in."""

    device: str


class Link(BaseModel):
    """A link for one device."""

    link: str
    svg: str = Field(description="The link as a picture to scan, an SVG element.")
    seconds: int = Field(description="How long it is good for.")


class Sharing(BaseModel):
    """Whether and where the bench is shared, and with which devices."""

    shared: str | None
    devices: list[Device]


def pair_link(shared: str, token: str) -> str:
    """Give a link; the token stands behind the # so that no browser sends it with a request for the page."""
    return f"{shared}/pair#{token}"


def sharing_router(pairing: Pairing, settings: Settings) -> APIRouter:
    """Give the routes of pairing.

    Parameters
    ----------
    pairing : Pairing
        Links and devices.
    settings : Settings
        Where the bench is shared, and the name of the cookie.
    """
    router = APIRouter(tags=["sharing"], route_class=JsonRoute)
    own = APIRouter(tags=["sharing"], route_class=JsonRoute, dependencies=[Depends(_this_machine)])

    def sharing() -> Response:
        return json_answer({"shared": settings.shared, "devices": pairing.devices()})

    @router.post("/api/pair", response_model=Paired, responses=problems(429, body=True))
    def pair(body: Token, request: Request) -> Response:
        """Hand a link's token in, once, for a cookie."""
        device, secret = pairing.pair(body.token, request.client.host if request.client else "")
        response = json_answer({"device": device.name})
        response.set_cookie(settings.cookie, secret, path="/", httponly=True, samesite="strict")
        return response

    @own.get("/api/share", response_model=Sharing, responses=problems())
    def share() -> Response:
        """Say whether the bench is shared, and with which devices; on its own machine only."""
        return sharing()

    @own.post("/api/share/links", response_model=Link, responses=problems(body=True))
    def new_link(body: WantedLink) -> Response:
        """Make a link for one device, good once and for ten minutes; on the bench's own machine only."""
        if settings.shared is None:
            fault = Fault("share", "a bench that is open to this machine alone", "a bench that is shared",
                          "end ballbench and start it with: ballbench open --share")  # fmt: skip
            raise Refused(409, fault)
        link = pair_link(settings.shared, pairing.new_link(body.name))
        return json_answer({"link": link, "svg": link_svg(link), "seconds": int(LINK_S)})

    @own.post("/api/share/unpaired", response_model=Sharing, responses=problems(404, body=True))
    def unpair(body: Unpaired) -> Response:
        """Shut a device out; on the bench's own machine only."""
        if not pairing.unpair(body.device):
            fault = Fault("device", f"no paired device {body.device}", "a paired device", "load the page again")
            raise Refused(404, fault)
        return sharing()

    @router.get("/pair", include_in_schema=False)
    def pair_page() -> Response:
        return HTMLResponse(pair_html())

    @own.get("/share", include_in_schema=False)
    def share_page() -> Response:
        return HTMLResponse(share_html(settings.shared))

    router.include_router(own)
    return router


def _this_machine(request: Request) -> None:
    """Let only the machine that runs the bench make links and shut devices out."""
    if not request.state.local:
        fault = Fault("this device", "a device on the network", "the machine that runs ballbench", "do it there")
        raise Refused(403, fault)
