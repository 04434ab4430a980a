"""Every sort of bad file, through the command line: one clear message, status 2, nothing on the screen's output."""

from __future__ import annotations

import gzip
import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

Run = Callable[..., Any]


@dataclass(frozen=True, slots=True)
class Edit:
    """What is done to a good file: its first `old` becomes `new`; a word that the message holds; how many messages."""

    old: str
    new: str
    says: str
    messages: int = 1

    def __str__(self) -> str:
        """A name for the test's report."""
        return re.sub(r"[^\w.+-]+", " ", f"{self.old[-25:]} -> {self.new[-25:]}").strip() or "blank"


def refused(run: Any, *, file: str, says: str, faults: int | None = 1) -> None:
    """Assert one clear message: status 2, no output, the file named, what was found and what to do."""
    assert run.status == 2, run.err or run.out
    assert run.out == ""
    assert "Traceback" not in run.err
    heads = [line for line in run.err.splitlines() if line.startswith("ballbench: ")]
    todo = [line for line in run.err.splitlines() if line.startswith("  Allowed: ")]
    assert len(heads) == len(todo) >= 1
    assert len(run.err.splitlines()) == 2 * len(heads), run.err
    if faults is not None:
        assert len(heads) == faults, run.err
    assert file in heads[0], run.err
    assert all(re.search(r": found \S", head) for head in heads)
    assert all(re.search(r"Allowed: \S.*What to do: \S", line) for line in todo)
    assert says in run.err, run.err
    assert len(max(run.err.splitlines(), key=len)) < 1500


def edited(path: Path, edit: Edit) -> None:
    """Apply an edit; the old text must be there."""
    text = path.read_text(encoding="utf-8")
    assert edit.old in text
    path.write_text(text.replace(edit.old, edit.new, 1), encoding="utf-8")


FIRST = "Curlew,C-1,01,diameter,seam,1,40.25,mm,caliper,E,A,2026-11-21 10:01:00,"


def cell(value: str, says: str) -> Edit:
    """The first value of the file written otherwise."""
    return Edit(",1,40.22,mm", f",1,{value},mm", says)


