from __future__ import annotations

from pathlib import Path

import polars as pl
import pytest
import xlsxwriter

from ballbench.records import Readings, Spoiled, answers_of, read_readings


def _read(tmp_path: Path, text: str, declared: dict[str, str] | None = None) -> Readings:
    path = tmp_path / "box.csv"
    path.write_text(text, encoding="utf-8")
    return read_readings(path, declared)


def test_units_are_converted_by_their_definitions(tmp_path: Path) -> None:
    """1 in = 25.4 mm, 1 lb = 453.59237 g, 1 oz = 1/16 lb (international yard and pound agreement, exact)."""
    readings = _read(
        tmp_path,
        "product,ball,quantity,value,unit\nA,1,diameter,1.581,in\nA,2,diameter,4.012,CM\nA,1,mass,1,lb\nA,2,mass,0.0952,oz\n"
        "A,3,mass,2.71,\nA,1,bounce_restitution,91,%\n",
    )
    read = dict(zip(readings.table.get_column("line"), readings.table.get_column("value"), strict=True))
    # Exact decimals: 1.581 x 25.4 = 40.1574; 0.0952 x 453.59237 / 16 = 2.6988746015.
    assert read == {2: 40.1574, 3: 40.12, 4: 453.59237, 5: 2.6988746015, 6: 2.71, 7: 0.91}
    assert dict(zip(readings.table.get_column("line"), readings.table.get_column("decimals"), strict=True))[2] == 3
    assert "no unit given, taken for granted: mass in g" in readings.notes


def test_wide_headers(tmp_path: Path) -> None:
    """Behind a quantity stand an axis, a repeat counted from 1, a unit; a bare number is a place only for sizes."""
    readings = _read(
        tmp_path,
        "product;ball;Diameter seam [in];diameter largest found (mm);diameter 1;diameter 2;"
        "hardness seam 1;hardness seam 2;"
        "bounce restitution 1;bounce restitution 2;outline_form\nA;1;1,58;40,4;40,1;40,2;0,7;0,8;0,9;0,91;0,05\n",
    )
    rows = readings.table.select("quantity", "axis", "repeat", "value").rows()
    assert rows == [
        ("diameter", "seam", 1, 40.132),
        ("diameter", "largest found", 1, 40.4),
        ("diameter", "1", 1, 40.1),
        ("diameter", "2", 1, 40.2),
        ("hardness", "seam", 1, 0.7),
        ("hardness", "seam", 2, 0.8),
        ("bounce_restitution", "", 1, 0.9),
        ("bounce_restitution", "", 2, 0.91),
        ("outline_form", "", 1, 0.05),
    ]
    assert any(
        note.startswith("wide form: one row a ball") and '"diameter 1" as diameter, axis 1' in note
        for note in readings.notes
    )


def test_blank_cells_of_a_wide_table_are_said(tmp_path: Path) -> None:
    """A blank cell of a wide table is a reading not taken, named in the notes; with a spoiled note it is an attempt."""
    readings = _read(
        tmp_path,
        'product,ball,rebound 1,rebound 2,note\nA,1,240,,\nA,2,,241,spoiled: hit the tube\nA,3,,,"Spoiled: spun"\n',
    )
    assert readings.table.select("ball", "repeat", "value").rows() == [("1", 1, 240.0), ("2", 2, 241.0)]
    assert readings.spoiled == (
        Spoiled("A", "rebound", "hit the tube", 1, ball="2"),
        Spoiled("A", "rebound", "spun", 2, ball="3"),
    )
    assert any('blank cells taken as not read: 1 (line 2 "rebound 2")' in note for note in readings.notes)


def test_repeats_are_counted_in_the_order_of_the_file(tmp_path: Path) -> None:
    """Missing repeats count from 1 within product, box, ball, quantity and axis, around the numbers that are given."""
    readings = _read(
        tmp_path,
        "product,ball,box,quantity,axis,repeat,value\n"
        "A,1,x,diameter,seam,,40.1\nA,1,y,diameter,seam,,40.2\nA,1,x,diameter,seam,,40.3\nA,1,x,diameter,pole,,40.4\n"
        "A,2,x,diameter,seam,2,40.5\nA,2,x,diameter,seam,,40.6\nA,2,x,diameter,seam,,40.7\nA,1,x,mass,,,2.7\n",
    )
    by_line = readings.table.sort("line").get_column("repeat").to_list()
    assert by_line == [1, 1, 2, 1, 2, 1, 3, 1]


