from __future__ import annotations

import json
import shutil
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from made_tests import RULE, new_test, places, put, sent

from ballbench.errors import BadInput, BadRequest, NotFound
from ballbench.presentation.plan_json import plan_to_json
from ballbench.presentation.screens.plan_page import plan_html
from ballbench.presentation.screens.plan_words import differences
from ballbench.store import Notebook, open_notebook
from ballbench.store.plans import plan_of
from ballbench.workflows.as_found import as_found
from ballbench.workflows.bench import bench_state
from ballbench.workflows.bench_requests import Finish
from ballbench.workflows.correct import Amend, amend_readings
from ballbench.workflows.keep import home, one_test
from ballbench.workflows.plan_at_bench import AskPlan, make_plan, plan_json, plan_page, plans
from ballbench.workflows.plan_forms import plan_form, planned_set_up_page
from ballbench.workflows.plan_record import plan_from_text
from ballbench.workflows.set_up import BoxPlan, InstrumentPlan, MakePlan, QuantityPlan
from ballbench.workflows.sittings import finish

CALIPER = InstrumentPlan("caliper", "diameter", "in", 0.0005, 0.0006, 20.0, 0.0, 0.0005)
"""A display in inches, so that a mistaken unit would show."""


def ask(**changes: Any) -> AskPlan:
    """Ask for a small plan."""
    usual: dict[str, Any] = {
        "requirement": "golf", "quantity": "diameter", "true_mean": "42.72", "true_sd": "0.02", "true_form_sd": "0.01",
        "instrument": CALIPER, "balls": (3, 4), "axes": (2,), "tests": 20, "seed": 3,
    }  # fmt: skip
    return AskPlan(**{**sent(), **usual, **changes})


@pytest.fixture(scope="module")
def with_plan(tmp_path_factory: pytest.TempPathFactory, blank: Path) -> Path:
    """A notebook with one plan, whose smallest design is surely enough, for any answer is; to be copied."""
    folder = tmp_path_factory.mktemp("planned") / "notebook"
    shutil.copytree(blank, folder)
    opened = open_notebook(folder)
    assert make_plan(opened, ask(wanted=0.01))["plan"] == 1
    opened.close()
    return folder


@pytest.fixture
def planned() -> int:
    """The number of that plan; a test that asks for it gets a notebook with it."""
    return 1


@pytest.fixture
def notebook(tmp_path: Path, blank: Path, request: pytest.FixtureRequest) -> Iterator[Notebook]:
    """A notebook of its own for each test."""
    source = request.getfixturevalue("with_plan") if "planned" in request.fixturenames else blank
    shutil.copytree(source, tmp_path / "notebook")
    opened = open_notebook(tmp_path / "notebook")
    yield opened
    opened.close()


def test_a_plan_is_that_of_the_command_line(notebook: Notebook, planned: int, tmp_path: Path) -> None:
    """Byte for byte, for the same request with the instrument in a bench file."""
    with notebook.read() as tx:
        asked = json.loads(plan_of(tx, planned).asked)
    (tmp_path / "bench.toml").write_text(asked["bench"], encoding="utf-8")
    program = [sys.executable, "-c", "from ballbench.cli.main import run; run()"]
    told = [*program, "plan", "--spec", "golf", "--quantity", "diameter", "--true-mean", "42.72", "--true-sd", "0.02",
            "--true-form-sd", "0.01", "--bench", str(tmp_path / "bench.toml"), "--balls", "3,4", "--axes", "2",
            "--tests", "20", "--seed", "3", "--wanted", "0.01", "--processes", "1", "--json", "-"]  # fmt: skip
    out = subprocess.run(told, capture_output=True, check=True).stdout
    assert plan_json(notebook, planned).encode() == out
    assert json.loads(out)["instrument"]["resolution"] == pytest.approx(0.0127, rel=1e-12)  # 0.0005 in


def test_a_kept_plan_is_read_back_as_it_was(notebook: Notebook, planned: int) -> None:
    """The plan of the page writes the same document, and its chosen design is one of those that were tried."""
    page = plan_page(notebook, planned)
    assert page.plan is not None
    assert plan_to_json(page.plan) == plan_json(notebook, planned)
    assert any(page.plan.how_many.chosen is one for one in page.plan.settings)
    assert "3 balls, 2 places each, read once" in plan_html(page)


