"""Entering readings, each in a process of its own: through the workflow, and through the server."""

from __future__ import annotations

import http.client
import json
import statistics
import tempfile
import threading
import time
import uuid
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack, closing, contextmanager
from dataclasses import dataclass, field
from itertools import islice
from pathlib import Path

from ballbench.records.bench_state import BenchState
from ballbench.store import Notebook, open_notebook
from ballbench.web.app import make_app
from ballbench.web.bench_server import server_of
from ballbench.web.serving import listen
from ballbench.workflows.bench import bench_state
from ballbench.workflows.bench_requests import Entry
from ballbench.workflows.measure import enter
from benchmarks.bare_disk import bare_insert, bare_sync
from benchmarks.bench_clients import Turns, seconds_by_clients
from benchmarks.filled_notebook import AT, typed
from benchmarks.measuring import Spent

__all__ = ["entered_at_once", "entered_by_one", "looked_at", "served"]

Target = tuple[str, str, int]
"""A name, the folder of a notebook, and the test that is measured there."""

_ROUNDS = 5
_PAGES = {
    "the first page": "/", "past tests": "/tests", "past tests, searched": "/tests?search=plover",
    "the page of the test": "/tests/{t}", "the bench's state": "/api/tests/{t}/bench",
    "its readings as a file": "/api/tests/{t}/files/readings.csv",
}  # fmt: skip


@dataclass(slots=True)
class Times:
    """Seconds of the same thing, done many times.

    Parameters
    ----------
    each : list of float
        On the clock, of each.
    wall, cpu : float
        On the clock and of processor time, of all together.
    """

    each: list[float] = field(default_factory=list)
    wall: float = 0.0
    cpu: float = 0.0

    @contextmanager
    def running(self) -> Iterator[None]:
        """Add the time of the block to that of all together."""
        wall, cpu = time.perf_counter(), time.process_time()
        yield
        self.wall += time.perf_counter() - wall
        self.cpu += time.process_time() - cpu

    def one(self, work: Callable[[], object]) -> None:
        """Do it once."""
        with self.running():
            start = time.perf_counter()
            work()
            self.each.append(time.perf_counter() - start)

    def told(self, name: str) -> dict[str, Spent]:
        """Give median and 95th percentile of each, and what all together took for each."""
        count, cpu = len(self.each), self.cpu / len(self.each)
        ranked = sorted(self.each)
        return {
            name: Spent(statistics.median(ranked), cpu),
            f"{name}, p95": Spent(ranked[int(0.95 * count)], cpu),
            f"{name}, each": Spent(self.wall / count, cpu),
        }


class _Desk:
    """A test that is measured: its places that are not read yet come one after another."""

    def __init__(self, notebook: Notebook, test: int) -> None:
        self.notebook = notebook
        self.test = test
        state = bench_state(notebook, test)
        self._free = iter([(place.id, place.order) for place in state.places if not place.filled])
        self._before = len(state.readings)
        self._taken = 0
        self.reply: dict[str, object] = {}

    def next_places(self, count: int) -> tuple[tuple[int, int], ...]:
        """Give number and position of the next so many places."""
        found = tuple(islice(self._free, count))
        assert len(found) == count, "the test has places enough"
        self._taken += count
        return found

    def enter(self, place: tuple[int, int], client: str, turn: int) -> None:
        """Enter a reading."""
        number, order = place
        sent = Entry(str(uuid.uuid4()), client, "E", AT, number, typed(order, turn))
        self.reply = enter(self.notebook, self.test, sent)
        assert self.reply["status"] == "kept"

    def check(self) -> None:
        """See that every reading that was entered is there."""
        state: BenchState = bench_state(self.notebook, self.test)
        assert len(state.readings) == self._before + self._taken
        assert sum(place.filled for place in state.places) == len(state.readings)


@contextmanager
def _desks(targets: list[Target]) -> Iterator[dict[str, _Desk]]:
    """Open each notebook once; every reading is checked at the end."""
    with ExitStack() as opened:
        notebooks = {folder: opened.enter_context(closing(open_notebook(folder))) for _, folder, _ in targets}
        desks = {name: _Desk(notebooks[folder], test) for name, folder, test in targets}
        yield desks
        for desk in desks.values():
            desk.check()


