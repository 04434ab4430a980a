"""What holds for every test: one thread for linear algebra, repeatable property tests, ordinary scheduling after it.

A test that leaves its process ahead of all others stops the machine: the browser it starts next may keep it for good.
"""

from __future__ import annotations

import os
from collections.abc import Iterator

import pytest

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before numpy loads

from hypothesis import settings

settings.register_profile("house", deadline=None, derandomize=True)
settings.load_profile("house")


@pytest.fixture(autouse=True)
def _scheduled_as_before() -> Iterator[None]:
    before = _scheduling()
    yield
    if _scheduling() != before:
        os.sched_setscheduler(0, before, os.sched_param(0))
        pytest.fail("the test left its process in real-time scheduling, which all its later children inherit")


def _scheduling() -> int:
    return os.sched_getscheduler(0) if hasattr(os, "sched_getscheduler") else 0
