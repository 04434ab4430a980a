from __future__ import annotations

import re
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import pytest
from servers import Running, act, probe_server

from ballbench.web.link_picture import link_blocks, link_svg
from ballbench.web.pairing import LINK_S, Pairing
from ballbench.web.problems import Refused

PHONE = "127.0.0.2"
"""An address of this machine that these servers take for another device: 127.0.0.1 alone is local."""
OTHER = "127.0.0.3"
SHARED = "http://192.0.2.7:8475"


@dataclass
class Clock:
    """A clock that goes on when it is told to."""

    at: float = 1000.0

    def __call__(self) -> float:
        """Now."""
        return self.at


def token_of(server: Running, name: str = "phone") -> str:
    """Make a link on the machine itself and give its token."""
    link = server.post("/api/share/links", {"name": name}).json()["link"]
    address, token = link.split("/pair#")
    assert address == SHARED
    return str(token)


def cookie_of(server: Running, token: str, peer: str = PHONE) -> dict[str, str]:
    """Hand a token in and give the Cookie header that a browser would send from then on."""
    answer = server.post("/api/pair", {"token": token}, peer=peer)
    assert answer.status == 200, answer.body
    return {"Cookie": answer.headers["set-cookie"].partition(";")[0]}


@pytest.fixture
def shared() -> Running:
    """A server that is shared, new for each test."""
    with probe_server(shared=SHARED) as server:
        yield server


def test_a_device_that_is_not_paired_sees_nothing(shared: Running) -> None:
    """Without pairing all is 403, whether it is there or not, but the page that pairs and the files of the pages."""
    for path in ("/", "/tests/1", "/nothing", "/share"):
        answer = shared.ask("GET", path, peer=PHONE)
        assert answer.status == 403
        assert b"page Share" in answer.body
        assert b"The bench" not in answer.body
    for path in ("/api/probe", "/api/openapi.json", "/api/share", "/api/nothing"):
        answer = shared.ask("GET", path, peer=PHONE)
        assert (answer.status, answer.headers["content-type"]) == (403, "application/problem+json")
    assert shared.post("/api/probe", act(text="1"), peer=PHONE).status == 403
    assert shared.seen == []
    assert shared.ask("GET", "/pair", peer=PHONE).status == 200
    assert shared.ask("GET", "/static/pair.js", peer=PHONE).status == 200


def test_this_machine_needs_no_pairing(shared: Running) -> None:
    """Requests from 127.0.0.1 are let in without a cookie."""
    assert shared.ask("GET", "/api/probe").json() == {"local": True, "device": None}


def test_a_link_pairs_one_device_once(shared: Running) -> None:
    """A link's token gives a cookie with which the device reads and writes; it is good no second time, from nowhere."""
    token = token_of(shared)
    cookie = cookie_of(shared, token)
    assert shared.ask("GET", "/api/probe", cookie, peer=PHONE).json()["device"]["name"] == "phone"
    assert shared.post("/api/probe", act(text="40.12"), cookie, peer=PHONE).status == 200
    for peer in (PHONE, OTHER, "127.0.0.1"):
        assert shared.post("/api/pair", {"token": token}, peer=peer).status == 403


def test_the_cookie_is_for_this_server_alone(shared: Running) -> None:
    """No script reads the cookie, no other site sends it, and its name holds the port (RFC 6265, 8.5)."""
    answer = shared.post("/api/pair", {"token": token_of(shared)}, peer=PHONE)
    parts = [part.strip().lower() for part in answer.headers["set-cookie"].split(";")]
    assert parts[0].startswith(f"ballbench_{shared.port}=")
    assert sorted(parts[1:]) == ["httponly", "path=/", "samesite=strict"]
    secret = parts[0].partition("=")[2]
    assert len(secret) >= 43
    assert secret.encode() not in answer.body


@pytest.mark.parametrize("cookie", ["", "x" * 43, "a=b; c", "\x01", "é"])
def test_an_invented_cookie_opens_nothing(shared: Running, cookie: str) -> None:
    """A cookie of the right name and another secret, or one that cannot be read, is 403."""
    header = {"Cookie": f"ballbench_{shared.port}={cookie}"}
    assert shared.ask("GET", "/api/probe", header, peer=PHONE).status == 403