def test_order_of_the_table(tmp_path: Path) -> None:
    """Rows are sorted by product, quantity and ball in order of first appearance, then by row."""
    readings = _read(
        tmp_path,
        "product,ball,quantity,value\nB,2,mass,1\nA,9,diameter,2\nB,1,diameter,3\nB,2,diameter,4\nB,1,mass,5\nA,9,mass,6\n"
        "B,2,mass,7\n",
    )
    assert readings.table.get_column("line").to_list() == [2, 8, 6, 5, 4, 7, 3]


def test_answers(tmp_path: Path) -> None:
    """Yes, passed, no and failed in any capitals are answers, counted by ball; 3 of 4 are yes here."""
    readings = _read(
        tmp_path,
        "product,ball,quantity,value\nA,1,ring_gauge,Yes\nA,1,ring_gauge,NO\nA,2,ring_gauge,passed\nA,2,ring_gauge,yes\nA,1,mass,3\n",
        {"ring_gauge": "1"},
    )
    assert readings.table.get_column("answer").to_list() == [True, False, True, True, None]
    assert readings.table.get_column("value").to_list() == [None, None, None, None, 3.0]
    answers = answers_of(readings)
    assert list(answers) == [("A", "ring_gauge")]
    balls, boxes, yes, trials = answers["A", "ring_gauge"]
    assert (balls, boxes, yes.tolist(), trials.tolist()) == (("1", "2"), ("", ""), [1, 2], [2, 2])


def test_answers_among_numbers_are_a_fault(tmp_path: Path) -> None:
    """A yes among diameters is told as a fault, the numbers are not."""
    with pytest.raises(ValueError, match="line 3, column value") as caught:
        _read(tmp_path, "product,ball,quantity,value\nA,1,diameter,40.1\nA,1,diameter,yes\nA,1,diameter,40.2\n")
    assert len(caught.value.faults) == 1  # type: ignore[attr-defined]


def test_unknown_columns_are_kept_out_and_said(tmp_path: Path) -> None:
    """A column that is none of the contract's and near to none is kept out with a note."""
    readings = _read(tmp_path, ",product,ball,quantity,value,colour\n0,A,1,diameter,40.1,red\n")
    assert readings.table.height == 1
    assert any('"colour"' in note and "one without a name" in note for note in readings.notes)


def test_spellings_of_axes_are_brought_together_and_of_products_are_not(tmp_path: Path) -> None:
    """Axes that differ only in capitals are one place; products and balls that look alike stay apart, with a note."""
    readings = _read(
        tmp_path,
        "product,ball,quantity,axis,value\nCurlew,07,diameter,Seam,40.1\ncurlew,7,diameter,seam,40.1\n"
        "Curlew,7,diameter,Largest found,40.1\n",
    )
    assert readings.table.get_column("axis").unique().sort().to_list() == ["Seam", "largest found"]
    notes = " | ".join(readings.notes)
    assert '"Curlew" and "curlew" differ only in capitals' in notes
    assert 'balls "07" and "7" of Curlew are taken as different balls' in notes


def test_sheets_are_products(tmp_path: Path) -> None:
    """A sheet without a column product stands for its product; number cells are ball names without a decimal point."""
    path = tmp_path / "box.xlsx"
    book = xlsxwriter.Workbook(path)
    for name in ("Curlew", "Dunlin"):
        sheet = book.add_worksheet(name)
        sheet.write_row(0, 0, ["Evening at the hall"])
        sheet.write_row(2, 0, ["ball", "diameter seam", "mass [g]"])
        sheet.write_row(3, 0, [7.0, 40.1, 2.7])
        sheet.write_row(4, 0, ["07", 40.12, 1.575 * 25.4])
    book.add_worksheet("Remarks").write_row(0, 0, ["weather", "rain"])
    book.close()
    readings = read_readings(path)
    assert readings.table.get_column("product").unique(maintain_order=True).to_list() == ["Curlew", "Dunlin"]
    curlew = readings.table.filter(pl.col("product") == "Curlew")
    assert curlew.get_column("ball").to_list() == ["7", "07", "7", "07"]
    # The formula's noise beyond 15 digits does not count as decimals: 1.575 x 25.4 = 40.005.
    assert curlew.select("value", "decimals").rows() == [(40.1, 1), (40.12, 2), (2.7, 1), (40.005, 3)]
    assert any("sheets Remarks" in note for note in readings.notes)


def test_the_digest_is_that_of_the_bytes(tmp_path: Path) -> None:
    """The digest is the SHA-256 of the file as the standard library computes it."""
    import hashlib  # noqa: PLC0415 - the oracle of this one test

    text = "product,ball,quantity,value\r\nA,1,diameter,40.1\r\n"
    path = tmp_path / "box.csv"
    path.write_bytes(b"\xef\xbb\xbf" + text.encode())
    assert read_readings(path).digest == "sha256:" + hashlib.sha256(path.read_bytes()).hexdigest()
