from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from made_evening import taken
from made_tests import LEAGUE, a_set_up, fill, new_test, places, put, sent

from ballbench.errors import BadRequest
from ballbench.presentation.findings_json import findings_to_json
from ballbench.records import read_balls
from ballbench.store import Notebook
from ballbench.store.ball_tests import BallRow, balls_of
from ballbench.workflows.bench import bench_state
from ballbench.workflows.bench_requests import Finish, Mark
from ballbench.workflows.boxes import box_history, boxes
from ballbench.workflows.exchange import export_file
from ballbench.workflows.judge_test import judge_notebook_test
from ballbench.workflows.keep import one_test
from ballbench.workflows.set_up import (
    BoxAgain,
    BoxPlan,
    InstrumentPlan,
    MakePlan,
    QuantityPlan,
    set_up_test,
)
from ballbench.workflows.sittings import finish, note

PHONE = (InstrumentPlan("phone", "rebound", "mm", 1.0, 2.5, 10.0),)
DROPS = {"quantities": (QuantityPlan("rebound", (), 3, "phone"),), "instruments": PHONE, "references": ()}
"""Three drops of every ball, and nothing else."""

FEW_IMPACTS = """id = "few-impacts"
sport = "any"
title = "Rebound of balls that are little used (invented)"
edition = "2026"
source = { document = "Invented for the tests", seen = "own" }
[[clause]]
id = "rebound"
text = "A ball of at most 8 impacts rebounds 240 mm to 262 mm."
quantity = "rebound"
ball = "mean"
sample = "each"
lower = "200 mm"
upper = "300 mm"
conditions = { impacts = "0 to 8" }
"""


def by_make(notebook: Notebook) -> dict[str, int]:
    """Numbers of the boxes by make."""
    return {line.box.make: line.box.id for line in boxes(notebook)}


def rows(notebook: Notebook, test: int) -> tuple[BallRow, ...]:
    """Balls of a test as they are, hidden or not."""
    with notebook.read() as tx:
        return balls_of(tx, test)


def impacts(notebook: Notebook, test: int) -> set[int]:
    """Impacts of the balls on the bench."""
    return {ball.impacts for ball in bench_state(notebook, test).balls}


def told(notebook: Notebook, test: int, folder: Path) -> set[tuple[int | None, str | None]]:
    """Impacts and opening as a reader of the handed-out file has them."""
    path = folder / "balls.csv"
    path.write_bytes(export_file(notebook, test, "balls.csv"))
    return {(fact.impacts, fact.opened) for fact in read_balls(path).balls.values()}


def refused(notebook: Notebook, **changes: Any) -> dict[str, str]:
    """Set up what must be refused; give what was found at each place."""
    with pytest.raises(BadRequest) as caught:
        new_test(notebook, **changes)
    assert all(fault.allowed and fault.todo for fault in caught.value.faults)
    return {fault.where: fault.found for fault in caught.value.faults}


@pytest.mark.parametrize("blind", [False, True])
def test_balls_keep_identity_and_label_and_get_the_numbers_of_the_test(notebook: Notebook, *, blind: bool) -> None:
    """A known box beside a new one: the same balls and labels; blind, their numbers are shuffled over both boxes."""
    first = new_test(notebook).id
    known = {row.id: row.label for row in rows(notebook, first) if row.make == "Curlew"}
    new = (MakePlan("Plover", (BoxPlan("P-1", 3),)),)
    orders = set()
    for seed in range(1, 7):
        test = new_test(notebook, makes=new, boxes=(BoxAgain(by_make(notebook)["Curlew"]),), blind=blind, seed=seed).id
        own = rows(notebook, test)
        assert {row.id: row.label for row in own if row.make == "Curlew"} == known
        assert sorted(row.number for row in own) == [f"{n:02d}" for n in range(1, 7)]
        orders.add(tuple(row.number for row in own))
        state = bench_state(notebook, test)
        assert {place.ball for place in state.places if place.ball} == {row.id for row in own}
        assert [ball.number for ball in state.balls] == [f"{n:02d}" for n in range(1, 7)]
    assert len(orders) == (6 if blind else 1)


def test_a_known_box_alone_is_enough_and_nothing_is_made_anew(notebook: Notebook) -> None:
    """Without a new make; the same boxes for another requirement; no box or make is written again."""
    new_test(notebook)
    before = boxes(notebook)
    golf = new_test(
        notebook, makes=(), boxes=tuple(BoxAgain(line.box.id) for line in before), requirement="golf",
        quantities=(QuantityPlan("mass", (), 1, "scale"),), instruments=(InstrumentPlan("scale", "mass", "g", 0.01),),
        references=(),
    )  # fmt: skip
    after = boxes(notebook)
    assert [(line.box, line.balls) for line in after] == [(line.box, line.balls) for line in before]
    assert {line.tests[-1].id for line in after} == {golf.id}
    assert [box.make for box in golf.boxes] == [line.box.make for line in before]