def test_another_program_s_cookies_do_no_harm(shared: Running) -> None:
    """Cookies of other servers on the same machine come along; ours is found among them."""
    ours = cookie_of(shared, token_of(shared))["Cookie"]
    header = {"Cookie": f'odd; theirs="a b; {ours}; json={{"a": 1}}'}
    assert shared.ask("GET", "/api/probe", header, peer=PHONE).status == 200


def test_a_paired_device_cannot_pair_others(shared: Running) -> None:
    """Making links, seeing the devices and shutting them out is left to the machine itself: 403 for a paired device."""
    cookie = cookie_of(shared, token_of(shared))
    for answer in (
        shared.ask("GET", "/share", cookie, peer=PHONE), shared.ask("GET", "/api/share", cookie, peer=PHONE),
        shared.post("/api/share/links", {"name": "x"}, cookie, peer=PHONE),
        shared.post("/api/share/unpaired", {"device": 1}, cookie, peer=PHONE),
    ):  # fmt: skip
        assert answer.status == 403


def test_a_device_is_listed_and_shut_out(shared: Running) -> None:
    """The machine sees each device by name and address; one that is shut out is refused, the other stays."""
    first, second = cookie_of(shared, token_of(shared)), cookie_of(shared, token_of(shared, ""), OTHER)
    devices = shared.ask("GET", "/api/share").json()["devices"]
    assert [(one["name"], one["address"]) for one in devices] == [("phone", PHONE), ("Device 2", OTHER)]
    left = shared.post("/api/share/unpaired", {"device": devices[0]["id"]}).json()["devices"]
    assert [one["name"] for one in left] == ["Device 2"]
    assert shared.ask("GET", "/api/probe", first, peer=PHONE).status == 403
    assert shared.ask("GET", "/api/probe", second, peer=OTHER).status == 200
    assert shared.post("/api/share/unpaired", {"device": devices[0]["id"]}).status == 404


def test_a_page_elsewhere_cannot_pair_or_make_links(shared: Running) -> None:
    """The same checks of origin and kind hold for pairing; a refused attempt does not use the token up."""
    token = token_of(shared)
    assert shared.post("/api/pair", {"token": token}, {"Origin": "http://evil.example"}, PHONE).status == 403
    assert shared.post("/api/share/links", {}, {"Origin": "null"}).status == 403
    assert shared.ask("POST", "/api/pair", {}, f"token={token}".encode(), PHONE).status == 415
    cookie_of(shared, token)


def test_guessing_is_slowed_down(shared: Running) -> None:
    """After five wrong tokens an address gets 429, for a right one too; another address is not held up."""
    for guess in range(5):
        assert shared.post("/api/pair", {"token": f"guess {guess}"}, peer=PHONE).status == 403
    token = token_of(shared)
    answer = shared.post("/api/pair", {"token": token}, peer=PHONE)
    assert answer.status == 429
    assert 0 < int(answer.headers["retry-after"]) <= LINK_S + 1
    cookie_of(shared, token, OTHER)


def test_without_sharing_there_are_no_links() -> None:
    """A server that is not shared says how to share, and makes no link."""
    with probe_server() as server:
        assert b"ballbench open --share" in server.ask("GET", "/share").body
        answer = server.post("/api/share/links", {"name": "phone"})
        assert answer.status == 409
        assert "--share" in answer.json()["faults"][0]["todo"]


def test_the_token_is_in_no_address_and_in_no_log(shared: Running, caplog: pytest.LogCaptureFixture) -> None:
    """The token stands behind the #, which no browser sends; neither the page that hands it in nor a log holds it."""
    with caplog.at_level(0):
        token = token_of(shared)
        page = shared.ask("GET", "/pair", peer=PHONE)
        cookie_of(shared, token)
    assert {*re.findall(rb'src="([^"]+)"', page.body)} == {b"/static/waits_line.js", b"/static/pair.js"}
    assert token.encode() not in page.body
    assert not [record for record in caplog.records if token in record.getMessage()]


def test_a_link_grows_old() -> None:
    """A token is good until just before its ten minutes are over, and not from then on."""
    clock = Clock()
    pairing = Pairing(clock)
    young, old = pairing.new_link("a"), pairing.new_link("b")
    clock.at += LINK_S - 0.1
    assert pairing.pair(young, PHONE)[0].name == "a"
    clock.at += 0.1
    with pytest.raises(Refused) as refused:
        pairing.pair(old, PHONE)
    assert refused.value.problem.status == 403


