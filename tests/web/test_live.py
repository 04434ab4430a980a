from __future__ import annotations

import threading
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import pytest
from servers import PATIENCE_S, Running, Stream, act, bench_server, new_test

from ballbench.web import live
from ballbench.workflows.opening import Notebook, open_notebook

PHONE = "127.0.0.2"


@pytest.fixture
def notebook(tmp_path: Path) -> Iterator[Notebook]:
    """A new notebook in a folder of its own."""
    opened = open_notebook(tmp_path / "notebook")
    yield opened
    opened.close()


@pytest.fixture
def bench(notebook: Notebook) -> Iterator[Running]:
    """A server on the notebook that looks for other processes' changes only after a long while: bells alone wake it."""
    with bench_server(notebook, poll_s=3600.0, heartbeat_s=3600.0) as server:
        yield server


def mark(server: Running, test: int, value: float) -> dict[str, Any]:
    """Note a temperature: the smallest act there is."""
    answer = server.post(f"/api/tests/{test}/marks", act(kind="air temperature", value=value))
    assert answer.status == 200, answer.body
    return answer.json()


def happened(notebook: Notebook, test: int) -> list[int]:
    """Revisions of all that happened in a test, in order, as the notebook itself has them."""
    return [change.revision for change in notebook.changes(test, 0, limit=10_000)]


def test_a_stream_tells_what_was_and_what_comes(bench: Running, notebook: Notebook) -> None:
    """A stream gives what happened, then each change: revision, kind, sender and the very reply that the sender got."""
    test = new_test(notebook)
    with Stream(bench, test) as stream:
        assert stream.answer.headers["content-type"] == "text/event-stream; charset=utf-8"
        (first,) = stream.changes(1)
        assert first["kind"] == "set up"
        reply = mark(bench, test, 21.5)
        (second,) = stream.changes(1)
        assert second == {"revision": reply["revision"], "kind": "noted", "client": act()["client"], "reply": reply}
        assert stream.last == reply["revision"]


def test_over_broken_lines_every_change_comes_once_and_in_order(bench: Running, notebook: Notebook) -> None:
    """A reader that hangs up after every seven of 61 changes gets each once and in order, while eight senders write."""
    mine, other = new_test(notebook), new_test(notebook)
    seen: list[int] = []

    def read(count: int) -> None:
        last = None
        while len(seen) < count:
            with Stream(bench, mine, after=0, last=last) as stream:
                seen.extend(change["revision"] for change in stream.changes(min(7, count - len(seen))))
                last = stream.last

    reader = threading.Thread(target=read, args=(61,))
    reader.start()
    with ThreadPoolExecutor(8) as pool:
        list(pool.map(lambda i: mark(bench, (mine, other)[i % 2], 20.0 + i / 100), range(120)))
    reader.join(PATIENCE_S)
    assert seen == happened(notebook, mine)
    assert len(seen) == 61


