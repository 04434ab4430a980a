from __future__ import annotations

from collections.abc import Callable

import pytest

from ballbench.specs.loading import parse_requirement
from ballbench.specs.model import Requirement

HEAD = """
id = "own"
sport = "any"
title = "Own"
edition = "1"
source = { seen = "own" }
"""


@pytest.fixture
def own() -> Callable[[str], Requirement]:
    """Parse the rest of a requirement file whose head is given."""

    def parse(rest: str) -> Requirement:
        return parse_requirement((HEAD + rest).encode(), "own.toml")

    return parse
