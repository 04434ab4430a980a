from __future__ import annotations

import json
import select
import socket
from urllib.parse import quote

import pytest
from servers import Running, act, probe_server

from ballbench.web.safety import HEADERS

JSON = {"Content-Type": "application/json"}
FILES = {"Content-Type": "multipart/form-data; boundary=b"}
UPLOAD = b'--b\r\nContent-Disposition: form-data; name="file"; filename="r.csv"\r\n\r\n1,2\r\n--b--\r\n'


def body(**more: object) -> bytes:
    """A good body for the probe."""
    return json.dumps(act(text="40.12", **more)).encode()


@pytest.mark.parametrize(
    "host",
    ["evil.example", "evil.example:{port}", "127.0.0.1", "127.0.0.1:1", "localhost.evil.example:{port}",
     "127.0.0.1:{port}.evil.example", "[::1]:{port}", "0.0.0.0:{port}", "", None],
)  # fmt: skip
@pytest.mark.parametrize("path", ["/", "/api/probe", "/static/house.css", "/nothing"])
def test_a_name_that_is_not_the_bench_s_is_refused(door: Running, host: str | None, path: str) -> None:
    """A Host that is not the server's own gets 421 (RFC 9110, 15.5.20), a missing one 400 (RFC 9112, 3.2)."""
    named = host.format(port=door.port) if host is not None else None
    answer = door.ask("GET", path, host=named)
    assert answer.status == (421 if host is not None else 400)
    assert b"The bench" not in answer.body


def test_two_host_headers_are_refused(door: Running) -> None:
    """A request with two Host headers is answered with 400 (RFC 9112, 3.2)."""
    own = f"Host: {door.host}\r\n"
    got = door.raw(f"GET /api/probe HTTP/1.1\r\n{own}{own}Connection: close\r\n\r\n".encode())
    assert got.startswith(b"HTTP/1.1 400 ")


def test_the_old_protocol_without_a_host_is_refused(door: Running) -> None:
    """HTTP/1.0 may leave the Host header out; the bench does not answer that."""
    assert door.raw(b"GET / HTTP/1.0\r\n\r\n").split()[1] == b"421"


@pytest.mark.parametrize(
    "origin",
    ["http://evil.example", "null", "http://127.0.0.1", "http://127.0.0.1:1", "https://{host}", "http://{host}.evil",
     "http://localhost:{port}", "", "{host}"],
)  # fmt: skip
def test_another_origin_changes_nothing(door: Running, origin: str) -> None:
    """A POST whose Origin is not the bench's own, ``null`` too, gets 403 and reaches nothing."""
    before = len(door.seen)
    headers = {**JSON, "Origin": origin.format(host=door.host, port=door.port)}
    assert door.ask("POST", "/api/probe", headers, body()).status == 403
    assert len(door.seen) == before


@pytest.mark.parametrize("site", ["cross-site", "same-site", "none", "odd"])
def test_what_the_browser_says_comes_from_elsewhere_changes_nothing(door: Running, site: str) -> None:
    """A POST that the browser marks as another site's gets 403 (W3C Fetch Metadata), with or without an Origin."""
    before = len(door.seen)
    for headers in ({}, {"Origin": f"http://{door.host}"}):
        assert door.ask("POST", "/api/probe", {**JSON, **headers, "Sec-Fetch-Site": site}, body()).status == 403
    assert len(door.seen) == before


def test_the_bench_s_own_pages_and_programs_on_this_machine_can_write(door: Running) -> None:
    """Its own Origin may write, and JSON without one: from elsewhere a browser asks first (CORS), and gets 403."""
    own = {"Origin": f"http://{door.host}"}
    assert door.ask("POST", "/api/probe", {**JSON, **own, "Sec-Fetch-Site": "same-origin"}, body()).status == 200
    assert door.ask("POST", "/api/probe", JSON, body()).status == 200
    asked = {"Origin": "http://evil.example", "Access-Control-Request-Method": "POST", "Sec-Fetch-Site": "cross-site"}
    answer = door.ask("OPTIONS", "/api/probe", asked)
    assert answer.status == 403
    assert not [name for name in answer.headers if name.startswith("access-control-")]