READINGS = [
    Edit("product,box", "prodct,box", "product"),
    Edit("product,box", "maker,box", "product"),
    Edit(",ball,", ",bal,", "ball"),
    Edit(",quantity,", ",quantty,", "quantity"),
    Edit(",value,", ",vale,", "value"),
    Edit(",axis,", ",ball,", "2 times"),
    Edit(",note", ",diameter", "diameter"),
    Edit(",repeat,", ",repeet,", "repeat"),
    Edit(",unit,", ",unitt,", "unit"),
    cell("", "an empty cell"),
    cell("abc", "abc"),
    cell("40.2.2", "40.2.2"),
    cell("1e999", "1e999"),
    cell("nan", "nan"),
    cell("inf", "inf"),
    cell("--40.22", "--40.22"),
    cell("+-40.22", "+-40.22"),
    cell("4O.22", "4O.22"),
    cell("40 22", "40 22"),
    cell("40_22", "40_22"),
    cell("0x28", "0x28"),
    cell("forty", "forty"),
    cell("maybe", "maybe"),
    cell(".", "."),
    cell("-", "-"),
    cell("40.22 furlong", "furlong"),
    cell("40.22 g", "g"),
    cell("40½", "40½"),
    cell("=1+1", "=1+1"),
    cell("#REF!", "#REF!"),
    cell("2026-11-21", "2026-11-21"),
    cell("yes", "yes"),
    cell("40.22?", "40.22?"),
    cell("~40.22", "~40.22"),
    cell("<40.22", "<40.22"),
    cell("40.22±0.01", "±"),
    cell("[40.22]", "[40.22]"),
    cell("4022", "lost decimal point"),
    cell("402.2", "lost decimal point"),
    cell("4.022", "lost decimal point"),
    cell("0.4022", "lost decimal point"),
    cell("1.583", "inches"),
    cell("0", "outside what a ball"),
    cell("-40.22", "outside what a ball"),
    cell("640.22", "outside what a ball"),
    Edit("40.22,mm", "40.22,furlong", "outside what a ball"),
    Edit("40.22,mm", "40.22,g", "g"),
    Edit("40.22,mm", "40.22,mmm", "mmm"),
    Edit("40.22,mm", "40.22,degC", "degC"),
    Edit("40.22,mm", "40.22,in", "inches"),
    Edit("40.22,mm", "40.22,cm", "lost decimal point"),
    Edit("40.22,mm", "40.22,m", "lost decimal point"),
    Edit(",1,2.705,g", ",1,2.705,mm", "mm"),
    Edit(",1,2.705,g", ",1,2.705,oz", "ounces"),
    Edit(",1,2.705,g", ",1,2.705,kg", "lost decimal point"),
    Edit(",diameter,seam", ",diametr,seam", "diametr"),
    Edit(",diameter,seam", ",,seam", "empty"),
    Edit(",diameter,seam", ",girth,seam", "girth"),
    Edit("Curlew,C-1,01,diameter", ",C-1,01,diameter", "product"),
    Edit("Curlew,C-1,01,diameter", "Curlew,C-1,,diameter", "ball"),
    Edit(",seam,1,", ",seam,0,", "0"),
    Edit(",seam,1,", ",seam,-1,", "-1"),
    Edit(",seam,1,", ",seam,1.5,", "1.5"),
    Edit(",seam,1,", ",seam,first,", "first"),
    Edit(",across,1,", ",seam,1,", "entered twice"),
    Edit("10:01:00,", "10:01:00,spoiled: hit the tube", "spoiled"),
    Edit(",1,40.22,mm,caliper,E,A,2026-11-21 10:01:00,", ",1,,mm,caliper,E,A,2026-11-21 10:01:00,spoiled", "spoiled"),
    Edit("10:01:00,", "10:01:00,,surplus", "surplus"),
    Edit(",1,40.22,", ",1,40,22,", "22"),
    Edit(",crack,,1,no", ",crack,,1,perhaps", "perhaps"),
    Edit(",crack,,1,no", ",crack,,1,0.5", "0.5"),
    Edit("Curlew,C-1,01,diameter", '"Curlew,C-1,01,diameter', "quot"),
]  # fmt: skip


@pytest.mark.parametrize("edit", READINGS, ids=str)
def test_one_slip_in_the_readings_gives_one_message(ballbench: Run, files: Any, edit: Edit) -> None:
    """One slip in a readings file is told once, with file and what to do, and nothing is judged."""
    edited(files.readings, edit)
    refused(ballbench(*files.judge("--json", "-")), file="box.csv", says=edit.says, faults=edit.messages)


