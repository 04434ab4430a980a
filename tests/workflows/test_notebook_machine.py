from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import initialize, rule, run_state_machine_as_test
from made_tests import sent
from notebook_bench import NUMBERS, PEOPLE
from notebook_readings import NotebookReadings

from ballbench.workflows.bench_requests import BeginSitting, EndSitting, Finish, Mark
from ballbench.workflows.sittings import begin, end, finish, note

QUIET = settings(deadline=None, suppress_health_check=list(HealthCheck), print_blob=True)


class NotebookMachine(NotebookReadings):
    """All that, and sittings, marks and the end of a test."""

    @initialize(count=st.integers(4, 12), digit=st.integers(0, 9))
    def begin_to_read(self, count: int, digit: int) -> None:
        """Most of what can be done is done with readings."""
        self.begin_with_one(blind=digit % 2 == 0, unit=digit // 5)
        self.read_on(0, count, digit)

    @rule(which=NUMBERS, number=NUMBERS, count=st.integers(0, 9), all_balls=st.booleans())
    def hit(self, which: int, number: int, count: int, *, all_balls: bool) -> None:
        """Note impacts of one ball or of all."""
        test = self.chosen(which)
        ball = None if all_balls else sorted(test.balls)[number % len(test.balls)]
        request = Mark(**sent(kind="impact", value=float(count), ball=ball))
        if test.finished:
            self.refused(note, test, request)
            return
        self.do(note, test, request)
        test.sitting_now("E")
        for one in test.balls if ball is None else [ball]:
            test.noted[one] += count

    @rule(which=NUMBERS, label=st.sampled_from(("", "", "evening", "2", "=1")), by=PEOPLE)
    def begin(self, which: int, label: str, by: str) -> None:
        """Begin a sitting; refused while one goes on, or where its name is taken."""
        test = self.chosen(which)
        request = replace(BeginSitting(**sent(label=label)), by=by)
        going_on = bool(test.sittings) and not test.sittings[-1]["ended"]
        if test.finished or going_on or label in {one["label"] for one in test.sittings}:
            self.refused(begin, test, request)
            return
        self.do(begin, test, request)
        test.begin(by, label)

    @rule(which=NUMBERS)
    def end(self, which: int) -> None:
        """End the sitting that goes on."""
        test = self.chosen(which)
        if not test.sittings or test.sittings[-1]["ended"]:
            self.refused(end, test, EndSitting(**sent()))
            return
        self.do(end, test, EndSitting(**sent()))
        test.sittings[-1]["ended"] = True

    @rule(which=NUMBERS, again=st.booleans())
    def finish(self, which: int, *, again: bool) -> None:
        """Finish a test or take it up again; refused where it stands so already."""
        test = self.chosen(which)
        request = Finish(**sent(again=again))
        if test.finished != again:
            self.refused(finish, test, request)
            return
        made = self.do(finish, test, request)
        test.finished = not again
        assert made.stage == test.stage
        if test.finished and test.sittings:
            test.sittings[-1]["ended"] = True


def test_whatever_is_done_the_notebook_is_what_the_model_says() -> None:
    """Random acts on real notebooks: readings, places, sittings, changes and files agree with plain Python."""
    run_state_machine_as_test(NotebookMachine, settings=settings(QUIET, max_examples=12, stateful_step_count=30))


@pytest.mark.slow
def test_whatever_is_done_for_long_the_notebook_is_what_the_model_says() -> None:
    """The same with many more and longer runs."""
    run_state_machine_as_test(NotebookMachine, settings=settings(QUIET, max_examples=100, stateful_step_count=100))
