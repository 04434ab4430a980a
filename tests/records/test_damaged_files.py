from __future__ import annotations

import io
import os
import tracemalloc
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
import xlsxwriter
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from ballbench.errors import BadBalls, BadBench, BadCorrections, BadInput, BadReadings
from ballbench.records import Readings, plausibility_queries, read_balls, read_bench, read_corrections, read_readings
from ballbench.records.samples import samples_of

_LONG = (
    b"product,box,ball,quantity,axis,repeat,value,unit,note\n"
    b"Curlew,1,01,diameter,seam,1,40.12,mm,\nCurlew,1,01,diameter,pole,1,40.10,mm,\nCurlew,1,02,mass,,1,0.0952,oz,\n"
    b'Curlew,1,02,rebound,,1,,mm,"spoiled: hit the tube"\nDunlin,2,01,diameter,seam,2,1.58,in,"said ""fine"""\n'
)
_WIDE = (
    b"Evening at the hall\n\nproduct;ball;diameter seam [mm];diameter pole [mm];mass\n"
    b"Curlew;01;40,12;40,10;2,70\nCurlew;02;40,2;;2,71\n"
)
_BITS = [
    *(
        "product",
        "ball",
        "quantity",
        "value",
        "diameter",
        "mass",
        "nan",
        "inf",
        "1e400",
        "-1e308",
        "1e-400",
        "yes",
        "failed",
    ),
    *(
        "mm",
        "furlong",
        "Mm",
        "degC",
        "%",
        '"',
        "'",
        ",",
        ";",
        "\t",
        "\r",
        "\n",
        "\x00",
        "\x1c",
        "\ufeff",
        "\u2028",
        "½",
    ),
    *("spoiled:", "spoiled: x", "40,12", "40.12", "1,234.5", "2009-10-01", "Sep 10", "0", "-0", "99999999999999999999"),
    *(
        "=1/0",
        "[",
        "{",
        "*",
        ".*",
        "(?",
        "\\",
        "%s",
        "{}",
        "é" * 50,
        "9" * 400,
        "repeat",
        "axis",
        "box",
        "line",
        "extra",
        "sheet",
    ),
]


def _workbook() -> bytes:
    stream = io.BytesIO()
    book = xlsxwriter.Workbook(stream, {"in_memory": True})
    sheet = book.add_worksheet("Curlew")
    sheet.write_row(0, 0, ["ball", "diameter seam", "mass [g]", "note"])
    sheet.write_row(1, 0, [7, 40.12, 2.7, "x"])
    sheet.write_row(2, 0, ["08", "40.2", 2.71])
    book.close()
    return stream.getvalue()


_BOOK = _workbook()

Edit = Callable[[bytes], bytes]


@st.composite
def _edit(draw: st.DrawFn) -> Edit:
    """Draw one way of damaging bytes: cut, insert, repeat, flip, move or replace a piece."""
    at, to = draw(st.floats(0, 1)), draw(st.floats(0, 1))
    bit = draw(st.sampled_from(_BITS).map(str.encode) | st.binary(max_size=6))
    sort = draw(st.sampled_from(["cut", "insert", "repeat", "flip", "truncate", "swap", "replace", "all"]))

    def change(data: bytes) -> bytes:
        low, high = sorted((int(at * len(data)), int(to * len(data))))
        piece = data[low:high]
        return {
            "cut": data[:low] + data[high:],
            "insert": data[:low] + bit + data[low:],
            "repeat": data[:high] + piece * 2 + data[high:],
            "flip": data[:low] + bytes(255 - byte for byte in data[low : low + 1]) + data[low + 1 :],
            "truncate": data[:low],
            "swap": data[high:] + data[:high],
            "replace": data[:low] + bit + data[low + len(bit) :],
            "all": data.replace(data[low : low + 1] or b"a", bit),
        }[sort]

    return change


_QUIET = settings(max_examples=250, deadline=None, suppress_health_check=list(HealthCheck))


def _damaged(data: bytes, edits: list[Edit]) -> bytes:
    for edit in edits:
        data = edit(data)[:200_000]
    return data


def _outcome(reader: Callable[[Path], object], path: Path, error: type[BadInput]) -> object:
    """Give what a reader returns, or None when it raises its own error with whole faults, each once."""
    try:
        return reader(path)
    except BadInput as raised:
        caught = raised
    assert type(caught) is error
    assert caught.faults
    assert all(fault.where and fault.found and fault.todo for fault in caught.faults)
    assert len(set(caught.faults)) == len(caught.faults)
    assert str(caught)
    return None


