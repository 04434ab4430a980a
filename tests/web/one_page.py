"""One measuring page of a test with a sitting begun, and how readings are typed into it."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from servers import Running, act, bench_server, new_test

from ballbench.workflows.opening import open_notebook
from ballbench.workflows.set_up import (
    BoxPlan,
    InstrumentPlan,
    MakePlan,
    QuantityPlan,
    ReferencePlan,
    SetUp,
    set_up_test,
)

__all__ = ["TITLE", "at_the_bench", "checked_test", "open_bench", "says", "state_of", "texts", "typed", "until_kept"]

TITLE = "Winter league (invented)"


@contextmanager
def open_bench(folder: Path, *, checked: bool = False) -> Iterator[Running]:
    """Open a bench with one test and a sitting begun; checked: with a steel ball among three balls."""
    notebook = open_notebook(folder / "notebook")
    (checked_test if checked else new_test)(notebook)
    with bench_server(notebook) as running:
        assert running.post("/api/tests/1/sittings", act(kind="bench")).status == 200
        yield running
    notebook.close()


def checked_test(notebook: Any) -> int:
    """Set up a test of three golf balls at one place, with a steel ball at start, middle and end."""
    sent = act()
    request = SetUp(
        str(uuid.uuid4()), sent["client"], sent["by"], sent["at"], "golf", (MakePlan("Curlew", (BoxPlan("C-1", 3),)),),
        (QuantityPlan("diameter", (), 1, "caliper"),), (InstrumentPlan("caliper", "diameter", "mm", 0.01),),
        references=(ReferencePlan("steel ball", "diameter", 42.7, 0.001, "mm", "caliper"),), title=TITLE, blind=False,
        invented=True, seed=1,
    )  # fmt: skip
    return set_up_test(notebook, request).id


def says(part: Any) -> Any:
    """Wait for what a part of a page is to say."""
    return pytest.importorskip("playwright.sync_api").expect(part)


def until_kept(page: Any, server: Running, expected: list[str], patience_ms: int = 60_000) -> None:
    """Wait until the notebook holds just these readings, for a page sends on its own time."""
    for _ in range(patience_ms // 100):
        if texts(server) == expected:
            break
        page.wait_for_timeout(100)
    assert texts(server) == expected


def at_the_bench(page: Any, host: str, by: str = "E") -> None:
    """Open the measuring page as somebody."""
    page.goto(f"http://{host}/tests/1/measure")
    page.get_by_test_id("by").fill(by)
    page.get_by_test_id("begin-go").click()
    page.get_by_test_id("entry").wait_for()


def typed(page: Any, text: str) -> None:
    """Type a reading and keep it."""
    page.get_by_test_id("entry").fill(text)
    page.get_by_test_id("entry").press("Enter")


def state_of(server: Running) -> Any:
    """Everything that the notebook has of the test."""
    return server.ask("GET", "/api/tests/1/bench").json()


def texts(server: Running) -> list[str]:
    """What the notebook has."""
    return [reading["text"] for reading in state_of(server)["readings"]]
