from __future__ import annotations

from itertools import combinations
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from paper_reader import code_read, pixels_of, text_of, words_of

from ballbench.errors import BadRequest
from ballbench.presentation.sheets.ball_labels import CUP_WORDS, LABEL_WORDS, cup_strips_of, label_sheet_of
from ballbench.presentation.sheets.ball_labels_pdf import ball_labels_pdf
from ballbench.presentation.sheets.label_format import CupStrip, LabelFormat
from ballbench.presentation.sheets.paper import PAPERS

NUMBERS = tuple(f"{number:02d}" for number in range(1, 27))
DPI = 200


def test_every_code_says_its_ball(tmp_path: Path) -> None:
    """Read off the printed page by the rules of the standard (ISO/IEC 18004), each code says its ball, as "ball 07"."""
    sheet = label_sheet_of("Evening", "test 3", NUMBERS, LabelFormat())
    pdf = ball_labels_pdf(sheet)
    for page in (0, 1):
        seen = pixels_of(pdf, tmp_path, page, DPI)
        for one in (label for label in sheet.labels if label.page == page):
            left, right = one.left + sheet.width - one.code - 1.0, one.left + sheet.width - 2.0
            top, bottom = one.top + 2.0, one.top + sheet.height - 2.0
            cut = [round(side * DPI / 25.4) for side in (top, bottom, left, right)]
            assert code_read(seen[cut[0] : cut[1], cut[2] : cut[3]]) == f"ball {one.number}"


def test_codes_of_strips_say_their_balls(tmp_path: Path) -> None:
    """The same on a strip for cups."""
    sheet = cup_strips_of("Evening", "test 3", NUMBERS[:12], CupStrip())
    seen = pixels_of(ball_labels_pdf(sheet), tmp_path, 0, DPI)
    for one in sheet.labels:
        right, bottom = one.left + sheet.width - 1.0, one.top + sheet.height - 2.0
        cut = [round(side * DPI / 25.4) for side in (bottom - one.code, bottom, right - one.code, right)]
        assert code_read(seen[cut[0] : cut[1], cut[2] : cut[3]]) == f"ball {one.number}"


def test_numbers_stand_in_their_labels(tmp_path: Path) -> None:
    """Another program finds each number inside its label, 24 a page of A4, at least 10 mm high, the mark beside it."""
    sheet = label_sheet_of("Evening", "test 3", NUMBERS, LabelFormat())
    words = words_of(ball_labels_pdf(sheet), tmp_path)
    for one in sheet.labels:
        inside = [
            word for word in words
            if word.page == one.page and one.left < word.left < word.right < one.left + sheet.width
            and one.top < (word.top + word.bottom) / 2 < one.top + sheet.height
        ]  # fmt: skip
        assert [word.text for word in inside] == [one.number, "test", "3"]
        assert inside[0].bottom - inside[0].top > 10.0
    assert {sum(one.page == page for one in sheet.labels) for page in (0, 1)} == {24, 2}


def test_the_paper_says_where_ink_must_not_sit(tmp_path: Path) -> None:
    """Every page of labels and of strips says it, whole."""
    for sheet, words in (
        (label_sheet_of("Evening", "test 3", NUMBERS, LabelFormat()), LABEL_WORDS),
        (cup_strips_of("Evening", "test 3", NUMBERS, CupStrip("letter", 60.0)), CUP_WORDS),
    ):
        pages = text_of(ball_labels_pdf(sheet), tmp_path)
        assert len(pages) == 1 + max(one.page for one in sheet.labels)
        assert all(words in " ".join(page.split()) for page in pages)


