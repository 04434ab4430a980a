from __future__ import annotations

from pathlib import Path

import polars as pl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from ballbench.errors import BadCorrections
from ballbench.records import (
    CORRECTION_COLUMNS,
    Corrections,
    Readings,
    amend,
    plausibility_queries,
    read_corrections,
    read_readings,
    unanswered,
)

HEADER = "product,ball,quantity,axis,repeat,action,value,reason,by,time"
READINGS = (
    "product,ball,box,quantity,axis,value,unit\n"
    "Curlew,01,x,diameter,seam,40.12,mm\nCurlew,01,x,diameter,pole,4013,mm\nCurlew,01,y,diameter,seam,40.14,mm\n"
    "Curlew,02,x,diameter,seam,1.58,in\nCurlew,02,x,diameter,seam,1.581,in\nCurlew,03,x,cracks,,no,\n"
    "Curlew,04,x,diameter,seam,40.11,mm\nCurlew,05,x,diameter,seam,40.15,mm\n"
)


@pytest.fixture
def readings(tmp_path: Path) -> Readings:
    path = tmp_path / "box.csv"
    path.write_text(READINGS, encoding="utf-8")
    return read_readings(path, {"cracks": "1"})


def _corrections(tmp_path: Path, *lines: str, header: str = HEADER) -> Corrections:
    path = tmp_path / "corrections.csv"
    path.write_text("\n".join([header, *lines]) + "\n", encoding="utf-8")
    return read_corrections(path)


def test_corrections_make_a_new_table_and_leave_the_old(tmp_path: Path, readings: Readings) -> None:
    """Corrected, excluded and kept readings are listed with before and after; the table that was read is untouched."""
    before = readings.table.clone()
    corrections = _corrections(
        tmp_path,
        "Curlew,01,diameter,pole,1,correct,40.13,point lost,E,2026-11-25",
        "Curlew,02,diameter,seam,2,correct,1.582,digit misread,E,",
        "Curlew,03,cracks,,1,correct,yes,seen under the lamp,E,",
        "Curlew,04,diameter,seam,,exclude,,dropped on the floor,E,",
        "Curlew,05,diameter,,,keep,,read twice,F,",
    )
    amended = amend(readings, corrections)
    assert readings.table.equals(before)
    changed = {line.line: (line.before, line.after) for line in amended.corrected}
    # 1.581 in and 1.582 in are 40.1574 mm and 40.1828 mm exactly.
    assert changed == {3: (4013.0, 40.13), 6: (40.1574, pytest.approx(40.1828)), 7: (False, True)}
    assert [(line.line, line.before, line.after) for line in amended.excluded] == [(8, 40.11, None)]
    assert [(line.line, line.before, line.after) for line in amended.kept] == [(9, 40.15, 40.15)]
    after = amended.readings.table
    assert after.height == before.height - 1
    assert after.filter(pl.col("line") == 3).select("value", "decimals").row(0) == (40.13, 2)
    assert after.filter(pl.col("line") == 7).get_column("answer").item() is True
    untouched = ~pl.col("line").is_in([3, 6, 7, 8])
    assert after.filter(untouched).equals(before.filter(untouched))
    assert any("3 corrected, 1 excluded, 1 kept as written" in note for note in amended.readings.notes)


@pytest.mark.parametrize(
    ("line", "where", "found", "todo"),
    [
        ("Curlew,01,diameter,pole,1,correct,40.13,,E,", "column reason", "an empty cell", "say why"),
        ("Curlew,01,diameter,pole,1,corect,40.13,x,E,", "column action", '"corect"', 'write "correct"'),
        ("Curlew,01,diameter,pole,1,correct,,x,E,", "column value", "an empty cell", "in the unit of the reading"),
        ("Curlew,01,diameter,pole,1,correct,forty,x,E,", "column value", '"forty"', "40.12"),
        ("Curlew,01,diameter,pole,1,exclude,40.1,x,E,", "column value", '"40.1"', "take the value out"),
        ("Curlew,01,diameter,pole,one,keep,,x,E,", "column repeat", '"one"', "correct the repeat"),
        ("Curlw,01,diameter,pole,1,keep,,x,E,", "line 2", "Curlw", 'the nearest product is "Curlew"'),
        ("Curlew,1,diameter,pole,1,keep,,x,E,", "line 2", "ball 1", 'the nearest ball is "01"'),
        ("Curlew,01,diametre,pole,1,keep,,x,E,", "line 2", "diametre", 'the nearest quantity is "diameter"'),
        ("Curlew,01,diameter,free,1,keep,,x,E,", "line 2", "axis free", "the nearest is ball 01"),
        ("Curlew,04,diameter,seam,3,keep,,x,E,", "line 2", "repeat 3", "repeat 1, in line 8"),
        ("Curlew,01,diameter,seam,1,keep,,x,E,", "line 2", "2 readings", "fill in the column box or line"),
        ("Curlew,01,diameter,pole,1,correct,yes,x,E,", "column value", "a yes/no result", "correct the value"),
        ("Curlew,03,cracks,,1,correct,3,x,E,", "column value", "a number", "correct the value"),
        ("Curlew,01,diameter,pole,1,correct,40.13 g,x,E,", "column value", 'the unit "g"', "correct the unit"),
    ],
)
def test_wrong_lines(tmp_path: Path, readings: Readings, line: str, where: str, found: str, todo: str) -> None:
    """Every kind of wrong line is refused with one fault: where, what was found, what to do or what is nearest."""
    with pytest.raises(BadCorrections) as caught:
        amend(readings, _corrections(tmp_path, line))
    assert len(caught.value.faults) == 1
    fault = caught.value.faults[0]
    assert fault.where.startswith("corrections.csv, line 2")
    assert where in fault.where
    assert found in fault.found
    assert todo in fault.todo


