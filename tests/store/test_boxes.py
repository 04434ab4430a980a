from __future__ import annotations

import pytest
from made_tests import new_test, places, put, sent

from ballbench.errors import BadRequest
from ballbench.store import Notebook
from ballbench.store.ball_history import Earlier, earlier_of
from ballbench.store.boxes import box_tests, boxes_known, numbers_in_box, read_in_box
from ballbench.workflows.bench_requests import Finish, Mark, Spoil
from ballbench.workflows.correct import Amend, amend_readings
from ballbench.workflows.measure import spoil
from ballbench.workflows.quick_check import QuickCheck, QuickInstrument, quick_check
from ballbench.workflows.set_up import BoxAgain, BoxPlan, MakePlan
from ballbench.workflows.sittings import finish, note

DROPS = ("rebound",)


def again(notebook: Notebook, *boxes: int, **changes: object) -> int:
    """Set up a test of boxes that the notebook has, and of no others."""
    return new_test(notebook, makes=(), boxes=tuple(map(BoxAgain, boxes)), **changes).id


def drop(notebook: Notebook, test: int, count: int = 1) -> int:
    """Drop the first ball so often, and give its number."""
    place = places(notebook, test, "rebound")[0]
    for number in range(count):
        put(notebook, test, place.id, f"25{number}")
    return place.ball or 0


def earlier(notebook: Notebook, test: int, ball: int) -> Earlier:
    """What a ball had in other tests."""
    with notebook.read() as tx:
        return earlier_of(tx, test, DROPS)[ball]


def test_a_box_again_is_the_same_row(notebook: Notebook) -> None:
    """Two tests of one box: one box, one ball a label, and a number a ball and test; the tests are those, in order."""
    first = new_test(notebook, makes=(MakePlan("Curlew", (BoxPlan("C-1", 3),)),)).id
    with notebook.read() as tx:
        (row,) = boxes_known(tx)
    second = again(notebook, row.box.id, blind=True, seed=5)
    finish(notebook, second, Finish(**sent()))
    with notebook.read() as tx:
        assert boxes_known(tx) == (row,)
        assert row.balls == 3
        assert [one.test for one in box_tests(tx)] == [first, second]
        numbers = numbers_in_box(tx, row.box.id)
    balls = {one.ball for one in numbers}
    assert len(balls) == 3
    assert sorted((one.test, one.number) for one in numbers) == [
        (test, number) for test in (first, second) for number in ("01", "02", "03")
    ]


def test_neither_a_blind_test_under_way_nor_a_quick_check_is_spoken_of(notebook: Notebook) -> None:
    """A box of a blind test appears when that is finished, and goes when it goes on; that of a disputed ball never."""
    blind = new_test(notebook, blind=True).id
    quick_check(notebook, QuickCheck(**sent(
        requirement="golf", quantity="diameter", ball="B", instrument=QuickInstrument("mm", 0.01),
        texts=("42.7", "42.7"),
    )))  # fmt: skip
    counts = []
    for again_ in (None, False, True):
        if again_ is not None:
            finish(notebook, blind, Finish(**sent(again=again_)))
        with notebook.read() as tx:
            counts.append((len(boxes_known(tx)), len(box_tests(tx))))
    assert counts == [(0, 0), (2, 2), (0, 0)]


