"""What holds for every test: linear algebra on one thread, and property tests that are the same every time."""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before numpy loads

from hypothesis import settings

settings.register_profile("house", deadline=None, derandomize=True)
settings.load_profile("house")