def test_a_plan_of_another_version_still_shows_its_sentences(notebook: Notebook, planned: int) -> None:
    """A record with a field that is not known is not guessed at."""
    with notebook.read() as tx:
        record = json.loads(json.loads(plan_of(tx, planned).result)["record"])
    assert plan_from_text(json.dumps({**record, "later": 1})) is None
    assert plan_from_text(json.dumps({**record, "tests": "many"})) is None
    older = {name: part for name, part in record.items() if name not in {"caught", "round_ball"}}
    kept = plan_from_text(json.dumps(older))
    assert kept is not None
    assert (kept.sentence, kept.caught) == (record["sentence"], ())
    assert plan_from_text(json.dumps({name: part for name, part in record.items() if name != "seed"})) is None
    page = plan_page(notebook, planned)
    html = plan_html(replace(page, plan=None)).replace("\N{NO-BREAK SPACE}", " ")
    assert page.line.sentence.split(" (")[0] in html
    assert "Another version" in html


def test_the_same_key_makes_one_plan(notebook: Notebook) -> None:
    """Sent again, it is the same plan."""
    request = ask(balls=(3,))
    assert make_plan(notebook, request) == make_plan(notebook, request)
    assert len(plans(notebook)) == 1


def test_work_that_is_stopped_leaves_nothing(notebook: Notebook) -> None:
    """What the one who is told raises ends the work."""

    def stop(*_: object) -> None:
        raise InterruptedError

    with pytest.raises(InterruptedError):
        make_plan(notebook, ask(), stop)
    assert plans(notebook) == ()


@pytest.mark.parametrize(
    ("changes", "where"),
    [
        ({"by": ""}, ["by"]), ({"tests": 60_001, "balls": (3,)}, ["option --tests"]),
        ({"true_sd": "much", "true_mean": "42"}, ["option --true-sd"]),
        ({"quantity": "colour", "instrument": None}, ["option --quantity"]),
        ({"balls": (), "wanted": 2.0}, ["option --balls", "option --wanted"]), ({"requirement": "chess"}, None),
    ],
)  # fmt: skip
def test_what_cannot_be_planned_is_refused(
    notebook: Notebook, changes: dict[str, Any], where: list[str] | None
) -> None:
    """Each fault names its field, and nothing is kept."""
    with pytest.raises(BadInput) as caught:
        make_plan(notebook, ask(**changes))
    if where is not None:
        assert [fault.where for fault in caught.value.faults] == where
    assert plans(notebook) == ()


def test_a_qualification_that_is_not_there_is_not_planned_with(notebook: Notebook) -> None:
    """404, with words."""
    with pytest.raises(NotFound):
        make_plan(notebook, ask(instrument=None, qualification=4))


def test_a_usual_instrument_is_named_and_said(notebook: Notebook) -> None:
    """Without a name it is a usual one of that step, and the plan says what it takes for granted."""
    tool = InstrumentPlan("", "diameter", "mm", 0.001)
    told = json.loads(plan_json(notebook, int(make_plan(notebook, ask(instrument=tool, balls=(3,)))["plan"])))
    assert (told["instrument"]["name"], told["instrument"]["resolution"]) == ("caliper", 0.001)
    assert any("repeatability" in text for text in told["assumptions"])


def test_where_no_instrument_is_said_a_usual_one_is_taken(notebook: Notebook) -> None:
    """As on the command line without a bench file: a display step of 0.01 g, and the plan says so."""
    asked = ask(instrument=None, quantity="mass", true_mean="45.5", true_sd="0.1", balls=(3,), axes=(1,))
    told = json.loads(plan_json(notebook, int(make_plan(notebook, asked)["plan"])))
    assert told["instrument"]["resolution"] == 0.01
    assert any("No instrument is stated for mass" in text for text in told["assumptions"])


def follow(notebook: Notebook, plan: int, **changes: Any) -> int:
    """Set up the test that the plan is about, or one that is otherwise in something."""
    usual: dict[str, Any] = {
        "requirement": "golf", "plan": plan, "makes": (MakePlan("Curlew", (BoxPlan("C-1", 3),)),),
        "quantities": (QuantityPlan("diameter", ("seam", "across"), 1, "caliper"),), "instruments": (CALIPER,),
        "references": (), "conditions": None,
    }  # fmt: skip
    return new_test(notebook, **{**usual, **changes}).id


def said(notebook: Notebook, test: int) -> tuple[str, ...]:
    """What the page of a test says is otherwise than planned."""
    page = one_test(notebook, test)
    assert page.plan is not None
    return differences(page.plan)