def test_files_without_an_origin_are_refused(door: Running) -> None:
    """A form with files is sent by a browser without asking, so it needs an Origin even where the browser says none."""
    before = len(door.seen)
    assert door.ask("POST", "/api/files", FILES, UPLOAD).status == 403
    assert len(door.seen) == before
    assert door.ask("POST", "/api/files", {**FILES, "Origin": f"http://{door.host}"}, UPLOAD).json() == {"bytes": 3}


@pytest.mark.parametrize(
    "kind",
    ["application/x-www-form-urlencoded", "text/plain", "text/plain; application/json", "multipart/form-data", "",
     "application/jsonx", None],
)  # fmt: skip
def test_only_json_is_taken_where_json_is_asked_for(door: Running, kind: str | None) -> None:
    """Kinds that a form elsewhere could send, and no kind at all, get 415 and reach nothing."""
    before = len(door.seen)
    headers = {"Origin": f"http://{door.host}", **({} if kind is None else {"Content-Type": kind})}
    assert door.ask("POST", "/api/probe", headers, body()).status == 415
    assert len(door.seen) == before


@pytest.mark.parametrize("method", ["GET", "POST"])
@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_a_page_elsewhere_reads_nothing(door: Running, site: str, method: str) -> None:
    """A page elsewhere gets no data, script, style or frame of the bench; a link to a page may be followed."""
    plain = {"Sec-Fetch-Site": site, "Sec-Fetch-Mode": "no-cors", "Sec-Fetch-Dest": "script"}
    followed = {"Sec-Fetch-Site": site, "Sec-Fetch-Mode": "navigate", "Sec-Fetch-Dest": "document"}
    framed = {**followed, "Sec-Fetch-Dest": "iframe"}
    for headers in (plain, framed):
        for path in ("/", "/api/probe", "/static/house.css"):
            assert door.ask(method, path, headers).status == 403
    assert door.ask("GET", "/api/probe", followed).status == 403
    assert door.ask("GET", "/", followed).status == 200


ANSWERS = {
    "page": ("GET", "/", {}, None, 200), "data": ("GET", "/api/probe", {}, None, 200),
    "style": ("GET", "/static/house.css", {}, None, 200), "icon": ("GET", "/static/ball.svg", {}, None, 200),
    "known style": ("GET", "/static/house.css", {"If-None-Match": "*"}, None, 304),
    "no page": ("GET", "/nothing", {}, None, 404), "no data": ("GET", "/api/nothing", {}, None, 404),
    "no file": ("GET", "/static/nothing.js", {}, None, 404), "no method": ("PUT", "/api/probe", {}, None, 405),
    "no origin": ("POST", "/api/probe", {**JSON, "Origin": "null"}, b"{}", 403),
    "no json": ("POST", "/api/probe", JSON, b"{", 422), "form": ("POST", "/api/probe", {}, b"a=b", 415),
    "large": ("POST", "/api/probe", {**JSON, "Content-Length": "99999999"}, b"", 413),
    "fault": ("GET", "/api/raise/readings", {}, None, 422), "ours": ("GET", "/api/raise/ours", {}, None, 500),
    "our page": ("GET", "/raise/ours", {}, None, 500), "openapi": ("GET", "/api/openapi.json", {}, None, 200),
    "trace": ("TRACE", "/", {}, None, 405), "head": ("HEAD", "/api/probe", {}, None, 405),
}  # fmt: skip


@pytest.mark.parametrize("name", ANSWERS)
def test_every_answer_carries_what_keeps_a_browser_safe(door: Running, name: str) -> None:
    """Whatever the answer, it carries the whole set of headers, and data are never kept by a cache."""
    method, path, headers, sent, status = ANSWERS[name]
    answer = door.ask(method, path, headers, sent)
    assert answer.status == status
    assert {n: answer.headers.get(n.lower()) for n in HEADERS} == HEADERS
    assert answer.headers["cache-control"].split(",")[0] == ("no-store" if path.startswith("/api/") else "no-cache")
    assert "server" not in answer.headers


