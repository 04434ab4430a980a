from __future__ import annotations

import hashlib
import io
import zipfile
from pathlib import Path

import pytest
from made_evening import an_evening, taken
from made_tests import fill, new_test, places, put, sent

from ballbench.errors import BadRequest, Conflict, NotFound
from ballbench.records import amend, read_corrections, read_readings
from ballbench.store import Notebook, open_notebook
from ballbench.workflows.bench import bench_state
from ballbench.workflows.bench_requests import Finish, Spoil
from ballbench.workflows.correct import Amend, amend_readings
from ballbench.workflows.exchange import FILES, export_file, export_test
from ballbench.workflows.judge_test import judge_notebook_test
from ballbench.workflows.measure import spoil
from ballbench.workflows.sittings import finish


def test_the_same_test_gives_the_same_bytes(notebook: Notebook, tmp_path: Path) -> None:
    """Every file, archive and workbook too, is the same when it is asked for again, from a reopened notebook too."""
    test = an_evening(notebook)
    first = {name: export_file(notebook, test, name) for name in FILES}
    assert {name: export_file(notebook, test, name) for name in FILES} == first
    notebook.close()
    again = open_notebook(tmp_path / "notebook")
    assert {name: export_file(again, test, name) for name in FILES} == first
    again.close()


def test_everything_holds_all_files_and_their_checksums(notebook: Notebook) -> None:
    """The archive holds each file as it is handed out alone, and SHA256SUMS its digest as sha256sum writes it."""
    test = an_evening(notebook)
    with zipfile.ZipFile(io.BytesIO(export_file(notebook, test, "everything.zip"))) as archive:
        assert archive.testzip() is None
        content = {name: archive.read(name) for name in archive.namelist()}
    sums = content.pop("SHA256SUMS").decode()
    sounds = {
        f"recordings/{hashlib.sha256(b'sound').hexdigest()}.wav",
        f"recordings/{hashlib.sha256(b'noise').hexdigest()}",
    }
    assert set(content) == set(FILES) - {"readings.xlsx", "everything.zip"} | sounds
    assert {content[name] for name in sounds} == {b"sound", b"noise"}
    for name, data in content.items() - {(name, content[name]) for name in sounds}:
        assert data == export_file(notebook, test, name)
    lines = dict(reversed(line.split("  ")) for line in sums.splitlines())
    assert lines == {name: hashlib.sha256(data).hexdigest() for name, data in content.items()}


def test_a_test_without_a_reading_has_no_files(notebook: Notebook, tmp_path: Path) -> None:
    """Whether its data are invented or not, whichever file: told to measure first, and nothing is written."""
    for invented in (True, False):
        test = new_test(notebook, invented=invented).id
        with pytest.raises(BadRequest, match="measure first"):
            export_test(notebook, test, tmp_path)
        with pytest.raises(BadRequest, match="measure first"):
            judge_notebook_test(notebook, test)
        for name in FILES:
            with pytest.raises(NotFound, match="measure first"):
                export_file(notebook, test, name)
    assert not [path for path in tmp_path.iterdir() if path.is_file()]


def test_readings_of_pieces_alone_are_no_readings_of_a_test(notebook: Notebook, tmp_path: Path) -> None:
    """A reference piece was read and no ball: there is nothing to judge yet."""
    test = new_test(notebook).id
    piece = next(place.id for place in bench_state(notebook, test).places if place.reference is not None)
    put(notebook, test, piece, "40.00")
    with pytest.raises(BadRequest, match="measure first"):
        export_test(notebook, test, tmp_path)


def test_a_blind_test_hands_nothing_out_until_it_is_finished(notebook: Notebook) -> None:
    """Its files name the makes: they are a conflict while it is under way, and there once it is finished."""
    test = new_test(notebook, blind=True).id
    list(fill(notebook, test))
    for name in FILES:
        with pytest.raises(Conflict, match="finish it first"):
            export_file(notebook, test, name)
    finish(notebook, test, Finish(**sent()))
    assert b"Curlew" in export_file(notebook, test, "readings.csv")


@pytest.mark.parametrize("name", ["", "passwords", "../notebook.sqlite3", "readings.CSV", "x\n" * 80, "\ud800"])
def test_a_file_that_a_test_does_not_have(notebook: Notebook, name: str) -> None:
    """Told which there are, in one line that can be printed."""
    test = new_test(notebook).id
    put(notebook, test, places(notebook, test, "crack")[0].id, "no")
    with pytest.raises(NotFound) as caught:
        export_file(notebook, test, name)
    assert str(caught.value).isprintable()
    assert "readings.csv" in caught.value.faults[0].allowed


