from __future__ import annotations

import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from made_evening import an_evening
from made_tests import LEAGUE, RULE, new_test, places, put, sent, time_of

from ballbench.errors import BadInput
from ballbench.store import Notebook
from ballbench.store.bench import marks_of
from ballbench.workflows import take_in_test as module
from ballbench.workflows.bench_requests import BeginSitting
from ballbench.workflows.exchange import export_file
from ballbench.workflows.keep import one_test
from ballbench.workflows.keep import tests as all_tests
from ballbench.workflows.sittings import begin
from ballbench.workflows.take_in_test import TakeIn, take_in_test
from ballbench.workflows.taken_in_rows import MOST_ROWS

WHOLE = """format = "ballbench/test/1"
title = "Spring trial (invented)"
kind = "whole"
set_up = "2026-03-01T09:00:00+01:00"
set_up_by = "M"
rule = "simple"
risk = 0.1
seed = 77
blind = true

[[sitting]]
label = "2"
kind = "paper"
by = "M"
begun = "2026-03-01T10:00:00+01:00"
ended = "2026-03-01T11:00:00+01:00"

[[noted]]
kind = "air temperature"
value = 20.5
sitting = "2"
by = "M"
at = "2026-03-01T10:05:00+01:00"
"""

TWICE = "[[sitting]]\nlabel = '2'\nbegun = '2026-03-01T10:00Z'\n[[noted]]"


def request(tmp_path: Path, text: str, **more: Any) -> TakeIn:
    """Ask for the invented winter league with such a file."""
    (tmp_path / "test.toml").write_text(text, "utf-8")
    return TakeIn(**{**sent(requirement=RULE, readings=LEAGUE / "readings.csv", test=tmp_path / "test.toml"), **more})


def test_the_file_says_what_the_others_cannot(notebook: Notebook) -> None:
    """Read with a reader of TOML: head, sittings with their times, notes of the room; quotes and = in a name kept."""
    test = an_evening(notebook)
    told = tomllib.loads(export_file(notebook, test, "test.toml").decode())
    page = one_test(notebook, test)
    own = page.progress.test
    assert {name: told[name] for name in ("title", "kind", "set_up", "set_up_by", "rule", "risk", "seed", "blind")} == {
        "title": own.title, "kind": "whole", "set_up": own.set_up, "set_up_by": "E", "rule": "guarded", "risk": 0.05,
        "seed": 1, "blind": False,
    }  # fmt: skip
    assert told["requirement"] == {"id": own.requirement, "digest": own.requirement_digest}
    assert [(one["label"], one["kind"], one["begun"], one["ended"]) for one in told["sitting"]] == [
        (line.sitting.label, "bench", line.sitting.begun, line.sitting.ended) for line in page.sittings]  # fmt: skip
    assert told["sitting"][0]["label"] == "=evening"
    assert [(one["kind"], one.get("value"), one.get("note")) for one in told["noted"]] == [
        ("air temperature", 21.0, None), ("zeroed", None, "caliper"), ("humidity", 61.5, None)]  # fmt: skip


def test_a_sitting_that_goes_on_has_no_end(notebook: Notebook) -> None:
    """The file of a test that is under way."""
    test = new_test(notebook).id
    begin(notebook, test, BeginSitting(**sent(kind="paper") | {"at": time_of(0)}))
    put(notebook, test, places(notebook, test, "crack")[0].id, "no")
    (sitting,) = tomllib.loads(export_file(notebook, test, "test.toml").decode())["sitting"]
    assert sitting == {"label": "1", "kind": "paper", "by": "E", "begun": time_of(0)}


def test_what_it_states_holds(notebook: Notebook, tmp_path: Path) -> None:
    """Title, set-up, rule, risk, seed; the sitting it names is from paper, and the other is as without the file."""
    own = request(tmp_path, WHOLE)
    test = take_in_test(notebook, own)
    assert (test.title, test.set_up, test.set_up_by, test.rule, test.risk, test.seed, test.blind, test.kind) == (
        "Spring trial (invented)", "2026-03-01T09:00:00+01:00", "M", "simple", 0.1, 77, True, "taken in")  # fmt: skip
    sittings = {line.sitting.label: line for line in one_test(notebook, test.id).sittings}
    stated, other = sittings["2"].sitting, sittings["1"].sitting
    assert (stated.kind, stated.begun[:16], (stated.ended or "")[:16], stated.air_c) == (
        "paper", "2026-03-01T10:00", "2026-03-01T11:00", 20.5)  # fmt: skip
    assert (other.kind, other.begun, other.air_c) == ("bench", own.at, None)
    assert sum(line.readings for line in sittings.values()) == 574
    with notebook.read() as tx:
        (note,) = [row for row in marks_of(tx, test.id) if row.kind == "air temperature"]
    assert (note.by, note.at, note.value) == ("M", "2026-03-01T10:05:00+01:00", 20.5)


