"""The door of the server: who may ask, for what, and what every answer carries.

Against a page elsewhere that would use the browser of somebody at the bench: the Host header must be the bench's own
(a foreign name that was made to point here is refused), and what changes something must come from the bench's own
pages (Origin, Sec-Fetch-Site). Against others on the network: only paired devices get in. Sources: RFC 9110 section
15.5.20 (421), RFC 6454 (Origin), W3C Fetch Metadata, W3C Content Security Policy level 3.
"""

from __future__ import annotations

from collections.abc import Callable

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import cookie_parser
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from ballbench.errors import Fault
from ballbench.web.pairing import Device, Pairing
from ballbench.web.problems import Problem, answer, of_ours
from ballbench.web.settings import Settings

__all__ = ["HEADERS", "Safety"]

HEADERS = {
    "Content-Security-Policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
        "font-src 'none'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": (
        "accelerometer=(), camera=(), display-capture=(), geolocation=(), gyroscope=(), hid=(), "
        "magnetometer=(), microphone=(), midi=(), payment=(), serial=(), usb=()"
    ),
}
"""What every answer carries."""

_READING = frozenset({"GET", "HEAD", "OPTIONS"})
_UNPAIRED = frozenset({"/pair", "/api/pair"})
"""What a device that is not paired may ask for, beside the style sheets and scripts of the pages."""


class Safety:
    """ASGI middleware around everything else.

    Parameters
    ----------
    app : ASGI application
        What is inside.
    settings : Settings
        Names and neighbours.
    pairing : Pairing
        Devices that may come in from the network.
    """

    def __init__(self, app: ASGIApp, settings: Settings, pairing: Pairing) -> None:
        self._app = app
        self._settings = settings
        self._pairing = pairing

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request in, or say why not; nothing that is raised inside gets out."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        started = False

        async def guarded(message: Message) -> None:
            nonlocal started
            if message["type"] == "http.response.start":
                started = True
                _add_headers(MutableHeaders(scope=message), scope["path"])
            await send(message)

        problem = self._refusal(scope)
        if problem is not None:
            await answer(problem, scope["path"])(scope, receive, guarded)
            return
        try:
            await self._app(scope, receive, guarded)
        except Exception as error:  # whatever is left is a fault of our own
            if started:
                raise
            await answer(of_ours(error), scope["path"])(scope, receive, guarded)

    def _refusal(self, scope: Scope) -> Problem | None:
        """Give the first reason against a request; None: it may come in."""
        headers = Headers(scope=scope)
        checks: tuple[Callable[[Scope, Headers], Problem | None], ...] = (self._host, self._peer, _from_elsewhere)
        return next((problem for check in checks if (problem := check(scope, headers)) is not None), None)

    def _host(self, _scope: Scope, headers: Headers) -> Problem | None:
        hosts = headers.getlist("host")
        if len(hosts) == 1 and hosts[0].lower() in self._settings.hosts:
            return None
        found = ascii(", ".join(hosts)[:80]) if hosts else "nothing"
        allowed = " or ".join(sorted(self._settings.hosts))
        return _problem(421, "header Host", found, allowed, "open the address that ballbench shows in its terminal")

    def _peer(self, scope: Scope, headers: Headers) -> Problem | None:
        peer = scope["client"][0] if scope.get("client") else None
        local = self._settings.is_local(peer)
        device = None if local else self._device(headers)
        scope.setdefault("state", {}).update(local=local, device=device)
        path = scope["path"]
        if local or device is not None or path in _UNPAIRED or path.startswith("/static/"):
            return None
        todo = (
            "open the page Share on the machine that runs ballbench, and scan the picture there with this device; "
            "if it was paired already, load this page again"
        )
        return _problem(403, "this device", "a device that is not paired", "paired devices", todo)

    def _device(self, headers: Headers) -> Device | None:
        cookies = cookie_parser(headers.get("cookie", ""))
        return self._pairing.device_of(cookies.get(self._settings.cookie, ""))


def _from_elsewhere(scope: Scope, headers: Headers) -> Problem | None:
    """Refuse what a page of another place asks for, but for following a link to one of our pages."""
    own = f"http://{headers['host'].lower()}"
    site, origin = headers.get("sec-fetch-site"), headers.get("origin")
    todo = "do it on the bench's own pages, or send the header Origin as it is allowed"
    if scope["method"] in _READING:
        link = headers.get("sec-fetch-mode") == "navigate" and headers.get("sec-fetch-dest") == "document"
        if site in (None, "same-origin", "none") or (link and not scope["path"].startswith("/api/")):
            return None
        return _problem(403, "header Sec-Fetch-Site", ascii(site), "same-origin", todo)
    if origin is not None and origin.lower() != own:
        return _problem(403, "header Origin", ascii(origin[:80]), own, todo)
    if site not in (None, "same-origin"):
        return _problem(403, "header Sec-Fetch-Site", ascii(site), "same-origin", todo)
    json = headers.get("content-type", "").partition(";")[0].strip().lower() == "application/json"
    if origin is None and site is None and not json and headers.get("content-type") is not None:
        # A browser sends JSON elsewhere only after asking, which nobody here answers; files it sends without asking.
        return _problem(403, "header Origin", "nothing", own, todo)
    return None


def _add_headers(headers: MutableHeaders, path: str) -> None:
    for name, value in HEADERS.items():
        headers[name] = value
    if path.startswith("/api/"):
        headers["Cache-Control"] = "no-store"
    else:
        headers.setdefault("Cache-Control", "no-cache, private")


def _problem(status: int, where: str, found: str, allowed: str, todo: str) -> Problem:
    return Problem(status, (Fault(where, found, allowed, todo),))
