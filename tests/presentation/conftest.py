from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import pytest

from ballbench.findings.comparisons import Comparison
from ballbench.findings.results import Findings


def _load() -> ModuleType:
    name = "presentation_example_findings"
    if name not in sys.modules:
        spec = importlib.util.spec_from_file_location(name, Path(__file__).with_name("example_findings.py"))
        assert spec is not None
        assert spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        sys.modules[name] = module
        spec.loader.exec_module(module)
    return sys.modules[name]


@pytest.fixture(scope="session")
def example() -> ModuleType:
    return _load()


@pytest.fixture(scope="session")
def findings(example: ModuleType) -> Findings:
    return example.findings()


@pytest.fixture(scope="session")
def comparison(example: ModuleType) -> Comparison:
    return example.comparison()
