from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from paper_reader import pixels_of, text_of, words_of

import ballbench.presentation.screens as screens_of_the_bench
from ballbench.presentation.sheets.bench_sheet import (
    HEAD,
    MARGIN,
    ROW,
    BenchSheet,
    Display,
    bench_sheet_of,
    typed_order,
)
from ballbench.presentation.sheets.bench_sheet_pdf import bench_sheet_pdf
from ballbench.presentation.sheets.paper import PAPERS
from ballbench.records.ball_test import BallTest, PlannedQuantity, ReferencePiece
from ballbench.records.bench_state import Place
from ballbench.records.control_ball import CONTROL, ControlBall
from ballbench.records.reading_order import reading_order

QUANTITIES = (
    PlannedQuantity("diameter", "diameter", "mm", ("seam", "across", "free"), 1, "caliper", rank=1),
    PlannedQuantity("rebound", "rebound height", "mm", ("",), 2, "phone", rank=2, decimals=0, caution="Fixed stand."),
    PlannedQuantity("veer", "sideways drift", "mm", ("",), 1, "ramp", rank=3, signed=True),
    PlannedQuantity("crack", "crack", "1", ("",), 1, yes_no=True, rank=4),
)
REASONS = ("slipped in the jaws", "hit the tube", "other")
PIECES = (ReferencePiece(1, "steel ball", "diameter", "mm", 40.0, 0.001, "caliper"),)
TEST = BallTest(
    3, "Evening", "x", "X", "d", "2026", "E", True, "set up", "guarded", 0.05, 1, False, QUANTITIES, ()
)  # fmt: skip
SHOWN = {"diameter": Display("in", 0.0005), "veer": Display("mm", 0.5)}


def places_of(balls: int, every: int = 5, quantities: Sequence[PlannedQuantity] = QUANTITIES) -> list[Place]:
    """Places in a shuffled order with a steel ball and a control ball, which has number 1."""
    rng = np.random.default_rng(balls)
    turns = reading_order(quantities, balls, {"diameter": [1]}, rng, control=ControlBall(0, every))
    repeats = {one.name: one.repeats for one in quantities}
    return [
        Place(
            at, None if turn.ball is None else turn.ball + 1, turn.reference, turn.quantity, turn.axis, turn.repeat, at,
            at, why=CONTROL if turn.ball is not None and turn.repeat > repeats[turn.quantity] else "",
        )
        for at, turn in enumerate(turns, 1)
    ]  # fmt: skip


def sheet_of(places: Sequence[Place], test: BallTest = TEST, paper: str = "a4", **more: Any) -> BenchSheet:
    """A sheet of balls that are named by their number."""
    numbers = {ball: f"{ball:02d}" for ball in range(1, 400)}
    return bench_sheet_of(test, numbers, PIECES, places, SHOWN, paper=PAPERS[paper], reasons=REASONS, **more)


@pytest.fixture(scope="module")
def pdf() -> bytes:
    return bench_sheet_pdf(sheet_of(places_of(12), cautions=("No flame.",)))


@given(
    balls=st.integers(1, 40), filled=st.sets(st.integers(1, 200)), paper=st.sampled_from(sorted(PAPERS)),
    caution=st.text("ab ", max_size=900),
)  # fmt: skip
def test_every_open_place_has_one_row_in_typed_order(balls: int, filled: set[int], paper: str, caution: str) -> None:
    """Rows are the places without a reading, each once and in the order of typing; no page has more than it holds."""
    places = [replace(place, filled=place.id in filled) for place in places_of(balls)]
    sheet = sheet_of(places, paper=paper, cautions=(caution,) if caution else ())
    rows = [(page.words, row) for page in sheet.pages for row in page.rows]
    wanted = [place for place in places if not place.filled]
    words = {one.name: one.words for one in QUANTITIES}
    assert [(text, row.number, row.place) for text, row in rows] == [
        (words[place.quantity], place.sheet_order, place.axis) for place in wanted
    ]
    assert sheet.done == len(places) - len(wanted)
    for page in sheet.pages:
        taken = MARGIN + HEAD + len(page.rows) * ROW + sheet.foot_height(page) + MARGIN
        assert taken <= sheet.paper.height