@given(
    paper=st.sampled_from(sorted(PAPERS)), columns=st.integers(1, 7), rows=st.integers(1, 20),
    first=st.integers(1, 140), width=st.floats(15.0, 70.0), height=st.floats(8.0, 40.0), left=st.floats(0.0, 20.0),
    top=st.floats(0.0, 20.0),
    gaps=st.tuples(st.floats(0.0, 5.0), st.floats(0.0, 5.0)), balls=st.integers(1, 60),
)  # fmt: skip
def test_labels_lie_apart_and_on_the_paper(
    paper: str, columns: int, rows: int, first: int, width: float, height: float, left: float, top: float,
    gaps: tuple[float, float], balls: int,
) -> None:  # fmt: skip
    """A format that is taken puts every label once, wholly on the paper, and no two over one another."""
    wanted = LabelFormat(paper, columns, rows, width, height, left, top, *gaps, min(first, columns * rows))
    numbers = [str(number) for number in range(balls)]
    across = left + columns * width + (columns - 1) * gaps[0]
    down = top + rows * height + (rows - 1) * gaps[1]
    beyond = {"columns": across - PAPERS[paper].width, "rows": down - PAPERS[paper].height}
    if max(beyond.values()) > 0.05:
        with pytest.raises(BadRequest) as refused:
            label_sheet_of("t", "m", numbers, wanted)
        assert [fault.where for fault in refused.value.faults] == [name for name, far in beyond.items() if far > 0.05]
        return
    sheet = label_sheet_of("t", "m", numbers, wanted)
    assert [one.number for one in sheet.labels] == numbers
    for one in sheet.labels:
        assert one.left >= 0.0
        assert one.top >= 0.0
        assert one.left + width <= PAPERS[paper].width + 0.1
        assert one.top + height <= PAPERS[paper].height + 0.1
    for one, other in combinations(sheet.labels, 2):
        apart = abs(one.left - other.left) >= width - 1e-9 or abs(one.top - other.top) >= height - 1e-9
        assert one.page != other.page or apart


@given(paper=st.sampled_from(sorted(PAPERS)), pitch=st.floats(30.0, 180.0), balls=st.integers(1, 40))
def test_strips_lie_apart_and_on_the_paper(paper: str, pitch: float, balls: int) -> None:
    """Cups of one strip stand as far apart as stated, whatever that is, and all strips are on the paper."""
    sheet = cup_strips_of("t", "m", [str(number) for number in range(balls)], CupStrip(paper, pitch))
    for one in sheet.labels:
        assert one.left >= 5.0
        assert one.left + pitch <= PAPERS[paper].width - 5.0
        assert one.top + sheet.height <= PAPERS[paper].height - 5.0
    for one, other in zip(sheet.labels, sheet.labels[1:], strict=False):
        if (one.page, one.top) == (other.page, other.top):
            assert other.left - one.left == pytest.approx(pitch)


def test_small_labels_do_without_a_code() -> None:
    """A module under 0.33 mm is left out, not printed too small: 25 by 10 mm have no room, 38 by 21 mm have."""
    for width, height, room in ((25.0, 10.0, False), (38.0, 21.0, True)):
        (one,) = label_sheet_of("t", "m", ["07"], LabelFormat(columns=1, rows=1, width=width, height=height)).labels
        assert (one.code > 0.0) is room
        assert one.code == 0.0 or one.code / 29 >= 0.33


def test_all_faults_of_a_format_come_at_once() -> None:
    """Each with its field; a sheet of labels is measured once."""
    with pytest.raises(BadRequest) as refused:
        label_sheet_of("t", "m", ["1"], LabelFormat("a4", 0, 99, 5.0, float("nan"), -1.0, first=9))
    assert [fault.where for fault in refused.value.faults] == ["columns", "rows", "first", "width", "height", "left"]
    for wanted, where in (
        (LabelFormat("a3"), "paper"),
        (LabelFormat(columns=4), "columns"),
        (LabelFormat(rows=9), "rows"),
    ):
        with pytest.raises(BadRequest) as refused:
            label_sheet_of("t", "m", ["1"], wanted)
        assert [fault.where for fault in refused.value.faults] == [where]
    for pitch in (29.0, float("nan"), 181.0):
        with pytest.raises(BadRequest):
            cup_strips_of("t", "m", ["1"], CupStrip("a4", pitch))


ODD = ("#panic()", "$x$", 'a"b', "back\\slash", "*b* _i_", "[x] {y}", "@a <b>", "// c", "W" * 90, "球 7", "e\u0301")


@pytest.mark.parametrize("name", ODD, ids=range(len(ODD)))
def test_odd_names_are_text(name: str, tmp_path: Path) -> None:
    """A ball, a title or a mark with the setter's own signs is printed as it is, on labels and on strips."""
    for sheet in (
        label_sheet_of(name, name, [name, "07"], LabelFormat()),
        cup_strips_of(name, name, [name], CupStrip()),
    ):
        text = " ".join("".join(text_of(ball_labels_pdf(sheet), tmp_path)).split())
        if name.isascii() and len(name) < 30:
            assert name in text


def test_the_same_labels_are_the_same_file() -> None:
    """Nothing of the hour is in it."""
    sheet = label_sheet_of("Evening", "test 3", NUMBERS[:3], LabelFormat())
    assert ball_labels_pdf(sheet) == ball_labels_pdf(sheet)
