from __future__ import annotations

import socket
from contextlib import ExitStack

import pytest
from servers import settings_for

from ballbench.errors import BadRequest
from ballbench.web.addresses import FIRST_PORT, LOOPBACK, bound, local_network_address
from ballbench.web.serving import listen

EVERYBODY = "0.0.0.0"  # noqa: S104 - this is what must be refused


def test_a_taken_port_is_said_and_another_is_found() -> None:
    """A named port that is taken is refused with what to do; without a name the next free one from 8475 up is taken."""
    with ExitStack() as stack:
        first, second = (stack.enter_context(bound([LOOPBACK], None)[0]) for _ in range(2))
        ports = [one.getsockname()[1] for one in (first, second)]
        assert FIRST_PORT <= ports[0] < ports[1] < FIRST_PORT + 40
        with pytest.raises(BadRequest) as refused:
            bound([LOOPBACK], ports[0])
        (fault,) = refused.value.faults
        assert str(ports[0]) in fault.found
        assert "0" in fault.todo


def test_two_addresses_have_the_same_port() -> None:
    """Loopback and network address listen on one port; where it is taken on one of them, both have the next."""
    with ExitStack() as stack:
        taken = stack.enter_context(bound(["127.0.0.2"], 0)[0])
        port = taken.getsockname()[1]
        with pytest.raises(BadRequest):
            bound([LOOPBACK, "127.0.0.2"], port)
        stack.enter_context(bound([LOOPBACK], port)[0])
        pair = [stack.enter_context(one) for one in bound([LOOPBACK, "127.0.0.2"], 0)]
        assert len({one.getsockname()[1] for one in pair}) == 1
        assert [one.getsockname()[0] for one in pair] == [LOOPBACK, "127.0.0.2"]


@pytest.mark.parametrize(
    "address", ["192.0.2.1", "not an address", "", EVERYBODY, "0", "300.1.1.1", "::1", "255.255.255.255"]
)
def test_an_address_that_is_not_this_machine_s_is_refused(address: str) -> None:
    """An address of somebody else (192.0.2.1: RFC 5737), of everybody, or none is refused before anything listens."""
    with pytest.raises(BadRequest) as refused:
        local_network_address(address)
    assert refused.value.faults[0].where == "option --address"


def test_an_address_of_this_machine_can_be_named() -> None:
    """An address that this machine has is taken as it is named."""
    assert local_network_address("127.0.0.2") == "127.0.0.2"


def test_without_a_network_there_is_nothing_to_share_on(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where no traffic can leave, sharing is refused with what to do."""

    def unreachable(_: object, __: object) -> None:
        raise OSError(101, "Network is unreachable")

    monkeypatch.setattr(socket.socket, "connect", unreachable)
    with pytest.raises(BadRequest) as refused:
        local_network_address(None)
    assert "network" in refused.value.faults[0].todo


def test_alone_a_server_listens_on_this_machine_only() -> None:
    """Unless sharing is asked for, one socket is bound, on the loopback address, and only its names are answered."""
    listening = listen(0)
    (one,) = listening.sockets
    with one:
        host, port = one.getsockname()
        assert host == LOOPBACK
        assert listening.settings.shared is None
        assert listening.settings.hosts == {f"127.0.0.1:{port}", f"localhost:{port}"}


def test_shared_a_server_answers_to_its_network_address_too() -> None:
    """With sharing there is a second socket, and its address is one more name; nothing listens on all addresses."""
    listening = listen(0, share=True, address="127.0.0.2")
    with ExitStack() as stack:
        names = [stack.enter_context(one).getsockname()[0] for one in listening.sockets]
        port = listening.sockets[0].getsockname()[1]
        assert names == [LOOPBACK, "127.0.0.2"]
        assert listening.settings.shared == f"http://127.0.0.2:{port}"
        assert f"127.0.0.2:{port}" in listening.settings.hosts
        assert not listening.settings.is_local("127.0.0.2")


@pytest.mark.parametrize(
    ("peer", "local"),
    [("127.0.0.1", True), ("::1", True), ("::ffff:127.0.0.1", True), ("127.0.0.2", False), ("192.168.1.7", False),
     ("::ffff:192.168.1.7", False), (EVERYBODY, False), ("::", False), ("localhost", False), ("", False), (None, False),
     ("127.0.0.1 ", False), ("0x7f.1", False), ("127.1", False), ("::1%lo", False)],
)  # fmt: skip
def test_who_is_local_is_told_by_the_address_alone(peer: str | None, local: bool) -> None:
    """The loopback addresses are local, mapped into IPv6 too (RFC 4291, 2.5.5.2); what is no address is not."""
    from ballbench.web.settings import Settings  # noqa: PLC0415 - the defaults are the point here

    assert Settings(frozenset()).is_local(peer) is local
    assert not settings_for(1, local=frozenset()).is_local(peer)
