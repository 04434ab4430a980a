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

from ballbench.findings.qualification import Qualification
from ballbench.presentation.charts.qualification_pictures import ruler
from ballbench.presentation.qualification_terminal import print_qualification, ruler_lines


@pytest.fixture(scope="module")
def found(example_bench: ModuleType) -> Qualification:
    return example_bench.qualification()


def printed(found: Qualification, width: int = 80, encoding: str = "utf-8", *, colour: bool = False) -> str:
    """Print to a console of a given width and encoding."""
    file = io.TextIOWrapper(io.BytesIO(), encoding=encoding, errors="strict", newline="\n")
    console = Console(file=file, width=width, force_terminal=colour, color_system="truecolor" if colour else None)
    print_qualification(found, console)
    file.flush()
    return file.buffer.getvalue().decode(encoding)


@pytest.mark.parametrize("width", [60, 80, 120])
def test_no_line_is_wider_than_the_terminal(found: Qualification, example_bench: ModuleType, width: int) -> None:
    """At 60, 80 and 120 columns every line fits, endless names of pieces and instruments included."""
    long = example_bench.check("W" * 200, 38.1, 39.0, "09:00")
    odd = replace(found, checks=(*found.checks, long), instrument=replace(found.instrument, name="球" * 60))
    for line in printed(odd, width).splitlines():
        assert cell_len(line) <= width, line
        assert line == line.rstrip()


def test_the_answer_comes_first(found: Qualification) -> None:
    """After the banner and the title stands the one sentence, before any number of the study."""
    lines = printed(found).splitlines()
    assert lines[0] == "Invented data, for demonstration."
    assert lines[1] == "What this caliper can tell: diameter"
    assert lines[2].startswith("Two balls must read 0.028 mm apart before this caliper")


def test_the_ruler_has_both_words_and_the_told_difference(found: Qualification) -> None:
    """The words "cannot tell" and "can tell" stand on either side of a line, hollow and filled balls with them."""
    text = printed(found)
    (words,) = re.findall(r"^.*cannot tell.*$", text, re.MULTILINE)
    assert words.index("cannot tell") < words.index("│") < words.index("can tell", words.index("│"))
    (balls,) = re.findall(r"^.*○.*$", text, re.MULTILINE)
    line = balls.index("│")
    assert "●" not in balls[:line]
    assert "○" not in balls[line:]
    assert re.search(r"^  0 +0\.028 mm +0\.067$", text, re.MULTILINE)


@given(st.floats(1e-6, 1e3), st.floats(0.3, 6.0), st.integers(30, 90), st.booleans())
def test_the_ruler_fits_whatever_it_says(
    example_bench: ModuleType, told: float, more: float, width: int, plain: bool
) -> None:
    """No line of the ruler is wider than asked for, and the line between the words stays inside."""
    made = example_bench.qualification()
    first = replace(made.repeats.telling[0], same=told, same_high=told * 1.3, different=told * more)
    chart = ruler(replace(made, repeats=replace(made.repeats, telling=(first,))))
    assert chart is not None
    lines = ruler_lines(chart, width, plain=plain)
    assert len(lines) == 5
    assert all(len(line) <= width for line in lines[:4])
    limit = "|" if plain else "│"
    assert {line.index(limit) for line in lines[:4]} == {lines[0].index(limit)}


def test_a_failed_check_is_told_by_mark_and_word(found: Qualification) -> None:
    """The failed one stands under its title with the mark of a ball beyond the line; passed ones are not listed."""
    text = printed(found)
    assert "Checks that failed" in text
    assert "  │ ●  steel ball, 13:00: off by +0.07 mm, 0.030 allowed." in text
    assert text.count("off by") == 1
    assert "Checks that failed" not in printed(replace(found, checks=found.checks[:3]))


def test_no_boxes_and_no_markup(found: Qualification) -> None:
    """No corner of a boxed table is printed, and a person called [red]x[/red] is printed letter by letter."""
    assert found.repeats is not None
    people = (replace(found.repeats.people_found[0], person="[red]x[/red]"),)
    odd = replace(found, sentences=("[red]x[/red] reads low.",), repeats=replace(found.repeats, people_found=people))
    text = printed(odd)
    assert not set("┌┐└┘├┤┬┴┼╭╮╰╯╔╗╚╝") & set(text)
    assert "[red]x[/red] reads low." in text


def test_terminal_without_unicode_gets_ascii(found: Qualification) -> None:
    """On an ASCII terminal the same ruler and marks are drawn in ASCII, and nothing fails to encode."""
    text = printed(found, 80, "ascii")
    assert "  | o  steel ball, 13:00: off by +0.07 mm" in text
    assert "cannot tell" in text


def test_colour_adds_nothing_but_weight(found: Qualification) -> None:
    """With colours on the same text is printed; only weight is added, no colour."""
    coloured = printed(found, colour=True)
    assert re.sub(r"\x1b\[[\d;]*m", "", coloured) == printed(found)
    assert set(re.findall(r"\x1b\[([\d;]*)m", coloured)) <= {"0", "1", "2"}


def test_numbers_of_the_entry_and_the_cautions_are_printed(found: Qualification) -> None:
    """The bench entry with what was found here, and what to beware of."""
    text = " ".join(printed(found).split())
    for must in ("Noise of a reading: SD 0.0096 mm, 24 degrees of freedom, found here.", "Mind your fingers."):
        assert must in text


def test_without_a_study_there_is_no_ruler(found: Qualification) -> None:
    """Checks alone give their sentences and the entry, which says that the noise was not found here."""
    text = printed(replace(found, repeats=None, known=("calibration",)))
    assert "cannot tell" not in text
    assert "24 degrees of freedom, as given or usual" in " ".join(text.split())


def test_a_round_ball_is_told_once_for_each_number_of_axes(found: Qualification) -> None:
    """Three axes in a sentence, the others a line each, and the standing note on odd lobes."""
    text = " ".join(printed(found).split())
    assert text.count("on 3 axes through this caliper shows 0.016 mm") == 1
    assert text.count("4 axes: 0.020 mm on average, 0.03 mm or less for 95 %") == 1
    assert "3 axes: " not in text
    assert text.count("Diameters do not show odd lobes") == 1
    assert "round ball" not in " ".join(printed(replace(found, round_ball=(), sentences=())).split())
