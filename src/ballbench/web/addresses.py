"""Where a server can be reached: free ports on this machine, and this machine's address on the local network."""

from __future__ import annotations

import socket
import sys
from collections.abc import Iterable
from contextlib import closing
from ipaddress import IPv4Address

from ballbench.errors import BadRequest, Fault

__all__ = ["FIRST_PORT", "LOOPBACK", "bound", "local_network_address"]

LOOPBACK = "127.0.0.1"
FIRST_PORT = 8475
"""First port tried (own choice; not registered to a service that we know of, from memory)."""
_TRIED = 40


def bound(addresses: Iterable[str], port: int | None) -> tuple[socket.socket, ...]:
    """Bind one port on every address.

    Parameters
    ----------
    addresses : iterable of str
        IPv4 addresses of this machine.
    port : int or None
        Which; 0: any that is free; None: the first free one from 8475 up.

    Raises
    ------
    BadRequest
        The port is taken, or no address can be bound.
    """
    tried = (port,) if port is not None else range(FIRST_PORT, FIRST_PORT + _TRIED)
    for one in tried:
        sockets = _bind_all(tuple(addresses), one)
        if sockets is not None:
            return sockets
    found = f"{port}, which is taken" if port is not None else f"{FIRST_PORT} to {FIRST_PORT + _TRIED - 1}, all taken"
    todo = "name another, or 0 for any that is free; or use the bench that is open there already"
    raise BadRequest(Fault("option --port", found, "a free port", todo))


def local_network_address(given: str | None) -> str:
    """Give this machine's address on the local network.

    Parameters
    ----------
    given : str or None
        The address that a person named; None: the one that traffic to other networks leaves from.

    Raises
    ------
    BadRequest
        There is no network, or the address is not this machine's.
    """
    todo = "join a network first, or name this machine's own address with --address"
    if given is not None and not _is_one_address(given):
        raise BadRequest(Fault("option --address", ascii(given), "one IPv4 address of this machine", todo))
    with closing(socket.socket(socket.AF_INET, socket.SOCK_DGRAM)) as probe:
        try:
            if given is not None:
                probe.bind((given, 0))
                return given
            probe.connect(("192.0.2.1", 9))  # a documentation address (RFC 5737): nothing is sent to it
            found = str(probe.getsockname()[0])
        except OSError as error:
            where = "option --share" if given is None else "option --address"
            what = "no network" if given is None else ascii(given)
            raise BadRequest(Fault(where, what, "an address of this machine on a local network", todo)) from error
    if found.startswith(("127.", "0.")):
        raise BadRequest(Fault("option --share", "no network", "an address on a local network", todo))
    return found


def _is_one_address(text: str) -> bool:
    """Say whether a text is an IPv4 address of one machine: an empty one, or all zeros, would listen everywhere."""
    try:
        address = IPv4Address(text)
    except ValueError:
        return False
    return not (address.is_unspecified or address.is_multicast or address.is_reserved)


def _bind_all(addresses: tuple[str, ...], port: int) -> tuple[socket.socket, ...] | None:
    """Bind a port on all addresses or on none; None: it is taken."""
    sockets: list[socket.socket] = []
    for address in addresses:
        made = _bind(address, sockets[0].getsockname()[1] if sockets else port)
        if made is None:
            for one in sockets:
                one.close()
            return None
        sockets.append(made)
    return tuple(sockets)


def _bind(address: str, port: int) -> socket.socket | None:
    # The protocol is named, for the loop sends an answer's last bytes at once on such sockets only (TCP_NODELAY).
    made = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    if sys.platform == "win32":
        made.setsockopt(socket.SOL_SOCKET, socket.SO_EXCLUSIVEADDRUSE, 1)
    else:
        made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)  # a port that was just left may be taken again
    try:
        made.bind((address, port))
        made.listen(128)
    except OSError:
        made.close()
        return None
    return made
