from __future__ import annotations

import subprocess
import sys
import tomllib
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from made_tests import a_set_up, entry, new_test, places, put, sent

from ballbench.errors import BadRequest, Conflict
from ballbench.presentation.qualification_json import qualification_to_json
from ballbench.presentation.screens.qualify_page import qualify_html
from ballbench.presentation.screens.set_up import set_up_html
from ballbench.store import Notebook
from ballbench.workflows.bench import bench_state
from ballbench.workflows.bench_requests import Finish
from ballbench.workflows.exchange import export_file, export_tables
from ballbench.workflows.forms import set_up_page
from ballbench.workflows.measure import enter
from ballbench.workflows.qualified import qualified_instruments
from ballbench.workflows.qualify_forms import instruments_page
from ballbench.workflows.qualify_test import Keep, keep_qualification, qualify_notebook_test, qualify_page
from ballbench.workflows.set_up import (
    BoxAgain,
    BoxPlan,
    InstrumentPlan,
    MakePlan,
    QuantityPlan,
    ReferencePlan,
    set_up_test,
)
from ballbench.workflows.sittings import finish
from ballbench.workflows.take_in_test import TakeInWhole, take_in_whole

PIECE = (ReferencePlan("steel ball", "diameter", 1.5748, 0.00004, "in", "caliper"),)
"""40.0 mm (25.4 mm an inch, exactly), known to 0.001 mm."""


def a_study(notebook: Notebook, **changes: Any) -> int:
    """Set up three balls, read twice by each of two people, and a steel ball."""
    usual = {
        "purpose": "repeat study", "people": ("Ada", "Ben"), "makes": (MakePlan("Curlew", (BoxPlan("C-1", 3),)),),
        "quantities": (QuantityPlan("diameter", ("seam",), 2, "caliper"),),
        "instruments": (InstrumentPlan("caliper", "diameter", "mm", 0.01),), "references": PIECE,
    }  # fmt: skip
    return new_test(notebook, **{**usual, **changes}).id


def read_all(notebook: Notebook, test: int) -> None:
    """Read every place by the person whose turn it is: balls 0.1 mm apart, Ben 0.02 mm above Ada, a pattern of 0.01."""
    for number, place in enumerate(bench_state(notebook, test).places):
        size = 40.0 if place.ball is None else 40.0 + 0.1 * place.ball
        off = 0.02 * (place.person == "Ben") + 0.01 * (number % 3)
        put(notebook, test, place.id, f"{size + off:.2f}", by=place.person or "Ada")


def on_the_command_line(notebook: Notebook, test: int, folder: Path) -> bytes:
    """Give what `ballbench qualify` writes to the screen for the files of a test, as a person gives them."""
    folder.mkdir(exist_ok=True)
    files = export_tables(notebook, test, folder)
    named = {"--bench": "bench.toml", "--checks": "checks.csv", "--corrections": "corrections.csv",
             "--spec": "requirement.toml"}  # fmt: skip
    given = [part for option, name in named.items() if name in files for part in (option, str(files[name]))]
    first = [str(files["readings.csv"])] if "readings.csv" in files else []
    program = [sys.executable, "-c", "from ballbench.cli.main import run; run()"]
    told = [*program, "qualify", *first, *given, "--seed", "1", "--json", "-"]
    return subprocess.run(told, capture_output=True, check=True).stdout


def test_a_study_is_that_of_the_command_line(notebook: Notebook, tmp_path: Path) -> None:
    """Byte for byte, with two people, a piece given in inches and a correction."""
    test = a_study(notebook)
    read_all(notebook, test)
    text = qualification_to_json(qualify_notebook_test(notebook, test))
    assert text.encode() == on_the_command_line(notebook, test, tmp_path / "files")
    assert export_file(notebook, test, "checks.csv").decode().splitlines()[1].split(",")[3:5] == [
        "39.99992",
        "0.001016",
    ]


def test_a_log_of_checks_alone_is_that_of_the_command_line(notebook: Notebook, tmp_path: Path) -> None:
    """Byte for byte, for a test without a ball; its files can be taken away."""
    test = a_study(notebook, makes=())
    read_all(notebook, test)
    found = qualify_notebook_test(notebook, test)
    assert (found.repeats, found.known) == (None, ("calibration",))
    assert qualification_to_json(found).encode() == on_the_command_line(notebook, test, tmp_path / "files")
    assert export_file(notebook, test, "checks.csv").count(b"steel ball") == 3


def test_people_take_turns_round_by_round(notebook: Notebook) -> None:
    """Each of two people reads each of three balls twice, one round after the other; pieces are anybody's."""
    balls = places(notebook, a_study(notebook), "diameter")
    assert Counter((one.ball, one.person) for one in balls) == {
        (ball, person): 2 for ball in {one.ball for one in balls} for person in ("Ada", "Ben")
    }
    rounds = [{one.person for one in balls[i : i + 3]} for i in range(0, 12, 3)]
    assert rounds == [{"Ada"}, {"Ben"}, {"Ada"}, {"Ben"}]


def test_a_reading_by_another_person_is_asked_about_and_kept_when_it_is_confirmed(notebook: Notebook) -> None:
    """Nothing is refused: what another typed counts as read by whoever typed it."""
    test = a_study(notebook, blind=True)
    place = places(notebook, test, "diameter")[0]
    asked = enter(notebook, test, entry(place.id, "40.21", by="Ben"))
    assert asked["status"] == "asked"
    assert asked["question"]["why"] == "this reading is for Ada, and Ben typed it"
    kept = enter(notebook, test, entry(place.id, "40.21", by="Ben", confirms=asked["question"]["key"]))
    assert (kept["status"], kept["reading"]["by"]) == ("kept", "Ben")
    second = places(notebook, test, "diameter")[1]
    assert enter(notebook, test, entry(second.id, "40.22", by=" ada "))["status"] == "kept"