def test_the_content_policy_lets_nothing_in_from_elsewhere() -> None:
    """Every source of the policy is this server or nothing; there is no inline script or style and no eval (CSP 3)."""
    policy = dict(part.split(" ", 1) for part in HEADERS["Content-Security-Policy"].split("; "))
    assert policy.pop("img-src") == "'self' data:"
    assert set(policy.values()) == {"'self'", "'none'"}
    assert {"default-src", "base-uri", "frame-ancestors", "form-action", "script-src", "style-src"} <= set(policy)
    assert policy["default-src"] == policy["base-uri"] == policy["frame-ancestors"] == "'none'"


OUTSIDE = (
    "../frame.py", "..%2fframe.py", "%2e%2e/frame.py", "%2e%2e%2fframe.py", "..%5cframe.py", "..\\frame.py",
    "measure/../../frame.py", "%2fetc%2fpasswd", "/etc/passwd", "//etc/passwd", "etc/passwd", "house.css%00", "%00",
    "house.css/", "house.css%2f..", ".", "..", "", "measure", "measure/", "HOUSE.CSS", "house.css.", "house%252ecss",
    "tokens.py", "../tokens.py", "..%252f..%252fframe.py", "file:%2f%2f%2fetc%2fpasswd", "C:%5cWindows%5cwin.ini",
    "%ff%fe", "~root/.profile",
)  # fmt: skip


@pytest.mark.parametrize("name", OUTSIDE)
def test_no_path_leads_out_of_the_static_files(door: Running, name: str) -> None:
    """Dots, slashes of either kind, encoded once or twice, absolute, with NUL, of another case: 404, no content."""
    answer = door.ask("GET", f"/static/{name}")
    assert answer.status == 404
    assert b"def page(" not in answer.body
    assert b"root:" not in answer.body


def test_every_static_file_has_its_type_and_an_entity_tag_that_is_known_again(door: Running) -> None:
    """A file has its media type; with its tag, weak too, it is 304, with another it comes whole (RFC 9110, 13.1.2)."""
    types = {
        "house.css": "text/css", "tokens.css": "text/css", "report.css": "text/css", "ball.svg": "image/svg+xml",
        "pair.js": "text/javascript", "share.js": "text/javascript", "measure/bench.js": "text/javascript",
    }  # fmt: skip
    for name, kind in types.items():
        answer = door.ask("GET", f"/static/{name}")
        assert answer.status == 200
        assert answer.headers["content-type"].startswith(kind)
        tag = answer.headers["etag"]
        for known in (tag, f"W/{tag}", f'"other", {tag}', "*"):
            again = door.ask("GET", f"/static/{name}", {"If-None-Match": known})
            assert (again.status, again.body, again.headers["etag"]) == (304, b"", tag)
        assert door.ask("GET", f"/static/{name}", {"If-None-Match": '"other"'}).body == answer.body


def test_a_body_that_says_it_is_too_large_is_not_read(door: Running) -> None:
    """A Content-Length beyond the bound is answered at once, before anything of the body has come."""
    before = len(door.seen)
    answer = door.ask("POST", "/api/probe", {**JSON, "Content-Length": str(2**20 + 1)}, b"")
    assert answer.status == 413
    assert len(door.seen) == before


@pytest.mark.parametrize(("path", "kind"), [("/api/probe", JSON), ("/api/files", FILES)])
def test_a_body_that_does_not_say_how_large_it_is_is_counted(path: str, kind: dict[str, str]) -> None:
    """A chunked body is refused with 413 as soon as it is beyond the bound of its kind, and reaches nothing."""
    with probe_server(json_bytes=1000, upload_bytes=2000) as server:
        lines = [f"POST {path} HTTP/1.1", f"Host: {server.host}", f"Origin: http://{server.host}",
                 f"Content-Type: {kind['Content-Type']}", "Transfer-Encoding: chunked", "", ""]  # fmt: skip
        got = server.raw(
            "\r\n".join(lines).encode() + b"400\r\n" + b"a" * 1024 + b"\r\n400\r\n" + b"a" * 1024 + b"\r\n"
        )
        assert got.split(b" ", 2)[1] == b"413"
        assert b"application/problem+json" in got
        assert server.seen == []