def test_a_note_of_several_lines_keeps_corrections_in_their_place(notebook: Notebook, tmp_path: Path) -> None:
    """Two readings under one key, below a note that runs over three lines: the correction finds the right one."""
    (tmp_path / "readings.csv").write_text(
        "product,ball,quantity,axis,repeat,value,note\n"
        'Curlew,1,diameter,seam,1,40.21,"cold\nand wet,\nat first"\n'
        "Curlew,2,diameter,seam,1,40.22,\nCurlew,2,diameter,seam,1,40.23,\n",
        encoding="utf-8",
    )
    (tmp_path / "corrections.csv").write_text(
        "product,ball,quantity,axis,repeat,action,value,reason,by,time,line\n"
        "Curlew,2,diameter,seam,1,correct,40.33,read twice,E,2026-11-21,6\n",
        encoding="utf-8",
    )
    given = {name: tmp_path / f"{name}.csv" for name in ("readings", "corrections")}
    rule = tmp_path / "rule.toml"
    rule.write_text(_RULE, encoding="utf-8")
    test = taken(notebook, {**given, "requirement": rule}).id
    out = {name: tmp_path / f"out-{name}.csv" for name in given}
    for name, path in out.items():
        path.write_bytes(export_file(notebook, test, f"{name}.csv"))
    amended = amend(read_readings(out["readings"]), read_corrections(out["corrections"]))
    assert amended.readings.table.sort("line")["value"].to_list() == [40.21, 40.22, 40.33]
    assert amended.readings.table.sort("line")["note"].to_list() == ["cold\nand wet,\nat first", "", ""]


_RULE = """id = "own"
sport = "any"
title = "Own rule (invented)"
edition = "2026"
source = { document = "Invented for the tests", seen = "own" }
[[clause]]
id = "size"
text = "No ball measures less than 40.00 mm."
quantity = "diameter"
ball = "mean"
sample = "each"
lower = "40.00 mm"
"""


def test_balls_of_a_nameless_box_are_corrected_alone(notebook: Notebook, tmp_path: Path) -> None:
    """One box has no name, another holds a ball of the same name: what is said of the first leaves the second alone."""
    (tmp_path / "readings.csv").write_text(
        "product,box,ball,quantity,value\nCurlew,,1,diameter,40.21\nCurlew,C-1,1,diameter,40.22\n", encoding="utf-8"
    )
    rule = tmp_path / "rule.toml"
    rule.write_text(_RULE, encoding="utf-8")
    test = taken(notebook, {"readings": tmp_path / "readings.csv", "requirement": rule}).id
    first = bench_state(notebook, test).readings[0].id
    amend_readings(notebook, test, Amend(**sent(readings=(first,), action="correct", reason="sheet", text="40.31")))
    out = {name: tmp_path / f"out-{name}.csv" for name in ("readings", "corrections")}
    for name, path in out.items():
        path.write_bytes(export_file(notebook, test, f"{name}.csv"))
    amended = amend(read_readings(out["readings"]), read_corrections(out["corrections"]))
    assert dict(amended.readings.table.select("box", "value").iter_rows()) == {"": 40.31, "C-1": 40.22}


def test_whole_numbers_without_a_unit_are_read_back(notebook: Notebook, tmp_path: Path) -> None:
    """A score from 0 to 100 has no unit, and its whole numbers are not taken for halves of numbers with a comma."""
    rule = tmp_path / "rule.toml"
    clause = _RULE.replace("diameter", "score").replace("40.00 mm", "40")
    rule.write_text(clause.replace("[[clause]]", '[quantity.score]\nunit = "1"\n[[clause]]'), encoding="utf-8")
    (tmp_path / "readings.csv").write_text(
        "product,ball,quantity,value\nCurlew,1,score,85\nCurlew,2,score,86\n", encoding="utf-8"
    )
    first = taken(notebook, {"readings": tmp_path / "readings.csv", "requirement": rule}).id
    files = {"readings": tmp_path / "out.csv", "requirement": rule}
    files["readings"].write_bytes(export_file(notebook, first, "readings.csv"))
    second = taken(notebook, files).id
    assert [one.value for one in bench_state(notebook, second).readings] == [85.0, 86.0]


def test_spoiled_attempts_alone_are_handed_out(notebook: Notebook, tmp_path: Path) -> None:
    """Attempts that gave no reading stand in the file with their reasons, before there is any reading."""
    test = new_test(notebook).id
    spoil(notebook, test, Spoil(**sent(place=places(notebook, test, "rebound")[0].id, reason="spun")))
    assert b"spoiled: spun" in export_file(notebook, test, "readings.csv")
    path = tmp_path / "readings.csv"
    path.write_bytes(export_file(notebook, test, "readings.csv"))
    assert [one.reason for one in read_readings(path).spoiled] == ["spun"]