def test_what_is_wrong_with_known_boxes_is_said_all_at_once(notebook: Notebook) -> None:
    """Unknown, twice, a box or make that the files could not tell from a new one, and data of the other kind."""
    new_test(notebook)
    box, other = by_make(notebook)["Curlew"], by_make(notebook)["Dunlin"]
    again = (BoxAgain(99), BoxAgain(box), BoxAgain(box), BoxAgain(2**40), BoxAgain(-1))
    assert refused(notebook, boxes=again, makes=(), risk=0.7) == {
        "risk": "0.7", "boxes 1": "no box 99", "boxes 3": "Curlew, C-1 twice", "boxes 4": f"no box {2**40}",
        "boxes 5": "no box -1",
    }  # fmt: skip
    alike = (MakePlan("curlew", (BoxPlan("N", 1),)), MakePlan("Dunlin", (BoxPlan("d_1", 1), BoxPlan("D-1", 1))))
    assert refused(notebook, boxes=(BoxAgain(box), BoxAgain(other)), makes=alike) == {
        "boxes 1": "Curlew beside curlew", "boxes 2": "a second box Dunlin, D-1",
    }  # fmt: skip
    assert refused(notebook, boxes=(BoxAgain(box),), makes=(), invented=False) == {
        "boxes 1": "Curlew, C-1, whose tests hold invented data"
    }
    assert "makes" in refused(notebook, makes=())
    many = (MakePlan("Plover", (BoxPlan("P-1", 1999),)),)
    assert refused(notebook, boxes=(BoxAgain(box),), makes=many)["makes"].startswith("2002 balls")


def test_a_box_that_only_a_blind_test_knows_cannot_be_chosen(notebook: Notebook) -> None:
    """Until that test is finished it is as unknown as one that does not exist."""
    blind = new_test(notebook, blind=True).id
    number = min(row.box_id for row in rows(notebook, blind))
    assert boxes(notebook) == ()
    assert refused(notebook, makes=(), boxes=(BoxAgain(number),)) == {"boxes 1": f"no box {number}"}
    finish(notebook, blind, Finish(**sent()))
    assert new_test(notebook, makes=(), boxes=(BoxAgain(number),)).boxes[0].id == number


def test_the_same_set_up_sent_again_is_the_same_test(notebook: Notebook) -> None:
    """Also when the box meanwhile went into hiding with the only test that showed it."""
    shown = new_test(notebook, blind=True).id
    finish(notebook, shown, Finish(**sent()))
    request = a_set_up(makes=(), boxes=(BoxAgain(by_make(notebook)["Curlew"]),), blind=True)
    made = set_up_test(notebook, request)
    finish(notebook, shown, Finish(**sent(again=True)))
    assert boxes(notebook) == ()
    assert set_up_test(notebook, request).id == made.id


def test_impacts_and_the_opening_go_on_over_tests(notebook: Notebook, tmp_path: Path) -> None:
    """Three drops a test and two noted: 3, then 8, then 11; earlier tests keep their own count, in the file as here."""
    first = new_test(notebook, **DROPS).id
    list(fill(notebook, first))
    note(notebook, first, Mark(**sent(kind="opened", at="2026-11-20T09:00:00+01:00")))
    known = tuple(map(BoxAgain, by_make(notebook).values()))
    second = new_test(notebook, makes=(), boxes=known, **DROPS).id
    assert impacts(notebook, second) == {3}, "before its first reading"
    list(fill(notebook, second))
    note(notebook, second, Mark(**sent(kind="impact", value=2.0)))
    third = new_test(notebook, makes=(), boxes=known, **DROPS).id
    list(fill(notebook, third))
    opened = "2026-11-20T09:00:00+01:00"
    for test, count in ((first, 3), (second, 8), (third, 11)):
        assert impacts(notebook, test) == {count}
        assert told(notebook, test, tmp_path) == {(count, opened)}
    history = box_history(notebook, known[0].box)
    assert {tuple(one.impacts for one in ball.tests) for ball in history.balls} == {(3, 8, 11)}
    assert {ball.opened for ball in history.balls} == {opened}


