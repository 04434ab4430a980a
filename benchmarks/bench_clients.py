"""Clients of the bench in a process of their own: each enters readings one after another, and waits for each reply."""

from __future__ import annotations

import http.client
import json
import subprocess
import sys
import time
import uuid
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict, dataclass
from threading import Barrier

from benchmarks.filled_notebook import AT, typed

__all__ = ["Turns", "main", "seconds_by_clients"]


@dataclass(frozen=True, slots=True)
class Turns:
    """What clients are to enter.

    Parameters
    ----------
    port, test : int
        Of the server, and which test.
    places : tuple of (int, int)
        Number and position of each place; one reading each, shared out among the clients.
    clients : int
        So many at once, each on a connection of its own.
    """

    port: int
    test: int
    places: tuple[tuple[int, int], ...]
    clients: int


def seconds_by_clients(turns: Turns) -> tuple[list[float], float]:
    """Run clients in another process; the seconds of each entry from sent to acknowledged, and of all together."""
    done = subprocess.run(
        [sys.executable, "-m", "benchmarks.bench_clients"],
        input=json.dumps(asdict(turns)),
        stdout=subprocess.PIPE,
        text=True,
        check=True,
    )
    told = json.loads(done.stdout)
    return told["each"], told["whole"]


def main() -> None:
    """Enter what standard input asks for, and tell how long it took."""
    turns = Turns(**json.load(sys.stdin))
    ready = Barrier(turns.clients + 1)
    with ThreadPoolExecutor(turns.clients) as pool:
        shares = [turns.places[client :: turns.clients] for client in range(turns.clients)]
        told = [pool.submit(_enter_all, turns, share, ready) for share in shares]
        ready.wait()
        start = time.perf_counter()
        each = [seconds for one in told for seconds in one.result()]
        whole = time.perf_counter() - start
    print(json.dumps({"each": each, "whole": whole}))


def _enter_all(turns: Turns, places: tuple[tuple[int, int], ...], ready: Barrier) -> list[float]:
    """Enter a reading at each place, over one connection."""
    client, each = str(uuid.uuid4()), []
    line = http.client.HTTPConnection("127.0.0.1", turns.port)
    line.connect()
    ready.wait()
    for turn, (place, order) in enumerate(places):
        text = typed(order, turn)
        body = {"key": str(uuid.uuid4()), "client": client, "by": "E", "at": AT, "place": place, "text": text}
        start = time.perf_counter()
        line.request(
            "POST", f"/api/tests/{turns.test}/readings", json.dumps(body), {"Content-Type": "application/json"}
        )
        answer = line.getresponse()
        reply = json.loads(answer.read())
        each.append(time.perf_counter() - start)
        assert (reply.get("status"), reply.get("reading", {}).get("text")) == ("kept", text), reply
    line.close()
    return each


if __name__ == "__main__":
    main()