def test_two_lines_for_one_reading_are_refused(tmp_path: Path, readings: Readings) -> None:
    """A second line for a reading is refused, even when it names it in another way."""
    lines = ("Curlew,04,diameter,seam,1,exclude,,dropped,E,", "Curlew,04,diameter,,,keep,,fine,E,")
    with pytest.raises(BadCorrections, match="a second line for the reading in line 8, after line 2"):
        amend(readings, _corrections(tmp_path, *lines))


def test_queries_are_answered_by_any_action(tmp_path: Path, readings: Readings) -> None:
    """A query is open until a line of the corrections file points at its reading."""
    queries = plausibility_queries(readings)
    assert [query.line for query in queries] == [3]
    assert unanswered(queries, None) == queries
    assert unanswered(queries, _corrections(tmp_path, "Curlew,02,diameter,seam,1,keep,,fine,E,")) == queries
    assert unanswered(queries, _corrections(tmp_path, "Curlew,01,diameter,pole,1,keep,,it is so,E,")) == ()


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(wrong=st.sets(st.integers(0, 23), min_size=1, max_size=8), boxes=st.integers(1, 2), seed=st.integers(0, 99))
def test_suggestions_put_lost_points_right(tmp_path: Path, wrong: set[int], boxes: int, seed: int) -> None:
    """The suggested lines, with a reason written in, bring back the very values whose points were lost."""
    right = [round(40 + ((seed + 7 * row) % 23) / 100, 2) for row in range(24)]
    texts = [f"{value:.2f}".replace("." if row in wrong else " ", "") for row, value in enumerate(right)]
    rows = [f"A,{row // boxes},{row % boxes},diameter,{text}" for row, text in enumerate(texts)]
    path = tmp_path / "box.csv"
    path.write_text("\n".join(["product,ball,box,quantity,value", *rows]), encoding="utf-8")
    readings = read_readings(path)
    queries = plausibility_queries(readings)
    assert {query.line - 2 for query in queries} == wrong
    lines = [query.suggestion.split(",") for query in queries]
    reasoned = [",".join([*cells[:7], "point lost", *cells[8:]]) for cells in lines]
    corrections = _corrections(tmp_path, *reasoned, header=",".join(CORRECTION_COLUMNS))
    assert unanswered(queries, corrections) == ()
    assert amend(readings, corrections).readings.table.sort("line").get_column("value").to_list() == right


def test_a_line_longer_than_its_header_says_which_columns_there_are(tmp_path: Path) -> None:
    """A suggestion with box and line, pasted under the ten columns of the contract, is told to name these columns."""
    with pytest.raises(BadCorrections, match="box, line, unit"):
        _corrections(tmp_path, "A,7,diameter,,1,correct,40.13,why,,,y,3")


def test_decimal_commas_and_units_in_corrections(tmp_path: Path, readings: Readings) -> None:
    """A semicolon file with decimal commas is read like a readings file, and a value may carry a unit of its own."""
    path = tmp_path / "corrections.csv"
    path.write_text(
        "product;ball;quantity;axis;repeat;action;value;unit;reason\nCurlew;01;diameter;pole;1;correct;40,13;;lost\n"
        "Curlew;02;diameter;seam;1;correct;4,02;cm;read again\n",
        encoding="utf-8",
    )
    amended = amend(readings, read_corrections(path))
    assert [line.after for line in amended.corrected] == [40.13, pytest.approx(40.2)]