def test_conditioning_and_pressure_belong_to_the_test(notebook: Notebook, tmp_path: Path) -> None:
    """What was noted of them in the first test is not known in the second."""
    first = new_test(notebook).id
    for kind, value in (("conditioning begun", None), ("pressure", 71.5), ("ball temperature", 22.0)):
        note(notebook, first, Mark(**sent(kind=kind, value=value)))
    list(fill(notebook, first))
    second = new_test(notebook, makes=(), boxes=(BoxAgain(by_make(notebook)["Curlew"]),)).id
    list(fill(notebook, second))
    (tmp_path / "balls.csv").write_bytes(export_file(notebook, second, "balls.csv"))
    facts = read_balls(tmp_path / "balls.csv").balls.values()
    assert {(fact.conditioned_h, fact.pressure_kpa, fact.temperature_c) for fact in facts} == {(None, None, None)}


def test_a_clause_for_few_impacts_sees_those_of_earlier_tests(notebook: Notebook) -> None:
    """At most 8 impacts: with three drops a test the clause is tested in the first and the second, not in the third."""
    decisions = []
    known: tuple[BoxAgain, ...] = ()
    for _ in range(3):
        makes = () if known else (MakePlan("Curlew", (BoxPlan("C-1", 6),)),)
        test = new_test(notebook, requirement=FEW_IMPACTS, makes=makes, boxes=known, conditions=None, **DROPS).id
        list(fill(notebook, test))
        known = (BoxAgain(by_make(notebook)["Curlew"]),)
        clause = json.loads(findings_to_json(judge_notebook_test(notebook, test)))["products"][0]["clauses"][0]
        decisions.append(clause["decision"])
    assert decisions == ["met", "met", "not tested"]
    assert "the clause holds at impacts 0 to 8, and the readings were taken at 9" in str(clause)


def test_a_blind_bench_does_not_tell_which_balls_were_dropped_before(notebook: Notebook) -> None:
    """While it is under way all balls begin at none, whatever they had; the facts of the finished test have it all."""
    first = new_test(notebook, **DROPS).id
    list(fill(notebook, first))
    known = (BoxAgain(by_make(notebook)["Curlew"]),)
    blind = new_test(notebook, makes=(MakePlan("Plover", (BoxPlan("P-1", 3),)),), boxes=known, blind=True, **DROPS).id
    assert impacts(notebook, blind) == {0}
    list(fill(notebook, blind))
    assert impacts(notebook, blind) == {3}
    assert {ball.impacts for ball in one_test(notebook, blind).balls} == {3}
    finish(notebook, blind, Finish(**sent()))
    assert impacts(notebook, blind) == {3, 6}


@pytest.mark.parametrize(("given", "total"), [("", None), ("Curlew,01,7\n", 10)])
def test_a_box_that_came_with_a_file_goes_on_from_what_the_file_says(
    notebook: Notebook, tmp_path: Path, given: str, total: int | None
) -> None:
    """Seven said and three drops are ten, the file's own drop aside; nothing said stays unknown, seen are three."""
    (tmp_path / "readings.csv").write_text("product,box,ball,quantity,value\nCurlew,C,01,rebound,250\n", "utf-8")
    (tmp_path / "given.csv").write_text(f"product,ball,impacts\n{given}", "utf-8")
    files = {"readings": tmp_path / "readings.csv", "requirement": LEAGUE / "league-ball.toml"}
    taken(notebook, {**files, "balls": tmp_path / "given.csv"} if given else files)
    again = (BoxAgain(by_make(notebook)["Curlew"]),)
    test = new_test(notebook, makes=(), boxes=again, invented=False, **DROPS).id
    list(fill(notebook, test))
    assert told(notebook, test, tmp_path) == {(total, None)}
    assert impacts(notebook, test) == {10 if given else 3}


def test_two_tests_at_once_with_the_same_balls_are_said(notebook: Notebook) -> None:
    """Each names the other beside the box, as long as neither is finished or blind."""
    first = new_test(notebook, title="Morning").id
    box = by_make(notebook)["Curlew"]
    second = new_test(notebook, makes=(), boxes=(BoxAgain(box),), title="Afternoon").id
    new_test(notebook, makes=(), boxes=(BoxAgain(box),), title="Hidden", blind=True)

    def beside(test: int) -> list[tuple[int, str]]:
        return [(other.box, other.title) for other in one_test(notebook, test).beside]

    assert (beside(first), beside(second)) == ([(box, "Afternoon")], [(box, "Morning")])
    assert beside(3) == []
    line = next(line for line in boxes(notebook) if line.box.id == box)
    assert [(test.title, test.stage) for test in line.tests] == [("Morning", "set up"), ("Afternoon", "set up")]
    put(notebook, first, places(notebook, first, "mass")[0].id, "2.71")
    finish(notebook, first, Finish(**sent()))
    assert (beside(first), beside(second)) == ([], [])
