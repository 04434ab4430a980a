"""What a server is told about itself: its names, who is local, and how much it lets in."""

from __future__ import annotations

from dataclasses import dataclass
from ipaddress import IPv6Address, ip_address

__all__ = ["Settings"]

_KIB = 1024


@dataclass(frozen=True, slots=True)
class Settings:
    """Names, neighbours and bounds of one server.

    Parameters
    ----------
    hosts : frozenset of str
        What the Host header may say, lower case, such as ``"127.0.0.1:8475"``.
    local : frozenset of str
        Addresses whose requests come from this machine; everybody else needs to be paired.
    shared : str or None
        Address for other devices, such as ``"http://192.0.2.7:8475"``; None: this machine alone.
    cookie : str
        Name of the cookie of a paired device. Cookies do not keep ports apart, so the name does.
    json_bytes, upload_bytes : int
        Most that the body of a request may hold, as JSON and as files (own choice).
    patience_s : float
        Longest wait for a body, for files for their next part (own choice).
    heartbeat_s, poll_s : float
        A quiet stream says so at least so often, and looks into the notebook for what another process wrote
        (own choice).
    streams_each, streams_in_all : int
        Most open streams of one address, and of all (own choice; a browser opens six to one server at most).
    """

    hosts: frozenset[str]
    local: frozenset[str] = frozenset({"127.0.0.1", "::1"})
    shared: str | None = None
    cookie: str = "ballbench"
    json_bytes: int = 1024 * _KIB
    upload_bytes: int = 64 * 1024 * _KIB
    patience_s: float = 30.0
    heartbeat_s: float = 15.0
    poll_s: float = 5.0
    streams_each: int = 24
    streams_in_all: int = 96

    def is_local(self, peer: str | None) -> bool:
        """Say whether a peer's address is one of this machine's own; an address that cannot be read is not.

        Parameters
        ----------
        peer : str or None
            Such as ``"127.0.0.1"`` or ``"::ffff:127.0.0.1"``.
        """
        try:
            address = ip_address(peer or "")
        except ValueError:
            return False
        if isinstance(address, IPv6Address) and address.ipv4_mapped is not None:
            address = address.ipv4_mapped
        return str(address) in self.local