def _reads_or_refuses(path: Path) -> None:
    """Read a file to its end; only BadReadings with faults may be raised."""
    readings = _outcome(read_readings, path, BadReadings)
    if not isinstance(readings, Readings):
        return
    values = readings.table.get_column("value").drop_nulls()
    assert values.is_finite().all()
    assert (readings.table.get_column("repeat") >= 1).all()
    plausibility_queries(readings)
    assert sum(sample.values.size for _, product in samples_of(readings) for sample in product.values()) == values.len()


@_QUIET
@given(source=st.sampled_from([_LONG, _WIDE]), edits=st.lists(_edit(), min_size=1, max_size=4))
def test_damaged_text_gives_readings_or_faults(tmp_path: Path, source: bytes, edits: list[Edit]) -> None:
    """A text file damaged in any of these ways is read or refused with faults, never ended by another exception."""
    path = tmp_path / "box.csv"
    path.write_bytes(_damaged(source, edits))
    _reads_or_refuses(path)


@settings(_QUIET, max_examples=80)
@given(edits=st.lists(_edit(), min_size=1, max_size=3), part=st.sampled_from(["file", "sheet", "strings", "book"]))
def test_damaged_workbooks_give_readings_or_faults(tmp_path: Path, edits: list[Edit], part: str) -> None:
    """A workbook damaged as an archive, or in its sheet, strings or list of sheets, is read or refused with faults."""
    path = tmp_path / "box.xlsx"
    path.write_bytes(_damaged(_BOOK, edits) if part == "file" else _repacked(edits, part))
    _reads_or_refuses(path)


def _repacked(edits: list[Edit], part: str) -> bytes:
    """Damage one entry of the archive and pack it again."""
    name = {"sheet": "xl/worksheets/sheet1.xml", "strings": "xl/sharedStrings.xml", "book": "xl/workbook.xml"}[part]
    stream = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(_BOOK)) as old, zipfile.ZipFile(stream, "w") as new:
        for entry in old.namelist():
            data = old.read(entry)
            new.writestr(entry, _damaged(data, edits) if entry == name else data)
    return stream.getvalue()


_CORRECTIONS = (
    b"product,ball,quantity,axis,repeat,action,value,reason,by,time\n"
    b"A,1,diameter,seam,1,correct,40.23,typed wrong,me,\nA,2,mass,,,exclude,,dropped,,\n"
)
_BALLS = b"product,ball,box,conditioned_h,opened,impacts,price\nA,1,x,24.5,2026-11-25,12,3.20 EUR\n"
_BENCH = b"""[instrument.caliper]
quantity = "diameter"
unit = "mm"
resolution = 0.01
repeatability = { sd = 0.008, dof = 20, includes_rounding = true }
calibration = { offset = 0.0, offset_sd = 0.01, scale_sd = 0.0 }
[conditions]
temperature = { value = 21.5, sd = 1.0, reference = 23.0, unit = "degC" }
[material]
expansion = { value = 9e-5, relative_sd = 0.2 }
[squeeze."Curlew"]
value = 0.02
sd = 0.005
unit = "mm"
"""


@settings(_QUIET, max_examples=200)
@given(which=st.sampled_from(["corrections", "balls", "bench"]), edits=st.lists(_edit(), min_size=1, max_size=3))
def test_damaged_companions_give_results_or_faults(tmp_path: Path, which: str, edits: list[Edit]) -> None:
    """A damaged corrections, balls or bench file is read or refused with its own error."""
    source, reader, error = {
        "corrections": (_CORRECTIONS, read_corrections, BadCorrections),
        "balls": (_BALLS, read_balls, BadBalls),
        "bench": (_BENCH, read_bench, BadBench),
    }[which]
    path = tmp_path / "file"
    path.write_bytes(_damaged(source, edits))
    _outcome(reader, path, error)  # type: ignore[arg-type]


@pytest.mark.parametrize("fill", [b"", b"x"])
def test_a_giant_line_is_refused_in_little_memory(tmp_path: Path, fill: bytes) -> None:
    """A file of 1 GB without a line break, of zeros or beginning with text, costs under 64 MB."""
    path = tmp_path / "giant.csv"
    path.write_bytes(fill * 3_000_000)
    os.truncate(path, 1 << 30)
    tracemalloc.start()
    with pytest.raises(BadReadings) as caught:
        read_readings(path)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert peak < 64 << 20
    assert len(caught.value.faults) == 1


def test_an_archive_that_unpacks_to_gigabytes_is_refused(tmp_path: Path) -> None:
    """A small archive that unpacks to more than 1 GB is refused before it is unpacked."""
    path = tmp_path / "bomb.xlsx"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive:
        archive.writestr("xl/workbook.xml", "<workbook/>")
        with archive.open("xl/worksheets/sheet1.xml", "w", force_zip64=True) as entry:
            for _ in range(1100):
                entry.write(bytes(1 << 20))
    assert path.stat().st_size < 8 << 20
    with pytest.raises(BadReadings, match="unpacks to more than 1 GB"):
        read_readings(path)
