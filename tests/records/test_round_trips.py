from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

import polars as pl
import xlsxwriter
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from ballbench.records import SCHEMA, read_readings

# Names that people write: letters, digits, blanks inside, every separator and quote mark, letters beyond ASCII.
_NAMES = st.text(alphabet="ABab017 ,;\t\"'|-_éßλ№", min_size=1, max_size=8).map(str.strip).filter(bool)
_AXES = st.sampled_from(["", "seam", "across", "free", "largest found", "45 deg"])
_VALUES = st.decimals(min_value="35.00", max_value="44.99", places=2)
_ROWS = st.lists(
    st.fixed_dictionaries(
        {"product": _NAMES, "box": st.sampled_from(["", "1", "02"]), "ball": _NAMES, "axis": _AXES, "value": _VALUES}
    ),
    min_size=1,
    max_size=12,
)
_COLUMNS = ("product", "box", "ball", "quantity", "axis", "value", "note")


@dataclass(frozen=True)
class Dress:
    """How a table is written to a file."""

    separator: str
    comma: bool
    quote_all: bool
    encoding: str
    ending: str
    above: int
    blanks: bool
    empty_columns: int


_DRESSES = st.builds(
    Dress,
    separator=st.sampled_from([",", ";", "\t"]),
    comma=st.booleans(),
    quote_all=st.booleans(),
    encoding=st.sampled_from(["utf-8", "utf-8-sig", "utf-16"]),
    ending=st.sampled_from(["\n", "\r\n"]),
    above=st.integers(0, 3),
    blanks=st.booleans(),
    empty_columns=st.integers(0, 2),
)
_QUIET = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


def _written(rows: list[dict[str, object]], dress: Dress) -> bytes:
    """Write rows the way the dress says, with Python's own writer."""
    text = io.StringIO()
    quoting = csv.QUOTE_ALL if dress.quote_all else csv.QUOTE_MINIMAL
    writer = csv.writer(text, delimiter=dress.separator, quoting=quoting, lineterminator=dress.ending)
    for number in range(dress.above):
        text.write(f"Evening at the hall - page {number + 1}{dress.ending}")
    tail = [""] * dress.empty_columns
    writer.writerow([*_COLUMNS, *tail])
    for row in rows:
        value = str(row["value"]).replace(".", "," if dress.comma else ".")
        writer.writerow([row["product"], row["box"], row["ball"], "diameter", row["axis"], value, "", *tail])
        if dress.blanks:
            text.write(dress.ending)
    return text.getvalue().encode(dress.encoding)


def _as_read(path: Path) -> list[tuple[object, ...]]:
    """Read a file back, in the order of its lines."""
    table = read_readings(path).table
    assert dict(table.schema) == SCHEMA
    assert not any(table.get_column(name).null_count() for name in SCHEMA if SCHEMA[name] == pl.String())
    return table.sort("line").select("product", "box", "ball", "quantity", "axis", "value", "decimals").rows()


def _wanted(rows: list[dict[str, object]]) -> list[tuple[object, ...]]:
    return [
        (row["product"], row["box"], row["ball"], "diameter", row["axis"], float(Decimal(str(row["value"]))), 2)
        for row in rows
    ]


@_QUIET
@given(rows=_ROWS, dress=_DRESSES)
def test_any_dress_of_a_text_file_reads_back(tmp_path: Path, rows: list[dict[str, object]], dress: Dress) -> None:
    """A table written by Python's csv writer with any separator, mark, quoting and encoding reads back equal."""
    path = tmp_path / "box.csv"
    path.write_bytes(_written(rows, dress))
    assert _as_read(path) == _wanted(rows)


@_QUIET
@given(rows=_ROWS, above=st.integers(0, 3), as_text=st.booleans())
def test_a_workbook_reads_back(tmp_path: Path, rows: list[dict[str, object]], above: int, *, as_text: bool) -> None:
    """A table written by xlsxwriter reads back equal, with numbers as numbers or as text."""
    path = tmp_path / "box.xlsx"
    book = xlsxwriter.Workbook(path)
    sheet = book.add_worksheet("one")
    for number in range(above):
        sheet.write_string(number, 0, "Evening at the hall")
    for column, name in enumerate(_COLUMNS):
        sheet.write_string(above, column, name)
    for index, row in enumerate(rows):
        cells = (row["product"], row["box"], row["ball"], "diameter", row["axis"])
        for column, cell in enumerate(cells):
            sheet.write_string(above + 1 + index, column, str(cell))
        if as_text:
            sheet.write_string(above + 1 + index, 5, str(row["value"]))
        else:
            sheet.write_number(above + 1 + index, 5, float(str(row["value"])))
    book.close()
    read = _as_read(path)
    # A number cell keeps no zeros at its end, so only the values are compared there.
    assert [row[:6] for row in read] == [row[:6] for row in _wanted(rows)]
    if as_text:
        assert {row[6] for row in read} == {2}


@_QUIET
@given(
    values=st.lists(st.tuples(_VALUES, _VALUES), min_size=1, max_size=8),
    comma=st.booleans(),
    unit=st.sampled_from(["", " [mm]", " (mm)"]),
)
def test_wide_and_long_form_agree(
    tmp_path: Path, values: list[tuple[Decimal, Decimal]], unit: str, *, comma: bool
) -> None:
    """The same readings in the wide and in the long form give the same table."""
    mark = "," if comma else "."
    wide = [f"product;ball;diameter seam{unit};diameter pole{unit}"]
    long = ["product;ball;quantity;axis;value"]
    for ball, (seam, pole) in enumerate(values):
        texts = [str(value).replace(".", mark) for value in (seam, pole)]
        wide.append(f"Curlew;{ball:02d};{';'.join(texts)}")
        long += [
            f"Curlew;{ball:02d};diameter;{axis};{text}" for axis, text in zip(("seam", "pole"), texts, strict=True)
        ]
    (tmp_path / "wide.csv").write_text("\n".join(wide), encoding="utf-8")
    (tmp_path / "long.csv").write_text("\n".join(long), encoding="utf-8")
    tables = [read_readings(tmp_path / name).table.drop("line") for name in ("wide.csv", "long.csv")]
    assert tables[0].equals(tables[1])


def test_a_quoted_cell_may_hold_line_breaks(tmp_path: Path) -> None:
    """A note of several lines is one cell, and the rows below keep their line numbers (RFC 4180, 2.6)."""
    path = tmp_path / "box.csv"
    path.write_text(
        'product,ball,quantity,value,note\nA,1,diameter,40.1,"two\nlines"\nA,2,diameter,40.2,"said ""x"""\n',
        encoding="utf-8",
    )
    table = read_readings(path).table
    assert table.get_column("line").to_list() == [2, 4]
    assert table.get_column("note").to_list() == ["two\nlines", 'said "x"']
