"""A notebook beside the model of what it should hold: set up, send again, close and reopen."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule
from made_tests import RULE, sent
from notebook_agrees import bench_agrees, changes_agree, files_agree, sittings_agree
from notebook_model import TestModel

from ballbench.errors import BadInput
from ballbench.store import Notebook, open_notebook
from ballbench.store.ball_tests import balls_of
from ballbench.workflows.bench import bench_state
from ballbench.workflows.set_up import (
    BoxPlan,
    InstrumentPlan,
    MakePlan,
    QuantityPlan,
    ReferencePlan,
    SetUp,
    set_up_test,
)

__all__ = ["NUMBERS", "PEOPLE", "SIZES", "NotebookBench"]

NUMBERS = st.integers(0, 10**6)
PEOPLE = st.sampled_from(("E", "M", "=E"))
SIZES = {"mm": "40.2", "in": "1.58", "g": "2.7", "oz": "0.095"}
"""How an ordinary diameter or mass begins, by the unit of the display."""

_HOW = {"diameter": ("caliper", ("mm", "in")), "mass": ("scale", ("g", "oz")), "rebound": ("phone", ("mm", "mm"))}
_MOST_TESTS = 3


class NotebookBench(RuleBasedStateMachine):
    """A notebook in a folder of its own."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp(prefix="ballbench-"))
        self.notebook = open_notebook(self.folder)
        self.tests: list[TestModel] = []
        self.done: list[tuple[Callable[..., Any], int, Any, Any]] = []

    def teardown(self) -> None:
        """Send everything again, then look at everything once more, the files too."""
        try:
            for number in range(len(self.done)):
                self.send_again(number)
            for test in self.tests:
                bench_agrees(bench_state(self.notebook, test.id), test)
                sittings_agree(self.notebook, test)
                changes_agree(self.notebook, test)
                files_agree(self.notebook, test)
        finally:
            self.notebook.close()
            shutil.rmtree(self.folder)

    def do(self, act: Callable[..., Any], test: TestModel, request: Any) -> Any:
        """Send an act, and remember it with its reply."""
        reply = act(self.notebook, test.id, request)
        kept = reply if isinstance(reply, dict) else None
        self.done.append((act, test.id, request, kept))
        test.replies.append(kept)
        return reply

    def refused(self, act: Callable[..., Any], test: TestModel, request: Any) -> None:
        """Send what must be refused; the invariant sees that it changed nothing."""
        with pytest.raises(BadInput) as caught:
            act(self.notebook, test.id, request)
        assert all(fault.where and fault.found and fault.allowed and fault.todo for fault in caught.value.faults)

    def chosen(self, number: int) -> TestModel:
        """One of the tests."""
        return self.tests[number % len(self.tests)]

    def place(self, test: TestModel, number: int) -> int:
        """One of the places of a test."""
        return sorted(test.places)[number % len(test.places)]

    def begin_with_one(self, *, blind: bool, unit: int) -> None:
        """Nothing can be measured before a test is set up."""
        self.set_up(["crack", "rebound", "diameter"], [2], blind=blind, unit=unit)

    @precondition(lambda self: len(self.tests) < _MOST_TESTS)
    @rule(
        names=st.lists(st.sampled_from((*_HOW, "crack")), min_size=1, unique=True),
        boxes=st.lists(st.integers(1, 3), min_size=1, max_size=3),
        blind=st.booleans(),
        unit=st.integers(0, 1),
    )
    def set_up(self, names: list[str], boxes: list[int], *, blind: bool, unit: int) -> None:
        """Set a test up: its plan is taken from the notebook, what happens to it is the model's."""
        makes = tuple(
            MakePlan(f"=Curlew {number}" if number else "Curlew", (BoxPlan("C-1", balls), BoxPlan("C-2", 1)))
            for number, balls in enumerate(boxes)
        )
        units = {name: _HOW[name][1][unit] for name in names if name in _HOW}
        request = SetUp(
            **sent(), requirement=RULE, makes=makes, blind=blind, invented=unit == 0, seed=7,
            quantities=tuple(_quantity(name) for name in names),
            instruments=tuple(InstrumentPlan(_HOW[name][0], name, own, 0.001) for name, own in units.items()),
            references=tuple(_PIECE for name in units if name == "diameter"),
        )  # fmt: skip
        made = set_up_test(self.notebook, request)
        state = bench_state(self.notebook, made.id)
        boxed = [(make.make, one.label, name) for make in makes for one in make.boxes for name in one.names]
        with self.notebook.read() as tx:
            balls = {row.id: (row.make, row.box, row.label) for row in balls_of(tx, made.id)}
        assert sorted(balls.values()) == sorted(boxed)
        told = ("ball", "reference", "quantity", "axis")
        places = {one.id: {name: getattr(one, name) for name in told} for one in state.places}
        self.tests.append(TestModel(made.id, blind, units, places, balls))
        self.done.append((_set_up_again, made.id, request, None))

    @precondition(lambda self: self.done)
    @rule(number=NUMBERS)
    def send_again(self, number: int) -> None:
        """Send any earlier act again: the reply is what it was, whatever has happened since."""
        act, test, request, reply = self.done[number % len(self.done)]
        again = act(self.notebook, test, request)
        assert reply is None or again == reply

    @rule()
    def reopen(self) -> None:
        """Close the notebook and open it again."""
        self.notebook.close()
        self.notebook = open_notebook(self.folder)

    @invariant()
    def agrees(self) -> None:
        """The bench of every test is what the model says."""
        for test in self.tests:
            bench_agrees(bench_state(self.notebook, test.id), test)


_PIECE = ReferencePlan("piece", "diameter", 40.2, 0.01, "mm", "caliper")


def _quantity(name: str) -> QuantityPlan:
    axes = ("seam", "across") if name == "diameter" else ()
    return QuantityPlan(name, axes, 1, _HOW[name][0] if name in _HOW else "")


def _set_up_again(notebook: Notebook, test: int, request: SetUp) -> None:
    assert set_up_test(notebook, request).id == test
