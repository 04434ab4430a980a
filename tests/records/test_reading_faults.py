from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
import xlsxwriter

from ballbench.errors import BadReadings
from ballbench.records import read_readings

HEADER = "product,ball,quantity,value"


def _faults(tmp_path: Path, content: str | bytes, name: str = "box.csv") -> BadReadings:
    path = tmp_path / name
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    with pytest.raises(BadReadings) as caught:
        read_readings(path)
    return caught.value


_FILES = {
    "an empty file": b"",
    "nothing but blank lines": b"\n \n\n",
    "a header with no row below it": HEADER.encode() + b"\n",
    "no header in the first 60 lines": b"hello world\n1;2;3\n",
    "a zero byte": b"product,ball\n\x00\x01",
    "which is not UTF-8": HEADER.encode() + b"\ncaf\xe9,1,diameter,40.1\n",
    "a line of more than 1 MB": b"A" * 2_000_000,
    "a damaged or protected XLSX workbook": b"PK\x03\x04 and then nothing",
    "an encrypted workbook, or one in the old .xls format": b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1rest",
    "UTF-16 text that is damaged": b"\xff\xfep\x00r\x00o",
    "a quote mark out of place": HEADER.encode() + b'\nA,1,diameter,"40.1\nA,2,diameter,40.2\n',
    "at most 200 columns": (HEADER + "".join(f",x{number}" for number in range(300))).encode() + b"\nA,1,diameter,1\n",
}


@pytest.mark.parametrize("message", _FILES)
def test_files_that_are_no_table(tmp_path: Path, message: str) -> None:
    """A file that cannot be a table is refused with one fault that says why and what to do."""
    error = _faults(tmp_path, _FILES[message])
    assert len(error.faults) == 1
    assert message in str(error)
    assert error.faults[0].todo


@pytest.mark.parametrize("name", ["box.xls", "box.ods", "box.xlsx"])
def test_a_name_that_promises_another_format(tmp_path: Path, name: str) -> None:
    """Text under a spreadsheet's name is refused, not guessed at."""
    assert len(_faults(tmp_path, HEADER + "\nA,1,diameter,40.1\n", name).faults) == 1


def test_a_folder_and_a_missing_file(tmp_path: Path) -> None:
    """A folder and a missing file are each told as what they are."""
    for path, message in ((tmp_path, "a folder"), (tmp_path / "none.csv", "no such file")):
        with pytest.raises(BadReadings, match=message):
            read_readings(path)


_HEADERS = {
    "product,bal,quantity,value": ('"bal"', 'write "ball"'),
    "product,ball,quantity,value,nots": ('"nots"', 'write "note"'),
    "product,ball,quantity,value,ball": ('the column "ball" 2 times', "rename or remove one"),
    "product,ball,quantity,reading": ("no column value", "add what is missing"),
    "ball,quantity,value": ("no column product", "add what is missing"),
    "product,ball,diamter seam": ('"diamter seam"', 'write "diameter"'),
    "product,ball,quantity,value,mass": ('the column "mass" beside value', "keep to one of the two forms"),
    "product,ball,diameter seam,diameter_seam": ("for one and the same place", "rename or remove one"),
    "product,ball,axis,diameter seam": ("a column axis beside columns that name it too", "remove the column axis"),
}


@pytest.mark.parametrize("header", _HEADERS)
def test_headers(tmp_path: Path, header: str) -> None:
    """A header that is misspelt, doubled, incomplete or of two forms at once gives one fault with the way out."""
    found, todo = _HEADERS[header]
    row = ",".join(["1"] * (header.count(",") + 1))
    error = _faults(tmp_path, f"{header}\n{row}\n")
    assert len(error.faults) == 1
    assert found in error.faults[0].found
    assert todo in error.faults[0].todo
    assert error.faults[0].where == "box.csv, line 1"


_CELLS = {
    "Sep 10": "turned a number into a date",
    "10-Sep": "turned a number into a date",
    "2009-10-01": "turned a number into a date",
    "2009-10-01 00:00:00": "turned a number into a date",
    "9.10.2026": "turned a number into a date",
    "NaN": "which is no number",
    "inf": "which is no number",
    "#DIV/0!": "which is no number",
    "1e400": "too large for any reading",
    '"1,234.5"': "with a mark between thousands",
    "4O.12": '"4O.12"',
    "forty": "which is no number",
    "": "an empty cell",
    "0x28": '"0x28"',
    "40.12 g": '"40.12 g"',
}


@pytest.mark.parametrize("cell", _CELLS)
def test_cells_that_are_no_number(tmp_path: Path, cell: str) -> None:
    """A cell that is no number is told with its line and column, and what it seems to be."""
    error = _faults(tmp_path, f"{HEADER}\nA,1,diameter,40.12\nA,2,diameter,{cell}\n")
    assert len(error.faults) == 1
    assert error.faults[0].where == "box.csv, line 3, column value"
    assert _CELLS[cell] in error.faults[0].found


