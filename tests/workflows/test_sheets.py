from __future__ import annotations

import re
import shutil
import subprocess
from collections import Counter
from pathlib import Path

import pytest
from made_tests import RULE, fill, new_test, put, sent

from ballbench.errors import BadRequest, Conflict, NotFound
from ballbench.presentation.sheets.label_format import CupStrip, LabelFormat
from ballbench.store import Notebook
from ballbench.workflows import sheets
from ballbench.workflows.bench import bench_state
from ballbench.workflows.bench_requests import Finish
from ballbench.workflows.set_up import BoxPlan, InstrumentPlan, MakePlan, QuantityPlan
from ballbench.workflows.sheets import ball_labels, bench_sheet, cup_strips
from ballbench.workflows.sittings import finish


def text_of(pdf: bytes, folder: Path) -> str:
    """What another program reads in a PDF."""
    if shutil.which("pdftotext") is None:
        pytest.skip("LEFT OUT: no pdftotext (poppler-utils) on this machine, so the printed sheet was not read back")
    (folder / "made.pdf").write_bytes(pdf)
    done = subprocess.run(["pdftotext", "-layout", str(folder / "made.pdf"), "-"], capture_output=True, check=True)
    return done.stdout.decode("utf-8")


def numbers_in(text: str) -> list[int]:
    """Running numbers of the rows, in the order of the pages."""
    return [int(found) for found in re.findall(r"^ {0,6}(\d{1,3})\s+\S", text, re.MULTILINE)]


def test_a_sheet_has_every_reading_to_take(notebook: Notebook, tmp_path: Path) -> None:
    """6 balls: 2 diameters, mass, 2 rebounds, a crack each, and the steel ball three times; rows 1 to 39, no other."""
    text = text_of(bench_sheet(notebook, new_test(notebook).id, "a4"), tmp_path)
    assert set(numbers_in(text)) >= set(range(1, 40))
    assert "40" not in text.split()
    assert text.count("steel ball") == 3
    assert text.count("yes") >= 6


@pytest.mark.parametrize("stage", ["set up", "under way"])
def test_a_blind_sheet_tells_no_make_and_no_limit(notebook: Notebook, tmp_path: Path, stage: str) -> None:
    """Neither in the printed words nor as plain bytes of the file: makes, boxes, limits, what the steel ball is."""
    test = new_test(notebook, blind=True, title="Evening").id
    if stage == "under way":
        first = bench_state(notebook, test).places[0]
        put(notebook, test, first.id, "40.00")
    limits = [
        f"{limit:.2f}" for one in new_test(notebook).quantities for limit in one.limits if limit is not None
    ]  # fmt: skip
    assert limits, "the requirement has limits to keep"
    for pdf in (bench_sheet(notebook, test, "a4"), ball_labels(notebook, test, LabelFormat()),
                cup_strips(notebook, test, CupStrip())):  # fmt: skip
        text = text_of(pdf, tmp_path)
        for word in ("Curlew", "Dunlin", "C-1", "D-1", "40.00", *limits):
            assert word not in text
            assert word.encode() not in pdf


def test_labels_of_a_blind_test_come_by_number(notebook: Notebook, tmp_path: Path) -> None:
    """Their order tells no box; of an open test they come box by box."""
    makes = (MakePlan("Curlew", (BoxPlan("C-1", 2, ("bb", "aa")),)), MakePlan("Dunlin", (BoxPlan("D-1", 1, ("00",)),)))
    hidden = new_test(notebook, blind=True).id
    shown = new_test(notebook, makes=makes).id
    for test, order in ((hidden, ["01", "02", "03", "04", "05", "06"]), (shown, ["bb", "aa", "00"])):
        words = text_of(ball_labels(notebook, test, LabelFormat(columns=1, rows=6)), tmp_path).split("\n")
        told = [word for line in words for word in line.split() if word in order]
        assert told == order


def test_what_is_read_is_left_out(notebook: Notebook, tmp_path: Path) -> None:
    """After five readings the sheet has five rows less, and says so; the others keep their numbers."""
    test = new_test(notebook, quantities=(QuantityPlan("mass", (), 1, "scale"),), references=()).id
    whole = numbers_in(text_of(bench_sheet(notebook, test, "a4"), tmp_path))
    ordered = sorted(bench_state(notebook, test).places, key=lambda one: one.sheet_order)
    for number, place in enumerate(ordered[:5]):
        put(notebook, test, place.id, f"2.7{number}")
    text = text_of(bench_sheet(notebook, test, "a4"), tmp_path)
    assert "5 readings already taken, left out" in " ".join(text.split())
    assert Counter(whole) - Counter(numbers_in(text)) == Counter([1, 2, 3, 4, 5])


def test_the_box_shows_what_the_instrument_shows(notebook: Notebook, tmp_path: Path) -> None:
    """A caliper that shows 0.0005 in is written down in inches with four decimals, though sizes are computed in mm."""
    tools = (
        InstrumentPlan("caliper", "diameter", "in", 0.0005), InstrumentPlan("scale", "mass", "g", 0.01),
        InstrumentPlan("phone", "rebound", "mm", 1.0),
    )  # fmt: skip
    text = text_of(bench_sheet(notebook, new_test(notebook, instruments=tools).id, "letter"), tmp_path)
    flat = " ".join(text.split())
    assert "caliper, shows steps of 0.0005 in" in flat
    assert "reading in in" in flat


def test_cautions_of_balls_and_of_drops_are_printed(notebook: Notebook, tmp_path: Path) -> None:
    """What the requirement says of its balls stands on every page, what belongs to drops on theirs."""
    rule = RULE.replace("notes = [", 'cautions = ["Keep them cool."]\nnotes = [', 1)
    text = text_of(bench_sheet(notebook, new_test(notebook, requirement=rule).id, "a4"), tmp_path)
    pages = [" ".join(page.split()) for page in text.split("\f")[:-1]]
    for page in pages:
        assert "Keep them cool." in page
        assert ("Drop from a fixed stand" in page) is ("Rebound height" in page)


def test_what_has_no_sheet_is_refused(notebook: Notebook) -> None:
    """No such test, no such paper, everything read, finished: one fault each, with what to do."""
    for ask in (
        lambda: bench_sheet(notebook, 99, "a4"),
        lambda: ball_labels(notebook, 99, LabelFormat()),
        lambda: cup_strips(notebook, 99, CupStrip()),
    ):
        with pytest.raises(NotFound):
            ask()
    test = new_test(notebook, blind=True).id
    with pytest.raises(BadRequest, match="a4 or letter"):
        bench_sheet(notebook, test, "a3")
    assert list(fill(notebook, test))
    with pytest.raises(Conflict, match="everything is read"):
        bench_sheet(notebook, test, "a4")
    finish(notebook, test, Finish(**sent()))
    with pytest.raises(Conflict, match="take it up again"):
        bench_sheet(notebook, test, "a4")
    assert ball_labels(notebook, test, LabelFormat()).startswith(b"%PDF")


def test_a_sheet_too_long_for_a_hand_is_refused(notebook: Notebook, monkeypatch: pytest.MonkeyPatch) -> None:
    """Beyond the bound it says how many readings there are, and nothing is set."""
    monkeypatch.setattr(sheets, "MOST_ROWS", 38)
    with pytest.raises(BadRequest, match="39 readings to take"):
        bench_sheet(notebook, new_test(notebook).id, "a4")
