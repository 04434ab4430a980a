"""The log of checks and readings at stated forces: what is read, and how a bad file is answered."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from ballbench.errors import BadChecks, BadReadings
from ballbench.records.check_log import read_check_log
from ballbench.records.force_readings import read_force_readings


def _file(folder: Path, text: str) -> Path:
    path = folder / "log.csv"
    path.write_text(text, encoding="utf-8")
    return path


def test_units_are_turned_into_the_base_unit(tmp_path: Path) -> None:
    """One inch is 25.4 mm exactly (ISO 31-1 as remembered; the definition of 1959), for value, known and u alike."""
    log = read_check_log(_file(tmp_path, "piece,value,known,u,unit\nball,1.5,1.5001,0.0001,in\n"), "mm")
    row = log.readings[0]
    assert (row.value, row.known, row.u) == pytest.approx((38.1, 38.10254, 0.00254), rel=1e-12)


def test_exported_columns_are_kept_out_and_said(tmp_path: Path) -> None:
    """A checks file of the notebook has columns that a log does not need; a note names them."""
    text = "piece,instrument,value,known,allowed,unit,passed,readings touched,time\n"
    log = read_check_log(
        _file(tmp_path, text + "ball,caliper,38.10,38.1,0.03,mm,yes,0,2026-11-27T10:00:00+00:00\n"), "mm"
    )
    assert any("readings touched" in note for note in log.notes)
    assert any("known exactly" in note for note in log.notes)
    assert log.readings[0].time == "2026-11-27T10:00:00+00:00"


def test_rows_of_a_scale_do_not_stop_those_of_a_caliper(tmp_path: Path) -> None:
    """The log of a test has both; the scale's grams are no length, and are asked about only when the scale is."""
    text = (
        "piece,instrument,value,known,u,unit\nball,Caliper,38.12,38.1,0.001,mm\nweight,scale,2.71,2.7,0.002,g\n"
        "ball,,38.11,38.1,0.001,mm\nball,other caliper,38.2,38.3,0.001,mm\n"
    )
    log = read_check_log(_file(tmp_path, text), "mm", "caliper")
    assert [row.value for row in log.readings] == [38.12, 38.11]
    assert log.of_others == ("scale", "other caliper")
    with pytest.raises(BadChecks, match="line 3"):
        read_check_log(_file(tmp_path, text), "mm")


def test_decimal_commas_are_read(tmp_path: Path) -> None:
    """A semicolon file with decimal commas is read as one with points."""
    log = read_check_log(_file(tmp_path, "piece;value;known;u\nball;38,12;38,100;0,001\n"), "mm")
    assert (log.readings[0].value, log.readings[0].known, log.readings[0].u) == (38.12, 38.1, 0.001)


def test_every_fault_of_a_log_is_told_at_once(tmp_path: Path) -> None:
    """An empty value, a word, a negative u, a unit of mass, a day before the year, two values of a piece."""
    text = (
        "piece,value,known,u,unit,time\nball,,38.1,0,mm,\nball,abc,38.1,0,mm,\nball,38.1,38.1,-1,mm,\n"
        "ball,38.1,38.1,0,g,\nball,38.1,38.1,0,mm,27.11.2026\nball,38.1,38.1,0,mm,\nball,38.1,38.2,0,mm,\n"
    )
    with pytest.raises(BadChecks) as caught:
        read_check_log(_file(tmp_path, text), "mm")
    lines = sorted(int(fault.where.split("line ")[1].split(",")[0]) for fault in caught.value.faults)
    assert lines == [2, 3, 4, 5, 6, 8]


def test_a_weight_on_the_slide_is_a_force(tmp_path: Path) -> None:
    """A mass of 100 g weighs 0.980665 N at standard gravity, 9.80665 m/s2 (3rd CGPM, 1901; from memory)."""
    text = "product,ball,force,force_unit,value\nCurlew,01,100,g,39.98\nCurlew,01,2,N,39.95\n"
    found = read_force_readings(_file(tmp_path, text))
    assert [row.force for row in found.readings] == pytest.approx([0.980665, 2.0], rel=1e-12)
    assert found.readings[0].hung == pytest.approx(100.0)
    assert math.isnan(found.readings[1].hung)
    assert any("weight of that mass" in note for note in found.notes)


def test_a_force_in_millimetres_is_refused(tmp_path: Path) -> None:
    """A force has a unit of force or of mass; anything else gets one message with its line."""
    with pytest.raises(BadReadings, match="line 2, column force_unit"):
        read_force_readings(_file(tmp_path, "product,ball,force,force_unit,value\nCurlew,01,2,mm,39.98\n"))