def test_an_address_that_guessed_may_try_again_later() -> None:
    """Wrong tokens are forgotten after as long as a link lives."""
    clock = Clock()
    pairing = Pairing(clock)
    for _ in range(5):
        with pytest.raises(Refused):
            pairing.pair("guess", PHONE)
    clock.at += LINK_S + 1
    assert pairing.pair(pairing.new_link("phone"), PHONE)[0].name == "phone"


def test_open_links_are_bounded_and_the_oldest_ends() -> None:
    """Twenty links are open at most: the twenty-first ends the first and no other."""
    pairing = Pairing(Clock())
    tokens = [pairing.new_link("") for _ in range(21)]
    with pytest.raises(Refused):
        pairing.pair(tokens[0], PHONE)
    assert [pairing.pair(token, OTHER)[0].id for token in tokens[1:]] == list(range(1, 21))


def test_of_many_at_the_same_moment_one_gets_in() -> None:
    """Of 32 threads with one token, each from an address of its own, exactly one is paired."""
    pairing = Pairing()
    token = pairing.new_link("phone")

    def attempt(i: int) -> bool:
        try:
            pairing.pair(token, f"192.0.2.{i}")
        except Refused:
            return False
        return True

    with ThreadPoolExecutor(16) as pool:
        assert list(pool.map(attempt, range(32))).count(True) == 1
    assert len(pairing.devices()) == 1


def test_tokens_and_secrets_are_long_and_never_the_same() -> None:
    """A token has 128 bits and a secret 256, in URL-safe letters; of a thousand no two are the same."""
    pairing = Pairing(Clock())
    tokens = [pairing.new_link("") for _ in range(1000)]
    assert len(set(tokens)) == 1000
    assert all(re.fullmatch(r"[\w-]{22}", token) for token in tokens)
    secret = pairing.pair(tokens[-1], PHONE)[1]
    assert re.fullmatch(r"[\w-]{43}", secret)
    assert pairing.device_of(secret) is not None


LINK = f"{SHARED}/pair#{'a' * 22}"
UPPER_LOWER = {" ": (0, 0), "▀": (1, 0), "▄": (0, 1), "█": (1, 1)}


def modules_of_blocks(text: str) -> list[list[int]]:
    """Read dark and light modules back from half blocks."""
    rows: list[list[int]] = []
    for line in re.sub(r"\x1b\[[\d;]*m", "", text).splitlines():
        pairs = [UPPER_LOWER[character] for character in line]
        rows += [[upper for upper, _ in pairs], [lower for _, lower in pairs]]
    return rows


def modules_of_svg(text: str) -> list[list[int]]:
    """Read dark modules back from the horizontal strokes of the picture."""
    path = re.search(r'stroke="#000"[^>]* d="([^"]+)"|d="([^"]+)"[^>]* stroke="#000"', text)
    size = int(re.search(r'fill="#fff" d="M0 0h(\d+)v', text)[1])
    rows = [[0] * size for _ in range(size)]
    x, y = 0, -0.5
    for kind, numbers in re.findall(r"([Mmh])([-\d. ]+)", path[1] or path[2]):
        values = [float(number) for number in re.findall(r"-?[\d.]+", numbers)]
        if kind == "h":
            for i in range(int(values[0])):
                rows[int(y)][int(x) + i] = 1
            x += values[0]
        elif kind == "M":
            x, y = values
        else:
            x, y = x + values[0], y + values[1]
    return rows


def test_terminal_and_page_show_the_same_code() -> None:
    """Blocks and picture have the same modules, with finders and quiet zone of ISO/IEC 18004, dark on light."""
    blocks, picture = modules_of_blocks(link_blocks(LINK)), modules_of_svg(link_svg(LINK))
    size = len(picture)
    assert [row[:size] for row in blocks[:size]] == picture
    assert not any(any(row) for row in picture[:4] + picture[-4:])
    assert not any(row[i] for row in picture for i in (0, 1, 2, 3, -4, -3, -2, -1))
    finder = [[1] * 7, [1, 0, 0, 0, 0, 0, 1], *[[1, 0, 1, 1, 1, 0, 1]] * 3, [1, 0, 0, 0, 0, 0, 1], [1] * 7]
    for top, left in ((4, 4), (4, size - 11), (size - 11, 4)):
        assert [row[left : left + 7] for row in picture[top : top + 7]] == finder
    assert all("\x1b[38;5;16;48;5;231m" in line for line in link_blocks(LINK).splitlines())
    assert "style" not in link_svg(LINK)
