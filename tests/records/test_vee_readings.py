"""Vee readings as files: what is read, and how a bad file is answered."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
import xlsxwriter

from ballbench.errors import BadReadings
from ballbench.records.vee_readings import read_vee_readings


def _file(folder: Path, text: str) -> Path:
    path = folder / "vee.csv"
    path.write_text(text, encoding="utf-8")
    return path


def test_units_become_millimetres_and_the_step_is_that_of_the_last_decimal(tmp_path: Path) -> None:
    """An inch is 25.4 mm exactly (1959 definition, from memory), and 1 um a thousandth of a millimetre."""
    text = "product,ball,angle,low,high,unit,u\nA,1,90,-0.0004,0.0010,in,0.0001\nA,2,90,-4,10.5,um,\n"
    inch, micrometre = read_vee_readings(_file(tmp_path, text)).rows
    assert (inch.low, inch.high, inch.step, inch.u) == pytest.approx((-0.01016, 0.0254, 0.00254, 0.00254))
    assert (micrometre.low, micrometre.high, micrometre.step) == pytest.approx((-0.004, 0.0105, 0.0001))
    assert math.isnan(micrometre.u)


def test_a_table_of_a_spreadsheet_is_read_as_the_text_is(tmp_path: Path) -> None:
    """The same cells in CSV with decimal commas and in XLSX give the same rows."""
    cells = [["product", "ball", "section", "angle", "setting", "low", "high", "turns", "lobes"],
             ["Curlew", "01", "seam", "120", "Rider", "-0.006", "0.009", "3", "3"]]  # fmt: skip
    book = xlsxwriter.Workbook(tmp_path / "vee.xlsx")
    sheet = book.add_worksheet()
    for i, line in enumerate(cells):
        sheet.write_row(i, 0, line)
    book.close()
    commas = "\n".join(";".join(line) for line in cells).replace("0.0", "0,0")
    from_text = read_vee_readings(_file(tmp_path, commas)).rows
    assert from_text == read_vee_readings(tmp_path / "vee.xlsx").rows
    assert (from_text[0].setting, from_text[0].lobes, from_text[0].turns) == ("rider", 3, 3.0)


def test_every_fault_is_told_at_once(tmp_path: Path) -> None:
    """Each wrong cell of five rows has its line and column; a right row between them has none."""
    text = (
        "product,ball,angle,setting,low,high,unit,turns,lobes,u\n"
        ",01,200,top,3,2,kg,0.5,1,0\nA,02,90,summit,-0.01,0.01,mm,3,,\nA,,90,,,x,,,2.5,\n"
        "A,04,5,,0,1,,,51,\nA,05,90,,0,2000,,,,\n"
    )
    with pytest.raises(BadReadings) as caught:
        read_vee_readings(_file(tmp_path, text))
    found = {tuple(fault.where.removeprefix("vee.csv, line ").split(", column ")) for fault in caught.value.faults}
    first = {("2", name) for name in ("product", "angle", "setting", "low", "unit", "turns", "lobes", "u")}
    third = {("4", name) for name in ("ball", "low", "high", "lobes")}
    assert found == first | third | {("5", "angle"), ("5", "lobes"), ("6", "high")}


def test_one_section_has_one_count_of_crests(tmp_path: Path) -> None:
    """Three crests in one vee and five in another cannot both be counted on the same circle of a ball."""
    text = "product,ball,section,angle,low,high,lobes\nA,1,s,90,0,1,3\nA,1,s,60,0,1,5\nA,1,t,60,0,1,5\n"
    with pytest.raises(BadReadings, match="line 3, column lobes: found 5 lobes, and 3 in line 2"):
        read_vee_readings(_file(tmp_path, text))


def test_a_header_alone_is_no_file(tmp_path: Path) -> None:
    """Nothing read is said, with what to do."""
    with pytest.raises(BadReadings, match="no row below the header"):
        read_vee_readings(_file(tmp_path, "product,ball,angle,low,high\n"))


HEAD = "product,ball,angle,low,high,unit,meant\n"


def _asked(folder: Path, rows: str) -> list[tuple[str, str]]:
    """Give where a file is asked about its ranges, and what was found there."""
    with pytest.raises(BadReadings) as caught:
        _read(folder, rows)
    assert all("if it is meant, say yes under meant" in fault.todo for fault in caught.value.faults)
    return [(fault.where.removeprefix("vee.csv, "), fault.found) for fault in caught.value.faults]


def _read(folder: Path, rows: str) -> int:
    """Give how many rows were read."""
    return len(read_vee_readings(_file(folder, HEAD + rows)).rows)


def test_a_range_beyond_belief_is_asked_about_until_it_is_said_to_be_meant(tmp_path: Path) -> None:
    """18 for 0.018 among ranges of 0.03; the word "yes" in its own line lets it through, as does the right unit."""
    others = "A,01,90,-0.012,0.018,mm,\nA,02,90,-0.010,0.020,mm,\n"
    asked = _asked(tmp_path, others + "A,03,90,-0.012,18,mm,\n")
    assert asked == [("line 4, column high", "a range of 18.01 mm, where the others are about 0.03 mm")]
    assert _read(tmp_path, others + "A,03,90,-0.012,18,mm,yes\n") == 3
    assert _read(tmp_path, others + "A,03,90,-12,18,um,\n") == 3


def test_ranges_are_held_against_the_others_and_against_what_balls_do(tmp_path: Path) -> None:
    """Alone 4.9 mm pass and 5.1 do not; beside two of 0.03 mm 1.6 do not (50 times), beside two of 0.04 they do."""
    assert _read(tmp_path, "A,01,90,0,4.9,mm,\n") == 1
    assert len(_asked(tmp_path, "A,01,90,0,5.1,mm,\nA,02,90,0,5.2,mm,\n")) == 2
    assert len(_asked(tmp_path, "A,01,90,0,0.03,mm,\nA,02,90,0,0.03,mm,\nA,03,90,0,1.6,mm,\n")) == 1
    assert _read(tmp_path, "A,01,90,0,0.04,mm,\nA,02,90,0,0.04,mm,\nA,03,90,0,1.6,mm,\n") == 3
    with pytest.raises(BadReadings, match="yes, no, or nothing"):
        read_vee_readings(_file(tmp_path, HEAD + "A,01,90,0,0.1,mm,perhaps\n"))
