from __future__ import annotations

import os
import time
import uuid
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from subprocess import Popen
from threading import Event
from typing import Any

import numpy as np
import pytest
from bench_client import Bench, Line, Sender, benches
from notebook_file import check_senders, check_whole, read_file, shape_of

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="LEFT OUT: no fork, so the server was not killed")

SENDERS = 4
AT = "2026-11-21T10:00:00+01:00"
SET_UP = {
    "client": str(uuid.UUID(int=99, version=4)), "by": "E", "at": AT, "requirement": "golf",
    "title": "Winter league (invented)", "invented": True, "seed": 1,
    "makes": [{"make": "Curlew", "boxes": [{"label": "C-1", "balls": 48}, {"label": "C-2", "balls": 48}]}],
    "quantities": [{"name": "diameter", "axes": ["seam", "across", "free"], "repeats": 1, "instrument": "caliper"}],
    "instruments": [{"name": "caliper", "quantity": "diameter", "unit": "mm", "resolution": 0.00001}],
}  # fmt: skip


@pytest.fixture(scope="module")
def starter() -> Iterator[Popen[str]]:
    """What starts a bench quickly, for it has everything loaded."""
    with benches() as loaded:
        yield loaded


def set_up(bench: Bench, key: str) -> int:
    """Set up a test, once more or for the first time."""
    return int(bench.post("/api/tests", {"key": key, **SET_UP})["id"])


def send_until_killed(bench: Bench, senders: list[Sender], moment: float) -> None:
    """Let everybody send, kill the server after so many seconds, and wait until all have noticed."""
    with ThreadPoolExecutor(len(senders)) as pool:
        sending = [pool.submit(sender.send, bench.port) for sender in senders]
        Event().wait(moment)  # the moment is the point here, so there is nothing else to wait for
        bench.kill()
        for one in sending:
            one.result()


def send_again(bench: Bench, senders: list[Sender], rng: np.random.Generator) -> None:
    """Send what was not acknowledged, and some of what was: the answer to that is the one of the first time."""
    line = Line(bench.port)
    for sender in senders:
        known = sender.acknowledged
        if sender.pending is not None:
            sender.deliver(line, sender.pending)
        for index in rng.integers(0, len(known), min(len(known), 3)):
            sender.deliver(line, known[index])
    line.close()


def check(bench: Bench, senders: list[Sender]) -> Counter[str]:
    """See that the file is whole and holds what was acknowledged; and what became of what was not."""
    with read_file(bench.notebook) as database:
        check_whole(database)
        return check_senders(database, senders)


@pytest.mark.parametrize("kills", [16, pytest.param(150, marks=pytest.mark.slow)])
def test_what_was_acknowledged_outlives_every_kill(starter: Popen[str], tmp_path: Path, kills: int) -> None:
    """Over kills at any moment nothing acknowledged is lost, changed, doubled or moved; what was not comes once."""
    rng = np.random.default_rng(20261121)
    bench, fates = Bench(starter, tmp_path / "notebook"), Counter[str]()
    bench.start()
    test = set_up(bench, str(uuid.uuid4()))
    places = [place["id"] for place in bench.get(f"/api/tests/{test}/bench")["places"]]
    senders = [Sender(number, test, places[number::SENDERS]) for number in range(SENDERS)]
    for number in range(kills):
        send_until_killed(bench, senders, rng.uniform(0.002, 0.3))
        if number % 4 == 3:
            kill_while_it_starts(bench, rng.uniform(0.0, 0.2))
        bench.start()
        fates += check(bench, senders)
        send_again(bench, senders, rng)
        assert not check(bench, senders)
    state = bench.get(f"/api/tests/{test}/bench")
    check_state(state, senders)
    assert fates["kept"] + fates["lost"] > kills, "the server was killed while people sent"
    if kills > 100:
        assert min(fates["kept"], fates["lost"]) > 0, "kills before and after the commit, as chance has it"
    bench.kill()


def check_state(state: dict[str, Any], senders: list[Sender]) -> None:
    """See that a page that loads now is told the same: every reading once, in order, with what was said of it."""
    told: dict[int, list[tuple[str, str]]] = {sender.number: [] for sender in senders}
    home = {place: sender.number for sender in senders for place in sender.places}
    for one in state["readings"]:
        told[home[one["place"]]].append((one["text"], one["standing"]))
    for sender in senders:
        back = {act.body["reading"] for act in sender.acts if act.path == "taken-back"}
        kept = [act.reply["reading"] for act in sender.acts if act.reply["status"] == "kept"]
        assert told[sender.number] == [(one["text"], "taken back" if one["id"] in back else "kept") for one in kept]
    assert state["revision"] == max(act.reply["revision"] for sender in senders for act in sender.acts)


@pytest.mark.parametrize("kills", [9, pytest.param(50, marks=pytest.mark.slow)])
def test_a_notebook_outlives_kills_while_it_is_made(starter: Popen[str], tmp_path: Path, kills: int) -> None:
    """Kills while tables are made or a test is set up leave the shape of one never killed, and the test once."""
    rng = np.random.default_rng(5)
    whole = Bench(starter, tmp_path / "whole")
    begun = time.perf_counter()
    whole.start()
    usual = time.perf_counter() - begun
    set_up(whole, str(uuid.uuid4()))
    with read_file(whole.notebook) as database:
        shape = shape_of(database)
    whole.kill()
    for number in range(kills):
        bench = Bench(starter, tmp_path / f"notebook {number}", port=whole.port)
        for _ in range(2):
            kill_while_it_starts(bench, rng.uniform(0.0, usual))
        bench.start()
        key = str(uuid.uuid4())
        kill_while_it_sets_up(bench, key, rng.uniform(0.0, 0.1))
        bench.start()
        assert set_up(bench, key) == set_up(bench, key)
        with read_file(bench.notebook) as database:
            check_whole(database)
            assert shape_of(database) == shape
            tests = database.execute("SELECT id FROM ball_test").fetchall()
            places = database.execute("SELECT count(*) FROM place").fetchone()[0]
            assert (len(tests), places) == (1, 2 * 48 * 3)
        bench.kill()


def kill_while_it_starts(bench: Bench, moment: float) -> None:
    """Start the server, and kill it so many seconds later, whether it takes requests by then or not."""
    bench.order()
    Event().wait(moment)
    bench.kill()


def kill_while_it_sets_up(bench: Bench, key: str, moment: float) -> None:
    """Send a set-up, and kill the server so many seconds later, whether it answered or not."""
    with ThreadPoolExecutor(1) as pool:
        sent = pool.submit(set_up, bench, key)
        Event().wait(moment)
        bench.kill()
        assert isinstance(sent.exception(), OSError | None) or "Remote" in type(sent.exception()).__name__
