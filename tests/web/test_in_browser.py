from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from servers import Running, bench_server, new_test

from ballbench.workflows.opening import Notebook, open_notebook


@pytest.fixture(scope="module")
def notebook(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Notebook]:
    """A notebook with one test."""
    folder: Path = tmp_path_factory.mktemp("notebook")
    opened = open_notebook(folder)
    new_test(opened)
    yield opened
    opened.close()


@contextmanager
def looking(browser: Any) -> Iterator[tuple[Any, list[str]]]:
    """Open a page of a browser of its own, and gather what its console complains of."""
    context = browser.new_context()
    page, said = context.new_page(), []
    page.on("console", lambda message: said.append(message.text) if message.type in ("error", "warning") else None)
    page.on("pageerror", lambda error: said.append(str(error)))
    try:
        yield page, said
    finally:
        context.close()


def test_a_link_pairs_a_browser_and_leaves_no_token_behind(browser: Any, notebook: Notebook) -> None:
    """A browser that is refused gets in by its link, once; address and history hold no token, and it stays paired."""
    with (
        bench_server(notebook, local=frozenset(), shared="http://192.0.2.7:1") as server,
        looking(browser) as (page, said),
    ):
        address = f"http://{server.host}"
        assert page.goto(f"{address}/").status == 403
        said.clear()
        token = server.app.state.pairing.new_link("phone")
        page.goto(f"{address}/pair#{token}")
        page.wait_for_url(f"{address}/")
        assert page.locator("h1").count() == 1
        assert page.goto(f"{address}/tests/1").status == 200
        assert said == []
        while page.url != "about:blank":
            assert token not in page.url
            if page.go_back() is None:
                break
        page.goto(f"{address}/pair#{token}")
        page.get_by_text("does not work any more").wait_for()
        assert page.url == f"{address}/pair"


def test_the_machine_makes_a_link_and_shuts_a_device_out(browser: Any, notebook: Notebook) -> None:
    """The page Share draws a link to scan, shows the device when it came, and shuts it out at the press of a button."""
    with bench_server(notebook, shared="http://192.0.2.7:1") as server, looking(browser) as (page, said):
        page.goto(f"http://{server.host}/share")
        page.get_by_label("What is the device called?").fill("phone <b>E</b>")
        page.get_by_role("button", name="Make a link").click()
        page.locator("#picture svg path").first.wait_for()
        link = page.locator("#link").inner_text()
        assert link.startswith("http://192.0.2.7:1/pair#")
        cookie = server.post("/api/pair", {"token": link.partition("#")[2]}, peer="127.0.0.2").headers["set-cookie"]
        page.locator("#devices li", has_text="phone <b>E</b>").wait_for()
        assert not page.locator("#made").is_visible()
        page.get_by_role("button", name="Unpair").click()
        page.get_by_text("None yet.").wait_for()
        known = {"Cookie": cookie.partition(";")[0]}
        assert server.ask("GET", "/api/tests", known, peer="127.0.0.2").status == 403
        assert said == []


PAGES = (
    "/", "/tests", "/tests/new", "/tests/new?requirement=golf", "/quick", "/tests/1", "/tests/1/measure",
    "/tests/1/corrections", "/tests/1/judge", "/tests/1/compare", "/share", "/pair", "/qualify", "/qualify/new",
    "/qualify/new?requirement=golf", "/tests/1/qualify", "/plan", "/plan?requirement=golf",
    "/tests/1/recordings", "/vee", "/press", "/roll", "/listen", "/trace", "/watch",
)  # fmt: skip


@pytest.fixture(scope="module")
def server(notebook: Notebook) -> Iterator[Running]:
    """The bench of this machine alone."""
    with bench_server(notebook) as running:
        yield running


@pytest.mark.parametrize("path", PAGES)
def test_a_page_keeps_to_the_policy_and_loads_whole(browser: Any, server: Running, path: str) -> None:
    """Every page loads all that it names, from this server alone, and its browser has nothing to complain of."""
    with looking(browser) as (page, said):
        asked: list[tuple[str, int]] = []
        page.on("response", lambda answer: asked.append((answer.url, answer.status)))
        assert page.goto(f"http://{server.host}{path}", wait_until="load").status == 200
        page.locator("h1").first.wait_for(state="attached")
        assert said == []
        assert [one for one in asked if not one[0].startswith(f"http://{server.host}/") or one[1] != 200] == []