def entered_by_one(targets: list[Target], count: int) -> dict[str, Spent]:
    """Enter readings in turn, one here, one there, beside bare ones, so that all see the same load of the machine."""
    with _desks(targets) as desks, ExitStack() as bare:
        folder = Path(bare.enter_context(tempfile.TemporaryDirectory(dir=Path(targets[0][1]).parent)))
        first = next(iter(desks.values()))
        size = _journal_of(first, targets[0][1])
        text = json.dumps(first.reply)
        sync, insert = bare.enter_context(bare_sync(folder, size)), bare.enter_context(bare_insert(folder, text))
        times = {name: Times() for name in ("bare sync", "bare row", *desks)}
        for turn in range(count):
            times["bare sync"].one(sync)
            times["bare row"].one(insert)
            for name, desk in desks.items():
                (place,) = desk.next_places(1)
                times[name].one(lambda desk=desk, place=place, turn=turn: desk.enter(place, "one", turn))
    return {"bytes": Spent(size), **{key: cost for name, own in times.items() for key, cost in own.told(name).items()}}


def _journal_of(desk: _Desk, folder: str) -> int:
    """Enter some readings, and give the bytes that one adds to the journal."""
    journal, count = Path(folder) / "notebook.sqlite3-wal", 10
    before = journal.stat().st_size
    for turn, place in enumerate(desk.next_places(count)):
        desk.enter(place, "first", turn)
    grown = journal.stat().st_size - before
    assert grown > 0, "the journal was not written back meanwhile"
    return grown // count


def entered_at_once(targets: list[Target], count: int, threads: int) -> dict[str, Spent]:
    """Enter readings from several threads at once, a block here, a block there."""
    times = {name: Times() for name, _, _ in targets}
    with _desks(targets) as desks, ThreadPoolExecutor(threads) as pool:
        for _ in range(_ROUNDS):
            for name, desk in desks.items():
                places = desk.next_places(count // _ROUNDS // threads * threads)
                with times[name].running():
                    shares = pool.map(_share, *zip(*((desk, places, n, threads) for n in range(threads)), strict=True))
                    times[name].each += [seconds for share in shares for seconds in share]
    return {key: cost for name, own in times.items() for key, cost in own.told(name).items()}


def _share(desk: _Desk, places: tuple[tuple[int, int], ...], thread: int, threads: int) -> list[float]:
    """Enter one thread's share of places."""
    own = Times()
    for turn, place in enumerate(places[thread::threads]):
        start = time.perf_counter()
        desk.enter(place, f"thread {thread}", turn)
        own.each.append(time.perf_counter() - start)
    return own.each


@contextmanager
def _serving(notebook: Notebook) -> Iterator[int]:
    """Serve a notebook on a port of its own."""
    listening, ready = listen(0), threading.Event()
    server = server_of(make_app(notebook, listening.settings), ready.set)
    thread = threading.Thread(target=server.run, args=(list(listening.sockets),))
    thread.start()
    assert ready.wait(60.0)
    yield listening.sockets[0].getsockname()[1]
    server.should_exit = True
    thread.join()


def served(targets: list[Target], count: int, clients: int) -> dict[str, Spent]:
    """Let clients in another process enter readings over HTTP, a block here, a block there."""
    times = {name: Times() for name, _, _ in targets}
    with _desks(targets) as desks, ExitStack() as servers:
        ports = {desk.notebook: 0 for desk in desks.values()}
        ports = {notebook: servers.enter_context(_serving(notebook)) for notebook in ports}
        for _ in range(_ROUNDS):
            for name, desk in desks.items():
                places = desk.next_places(count // _ROUNDS // clients * clients)
                cpu = time.process_time()
                each, whole = seconds_by_clients(Turns(ports[desk.notebook], desk.test, places, clients))
                times[name].each += each
                times[name].wall += whole
                times[name].cpu += time.process_time() - cpu
    return {key: cost for name, own in times.items() for key, cost in own.told(name).items()}


def looked_at(targets: list[Target]) -> dict[str, Spent]:
    """Ask for pages and files over HTTP, some times each; what is not of one test alone once a notebook."""
    told: dict[str, Spent] = {}
    with _desks(targets) as desks:
        seen: set[Notebook] = set()
        for name, desk in desks.items():
            with _serving(desk.notebook) as port:
                line = http.client.HTTPConnection("127.0.0.1", port)
                for words, path in _PAGES.items():
                    if desk.notebook in seen and "{t}" not in path:
                        continue
                    own = Times()
                    for _ in range(_ROUNDS):
                        own.one(lambda line=line, path=path, desk=desk: _get(line, path.format(t=desk.test)))
                    told |= own.told(f"{words}, {name}")
                line.close()
            seen.add(desk.notebook)
    return told


def _get(line: http.client.HTTPConnection, path: str) -> None:
    line.request("GET", path)
    answer = line.getresponse()
    assert (answer.status, len(answer.read()) > 0) == (200, True), path
