from __future__ import annotations

import importlib.util
import shutil
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from ballbench.findings.comparisons import Comparison
from ballbench.findings.results import Findings
from ballbench.presentation.charts.sheet import Sheet

sys.path.insert(0, str(Path(__file__).parent))


def _load(file: str) -> ModuleType:
    name = f"presentation_{file}"
    if name not in sys.modules:
        spec = importlib.util.spec_from_file_location(name, Path(__file__).with_name(f"{file}.py"))
        assert spec is not None
        assert spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        sys.modules[name] = module
        spec.loader.exec_module(module)
    return sys.modules[name]


@pytest.fixture(scope="session")
def example() -> ModuleType:
    return _load("example_findings")


@pytest.fixture(scope="session")
def example_bench() -> ModuleType:
    return _load("example_bench")


@pytest.fixture(scope="session")
def legible() -> Callable[[Sheet], None]:
    """Refuse a picture whose text leaves it, is small, or lies on other text, on a bar or on a ball."""
    looks = _load("test_layout")

    def check(sheet: Sheet) -> None:
        assert looks.faults(sheet) == []
        assert looks.covered(sheet) == []

    return check


@pytest.fixture(scope="session")
def screens() -> ModuleType:
    return _load("example_screens")


@pytest.fixture(scope="session")
def bench_server() -> ModuleType:
    return _load("bench_server")


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    chromium = shutil.which("chromium")
    if chromium is None:
        pytest.skip("LEFT OUT: no chromium on this machine, so the pages were not looked at in a browser")
    playwright = pytest.importorskip("playwright.sync_api", reason="LEFT OUT: playwright is not installed")
    playwright.expect.set_options(timeout=60_000)  # for machines that do much else
    with playwright.sync_playwright() as running:
        opened = running.chromium.launch(executable_path=chromium, args=["--no-sandbox", "--disable-gpu"])
        yield opened
        opened.close()


@pytest.fixture(scope="session")
def findings(example: ModuleType) -> Findings:
    return example.findings()


@pytest.fixture(scope="session")
def comparison(example: ModuleType) -> Comparison:
    return example.comparison()