def test_what_was_read_of_a_box_has_its_corrections_in(notebook: Notebook) -> None:
    """40.20 and 40.30, the second corrected to 40.40 and one excluded: two readings of mean 40.30; one yes of two."""
    test = new_test(notebook, makes=(MakePlan("Curlew", (BoxPlan("C-1", 1),)),)).id
    seam, across = places(notebook, test, "diameter")
    put(notebook, test, seam.id, "40.20")
    wrong = put(notebook, test, across.id, "40.30")["reading"]["id"]
    gone = put(notebook, test, seam.id, "40.90")["reading"]["id"]
    said = [("correct", wrong, "40.40"), ("exclude", gone, "")]
    for action, number, text in said:
        amend_readings(notebook, test, Amend(**sent(readings=(number,), action=action, reason="sheet", text=text)))
    crack = places(notebook, test, "crack")[0].id
    put(notebook, test, crack, "no")
    answer = put(notebook, test, crack, "no")["reading"]["id"]
    amend_readings(notebook, test, Amend(**sent(readings=(answer,), action="correct", reason="seen", text="yes")))
    with notebook.read() as tx:
        box = boxes_known(tx)[0].box.id
        found = {one.quantity: (one.readings, one.yes, one.mean) for one in read_in_box(tx, box)}
    assert found["crack"] == (2, 1, None)
    assert found["diameter"][:2] == (2, 0)
    assert found["diameter"][2] == pytest.approx(40.30, abs=1e-12)


def test_what_came_before_a_reading_counts_and_what_came_later_does_not(notebook: Notebook) -> None:
    """Drops, spoiled drops and noted impacts of two tests under way at once, in the order in which they were sent."""
    one = new_test(notebook, makes=(MakePlan("Curlew", (BoxPlan("C-1", 3),)),)).id
    with notebook.read() as tx:
        box = boxes_known(tx)[0].box.id
    other = again(notebook, box)
    ball = drop(notebook, one, 3)
    spoil(notebook, one, Spoil(**sent(place=places(notebook, one, "rebound")[0].id, reason="hit the tube")))
    note(notebook, one, Mark(**sent(kind="impact", value=5.0)))
    note(notebook, one, Mark(**sent(kind="opened", at="2026-11-21T09:00:00+01:00")))
    assert earlier(notebook, other, ball) == Earlier(9, True, "2026-11-21T09:00:00+01:00")
    own = next(place for place in places(notebook, other, "diameter") if place.ball == ball)
    put(notebook, other, own.id, "40.20")
    drop(notebook, one, 2)
    assert earlier(notebook, other, ball).impacts == 9, "it was read in the other test before it fell again"
    drop(notebook, other)
    assert earlier(notebook, one, ball).impacts == 0, "it was read in the first test before it fell in the other"
    drop(notebook, one)
    assert earlier(notebook, one, ball).impacts == 1


def test_a_ball_that_a_finished_test_never_read_is_as_it_was_then(notebook: Notebook) -> None:
    """What later tests do to it does not change the facts of the finished one."""
    one = new_test(notebook, makes=(MakePlan("Curlew", (BoxPlan("C-1", 3),)),)).id
    with notebook.read() as tx:
        box = boxes_known(tx)[0].box.id
    other = again(notebook, box)
    ball = drop(notebook, one, 2)
    assert earlier(notebook, other, ball).impacts == 2
    unread = next(place for place in places(notebook, other, "diameter") if place.ball != ball)
    put(notebook, other, unread.id, "40.20")
    finish(notebook, other, Finish(**sent()))
    drop(notebook, one, 4)
    assert earlier(notebook, other, ball).impacts == 2


def test_a_test_alone_with_its_boxes_has_no_earlier_ones(notebook: Notebook) -> None:
    """Boxes of the same make and name in two tests are two boxes; nothing passes from one to the other."""
    first, second = (new_test(notebook).id for _ in range(2))
    drop(notebook, first)
    with notebook.read() as tx:
        assert earlier_of(tx, second, DROPS) == {}
        assert len(boxes_known(tx)) == 4


def test_a_box_that_is_refused_leaves_nothing_behind(notebook: Notebook) -> None:
    """A set-up that names no box of the notebook writes no test, and its key can be used again."""
    new_test(notebook)
    request = sent()
    with pytest.raises(BadRequest):
        again(notebook, 99, key=request["key"])
    with notebook.read() as tx:
        box = boxes_known(tx)[0].box.id
        before = len(box_tests(tx))
    again(notebook, box, key=request["key"])
    with notebook.read() as tx:
        assert len(box_tests(tx)) == before + 1
