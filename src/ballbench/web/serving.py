"""Run the bench's server in this process until it is told to end."""

from __future__ import annotations

import socket
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from fastapi import FastAPI

from ballbench.web.addresses import LOOPBACK, bound, local_network_address
from ballbench.web.api.sharing import pair_link
from ballbench.web.bench_server import server_of
from ballbench.web.settings import Settings

__all__ = ["Listening", "listen", "serve"]


@dataclass(frozen=True, slots=True)
class Listening:
    """Bound sockets and the settings that go with them.

    Parameters
    ----------
    sockets : tuple of socket
        This machine's first.
    address : str
        For a browser on this machine.
    settings : Settings
        Of the server.
    """

    sockets: tuple[socket.socket, ...]
    address: str
    settings: Settings


def listen(port: int | None, *, share: bool = False, address: str | None = None) -> Listening:
    """Bind the addresses of a server.

    Parameters
    ----------
    port : int or None
        As in `bound`.
    share : bool
        Listen on the local network too.
    address : str or None
        This machine's address there, where a person named it.

    Raises
    ------
    BadRequest
        The port is taken, or there is no network to share on.
    """
    other = local_network_address(address) if share else None
    sockets = bound((LOOPBACK, other) if other is not None else (LOOPBACK,), port)
    number = sockets[0].getsockname()[1]
    hosts = _hosts((LOOPBACK, "localhost", *((other,) if other is not None else ())), number)
    settings = Settings(
        hosts=hosts,
        shared=f"http://{other}:{number}" if other is not None else None,
        cookie=f"ballbench_{number}",
    )
    return Listening(sockets, f"http://{LOOPBACK}:{number}", settings)


def serve(app: FastAPI, listening: Listening, ready: Callable[[str | None], None]) -> None:
    """Serve until a signal ends it.

    Parameters
    ----------
    app : FastAPI
        From `make_app`, with the settings of `listening`.
    listening : Listening
        From `listen`.
    ready : callable
        Called when requests are taken, with a link for one device where the bench is shared, else None.
    """
    shared = listening.settings.shared

    def say() -> None:
        ready(None if shared is None else pair_link(shared, app.state.pairing.new_link("")))

    server_of(app, say).run(list(listening.sockets))


def _hosts(names: Sequence[str], port: int) -> frozenset[str]:
    bare = names if port == 80 else ()
    return frozenset(f"{name}:{port}" for name in names) | frozenset(bare)