@given(balls=st.integers(1, 40), paper=st.sampled_from(sorted(PAPERS)))
def test_a_ball_is_not_parted_from_its_places(balls: int, paper: str) -> None:
    """Three places of a ball stand on one page: no page begins in the middle of a ball."""
    sheet = sheet_of(places_of(balls), paper=paper)
    for page in sheet.pages:
        assert page.rows[0].new
        hands = [row.new for row in page.rows if row.kind != "piece"]
        if page.words == "diameter":
            assert hands == [True, False, False] * (len(hands) // 3)


def test_more_places_than_a_page_holds_go_on_to_the_next() -> None:
    """A ball of 24 axes and 100 turns: every page is filled, nothing is lost."""
    many = tuple(f"axis {number}" for number in range(60))
    quantity = replace(QUANTITIES[0], axes=many)
    test = replace(TEST, quantities=(quantity,))
    sheet = sheet_of([Place(at, 1, None, "diameter", axis, 1, at, at) for at, axis in enumerate(many, 1)], test)
    assert [row.place for page in sheet.pages for row in page.rows] == list(many)
    assert len({len(page.rows) for page in sheet.pages[:-1]}) == 1


def test_rows_say_what_they_are() -> None:
    """Steel ball at start, middle and end; the control ball and a ball asked for again by name; planned repeats."""
    places = places_of(4, every=2)
    last = len(places) + 1
    sheet = sheet_of([*places, Place(last, 3, None, "veer", "", 2, last, last, why="held askew")])
    pages = {page.words: page for page in sheet.pages}
    checks = [row for row in pages["diameter"].rows if row.kind == "piece"]
    assert [(row.who, row.place) for row in checks] == [
        ("steel ball", "start"),
        ("steel ball", "middle"),
        ("steel ball", "end"),
    ]
    control = [row for row in pages["diameter"].rows if row.kind == "control"]
    assert {(row.who, row.repeat) for row in control} == {("01", "control")}
    assert [row.repeat for row in pages["rebound height"].rows] == ["1 of 2"] * 4 + ["2 of 2"] * 4
    assert [(row.who, row.repeat) for row in pages["veer" if "veer" in pages else "sideways drift"].rows][-1] == (
        "03",
        "again",
    )


@pytest.mark.parametrize(
    ("step", "decimals", "words"),
    [(0.01, 2, "0.01"), (0.0005, 4, "0.0005"), (0.25, 2, "0.25"), (1.0, 0, "1"), (100.0, 0, "100"),
     (1e-05, 5, "0.00001"), (1 / 3, 6, "0.")],
)  # fmt: skip
def test_the_display_gives_the_decimals(step: float, decimals: int, words: str) -> None:
    """As many as its step has when it is written out; a step of 0.25 shows two."""
    assert Display("mm", step).decimals == decimals
    page = bench_sheet_of(
        TEST, {1: "01"}, (), [Place(1, 1, None, "diameter", "seam", 1, 1, 1)], {"diameter": Display("mm", step)},
        paper=PAPERS["a4"],
    ).pages[0]  # fmt: skip
    assert page.step.startswith(words)
    assert "E" not in page.step


def test_every_page_has_its_heading_and_its_foot(pdf: bytes, tmp_path: Path) -> None:
    """Another program reads on each page: title, count, quantity, instrument, unit, what to fill in, what to do."""
    sheet = sheet_of(places_of(12))
    pages = text_of(pdf, tmp_path)
    assert len(pages) == len(sheet.pages)
    for number, (text, page) in enumerate(zip(pages, sheet.pages, strict=True), 1):
        flat = " ".join(text.split())
        for must in (
            "Evening", f"page {number} of {len(pages)}", "test 3, blind", "for (person)", "date", "air before",
            "balls before", "strike it through once", "Never overwrite", "2 hit the tube", "No flame.",
        ):  # fmt: skip
            assert must in flat, must
        assert page.words.capitalize() in flat
        assert ("zero checked before" in flat) is not page.yes_no
    flat = " ".join(pages[0].split())
    assert "caliper, shows steps of 0.0005 in" in flat
    assert "reading in in" in flat
    assert "Fixed stand." in " ".join(pages[3].split()) or any(
        "Fixed stand." in " ".join(text.split()) for text in pages
    )


def test_rows_are_printed_in_order(pdf: bytes, tmp_path: Path) -> None:
    """Running number, ball and place of each row are read back where the row stands."""
    words = words_of(pdf, tmp_path)
    for number, page in enumerate(sheet_of(places_of(12), cautions=("No flame.",)).pages):
        for at, row in enumerate(page.rows):
            top = MARGIN + HEAD + at * ROW
            own = [word for word in words if word.page == number and top < (word.top + word.bottom) / 2 < top + ROW]
            told = [word.text for word in sorted(own, key=lambda word: word.left)]
            place = f"check, {row.place}" if row.kind == "piece" else row.place
            want = f"{row.number} {row.who} {place}".split()
            assert told[: len(want)] == want


@pytest.mark.parametrize("paper", sorted(PAPERS))
def test_rows_have_room_for_a_hand(paper: str, tmp_path: Path) -> None:
    """Rows stand 8 mm apart or more, numbers of a new ball are 20 pt or more, and all ends above the foot."""
    sheet = sheet_of(places_of(12), paper=paper, cautions=("Beware of it. " * 60,))
    words = words_of(bench_sheet_pdf(sheet), tmp_path)
    for number, page in enumerate(sheet.pages):
        own = [word for word in words if word.page == number]
        foot = next(word.top for word in own if word.text == "Write")
        column = [word for word in own if 21.0 < word.left < 24.0 and MARGIN + HEAD < word.top < foot]
        assert len(column) == len(page.rows)
        middles = [(word.top + word.bottom) / 2 for word in column]
        assert min(np.diff(middles), default=8.0) >= 8.0
        tall = [
            word.bottom - word.top
            for word, row in zip(column, page.rows, strict=True)
            if row.new and row.kind != "piece"
        ]
        assert min(tall, default=9.0) > 20.0 * 0.9 * 25.4 / 72.0
        assert middles[-1] + ROW / 2 < foot
        assert max(word.bottom for word in own) < sheet.paper.height - MARGIN + 1.0


def test_the_display_is_drawn_in_the_box(tmp_path: Path) -> None:
    """Four decimals of an inch: a point, and three faint lines between them, at a distance of 8 mm each."""
    sheet = sheet_of([Place(1, 1, None, "diameter", "seam", 1, 1, 1)])
    dpi = 300
    seen = pixels_of(bench_sheet_pdf(sheet), tmp_path, 0, dpi)
    middle = round((MARGIN + HEAD + ROW * 0.45) * dpi / 25.4)
    left, right = (round(at * dpi / 25.4) for at in (96.0, 156.0))
    box = seen[middle - 30 : middle + 10, left:right]
    shades = box.min(axis=0)
    marks = [
        list(group) for dark, group in itertools.groupby(range(shades.size), key=lambda x: shades[x] < 200) if dark
    ]
    at = np.array([np.mean(group) * 25.4 / dpi for group in marks])
    assert len(at) == 5, "two sides of the box, and three lines"
    assert np.diff(at[1:]) == pytest.approx([8.0] * 3, abs=0.2)
    low = seen[middle + 20 : middle + 38, left + 8 : right - 8].min(axis=0)
    dots = [len(list(group)) for dark, group in itertools.groupby(low < 90) if dark]
    assert [0.8 < width * 25.4 / dpi < 1.3 for width in dots].count(True) == 1, "one point"


ODD = ("#panic()", "$ x $", 'a"b"', "back\\slash \\", "*b* _i_ `c`", "[x] {y}", "@a <b>", "// c /* d", "= h", "W" * 119,
       "球\U0001f3be")  # fmt: skip


@pytest.mark.parametrize("name", ODD, ids=range(len(ODD)))
def test_odd_names_are_text(name: str, tmp_path: Path) -> None:
    """Title, quantity, unit, instrument, place, piece, ball and caution may hold the setter's own signs."""
    quantity = replace(QUANTITIES[0], words=name, axes=(name,), instrument=name, caution=name)
    test = replace(TEST, title=name, quantities=(quantity,))
    places = [Place(1, None, 1, "diameter", "start", 1, 1, 1), Place(2, 1, None, "diameter", name, 1, 2, 2)]
    sheet = bench_sheet_of(
        test, {1: name}, [replace(PIECES[0], name=name)], places, {"diameter": Display(name, 0.01)}, paper=PAPERS["a4"],
        reasons=(name,),
    )  # fmt: skip
    (text,) = text_of(bench_sheet_pdf(sheet), tmp_path)
    assert "page 1 of 1" in text
    if name.isascii() and len(name) < 30:
        flat = "".join(text.split())  # a blank beside some signs is too thin to be read back
        assert flat.count(name.replace(" ", "")) >= 8


def test_the_sheet_has_the_order_in_which_the_bench_asks(browser: Any) -> None:
    """The measuring page's own `inOrder`, run in a browser on 300 random states, gives the order of the sheet."""
    script = Path(screens_of_the_bench.__file__).parent / "static" / "measure" / "cursor.js"
    source = script.read_text(encoding="utf-8").replace("export ", "")
    rng = np.random.default_rng(5)
    states = [_state(rng) for _ in range(300)]
    told = [
        [
            {"id": one.id, "ball": one.ball, "reference": one.reference, "quantity": one.quantity, "axis": one.axis,
             "sheet_order": one.sheet_order, "order": one.order, "put_off": one.put_off, "filled": one.filled,
             "waiting": None}
            for one in state
        ]
        for state in states
    ]  # fmt: skip
    tab = browser.new_page()
    ask = "states.map((all) => inOrder(all.filter(isLeft), 'paper', all).map((one) => one.id))"
    asked = tab.evaluate(f"(states) => {{ {source}\n return {ask}; }}", told)
    tab.close()
    assert asked == [[one.id for one in typed_order(state)] for state in states]


def _state(rng: np.random.Generator) -> list[Place]:
    """Places of two quantities in any order, some read, some left for later, some of a piece."""
    count = int(rng.integers(1, 15))
    sheet = rng.permutation(count) + 1
    return [
        Place(
            at + 1, None if piece else int(rng.integers(1, 4)), 1 if piece else None, str(rng.choice(["a", "b"])),
            str(rng.choice(["start", "middle", "end"])) if piece else "", 1, at + 1, int(sheet[at]),
            int(rng.integers(0, 3)), bool(rng.random() < 0.3),
        )
        for at, piece in enumerate(rng.random(count) < 0.4)
    ]  # fmt: skip


def test_the_same_sheet_is_the_same_file(pdf: bytes) -> None:
    """Nothing of the hour is in it."""
    assert bench_sheet_pdf(sheet_of(places_of(12), cautions=("No flame.",))) == pdf