def test_many_changes_come_whole_after_a_long_absence(
    bench: Running, notebook: Notebook, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A reader that was away for more changes than one look into the notebook holds gets them all, in order."""
    test = new_test(notebook)
    monkeypatch.setattr(live, "BATCH", 20)
    for i in range(50):
        notebook.submit(f"key {i}", test, "kept for the test", "c", lambda _: {"n": 1})
    with Stream(bench, test, after=1) as stream:
        assert [change["revision"] for change in stream.changes(50)] == happened(notebook, test)[1:]


def test_the_last_revision_of_a_browser_goes_before_that_of_its_page(bench: Running, notebook: Notebook) -> None:
    """Last-Event-ID of a browser that reconnects (HTML standard, 9.2.4) holds, not the address of the page."""
    test = new_test(notebook)
    revisions = [mark(bench, test, 20.0 + i)["revision"] for i in range(4)]
    with Stream(bench, test, after=0, last=revisions[2]) as stream:
        assert [change["revision"] for change in stream.changes(1)] == revisions[3:]


def test_an_act_that_is_sent_again_is_told_once(bench: Running, notebook: Notebook) -> None:
    """The same key again gives the same reply and no second event."""
    test = new_test(notebook)
    sent = act(kind="air temperature", value=21.0)
    replies = [bench.post(f"/api/tests/{test}/marks", sent).json() for _ in range(3)]
    assert replies[0] == replies[1] == replies[2]
    last = mark(bench, test, 22.0)["revision"]
    with Stream(bench, test, after=1) as stream:
        assert [change["revision"] for change in stream.changes(2)] == [replies[0]["revision"], last]


def test_what_another_process_writes_is_told_too(notebook: Notebook, tmp_path: Path) -> None:
    """A second opening of the same notebook rings no bell here; its changes are found by looking."""
    test = new_test(notebook)
    second = open_notebook(tmp_path / "notebook")
    with bench_server(notebook, poll_s=0.02) as one, bench_server(second, poll_s=3600.0) as two:
        with Stream(one, test, after=1) as stream:
            reply = mark(two, test, 23.0)
            (change,) = stream.changes(1)
        assert change["reply"] == reply
    second.close()


def test_a_quiet_stream_says_that_it_lives(notebook: Notebook) -> None:
    """Without changes a comment comes again and again, which a browser passes over."""
    test = new_test(notebook)
    with bench_server(notebook, poll_s=0.02, heartbeat_s=0.02) as server, Stream(server, test, after=1) as stream:
        events = (name for name, _ in stream.events() if name != "claims")
        assert [next(events) for _ in range(3)] == ["comment"] * 3


def test_others_see_who_is_where(bench: Running, notebook: Notebook) -> None:
    """A claim and its end come to every stream of the test; a place that is taken is not granted again."""
    test = new_test(notebook)
    mine = {"client": act()["client"], "by": "E"}
    other = {"client": "11111111-2222-4333-8444-555555555555", "by": "M"}
    claims = f"/api/tests/{test}/claims"
    with Stream(bench, test, after=1) as stream:
        told = (data["held"] for name, data in stream.events() if name == "claims")
        assert next(told) == {}
        assert bench.post(claims, {**mine, "place": 3}).json() == {"granted": True, "held": {"3": "E"}}
        assert next(told) == {"3": mine}
        assert bench.post(claims, {**other, "place": 3}).json() == {"granted": False, "held": {"3": "E"}}
        assert bench.post(claims, {**mine, "place": None}).json() == {"granted": True, "held": {}}
        assert next(told) == {}
        assert stream.last is None


def test_the_server_ends_with_streams_open(notebook: Notebook, caplog: pytest.LogCaptureFixture) -> None:
    """A server that is told to end ends its streams, whole to the last event, and does not wait for the readers."""
    test = new_test(notebook)
    with ExitStack() as readers:
        with bench_server(notebook, poll_s=3600.0) as server:
            streams = [readers.enter_context(Stream(server, test)) for _ in range(5)]
            assert [stream.changes(1)[0]["kind"] for stream in streams] == ["set up"] * 5
        # Leaving the block waited for the server's end, and found it ended.
        assert [name for stream in streams for name, _ in stream.events() if name != "claims"] == []
    assert caplog.records == [], "answers had to be broken off"


def test_too_many_streams_of_one_address_are_refused(notebook: Notebook) -> None:
    """Beyond the bound a stream gets 429; a reader that hangs up makes room; a missing test is 404 and takes none."""
    test = new_test(notebook)
    with bench_server(notebook, streams_each=2, poll_s=0.02) as server, Stream(server, test) as stays:
        assert stays.changes(1)[0]["kind"] == "set up"
        with Stream(server, test) as leaves:
            assert leaves.changes(1)[0]["kind"] == "set up"
            refused = server.ask("GET", f"/api/tests/{test}/live")
            assert (refused.status, refused.headers["content-type"]) == (429, "application/problem+json")
            assert server.ask("GET", "/api/tests/999/live").status == 404
        while True:  # until the server has seen that the reader left
            with Stream(server, test) as again:
                if again.answer.status != 429:
                    assert again.changes(1)[0]["kind"] == "set up"
                    break


def test_a_device_that_is_shut_out_hears_no_more(notebook: Notebook) -> None:
    """The stream of a paired device ends when the device is shut out, and it cannot come back."""
    test = new_test(notebook)
    with bench_server(notebook, shared="http://192.0.2.7:1", poll_s=0.02) as server:
        token = server.post("/api/share/links", {}).json()["link"].partition("#")[2]
        answer = server.post("/api/pair", {"token": token}, peer=PHONE)
        cookie = {"Cookie": answer.headers["set-cookie"].partition(";")[0]}
        with Stream(server, test, headers=cookie, peer=PHONE) as stream:
            assert stream.changes(1)[0]["kind"] == "set up"
            server.post("/api/share/unpaired", {"device": 1})
            assert "change" not in [name for name, _ in stream.events()]
        assert server.ask("GET", f"/api/tests/{test}/live", cookie, peer=PHONE).status == 403


@pytest.mark.parametrize("header", ["x", "-1", "1.5", "99999999999999999999"])
def test_a_last_revision_that_is_none_is_refused(bench: Running, notebook: Notebook, header: str) -> None:
    """A Last-Event-ID that the bench never gave is 422, not everything again."""
    test = new_test(notebook)
    assert bench.ask("GET", f"/api/tests/{test}/live", {"Last-Event-ID": header}).status == 422
