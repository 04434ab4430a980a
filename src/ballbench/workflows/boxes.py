"""Boxes: which the notebook knows, and what happened to the balls of one over all its tests."""

from __future__ import annotations

from collections.abc import Sequence

from ballbench.errors import Fault, NotFound
from ballbench.presentation.screens.box_page import (
    BallInTest,
    BallMean,
    BallOfBox,
    BoxHistory,
    BoxPage,
    QuantityOfBox,
)
from ballbench.presentation.screens.boxes_page import BoxesPage, BoxLine, TestOfBox
from ballbench.store import Notebook, Tx
from ballbench.store.ball_tests import ball_test_of
from ballbench.store.boxes import (
    BallNumber,
    BoxTest,
    PlannedInTest,
    ReadOfBall,
    balls_of_boxes,
    box_revisions,
    box_tests,
    boxes_known,
    numbers_in_box,
    planned_in_box,
    read_in_box,
)
from ballbench.store.readings import taken_of
from ballbench.workflows.ball_facts import NotedFacts, facts_of
from ballbench.workflows.box_change import box_change

__all__ = ["box_history", "box_page", "box_revision", "boxes", "boxes_page"]

Quantity = tuple[str, str]
"""Canonical name and base unit: another requirement may declare the same name in another unit."""


def boxes(notebook: Notebook) -> tuple[BoxLine, ...]:
    """Give all boxes, the newest first; none that only a blind test under way knows."""
    with notebook.read() as tx:
        rows, tests = boxes_known(tx), box_tests(tx)
    own: dict[int, list[TestOfBox]] = {}
    for test in tests:
        own.setdefault(test.box, []).append(_test(test))
    return tuple(BoxLine(row.box, row.balls, tuple(own[row.box.id])) for row in rows)


def boxes_page(notebook: Notebook) -> BoxesPage:
    """Give the page of all boxes."""
    return BoxesPage(boxes(notebook))


def box_history(notebook: Notebook, box_id: int) -> BoxHistory:
    """Give a box with its balls over all its tests.

    Raises
    ------
    NotFound
        There is no such box, or only a blind test knows it that is under way.
    """
    with notebook.read() as tx:
        rows = boxes_known(tx, (box_id,))
        if not rows:
            allowed = "a box of this notebook; those of a blind test when it is finished"
            raise NotFound(Fault("notebook", f"no box {box_id}", allowed, "choose one from the list of boxes"))
        tests, planned = box_tests(tx, (box_id,)), planned_in_box(tx, box_id)
        facts = {test.test: _facts(tx, test.test) for test in tests}
        balls, numbers, read = balls_of_boxes(tx, (box_id,)), numbers_in_box(tx, box_id), read_in_box(tx, box_id)
    quantities = _quantities(planned, read)
    means = _means(planned, read, quantities)
    return BoxHistory(
        box=rows[0].box,
        tests=tuple(_test(test) for test in tests),
        quantities=quantities,
        balls=tuple(
            BallOfBox(
                ball.id, ball.label, facts[tests[-1].test][ball.id].opened,
                tuple(_line(one, facts, means) for one in numbers if one.ball == ball.id),
            )
            for ball in balls
        ),
    )  # fmt: skip


def box_page(notebook: Notebook, box_id: int, quantity: str = "") -> BoxPage:
    """Give the page of a box.

    Parameters
    ----------
    quantity : str
        What is drawn over the tests; empty, or none that was read as a number: the first that was.

    Raises
    ------
    NotFound
        There is no such box.
    """
    history = box_history(notebook, box_id)
    numbers = [one for one in history.quantities if not one.yes_no]
    drawn = next((one for one in numbers if one.name == quantity), numbers[0] if numbers else None)
    if drawn is None:
        return BoxPage(history)
    return BoxPage(history, drawn.name, drawn.unit, box_change(notebook, history, drawn))


def box_revision(notebook: Notebook, box_id: int) -> tuple[tuple[int, int], ...]:
    """Give the tests of a box, each with the number of the last thing that happened in it."""
    with notebook.read() as tx:
        return box_revisions(tx, box_id)


def _test(row: BoxTest) -> TestOfBox:
    at = row.last_at or row.set_up
    return TestOfBox(row.test, row.title, row.requirement_title, row.kind, row.stage, at, row.invented)


def _facts(tx: Tx, test_id: int) -> dict[int, NotedFacts]:
    return facts_of(tx, ball_test_of(tx, test_id), taken_of(tx, test_id))


def _quantities(planned: Sequence[PlannedInTest], read: Sequence[ReadOfBall]) -> tuple[QuantityOfBox, ...]:
    """Give what was read in any test, as it was planned first, to the decimals of the finest display."""
    done = {(one.test, one.quantity) for one in read}
    found: dict[Quantity, QuantityOfBox] = {}
    for one in planned:
        if (one.test, one.name) in done:
            before = found.get((one.name, one.unit))
            decimals = max(one.decimals, before.decimals if before else 0)
            words = before.words if before else one.words
            found[one.name, one.unit] = QuantityOfBox(one.name, words, one.unit, decimals, one.yes_no)
    return tuple(found.values())


def _means(
    planned: Sequence[PlannedInTest], read: Sequence[ReadOfBall], quantities: Sequence[QuantityOfBox]
) -> dict[tuple[int, int], tuple[BallMean, ...]]:
    """Give what stands by ball and test."""
    units = {(one.test, one.name): one.unit for one in planned}
    order = [(one.name, one.unit) for one in quantities]
    means: dict[tuple[int, int], list[BallMean]] = {}
    for one in read:
        mean = BallMean(one.quantity, units[one.test, one.quantity], one.readings, one.yes, one.mean)
        means.setdefault((one.ball, one.test), []).append(mean)
    return {
        key: tuple(sorted(own, key=lambda mean: order.index((mean.quantity, mean.unit)))) for key, own in means.items()
    }


def _line(
    one: BallNumber,
    facts: dict[int, dict[int, NotedFacts]],
    means: dict[tuple[int, int], tuple[BallMean, ...]],
) -> BallInTest:
    return BallInTest(one.test, one.number, facts[one.test][one.ball].impacts, means.get((one.ball, one.test), ()))
