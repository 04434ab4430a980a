from __future__ import annotations

import shutil
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from servers import Running, probe_server


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
