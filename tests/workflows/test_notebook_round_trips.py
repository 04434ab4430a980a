from __future__ import annotations

from pathlib import Path

from made_evening import UNITS, an_evening, files_of, taken

from ballbench.records import amend, read_balls, read_corrections, read_readings
from ballbench.store import Notebook
from ballbench.workflows.bench import bench_state
from ballbench.workflows.exchange import FILES, export_file


def test_what_goes_out_comes_in_and_goes_out_the_same(notebook: Notebook, tmp_path: Path) -> None:
    """Exported, taken in and exported again every file is the same; balls stand as they were read, the kind is new."""
    first = files_of(notebook, an_evening(notebook), tmp_path / "first")
    second = files_of(notebook, taken(notebook, first).id, tmp_path / "second")
    third = files_of(notebook, taken(notebook, second).id, tmp_path / "third")
    for name in first:
        assert third[name].read_bytes() == second[name].read_bytes(), name
        went, came = (files[name].read_text("utf-8") for files in (first, second))
        if name == "test":
            went = went.replace('kind = "whole"', 'kind = "taken in"')
        assert sorted(came.splitlines()) == sorted(went.splitlines())
        assert name == "balls" or came == went, name


def test_the_files_say_what_was_done(notebook: Notebook, tmp_path: Path) -> None:
    """Read as `judge` reads them: inches with their decimals, answers, spoiled attempts, ball facts; pieces apart."""
    test = an_evening(notebook)
    files = files_of(notebook, test, tmp_path / "files")
    readings = read_readings(files["readings"], UNITS)
    table = readings.table
    kept = [one for one in bench_state(notebook, test).readings if one.ball is not None]
    assert table.sort("line")["value"].to_list() == [one.value for one in kept]
    assert table.sort("line")["answer"].to_list() == [one.answer for one in kept]
    diameters = table.filter(table["quantity"] == "diameter")
    assert set(diameters["unit"].to_list()) == {"in"}
    assert set(diameters["decimals"].to_list()) == {4}
    assert sorted((one.reason, one.count) for one in readings.spoiled) == [
        ("=dropped", 1),
        ('said "oops", then, nothing', 1),
    ]
    amended = amend(readings, read_corrections(files["corrections"]))
    assert [one.after for one in amended.corrected[:2]] == [float(1.5905 * 25.4), 40.31]
    assert (len(amended.corrected), len(amended.excluded), len(amended.kept)) == (3, 3, 1)
    facts = read_balls(files["balls"]).balls
    assert len(facts) == 6
    assert [fact.pressure_kpa for fact in facts.values()].count(71.5) == 1
    assert sum(fact.impacts or 0 for fact in facts.values()) == 13, "two drops a ball, and a spoiled one"
    checks = export_file(notebook, test, "checks.csv").decode().splitlines()
    assert [line.split(",")[7] for line in checks[1:]] == ["no", "yes", "yes"]
    assert "steel ball" not in files["readings"].read_text("utf-8")
    touched = table.filter(table["note"] == "an instrument check failed beside it")
    assert touched.height == sum(one.touched for one in kept) == 7, "twelve, less those that were looked at since"


def test_everything_can_be_had(notebook: Notebook) -> None:
    """Each of the files that are offered comes, with something in it, of a test that has something for each."""
    test = an_evening(notebook)
    assert all(len(export_file(notebook, test, name)) > 50 for name in FILES)