@pytest.mark.parametrize("chunked", [False, True], ids=["said before", "counted"])
def test_the_bounds_themselves_are_let_in(chunked: bool) -> None:
    """A body of exactly the bound is taken, one byte more is not: for JSON and for files each its own."""
    with probe_server(json_bytes=1000, upload_bytes=2000) as server:
        own = {"Origin": f"http://{server.host}", "Connection": "close"}

        def sent(path: str, kind: dict[str, str], text: bytes) -> int:
            if not chunked:
                return server.ask("POST", path, {**own, **kind}, text).status
            head = {"Host": server.host, **own, **kind, "Transfer-Encoding": "chunked"}
            lines = "".join(f"{name}: {value}\r\n" for name, value in head.items())
            whole = f"POST {path} HTTP/1.1\r\n{lines}\r\n{len(text):x}\r\n".encode() + text + b"\r\n0\r\n\r\n"
            return int(server.raw(whole).split(b" ", 2)[1])

        good = body()
        for size, status in {1000: 200, 1001: 413}.items():
            assert sent("/api/probe", JSON, good + b" " * (size - len(good))) == status
        for size, status in {2000: 200, 2001: 413}.items():
            assert sent("/api/files", FILES, UPLOAD.replace(b"1,2", b"1" * (3 + size - len(UPLOAD)))) == status


def test_a_body_that_does_not_come_on_is_given_up() -> None:
    """A request whose body stops half way gets 408 and the line is closed; the server answers others meanwhile."""
    with probe_server(patience_s=0.05) as server:
        head = f"POST /api/probe HTTP/1.1\r\nHost: {server.host}\r\nContent-Type: application/json\r\n"
        got = server.raw(f'{head}Content-Length: 100\r\n\r\n{{"text": '.encode())
        assert got.split(b" ", 2)[1] == b"408"
        assert server.seen == []
        assert server.ask("GET", "/api/probe").status == 200


def test_a_body_that_trickles_is_given_up() -> None:
    """JSON that comes byte by byte without end gets 408, although every next byte comes soon."""
    with probe_server(patience_s=0.05) as server, socket.create_connection(("127.0.0.1", server.port)) as line:
        head = f"POST /api/probe HTTP/1.1\r\nHost: {server.host}\r\nContent-Type: application/json\r\n"
        line.sendall(f"{head}Content-Length: 1000000\r\n\r\n".encode())
        while not select.select([line], [], [], 0.001)[0]:  # until the server says something
            line.sendall(b" ")
        assert line.recv(65536).split(b" ", 2)[1] == b"408"
        assert server.seen == []


def test_a_sender_that_hangs_up_half_way_leaves_nothing(caplog: pytest.LogCaptureFixture) -> None:
    """A line that breaks off in the body reaches nothing, is no fault of the server, and others are answered."""
    with probe_server() as server:
        head = f"POST /api/probe HTTP/1.1\r\nHost: {server.host}\r\nContent-Type: application/json\r\n"
        server.raw(f'{head}Content-Length: 100\r\n\r\n{{"text": '.encode(), hang_up=True)
        assert server.ask("GET", "/api/probe").status == 200
        assert server.seen == []
    assert caplog.records == []


def test_text_of_a_request_comes_back_escaped_on_a_page(door: Running) -> None:
    """What a request holds never becomes a part of a page: markup in an address comes back as text, or not at all."""
    for path in ("/tests/<script>alert(1)</script>", "/<img src=x onerror=alert(1)>"):
        answer = door.ask("GET", quote(path))
        assert answer.status == 404
        assert b"<script>alert" not in answer.body
        assert b"<img src=x" not in answer.body