def test_what_is_asked_for_goes_before_the_file(notebook: Notebook, tmp_path: Path) -> None:
    """Title, rule, risk and seed of the request; without a file the usual ones."""
    asked = {"title": "Mine", "rule": "guarded", "risk": 0.02, "seed": 0}
    test = take_in_test(notebook, request(tmp_path, WHOLE, **asked))
    assert {name: getattr(test, name) for name in asked} == asked
    bare = take_in_test(notebook, replace(request(tmp_path, WHOLE), test=None))
    assert (bare.rule, bare.risk, bare.seed, bare.blind) == ("guarded", 0.05, 1, False)


@pytest.mark.parametrize(
    ("old", "new", "where"),
    [
        ("ballbench/test/1", "ballbench/test/9", "format"), ('format = "ballbench/test/1"\n', "", "format"),
        ('"simple"', '"strict"', "rule"), ("0.1", "0.7", "risk"), ("seed = 77", "seed = 7.5", "seed"),
        ("seed = 77", "seed = -1", "seed"), ("blind = true", 'blind = "yes"', "blind"), ('"paper"', '"home"', "kind"),
        ("2026-03-01T10:00:00+01:00", "yesterday", "begun"), ('label = "2"', 'label = "3"', "sitting"),
        ("value = 20.5", "value = 900", "value"), ("value = 20.5\n", "", "value"),
        ('"air temperature"', '"mood"', "kind"),
        ("[[noted]]", "[noted]", "noted"), ("title", "titel", "titel"), ("Spring", "S" * 200, "title"),
        ('by = "M"\nat', 'by = "a\\nb"\nat', "by"), ("[[noted]]", TWICE, "label"),
        ("risk = 0.1", "risk = ", "line"),
    ],
)  # fmt: skip
def test_a_file_with_a_fault_in_it(notebook: Notebook, tmp_path: Path, old: str, new: str, where: str) -> None:
    """The fault names the file and the place, and the notebook is as it was."""
    assert old in WHOLE
    with pytest.raises(BadInput) as caught:
        take_in_test(notebook, request(tmp_path, WHOLE.replace(old, new, 1)))
    assert any(fault.where.startswith("test.toml") and where in fault.where for fault in caught.value.faults)
    assert all_tests(notebook, "") == ()


def test_a_file_of_another_requirement(notebook: Notebook, tmp_path: Path) -> None:
    """Its digest is not that of the requirement given beside it: refused; with the right one it is taken."""
    other = 'requirement = { id = "own", digest = "sha256:0123456789" }\n'
    with pytest.raises(BadInput, match="leave this file out"):
        take_in_test(notebook, request(tmp_path, other + WHOLE))
    plain = take_in_test(notebook, request(tmp_path, WHOLE))
    right = f'requirement = {{ id = "x", digest = "{plain.requirement_digest}" }}\n'
    assert take_in_test(notebook, request(tmp_path, right + WHOLE)).requirement == plain.requirement


def test_more_rows_than_a_test_takes(notebook: Notebook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One message with the count and what to do; the bound itself is 200,000."""
    assert MOST_ROWS == 200_000
    monkeypatch.setattr("ballbench.workflows.taken_in_rows.MOST_ROWS", 575)
    with pytest.raises(BadInput) as caught:
        take_in_test(notebook, request(tmp_path, WHOLE))
    (fault,) = caught.value.faults
    assert (fault.found, "split" in fault.todo) == ("576 rows", True), "574 readings and 2 spoiled attempts"
    monkeypatch.setattr("ballbench.workflows.taken_in_rows.MOST_ROWS", 576)
    assert take_in_test(notebook, request(tmp_path, WHOLE)).id


def test_everything_is_ready_before_the_notebook_is_held(
    notebook: Notebook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """At the door rows are written and none is made: with the makers taken away there, the test is still whole."""
    write = module.write_taken_in

    def without_makers(tx: Any, rows: Any) -> int:
        for name in ("taken_rows", "unguarded", "display_steps", "base_unit"):
            monkeypatch.delattr(f"ballbench.workflows.taken_in_rows.{name}")
        return write(tx, rows)

    monkeypatch.setattr(module, "write_taken_in", without_makers)
    test = take_in_test(notebook, request(tmp_path, WHOLE))
    monkeypatch.undo()
    assert sum(line.readings for line in one_test(notebook, test.id).sittings) == 574