def test_every_fault_is_told_at_once_and_once(tmp_path: Path) -> None:
    """One file with eight different faults gives these eight, in the order of its lines."""
    rows = [
        "A,1,diameter,40.1,mm,,",
        ",2,diameter,40.1,mm,,",
        "A,,diameter,40.1,mm,,",
        "A,4,diamter,40.1,mm,,",
        "A,5,mass,2.7,mm,,",
        "A,6,diameter,,mm,,",
        "A,7,diameter,40.x,,,",
        "A,8,diameter,40.1,mm,0,",
        "A,9,diameter,40.1,mm,,spoiled: hit the tube",
        "A,10,diameter,,mm,,spoiled",
    ]
    error = _faults(tmp_path, f"{HEADER},unit,repeat,note\n" + "\n".join(rows) + "\n")
    assert [fault.where.removeprefix("box.csv, ") for fault in error.faults] == [
        "line 3, column product",
        "line 4, column ball",
        "line 5, column quantity",
        "line 6, column unit",
        "line 7, column value",
        "line 8, column value",
        "line 9, column repeat",
        "line 10, column value",
        "line 11, column value",
    ]
    assert len(set(map(str, error.faults))) == 9


def test_many_faults_are_capped_and_counted(tmp_path: Path) -> None:
    """Of 3000 faults the exception keeps 1000 and prints 50 with the count of the rest."""
    error = _faults(tmp_path, HEADER + "\n" + "A,1,diameter,x y\n" * 3000)
    assert (len(error.faults), error.more) == (1000, 2000)
    printed = str(error).splitlines()
    assert len(printed) == 51
    assert printed[-1] == "and 2950 more of such faults"


def test_one_fault_for_a_unit_or_quantity_however_many_rows(tmp_path: Path) -> None:
    """A wrong unit and an unknown quantity are each told once, with the number of rows."""
    rows = "A,1,mass,2.7,mm\n" * 40 + "A,1,colour,2,\n" * 30
    error = _faults(tmp_path, f"{HEADER},unit\n{rows}")
    assert len(error.faults) == 2
    assert "and in 39 more rows" in str(error.faults[0])
    assert "and in 29 more rows" in str(error.faults[1])


def test_decimal_marks_are_never_guessed(tmp_path: Path) -> None:
    """A file with both marks, or with commas that may stand before thousands, is refused with the reason."""
    both = _faults(tmp_path, "product;ball;quantity;value\nA;1;diameter;40,12\nA;2;diameter;40.13\n")
    assert 'a decimal comma in "40,12" and a decimal point in "40.13"' in str(both)
    either = _faults(tmp_path, "product;ball;quantity;value\nA;1;mass;1,234\nA;2;mass;2,345\n")
    assert "read as 1.234 or as a whole number" in str(either)


def test_commas_with_three_decimals_are_read_where_thousands_cannot_be_meant(tmp_path: Path) -> None:
    """40,123 mm can only be a decimal comma for a ball's diameter, for no ball measures 40 metres; a note says so."""
    path = tmp_path / "box.csv"
    path.write_text("product;ball;quantity;value\nA;1;diameter;40,123\nA;2;diameter;40,131\n", encoding="utf-8")
    readings = read_readings(path)
    assert readings.table.get_column("value").to_list() == [40.123, 40.131]
    assert any("no value would be believable" in note for note in readings.notes)


@pytest.mark.parametrize(
    ("header", "row"),
    [
        ("product,ball,quantity,value", "A,1,diameter,40,12"),
        ("product,ball,quantity,value,note", "A,1,diameter,40,12"),
        ("product,ball,quantity,value,unit", "A,1,diameter,40,12"),
        ("product,ball,quantity,value,repeat", "A,1,diameter,40,12"),
        ("product,ball,quantity,value,repeat", "A,1,diameter,40,08"),
        ("product,ball,quantity,value,axis", "A,1,diameter,40,12,"),
        ("product,ball,quantity,value,repeat,note", "A,1,diameter,40,12,1,"),
        ("product,ball,diameter,mass", "A,1,40,12,2,71"),
    ],
)
def test_decimal_commas_without_quotes_between_commas(tmp_path: Path, header: str, row: str) -> None:
    """40,12 in a comma-separated file is never read as 40: the file is refused and told to use semicolons."""
    error = _faults(tmp_path, f"{header}\n{row}\n{row}\n")
    assert "semicolons" in str(error)


def test_whole_numbers_beside_numbered_columns_are_read(tmp_path: Path) -> None:
    """Whole millimetres beside numbered axes or repeats from 1 upward are no decimal commas."""
    path = tmp_path / "box.csv"
    axes = "".join(f"A,{ball},circumference,{680 + ball},{angle}\n" for ball in range(3) for angle in (0, 45, 90, 135))
    path.write_text(f"product,ball,quantity,value,axis\n{axes}", encoding="utf-8")
    assert read_readings(path).table.height == 12
    repeats = "".join(f"A,1,rebound,{240 + number % 3},{number}\n" for number in range(1, 26))
    path.write_text(f"product,ball,quantity,value,repeat\n{repeats}", encoding="utf-8")
    assert read_readings(path).table.get_column("repeat").to_list() == list(range(1, 26))


def test_faults_in_a_workbook_name_the_sheet(tmp_path: Path) -> None:
    """A fault in a workbook is placed by sheet, row and column; a date cell is told as the spreadsheet's doing."""
    path = tmp_path / "box.xlsx"
    book = xlsxwriter.Workbook(path)
    sheet = book.add_worksheet("Curlew")
    sheet.write_row(0, 0, ["ball", "diameter seam"])
    sheet.write_row(1, 0, [7, 40.1])
    sheet.write(2, 0, 8)
    sheet.write_datetime(2, 1, date(2026, 10, 9), book.add_format({"num_format": "d mmm"}))
    book.close()
    with pytest.raises(BadReadings) as caught:
        read_readings(path)
    assert caught.value.faults[0].where == "box.xlsx, sheet Curlew, line 3, column diameter seam"
    assert "turned a number into a date" in caught.value.faults[0].found