def test_a_test_that_keeps_to_its_plan_differs_in_nothing(notebook: Notebook, planned: int) -> None:
    """The plan is no longer offered on the first page, and names the test."""
    assert [line.id for line in home(notebook).plans] == [planned]
    test = follow(notebook, planned)
    assert said(notebook, test) == ()
    assert home(notebook).plans == ()
    assert plans(notebook)[0].tests == ((test, "Winter league (invented)"),)


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"makes": (MakePlan("Curlew", (BoxPlan("C-1", 3),)), MakePlan("Dunlin", (BoxPlan("D-1", 2),)))},
         "2 balls of a make at least; planned were 3 balls."),
        ({"quantities": (QuantityPlan("diameter", ("seam",), 1, "caliper"),)},
         "1 place on a ball; planned were 2 places."),
        ({"quantities": (QuantityPlan("diameter", ("seam", "across"), 2, "caliper"),)},
         "2 readings of each place; planned were 1 reading."),
        ({"rule": "simple"}, "The decision rule is simple; planned was guarded."),
        ({"risk": 0.1}, "The risk of a false “met” is 10 %; planned was 5 %."),
        ({"instruments": (replace(CALIPER, offset=0.001),)}, "The offset is 0.0254 mm; planned was 0 mm."),
        ({"instruments": (replace(CALIPER, sd=0.0004),)},
         "The SD of repeated readings is 0.01016 mm; planned was 0.01524 mm."),
        ({"requirement": RULE}, "The balls are held against winter-league; planned was golf."),
    ],
)  # fmt: skip
def test_what_becomes_otherwise_is_said(
    notebook: Notebook, planned: int, changes: dict[str, Any], sentence: str
) -> None:
    """One change, one sentence with both numbers; 0.001 in is 0.0254 mm."""
    found = said(notebook, follow(notebook, planned, **changes))
    assert found == (sentence,)


def test_readings_left_out_and_not_taken_are_said(notebook: Notebook, planned: int) -> None:
    """One of six readings excluded, one never taken, the second told only when the test is finished."""
    test = follow(notebook, planned)
    first, *_, last = places(notebook, test, "diameter")
    for place in places(notebook, test, "diameter"):
        if place.id != last.id:
            put(notebook, test, place.id, "1.682")
    reading = next(one.id for one in bench_state(notebook, test).readings if one.place == first.id)
    amend_readings(notebook, test, Amend(**sent(readings=(reading,), action="exclude", reason="held askew")))
    left_out = "1 reading was left out after it was taken."
    assert said(notebook, test) == (left_out,)
    finish(notebook, test, Finish(**sent()))
    assert said(notebook, test) == ("1 reading of the plan was not taken.", left_out)


def test_a_plan_fills_the_set_up_form(notebook: Notebook, planned: int) -> None:
    """Its places, repeats, rule and instrument; what it is not about is not ticked."""
    page = planned_set_up_page(notebook, "golf", planned)
    assert page.follow is not None
    assert (page.follow.axes, page.follow.rule, page.follow.risk) == (("seam", "across"), "guarded", 0.05)
    assert page.follow.instrument is not None
    assert page.follow.instrument.sd == pytest.approx(0.0006 * 25.4, rel=1e-12)
    with pytest.raises(NotFound):
        planned_set_up_page(notebook, "golf", planned + 1)


def test_makes_of_finished_tests_are_offered_as_they_were(notebook: Notebook) -> None:
    """Twelve balls with a spread of 0.05 mm, read to 0.001 mm, are found so."""
    sizes = 42.8 + 0.05 * np.array([-1.5, -1.2, -0.8, -0.5, -0.2, 0.0, 0.1, 0.3, 0.5, 0.8, 1.1, 1.4])
    tool = InstrumentPlan("caliper", "diameter", "mm", 0.001, 0.002, 20.0, 0.0, 0.001)
    test = new_test(
        notebook, requirement="golf", makes=(MakePlan("Curlew", (BoxPlan("C-1", 12),)),), references=(),
        quantities=(QuantityPlan("diameter", ("seam",), 1, "caliper"),), instruments=(tool,), conditions=None,
    ).id  # fmt: skip
    for place in places(notebook, test, "diameter"):
        put(notebook, test, place.id, f"{sizes[place.ball - 1]:.3f}")
    assert as_found(notebook, "golf") == ()
    finish(notebook, test, Finish(**sent()))
    (one,) = as_found(notebook, "golf")
    assert (one.test, one.make, one.quantity, one.balls, one.form_sd) == (test, "Curlew", "diameter", 12, 0.0)
    assert one.mean == pytest.approx(float(sizes.mean()), abs=0.008)  # half an SD of the mean, 0.05 / sqrt(12)
    assert one.sd == pytest.approx(float(sizes.std(ddof=1)), rel=0.2)  # an SD of 11 degrees is known to a fifth
    assert plan_form(notebook, "golf").found == (one,)


def test_a_requirement_of_answers_alone_is_not_planned(notebook: Notebook) -> None:
    """The form says so."""
    with pytest.raises(BadRequest):
        plan_form(notebook, "no-such-requirement")
