from __future__ import annotations

import io
import re
from dataclasses import replace
from types import ModuleType

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len
from rich.console import Console

from ballbench.findings.planning import Design
from ballbench.findings.plans import Plan
from ballbench.presentation.plan_terminal import print_plan, tray_characters


@pytest.fixture(scope="module")
def planned(example_bench: ModuleType) -> Plan:
    return example_bench.plan()


def printed(plan: Plan, width: int = 80, encoding: str = "utf-8", *, colour: bool = False) -> str:
    """Print to a console of a given width and encoding."""
    file = io.TextIOWrapper(io.BytesIO(), encoding=encoding, errors="strict", newline="\n")
    console = Console(file=file, width=width, force_terminal=colour, color_system="truecolor" if colour else None)
    print_plan(plan, console)
    file.flush()
    return file.buffer.getvalue().decode(encoding)


@pytest.mark.parametrize("width", [60, 80, 120])
def test_no_line_is_wider_than_the_terminal(planned: Plan, example_bench: ModuleType, width: int) -> None:
    """At 60, 80 and 120 columns every line fits, a thousand balls read sixty times in sixty places included."""
    wide = example_bench.setting(Design(1000, 60, 60), 0.5, 0.2, 0.6)
    odd = replace(
        planned, settings=(*planned.settings, wide), requirement=replace(planned.requirement, title="W" * 100)
    )
    for line in printed(odd, width).splitlines():
        assert cell_len(line) <= width, line
        assert line == line.rstrip()


def test_the_answer_comes_first(planned: Plan) -> None:
    """After the title stands the design that is enough, with its time and its chance."""
    lines = printed(planned).splitlines()
    assert lines[0].startswith("How many balls: diameter, A small rule (invented)")
    assert lines[1].startswith("24 balls, 3 places each, read once (about 18 min at the bench) are enough")


def test_each_design_is_one_line_with_its_tray(planned: Plan) -> None:
    """Four lines of growing trays; the word stands with the chosen one, and with one that would do too."""
    rows = re.findall(r"^([●○]+) +(\d+) balls, (.*)$", printed(planned), re.MULTILINE)
    assert [int(balls) for _, balls, _ in rows] == [6, 12, 24, 48]
    assert [len(tray) for tray, _, _ in rows] == [1, 2, 4, 8]
    assert rows[2][2] == "3 places, once  18 min  right 93 % (90 to 95)  enough"
    assert rows[3][2].endswith("enough too")
    assert rows[0][2].endswith("(55 to 65)")


def test_fewer_balls_than_asked_for_are_never_just_enough(planned: Plan) -> None:
    """Of a requirement that asks for 30, the chosen 24 balls carry that number with their word; 48 do not."""
    rows = re.findall(r"^[●○]+ +(\d+) balls, .*\)(.*)$", printed(replace(planned, sample_size=30), 120), re.MULTILINE)
    assert rows == [("6", ""), ("12", ""), ("24", "  enough, 30 asked for"), ("48", "  enough too")]


@given(st.integers(1, 1000), st.integers(1, 1000), st.floats(0.0, 1.0), st.booleans())
def test_trays_in_characters_grow_with_their_balls(
    example_bench: ModuleType, balls: int, largest: int, right: float, plain: bool
) -> None:
    """A tray has one to eight characters, eight for the largest of eight balls or more, and is filled as its chance."""
    one = example_bench.setting(Design(min(balls, largest), 3), 0.5, 0.2, right)
    tray = tray_characters(one, largest, plain=plain)
    assert 1 <= len(tray) <= 8
    if balls >= largest >= 8:
        assert len(tray) == 8
    filled = tray.count("@" if plain else "●")
    assert abs(filled - one.right.value * len(tray)) <= 1.0


def test_no_boxes_and_no_markup(planned: Plan) -> None:
    """No corner of a boxed table is printed, and markup in a title is not obeyed."""
    text = printed(replace(planned, requirement=replace(planned.requirement, title="[red]x[/red]")))
    assert not set("┌┐└┘├┤┬┴┼╭╮╰╯╔╗╚╝") & set(text)
    assert "[red]x[/red]" in text


def test_terminal_without_unicode_gets_ascii(planned: Plan) -> None:
    """On an ASCII terminal trays are drawn in ASCII, and nothing fails to encode."""
    assert re.search(r"^@@@o +24 balls", printed(planned, 80, "ascii"), re.MULTILINE)


def test_colour_adds_nothing_but_weight(planned: Plan) -> None:
    """With colours on the same text is printed; only weight is added, no colour."""
    coloured = printed(planned, colour=True)
    assert re.sub(r"\x1b\[[\d;]*m", "", coloured) == printed(planned)
    assert set(re.findall(r"\x1b\[([\d;]*)m", coloured)) <= {"0", "1", "2"}


def test_it_says_what_a_right_answer_is_and_what_else_was_asked(planned: Plan) -> None:
    """Right answers, the changes, the comparison and the boxes are told in sentences."""
    text = " ".join(printed(planned).split())
    for must in (
        "the true values of the same 48 balls for every design, read or not, meet every clause",
        "“Undecided” is never counted as right.",
        "right in 98 % (96 to 99), about 72 min: an hour more, every place read 3 times more.",
        "tells them apart in 80 of 100 tests where their means differ by 0.047 mm",
        "Of 24 balls look at 15 and find none bad",
        "Mind your eyes.",
    ):
        assert must in text, must


def test_it_says_what_the_axes_show_of_form(planned: Plan) -> None:
    """Share caught, what the axes are blind to, the round ball, and the standing note on odd lobes; once each."""
    text = " ".join(printed(planned).split())
    for words in ("What these axes show of a ball's form", "3 axes at right angles catch 64 % on average",
                  "never anything of six lobes alone", "on 3 axes through this caliper shows 0.016 mm",
                  "Diameters do not show odd lobes"):  # fmt: skip
        assert text.count(words) == 1, words
    assert "odd lobes" not in printed(replace(planned, caught=(), round_ball=()))
