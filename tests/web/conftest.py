from __future__ import annotations

import shutil
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from drop_sounds import drop_wav
from films import filmed
from recorded_bench import bounce_test
from servers import Running, bench_server, probe_server

from ballbench.workflows.opening import Notebook, open_notebook


@pytest.fixture(scope="module")
def notebook(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Notebook]:
    """A notebook with a test of rebounds, where a module makes none of its own."""
    opened = open_notebook(tmp_path_factory.mktemp("notebook"))
    bounce_test(opened)
    yield opened
    opened.close()


@pytest.fixture(scope="module")
def server(notebook: Notebook) -> Iterator[Running]:
    """The bench on the notebook of the module."""
    with bench_server(notebook) as running:
        yield running


@pytest.fixture(scope="module")
def drop_files(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """A sound and a film of a drop, files of a phone, by the command that reads them."""
    folder = tmp_path_factory.mktemp("phone")
    files = {"listen": folder / "Curlew_07.wav", "watch": folder / "Curlew_07.mp4"}
    files["listen"].write_bytes(drop_wav())
    filmed(files["watch"], rate=120.0)
    return files


@pytest.fixture(scope="module")
def door() -> Iterator[Running]:
    """The probes behind the door of the bench, one server for a module; what reached them is in `seen`."""
    with probe_server() as server:
        yield server


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """A browser, where the machine has one."""
    chromium = shutil.which("chromium")
    if chromium is None:
        pytest.skip("LEFT OUT: no chromium on this machine, so pairing was not tried in a browser")
    playwright = pytest.importorskip("playwright.sync_api", reason="LEFT OUT: playwright is not installed")
    playwright.expect.set_options(timeout=60_000)  # for machines that do much else
    with playwright.sync_playwright() as driver:
        opened = driver.chromium.launch(executable_path=chromium, args=["--no-sandbox", "--disable-gpu"])
        yield opened
        opened.close()
