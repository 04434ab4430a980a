"""Logs of a ramp as files: what is read, what holds for the lines below, and how a bad file is answered."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
import xlsxwriter

from ballbench.errors import BadReadings
from ballbench.records.roll_log import read_roll_log

HEAD = (
    "product,ball,orientation,direction,repeat,veer,unit,u,sitting,slope,run_out,angle,angle_u,rise,ball_diameter,note"
)


EVERYTHING = "product orientation direction repeat veer unit u slope angle ball_diameter"


def log(folder: Path, *rows: str, head: str = HEAD) -> Path:
    path = folder / "ramp.csv"
    path.write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
    return path


def test_the_set_up_holds_until_something_of_it_is_written_anew(tmp_path: Path) -> None:
    """Slope, ball and rise of the first line stand behind the second; an angle in the third replaces the rise."""
    rows = read_roll_log(log(
        tmp_path, "A,1,a,as placed,,12.5,,,one,1000,200,,,87.2,40.2,", "A,1,A,Turned,,-3,,,,,,,,,,",
        "A,1,B,turned,,-3,,,two,,,5,0.1,,,", "A,1,B,turned,,-3,,,,,,6,,,,",
    )).rows  # fmt: skip
    assert rows[0].ramp == rows[1].ramp
    assert [row.axis for row in rows] == ["A", "A", "B", "B"]
    assert [row.turned for row in rows] == [False, True, True, True]
    assert rows[0].ramp.angle == pytest.approx(math.degrees(math.asin(0.0872)))
    assert (rows[2].ramp.sitting, rows[2].ramp.angle, rows[2].ramp.angle_u) == ("two", 5.0, 0.1)
    assert (rows[3].ramp.angle, rows[3].ramp.angle_u, rows[3].ramp.angle_said) == (6.0, 0.5, False)
    assert [row.ramp.run_out for row in rows] == [200.0] * 4
    assert rows[0].ramp.diameter_u == pytest.approx(0.1)
    assert rows[0].step == pytest.approx(0.1)


def test_the_uncertainty_of_an_angle_follows_from_rise_and_slope(tmp_path: Path) -> None:
    """First order: 0.1 mm of 87.2 and 1 mm of 1000 turn asin(rise/slope) by so many radians (JCGM 100:2008, 5.1.2)."""
    ramp = read_roll_log(log(tmp_path, "A,1,A,turned,,1,,,,1000,,,,87.2,40.2,")).rows[0].ramp
    by_rise, by_slope = (
        math.asin((87.2 + dr) / (1000.0 + ds)) - math.asin(0.0872) for dr, ds in ((0.1, 0.0), (0.0, 1.0))
    )
    assert math.radians(ramp.angle_u) == pytest.approx(math.hypot(by_rise, by_slope), rel=2e-3)


def test_units_of_veer_and_of_lengths_are_their_own(tmp_path: Path) -> None:
    """Veer in cm, the ramp in inches of 25.4 mm; a length in whole metres is known to a hundredth."""
    head = HEAD + ",length_unit"
    row = read_roll_log(log(tmp_path, "A,1,A,turned,,1.2,cm,0.1,,40,,5,,,1.58,,in", head=head)).rows[0]
    assert (row.veer, row.u, row.step) == pytest.approx((12.0, 1.0, 1.0))
    assert (row.ramp.slope, row.ramp.diameter) == pytest.approx((1016.0, 40.132))
    whole = read_roll_log(log(tmp_path, "A,1,A,turned,,1.2,cm,0.1,,1,,5,,,0.0402,,m", head=head)).rows[0]
    assert (whole.ramp.slope, whole.ramp.slope_u) == (1000.0, 10.0)


def test_spoiled_attempts_are_counted_and_no_readings(tmp_path: Path) -> None:
    """A row without a veer and with the note counts; the same without the note is a fault."""
    first = "A,1,A,turned,1,3,,,,1000,,5,,,40,"
    found = read_roll_log(log(tmp_path, first, "A,1,A,turned,2,,,,,,,,,,,Spoiled: hit the rail"))
    assert (len(found.rows), found.spoiled) == (1, (("A", "hit the rail"),))
    with pytest.raises(BadReadings, match="line 3, column veer: found an empty cell"):
        read_roll_log(log(tmp_path, first, "A,1,A,turned,2,,,,,,,,,,,hit the rail"))


def test_a_table_of_a_spreadsheet_is_read_as_the_text_is(tmp_path: Path) -> None:
    """The same cells in CSV with decimal commas and in XLSX give the same rows."""
    cells = [["product", "ball", "orientation", "direction", "veer", "slope", "angle", "ball_diameter"],
             ["Curlew", "01", "A", "as placed", "12.5", "1000", "5.1", "40.2"]]  # fmt: skip
    book = xlsxwriter.Workbook(tmp_path / "ramp.xlsx")
    sheet = book.add_worksheet()
    for i, line in enumerate(cells):
        sheet.write_row(i, 0, line)
    book.close()
    path = tmp_path / "ramp.csv"
    path.write_text("\n".join(";".join(line).replace(".", ",") for line in cells), encoding="utf-8")
    assert read_roll_log(path).rows == read_roll_log(tmp_path / "ramp.xlsx").rows


@pytest.mark.parametrize(
    ("rows", "places"),
    [
        ((",1,D,sideways,0.5,x,kg,0,,10,,70,,,1,",), EVERYTHING),
        (("A,1,A,turned,,1,,,,,,,,,,",), "slope ball_diameter angle"),
        (("A,1,A,turned,,1,,,,100,,5,,20,40,",), "rise"),
        (("A,1,A,turned,,1,,,,100,,,,200,40,",), "rise"),
        (("A,1,A,turned,,9999,,,,1000,,5,,,40,",), "veer"),
        (("A,1,A,turned,,1,,,,1000,-3,5,,,40,",), "run_out"),
    ],
)  # fmt: skip
def test_every_fault_is_told_at_once_where_it_stands(tmp_path: Path, rows: tuple[str, ...], places: str) -> None:
    """Each wrong or missing cell of the second line is named, and no other."""
    with pytest.raises(BadReadings) as caught:
        read_roll_log(log(tmp_path, *rows))
    assert {fault.where.removeprefix("ramp.csv, line 2, column ") for fault in caught.value.faults} == {*places.split()}


def test_one_missing_set_up_is_said_once_and_not_line_by_line(tmp_path: Path) -> None:
    """Twenty runs without a slope: one message, at the first of them."""
    rows = [f"A,1,A,turned,{i},1,,,,,,5,,,40," if i == 1 else f"A,1,A,turned,{i},1,,,,,,,,,," for i in range(1, 21)]
    with pytest.raises(BadReadings) as caught:
        read_roll_log(log(tmp_path, *rows))
    assert [fault.where for fault in caught.value.faults] == ["ramp.csv, line 2, column slope"]


def test_a_run_stands_once_in_a_sitting(tmp_path: Path) -> None:
    """Repeat 1 twice is a fault, in another sitting it is not."""
    first, again = "A,1,A,turned,1,3,,,one,1000,,5,,,40,", "A,1,A,turned,1,4,,,{},,,,,,,"
    with pytest.raises(BadReadings, match="line 3, column repeat: found repeat 1 of the run in line 2"):
        read_roll_log(log(tmp_path, first, again.format("")))
    assert len(read_roll_log(log(tmp_path, first, again.format("two"))).rows) == 2


def test_a_header_alone_is_no_file(tmp_path: Path) -> None:
    """Nothing read is said, with what to do."""
    with pytest.raises(BadReadings, match="no run below the header"):
        read_roll_log(log(tmp_path))