BYTES: dict[str, tuple[bytes, str]] = {
    "empty": (b"", "empty"),
    "blank lines": (b"\n \n\t\n", "blank"),
    "a header alone": (b"product,ball,quantity,value\n", "no row"),
    "a word": (b"hello\n", "box.csv"),
    "one number": (b"40.12\n", "box.csv"),
    "zero bytes": (bytes(4096), "zero byte"),
    "text then zero bytes": (b"product,ball,quantity,value\n\x00\x00", "zero byte"),
    "a picture": (b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 8, "box.csv"),
    "a photograph": (b"\xff\xd8\xff\xe0\x00\x10JFIF" + bytes(range(256)) * 8, "box.csv"),
    "a document": (b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n" + bytes(range(256)) * 8, "box.csv"),
    "a compressed file": (gzip.compress(b"product,ball\n" * 100, mtime=0), "box.csv"),
    "an archive of nothing": (b"PK\x05\x06" + bytes(18), "box.csv"),
    "a broken archive": (b"PK\x03\x04" + bytes(range(256)), "box.csv"),
    "the old workbook format": (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(504), ".xls"),
    "Latin letters in one byte": ("product,ball,quantity,value\nGrün,1,mass,2.7\n".encode("latin-1"), "UTF-8"),
    "damaged UTF-16": (b"\xff\xfep\x00r\x00o", "UTF-16"),
    "a page": (b"<!doctype html><html><body><table><tr><td>product</td></tr></table></body></html>", "box.csv"),
    "JSON": (b'{"product": "Curlew", "ball": 1}', "box.csv"),
    "TOML": (b'product = "Curlew"\nball = 1\n', "box.csv"),
    "every byte": (bytes(range(256)) * 64, "box.csv"),
    "a line of two million letters": (b"product,ball,quantity,value," + b"x" * 2_000_000, "line"),
    "a line of commas": (b"," * 5000, "box.csv"),
    "only separators": (b";;;;\n;;;;\n", "box.csv"),
    "rows without a header": (b"Curlew,01,diameter,40.12\nCurlew,02,diameter,40.13\n", "box.csv"),
}  # fmt: skip


@pytest.mark.parametrize("name", BYTES)
def test_a_file_that_is_no_table_of_readings_is_refused(ballbench: Run, files: Any, name: str) -> None:
    """Empty, binary, damaged and foreign files are refused in one message that names the file."""
    data, says = BYTES[name]
    files.readings.write_bytes(data)
    refused(ballbench(*files.judge("--json", "-")), file="box.csv", says=says)


@pytest.mark.parametrize("which", ["spec", "bench", "corrections", "balls"])
@pytest.mark.parametrize("name", ["empty", "zero bytes", "a picture", "Latin letters in one byte", "every byte"])
def test_companions_that_are_no_text_are_refused(ballbench: Run, files: Any, which: str, name: str) -> None:
    """So are bench, corrections, ball and requirement files, whatever is the matter with their bytes."""
    path = getattr(files, which)
    path.write_bytes(BYTES[name][0])
    refused(ballbench(*files.judge()), file=path.name, says="Allowed")


BENCH = [
    Edit("[instrument.caliper]", "[instrumnt.caliper]", "instrumnt"),
    Edit("[instrument.caliper]", "[instrument.caliper", "TOML"),
    Edit('quantity = "diameter"', 'quantity = "diametr"', "diameter"),
    Edit('quantity = "diameter"', "quantity = 3", "quantity"),
    Edit('quantity = "diameter"', 'quantity = ""', "quantity"),
    Edit('quantity = "diameter"\n', "", "quantity"),
    Edit('unit = "mm"', 'unit = "furlongs per fortnight"', "unit"),
    Edit('unit = "mm"', 'unit = "g"', "mm"),
    Edit('unit = "mm"', "unit = 1", "unit"),
    Edit('unit = "mm"\n', "", "unit"),
    Edit("resolution = 0.01", "resolution = 0", "larger than 0"),
    Edit("resolution = 0.01", "resolution = -0.01", "larger than 0"),
    Edit("resolution = 0.01", 'resolution = "fine"', "a number"),
    Edit("resolution = 0.01", "resolution = inf", "a number"),
    Edit("resolution = 0.01", "resolution = nan", "a number"),
    Edit("resolution = 0.01", "resolution = true", "a number"),
    Edit("resolution = 0.01\n", "", "resolution"),
    Edit("resolution", "resolutoin", "resolution", 2),
    Edit("sd = 0.008", "sd = -0.008", "at least 0"),
    Edit("sd = 0.008", "sd = 0", "larger than 0"),
    Edit("sd = 0.008", 'sd = "0.008 mm"', "a number"),
    Edit("sd = 0.008, ", "", "sd"),
    Edit("sd = 0.008", "sdd = 0.008, sd = 0.008", "sdd"),
    Edit("dof = 20", "dof = 0", "larger than 0"),
    Edit("dof = 20", "dof = -3", "larger than 0"),
    Edit("dof = 20", 'dof = "many"', "a number"),
    Edit("includes_rounding = true", 'includes_rounding = "yes"', "true or false"),
    Edit("repeatability = { sd = 0.008, dof = 20, includes_rounding = true }", "repeatability = 0.008", "table"),
    Edit("offset = 0.0", 'offset = "none"', "a number"),
    Edit("offset_sd = 0.010", "offset_sd = -1", "at least 0"),
    Edit("scale_sd = 0.0", "scale_sd = -0.1", "at least 0"),
    Edit("offset = 0.0", "ofset = 0.0", "offset"),
    Edit('zeroed = "each reading"', 'zeroed = "daily"', "each sitting"),
    Edit('zeroed = "each reading"', 'zeroed = "each readings"', "each reading"),
    Edit('display = "rounds"', 'display = "floors"', "truncates"),
    Edit("looks = 12", "looks = 0", "at least 1"),
    Edit("looks = 12", "looks = 2.5", "whole"),
    Edit("value = 22.0, sd = 1.0", 'value = "warm", sd = 1.0', "a number"),
    Edit("value = 22.0, sd = 1.0", "sd = 1.0", "value"),
    Edit("sd = 1.0, reference", "sd = -1.0, reference", "at least 0"),
    Edit('unit = "degC" }\nsurface', 'unit = "mm" }\nsurface', "degC"),
    Edit('surface = "steel block"', 'surface = ["steel"]', "surface"),
    Edit("expansion = { value = 9e-5", "expansion = { value = -9e-5", "at least 0"),
    Edit("expansion = { value = 9e-5, ", "expansion = { ", "value"),
    Edit("relative_sd = 0.2", "relative_sd = -0.2", "at least 0"),
    Edit("[material]\nexpansion = { value = 9e-5, relative_sd = 0.2 }", "", "expansion"),
    Edit("value = 0.001", 'value = "light"', "a number"),
    Edit("sd = 0.0005\n", "", "sd"),
    Edit('sd = 0.0005\nunit = "mm"', 'sd = 0.0005\nunit = "kg"', "length"),
    Edit("[squeeze.Curlew]", "[squeze.Curlew]", "squeeze"),
    Edit("[instrument.scale]", "[instrument.caliper]", "TOML"),
]  # fmt: skip


@pytest.mark.parametrize("edit", BENCH, ids=str)
def test_one_slip_in_the_bench_file_gives_one_message(ballbench: Run, files: Any, edit: Edit) -> None:
    """One slip in a bench file is told once, at its table and key."""
    edited(files.bench, edit)
    refused(ballbench(*files.judge()), file="bench.toml", says=edit.says, faults=edit.messages)


LINE = "Curlew,03,diameter,seam,1,correct,40.23,read off the sheet again"
CORRECTIONS = [
    Edit(LINE, "Curlew,99,diameter,seam,1,correct,40.23,typed wrong", "no such reading"),
    Edit(LINE, "Curlow,01,diameter,seam,1,correct,40.23,typed wrong", '"Curlew"'),
    Edit(LINE, "Curlew,03,veer,seam,1,correct,40.23,typed wrong", "no such reading"),
    Edit(LINE, "Curlew,03,diameter,pole,1,correct,40.23,typed wrong", "nearest is ball 03"),
    Edit(LINE, "Curlew,03,diameter,seam,2,correct,40.23,typed wrong", "repeat 1"),
    Edit(LINE, "Curlew,03,diameter,,1,correct,40.23,typed wrong", "3 readings"),
    Edit(LINE, "Curlew,03,diameter,seam,1,correct,40.23,", "reason"),
    Edit(LINE, "Curlew,03,diameter,seam,1,correct,,typed wrong", "value"),
    Edit(LINE, "Curlew,03,diameter,seam,1,correct,fourty,typed wrong", "fourty"),
    Edit(LINE, "Curlew,03,diameter,seam,1,correct,yes,typed wrong", "yes/no"),
    Edit(LINE, "Curlew,03,diameter,seam,1,corect,40.23,typed wrong", "correct"),
    Edit(LINE, "Curlew,03,diameter,seam,1,delete,,typed wrong", "exclude"),
    Edit(LINE, "Curlew,03,diameter,seam,1,,40.23,typed wrong", "action"),
    Edit(LINE, "Curlew,03,diameter,seam,1,exclude,40.23,typed wrong", "value"),
    Edit(LINE, "Curlew,03,diameter,seam,x,correct,40.23,typed wrong", "repeat"),
    Edit(LINE, "Curlew,01,crack,,1,correct,0.5,typed wrong", "yes"),
    Edit(LINE, ",01,diameter,seam,1,correct,40.23,typed wrong", "product"),
    Edit(LINE, "Curlew,,diameter,seam,1,correct,40.23,typed wrong", "ball"),
    Edit(LINE, "Curlew,03,,seam,1,correct,40.23,typed wrong", "quantity"),
    Edit(LINE, "Curlew,03,diameter,seam,1,correct,40.23 kg,typed wrong", "mm"),
    Edit(LINE, f"{LINE},E,\n{LINE}", "one line a reading"),
    Edit("reason,by", "why,by", "reason"),
    Edit("action,", "acton,", "action"),
    Edit("axis,repeat", "axis,axis", "2 times"),
    Edit("by,time", "by", "beyond the last named column", 2),
]  # fmt: skip


@pytest.mark.parametrize("edit", CORRECTIONS, ids=str)
def test_one_slip_in_the_corrections_gives_one_message(ballbench: Run, files: Any, edit: Edit) -> None:
    """A line for a ball that does not exist, without a reason, for several readings: told once, with its line."""
    edited(files.corrections, edit)
    refused(ballbench(*files.judge()), file="fix.csv", says=edit.says, faults=edit.messages)


BALL = "Curlew,01,C-1,24,2026-11-20,0,0,22.5,2026-11-01,3.20 EUR"
BALLS = [
    Edit(BALL, "Curlew,01,C-1,long,2026-11-20,0,0,22.5,2026-11-01,", "long"),
    Edit(BALL, "Curlew,01,C-1,-1,2026-11-20,0,0,22.5,2026-11-01,", "0 or more"),
    Edit(BALL, "Curlew,01,C-1,24 h,2026-11-20,0,0,22.5,2026-11-01,", "unit"),
    Edit(BALL, "Curlew,01,C-1,24,20.11.2026,0,0,22.5,2026-11-01,", "a date"),
    Edit(BALL, "Curlew,01,C-1,24,2026-13-40,0,0,22.5,2026-11-01,", "a date"),
    Edit(BALL, "Curlew,01,C-1,24,2026-11-20,high,0,22.5,2026-11-01,", "high"),
    Edit(BALL, "Curlew,01,C-1,24,2026-11-20,0,1.5,22.5,2026-11-01,", "whole"),
    Edit(BALL, "Curlew,01,C-1,24,2026-11-20,0,-2,22.5,2026-11-01,", "0 or more"),
    Edit(BALL, "Curlew,01,C-1,24,2026-11-20,0,0,warm,2026-11-01,", "warm"),
    Edit(BALL, "Curlew,01,C-1,24,2026-11-20,0,0,22.5,yesterday,", "a date"),
    Edit(BALL, ",01,C-1,24,2026-11-20,0,0,22.5,2026-11-01,", "product"),
    Edit(BALL, "Curlew,,C-1,24,2026-11-20,0,0,22.5,2026-11-01,", "ball"),
    Edit(BALL, f"{BALL}\n{BALL}", "second line"),
    Edit("conditioned_h", "condtioned_h", "conditioned_h"),
    Edit("product,ball", "maker,ball", "product"),
    Edit(BALL, f"{BALL},surplus", "surplus"),
]  # fmt: skip


@pytest.mark.parametrize("edit", BALLS, ids=str)
def test_one_slip_in_the_ball_facts_gives_one_message(ballbench: Run, files: Any, edit: Edit) -> None:
    """A wrong number, date or name in the ball facts is told once, with line and column."""
    edited(files.balls, edit)
    refused(ballbench(*files.judge()), file="balls.csv", says=edit.says, faults=edit.messages)


RULE = [
    Edit('id = "small-rule"', 'id = "Small Rule"', "lower-case"),
    Edit('id = "small-rule"\n', "", "id"),
    Edit('sport = "any"\n', "", "sport"),
    Edit('title = "A small rule (invented)"', "title = 7", "title"),
    Edit('edition = "2026"', "edition = 2026", "edition"),
    Edit("sample_size = 6", "sample_size = 0", "sample_size"),
    Edit("sample_size = 6", 'sample_size = "six"', "sample_size"),
    Edit("axes = 3", "axes = -1", "axes"),
    Edit("axes = 3", "axis = 3", "axes"),
    Edit('notes = ["Invented for the tests."]', 'notes = "Invented."', "notes"),
    Edit('seen = "own"', 'seen = "hearsay"', "own"),
    Edit('seen = "own"', 'sen = "own", seen = "own"', "sen"),
    Edit('source = { document = "Invented for the tests", clause = "1", seen = "own" }', 'source = "mine"', "source"),
    Edit('ball = "max"', 'ball = "maximum"', "max"),
    Edit('ball = "max"', 'ball = "largest"', "ball"),
    Edit('sample = "each"', 'sample = "every"', "each"),
    Edit('upper = "40.60 mm"', 'upper = "40.60"', "unit"),
    Edit('upper = "40.60 mm"', "upper = 40.60", "unit"),
    Edit('upper = "40.60 mm"', 'upper = "40,60 mm"', "40,60"),
    Edit('upper = "40.60 mm"', 'upper = "40.60 furlongz"', "furlongz"),
    Edit('upper = "40.60 mm"', 'upper = "40.60 g"', "mm"),
    Edit('upper = "40.60 mm"', 'upper = "mm"', "mm"),
    Edit('upper = "40.60 mm"', 'uper = "40.60 mm"', "upper"),
    Edit('upper = "40.60 mm"\n', "", "largest"),
    Edit('quantity = "diameter"\nball = "max"', 'ball = "max"', "quantity"),
    Edit('id = "alike"', 'id = "largest"', "largest"),
    Edit('id = "alike"\n', "", "id"),
    Edit("allowed_outside = 1", "allowed_outside = -1", "allowed_outside"),
    Edit("allowed_outside = 1", "allowed_outside = 1.5", "allowed_outside"),
    Edit("allowed_outside = 1", 'strict = "yes"', "true or false"),
    Edit('sample = "range"', 'sample = "range"\nallowed_outside = 1', "allowed_outside"),
    Edit('unit = "kPa"', 'unit = "kPascals"', "unit"),
    Edit("[quantity.pressure]", "[quantity.presure]", "presure"),
    Edit('conditions = { temperature = "18 to 22 degC" }', "conditions = { temperature = 20 }", "temperature"),
    Edit('count = { answer = "no" }', 'count = { answer = "never" }', "answer"),
    Edit('count = { answer = "no" }', 'count = { answer = "no", at_most = 3 }', "out_of"),
    Edit('count = { answer = "no" }', 'count = "no"', "count"),
    Edit("[[clause.variant]]", "[[clause.varient]]", "variant"),
    Edit("[[clause]]\nid", "[clause]\nid", "TOML"),
    Edit('text = "No ball measures more than 40.60 mm."', 'text = ""', "text"),
    Edit('text = "No ball measures more than 40.60 mm."', 'text = "No ball', "TOML"),
]  # fmt: skip


@pytest.mark.parametrize("edit", RULE, ids=str)
def test_one_slip_in_the_requirement_gives_a_message_at_its_place(ballbench: Run, files: Any, edit: Edit) -> None:
    """A slip in a requirement file is told at its clause and key; `specs --check` finds it as well."""
    edited(files.spec, edit)
    refused(ballbench(*files.judge()), file="rule.toml", says=edit.says, faults=None)
    checked = ballbench("specs", "--check", str(files.spec))
    assert checked.status == 2
    assert "cannot be used" in checked.out
    assert "Traceback" not in checked.err


def test_all_faults_of_a_file_are_told_at_once(ballbench: Run, files: Any) -> None:
    """Three slips in three lines give three messages, in the order of the lines."""
    for edit in (cell("abc", ""), Edit(",crack,,1,no", ",crack,,1,perhaps", ""), Edit(",2.700,g", ",2.700,mm", "")):
        edited(files.readings, edit)
    run = ballbench(*files.judge())
    refused(run, file="box.csv", says="perhaps", faults=3)
    lines = [int(found) for found in re.findall(r"ballbench: box\.csv, line (\d+)", run.err)]
    assert lines == sorted(set(lines))


def test_many_faults_are_counted_beyond_the_first_fifty(ballbench: Run, files: Any) -> None:
    """Of 2,000 bad rows fifty are shown and the other 1,950 are counted."""
    rows = "".join(f"Curlew,{i},diameter,x{i}\n" for i in range(2000))
    files.readings.write_text("product,ball,quantity,value\n" + rows)
    run = ballbench(*files.judge())
    assert run.status == 2
    assert run.err.count("What to do:") == 50
    assert "1950 more" in run.err.splitlines()[-1]
