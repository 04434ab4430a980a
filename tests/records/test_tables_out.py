from __future__ import annotations

import csv
import io
import zipfile
from xml.etree import ElementTree as ET

import fastexcel
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ballbench.records.tables_out import csv_text, workbook_bytes

CELLS = st.text(alphabet=st.characters(codec="utf-8", exclude_categories=("Cc", "Cs", "Cn", "Co")), max_size=12)
ROWS = st.lists(st.tuples(CELLS, CELLS, CELLS), max_size=8)
COLUMNS = ("product", "value", "note")


@given(rows=ROWS, above=st.sampled_from(["", "Invented data: nothing was measured."]))
def test_another_reader_gets_the_same_cells(rows: list[tuple[str, ...]], above: str) -> None:
    """Python's own reader gives back every cell, whatever quotes, commas and letters are in it (RFC 4180)."""
    read = list(csv.reader(io.StringIO(csv_text(COLUMNS, rows, above), newline="")))
    assert read == [*([[above]] if above else []), list(COLUMNS), *map(list, rows)]


def test_lines_end_with_a_line_feed_alone() -> None:
    """So that the same rows are the same bytes on every system."""
    text = csv_text(COLUMNS, [("a", "1", ""), ("b", "2", 'x "y", z')])
    assert text == 'product,value,note\na,1,\nb,2,"x ""y"", z"\n'


def sheet_of(book: bytes) -> list[tuple[str | None, ...]]:
    """The cells of the first sheet as a reader of another make has them, all as text."""
    sheet = fastexcel.read_excel(book).load_sheet(0, header_row=None, dtypes="string")
    return sheet.to_polars().rows()


TEXTS = st.lists(CELLS.map(str.strip).filter(bool), min_size=1, max_size=6)


@given(texts=TEXTS)
def test_a_workbook_keeps_texts_as_texts(texts: list[str]) -> None:
    """What looks like a formula, a link or a number stays a text of the same letters; there is no formula in it."""
    tried = [*texts, "=1+1", "@SUM(A1)", "+1", "-1", "https://example.org", "007", "1e5", "=HYPERLINK(1)"]
    book = workbook_bytes("readings", COLUMNS, [(text, "1.50", "") for text in tried], ("value",))
    assert [row[0] for row in sheet_of(book)] == ["product", *tried]
    with zipfile.ZipFile(io.BytesIO(book)) as archive:
        sheet = ET.fromstring(archive.read("xl/worksheets/sheet1.xml"))  # noqa: S314 - written above
        names = archive.namelist()
    assert not [cell for cell in sheet.iter() if cell.tag.endswith(("}f", "}hyperlink"))]
    assert not [name for name in names if "externalLink" in name or "vba" in name.lower()]


def test_numbers_are_numbers_and_show_their_decimals() -> None:
    """40.20 is the number 40.2 shown with two decimals; what is no number in such a column stays a text."""
    book = workbook_bytes("readings", COLUMNS, [("A", "40.20", ""), ("A", "3", ""), ("A", "yes", "")], ("value",))
    assert [row[1] for row in sheet_of(book)] == ["value", "40.2", "3", "yes"]
    with zipfile.ZipFile(io.BytesIO(book)) as archive:
        sheet = ET.fromstring(archive.read("xl/worksheets/sheet1.xml"))  # noqa: S314 - written above
        styles = archive.read("xl/styles.xml").decode()
    cells = {cell.attrib["r"]: cell.attrib.get("t", "n") for cell in sheet.iter() if cell.tag.endswith("}c")}
    assert [cells[name] for name in ("B2", "B3", "B4")] == ["n", "n", "s"]
    assert 'formatCode="0.00"' in styles


@pytest.mark.parametrize("above", ["", "Invented data: nothing was measured."])
def test_the_line_above_the_header(above: str) -> None:
    """Where there is one, the header stands below it."""
    rows = sheet_of(workbook_bytes("readings", COLUMNS, [("A", "1", "b")], ("value",), above))
    assert rows[:-2] == ([(above, None, None)] if above else [])
    assert rows[-2:] == [COLUMNS, ("A", "1", "b")]
