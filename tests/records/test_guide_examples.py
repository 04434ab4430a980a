from __future__ import annotations

import re
from pathlib import Path

import pytest
from frictionless import Resource, Schema, fields

from ballbench.records import CORRECTION_COLUMNS, read_balls, read_bench, read_corrections, read_readings
from ballbench.records.importers.layout import COLUMNS
from ballbench.workflows.stated_file import read_stated

GUIDE = Path(__file__).parents[2] / "docs" / "guides" / "files.md"
_BLOCK = re.compile(r"^```(csv|toml) (\w+)(?: declared=(\w+))?\n(.*?)^```$", re.MULTILINE | re.DOTALL)
BLOCKS = _BLOCK.findall(GUIDE.read_text(encoding="utf-8"))


def test_every_block_of_the_guide_says_what_it_is() -> None:
    """No fenced block of the guide is left unread by these tests."""
    assert len(BLOCKS) == GUIDE.read_text(encoding="utf-8").count("```") // 2
    assert {kind for _, kind, _, _ in BLOCKS} == {"readings", "corrections", "balls", "bench", "test"}


@pytest.mark.parametrize("block", BLOCKS, ids=lambda block: f"{block[1]}-{len(block[3])}")
def test_blocks_of_the_guide_are_read(tmp_path: Path, block: tuple[str, str, str, str]) -> None:
    """Every example block of the guide is accepted by the reader it is meant for, and no line of it is lost."""
    suffix, kind, declared, text = block
    path = tmp_path / f"example.{suffix}"
    path.write_text(text, encoding="utf-8")
    rows = text.count("\n") - 1
    if kind == "readings":
        readings = read_readings(path, dict.fromkeys(filter(None, [declared]), "1"))
        assert {*readings.table.get_column("line")} | _spoiled_lines(text) == set(range(2, rows + 2))
        assert not any("kept out" in note for note in readings.notes)
    elif kind == "corrections":
        assert len(read_corrections(path).lines) == rows
    elif kind == "balls":
        assert len(read_balls(path).balls) == rows
    elif kind == "test":
        stated = read_stated(path)
        assert (len(stated.sittings), len(stated.notes)) == (text.count("[[sitting]]"), text.count("[[noted]]"))
    else:
        bench = read_bench(path)
        assert bench.assumptions == ()
        assert set(bench.instruments) == {"caliper", "scale"}


def _spoiled_lines(text: str) -> set[int]:
    return {number for number, line in enumerate(text.splitlines(), 1) if "spoiled:" in line}


def test_the_table_of_columns_is_complete() -> None:
    """The guide's table explains each column that the reader knows, and no other."""
    explained = re.findall(r"^\| (`.*?) \|", GUIDE.read_text(encoding="utf-8"), re.MULTILINE)
    assert sorted(re.findall(r"`(\w+)`", " ".join(explained))) == sorted(COLUMNS)
    assert len(CORRECTION_COLUMNS) == len(set(CORRECTION_COLUMNS))


LONG = [text for _, kind, _, text in BLOCKS if kind == "readings" and ",quantity," in text.partition("\n")[0]]


@pytest.mark.parametrize("text", LONG, ids=len)
def test_frictionless_agrees_that_long_examples_are_valid_tables(tmp_path: Path, text: str) -> None:
    """A second reader, frictionless, finds the long examples valid and sees the same names and values."""
    path = tmp_path / "example.csv"
    path.write_text(text, encoding="utf-8")
    names = text.partition("\n")[0].split(",")
    kinds = {"repeat": fields.IntegerField}
    schema = Schema(fields=[kinds.get(name, fields.StringField)(name=name) for name in names])
    resource = Resource(path="example.csv", basepath=str(tmp_path), schema=schema)
    assert resource.validate().valid
    keys = ("product", "ball", "quantity")
    seen = [(*(row[key] for key in keys), row["value"]) for row in resource.read_rows() if row["value"]]
    table = read_readings(path, {"ring_gauge": "1"}).table.sort("line")
    words = {True: "passed", False: "failed"}
    values = [
        words[answer] if answer is not None else value for value, answer in table.select("value", "answer").rows()
    ]
    assert [row[:3] for row in seen] == table.select(keys).rows()
    assert [row[3] if row[3] in words.values() else float(row[3]) for row in seen] == values
