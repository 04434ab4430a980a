"""What makes were like in finished tests, for planning the next one: mean, and spread between balls and places."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from ballbench.errors import BadInput, NotConverged
from ballbench.presentation.screens.plan_form import AsFound
from ballbench.records import samples_of
from ballbench.records.ball_test import BallTest
from ballbench.specs import find_requirement
from ballbench.statistics.posterior import Truths
from ballbench.statistics.preparation import engine, prepare, shared_draws
from ballbench.store import Notebook
from ballbench.store.ball_tests import ball_test_of
from ballbench.store.library import find_tests
from ballbench.workflows.exchange import export_test
from ballbench.workflows.linear_algebra import one_thread_each
from ballbench.workflows.taking_in import take_in

__all__ = ["as_found", "finished_alike"]

_TESTS = 3
_LOOKED_THROUGH = 200
_FEWEST = 3
"""Balls below which a spread between them says next to nothing (own choice)."""
_DRAWS = 1000
"""They place a median to a thirtieth of its own uncertainty: enough to plan with (own choice)."""


def finished_alike(notebook: Notebook, requirement: str) -> tuple[BallTest, ...]:
    """Give the last few finished tests against a requirement, the newest first, repeat studies left out."""
    with notebook.read() as tx:
        tests = (ball_test_of(tx, number) for number in find_tests(tx, finished=True, most=_LOOKED_THROUGH))
        alike = [test for test in tests if test.requirement == requirement and not test.purpose]
    return tuple(alike[:_TESTS])


def as_found(notebook: Notebook, requirement: str) -> tuple[AsFound, ...]:
    """Give what each make was like, quantity by quantity, in the last few finished tests against a requirement.

    Returns
    -------
    tuple of AsFound
        Medians of the draws that a judgement rests on; a make of fewer than three balls is left out, and so is a test
        whose readings cannot be used.
    """
    found: list[AsFound] = []
    for test in finished_alike(notebook, requirement):
        try:
            found += _of_test(notebook, test)
        except (BadInput, NotConverged):
            continue
    return tuple(found)


def _of_test(notebook: Notebook, test: BallTest) -> Iterator[AsFound]:
    with tempfile.TemporaryDirectory(prefix="ballbench-") as folder:
        files = export_test(notebook, test.id, Path(folder))
        requirement = find_requirement(str(files.requirement))
        taken = take_in(files.readings, files.bench, files.corrections, files.balls, requirement)
    numbers = {one.name for one in test.quantities if not one.yes_no}
    for product, samples in samples_of(taken.readings):
        for name, sample in samples.items():
            if name not in numbers or len(sample.balls) < _FEWEST:
                continue
            prepared = prepare(sample, taken.bench)
            rng = np.random.Generator(np.random.PCG64(test.seed))
            shared = shared_draws(prepared.shared, test.seed, 0, _DRAWS)
            with one_thread_each():
                draws = list(engine(prepared, rng).sample(rng, _DRAWS, shared))
            form = float(np.median(np.exp(_joined(draws, "m")))) if prepared.study.has_form else 0.0
            mean, sd = (float(np.median(_joined(draws, part))) for part in ("mean", "sb"))
            yield AsFound(test.id, test.title, product, name, len(sample.balls), mean, sd, form, test.invented)


def _joined(draws: list[Truths], part: str) -> np.ndarray:
    return np.concatenate([getattr(one, part) for one in draws])