def test_a_kept_qualification_holds_the_numbers_that_were_found(notebook: Notebook) -> None:
    """The entry as TOML, read by a plain TOML reader, has what the qualification says to the last digit."""
    test = a_study(notebook)
    read_all(notebook, test)
    found = qualify_notebook_test(notebook, test).instrument
    reply = keep_qualification(notebook, test, Keep(**sent()))
    entry_of = tomllib.loads(reply["qualification"]["entry"])["instrument"]["caliper"]
    assert entry_of["repeatability"] == {"sd": found.sd, "dof": found.dof, "includes_rounding": True}
    assert entry_of["calibration"] == {"offset": found.offset, "offset_sd": found.offset_sd}
    (one,) = qualified_instruments(notebook)
    assert (one.instrument.sd, one.instrument.offset, one.test, one.by) == (found.sd, found.offset, test, "E")
    page = instruments_page(notebook)
    assert [tool.instrument.name for tool in page.qualified] == ["caliper"]
    assert page.others == ()
    assert [line.id for line in page.studies] == [test]


def test_an_instrument_is_not_qualified_for_what_it_was_never_studied_for(notebook: Notebook) -> None:
    """Instruments of other tests stand as not qualified, until a study of theirs is kept."""
    new_test(notebook)
    page = instruments_page(notebook)
    assert page.qualified == ()
    assert {(tool.name, tool.quantity) for tool in page.others} == {
        ("caliper", "diameter"), ("scale", "mass"), ("phone", "rebound"),
    }  # fmt: skip


def test_a_blind_study_says_nothing_until_it_is_finished(notebook: Notebook) -> None:
    """Neither what it found nor a kept entry can be had while readings may still come."""
    test = a_study(notebook, blind=True)
    read_all(notebook, test)
    for act in (qualify_notebook_test, lambda *at: keep_qualification(*at, Keep(**sent()))):
        with pytest.raises(Conflict):
            act(notebook, test)
    html = qualify_html(qualify_page(notebook, test))
    assert "Hidden until the study is finished" in html
    assert "must be read" not in html
    finish(notebook, test, Finish(**sent()))
    assert "must be read" in qualify_html(qualify_page(notebook, test))


def test_before_the_first_reading_the_page_says_why_not(notebook: Notebook) -> None:
    """No result, and what to do."""
    page = qualify_page(notebook, a_study(notebook))
    assert page.found is None
    assert [fault.todo for fault in page.faults] == ["measure first"]


@pytest.mark.parametrize(
    ("changes", "where"),
    [
        ({"people": ()}, ["people"]), ({"people": ("Ada", "ada")}, ["people"]),
        ({"makes": (), "references": ()}, ["makes"]), ({"purpose": "", "people": ("Ada",)}, ["people"]),
        ({"purpose": "fun", "people": ()}, ["purpose"]), ({"control_every": 3}, ["control_every"]),
        ({"quantities": (QuantityPlan("crack"),), "references": ()}, ["quantities 1, name"]),
        ({"people": ("Ada", "")}, ["people"]), ({"plan": 7}, ["plan"]),
    ],
)  # fmt: skip
def test_what_is_no_study_is_refused(notebook: Notebook, changes: dict[str, Any], where: list[str]) -> None:
    """Each fault names its field, and nothing is set up."""
    with pytest.raises(BadRequest) as caught:
        a_study(notebook, **changes)
    assert [fault.where for fault in caught.value.faults] == where


def test_a_study_takes_some_balls_of_a_box(notebook: Notebook) -> None:
    """The first balls of a known box, and no more than it has."""
    first = new_test(notebook)
    box = first.boxes[0].id
    some = a_study(notebook, makes=(), boxes=(BoxAgain(box, 2),))
    assert len({one.ball for one in places(notebook, some, "diameter")}) == 2
    with pytest.raises(BadRequest) as caught:
        set_up_test(notebook, a_set_up(makes=(), boxes=(BoxAgain(box, 4),)))
    assert [fault.where for fault in caught.value.faults] == ["boxes 1, balls"]


def test_a_study_that_leaves_and_comes_back_is_a_study(notebook: Notebook, tmp_path: Path) -> None:
    """Its archive brings its purpose along, and what is said of its repeats is the same."""
    test = a_study(notebook)
    read_all(notebook, test)
    archive = tmp_path / "everything.zip"
    archive.write_bytes(export_file(notebook, test, "everything.zip"))
    back = take_in_whole(notebook, TakeInWhole(**sent(archive=archive)))
    assert back.purpose == "repeat study"
    assert qualify_notebook_test(notebook, back.id).repeats == qualify_notebook_test(notebook, test).repeats


def test_a_set_up_offers_the_piece_that_an_instrument_was_qualified_with(notebook: Notebook) -> None:
    """Once, with value, uncertainty and unit as they were given; before anything is kept none is offered."""
    test = a_study(notebook)
    read_all(notebook, test)
    assert set_up_page(notebook, "golf").pieces == ()
    keep_qualification(notebook, test, Keep(**sent(), quantity="diameter"))
    keep_qualification(notebook, test, Keep(**sent(), quantity="diameter"))
    (piece,) = set_up_page(notebook, "golf").pieces
    assert (piece.name, piece.value, piece.u, piece.unit) == ("steel ball", 1.5748, 0.00004, "in")
    html = set_up_html(set_up_page(notebook, "golf"))
    assert (
        'data-again="steel ball" data-quantity="diameter" data-value="1.5748" data-u="0.00004" data-unit="in"' in html
    )
