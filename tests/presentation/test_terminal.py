from __future__ import annotations

import io
import re
import subprocess
import sys
from dataclasses import replace
from types import ModuleType

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len
from rich.console import Console

from ballbench.findings.comparisons import Comparison
from ballbench.findings.results import Findings, Truth
from ballbench.presentation.charts.clause_pictures import clause_strip
from ballbench.presentation.terminal import print_comparison, print_findings
from ballbench.presentation.terminal_strip import strip_lines


def printed(what: Findings | Comparison, width: int, encoding: str = "utf-8", *, colour: bool = False) -> str:
    """Print to a console of a given width and encoding."""
    file = io.TextIOWrapper(io.BytesIO(), encoding=encoding, errors="strict", newline="\n")
    console = Console(file=file, width=width, force_terminal=colour, color_system="truecolor" if colour else None)
    (print_findings if isinstance(what, Findings) else print_comparison)(what, console)
    file.flush()
    return file.buffer.getvalue().decode(encoding)


@pytest.mark.parametrize("width", [60, 80, 120])
def test_no_line_is_wider_than_the_terminal(
    findings: Findings, comparison: Comparison, example: ModuleType, width: int
) -> None:
    """At 60, 80 and 120 columns every line fits, endless and wide names included, and none ends in blanks."""
    odd = replace(findings, products=(*findings.products, example.product("球" * 70), example.product("W" * 300)))
    for text in (printed(odd, width), printed(comparison, width)):
        for line in text.splitlines():
            assert cell_len(line) <= width, line
            assert line == line.rstrip()


def test_every_decision_is_told_by_mark_and_word(findings: Findings) -> None:
    """Each clause's line has its mark at the left and the word at its end, without any colour."""
    text = printed(findings, 100)
    assert "● │    Curlew, 24 balls: met as far as tested." in text
    assert "  │ ●  Diameter variation of each ball: not met" in text
    assert "  ◐    Mean diameter of the balls: undecided" in text
    assert "  ◌    Rebound height of each ball: not tested" in text
    assert "\x1b" not in text


def test_answer_interval_and_next_step_are_printed(findings: Findings) -> None:
    """The headline, the value with its interval and one next step stand in the text, and doubtful limits as such."""
    text = " ".join(printed(findings, 80).split())
    for must in (
        "Invented data, for demonstration.", "These balls: 40.01 mm (39.98 to 40.04); inside with 78 %.",
        "To settle it: compare the caliper with a known steel ball, to 0.003 mm (decided with 91 %, about 20 min).",
        "(limit from memory)", "(limit: common practice, no source)", "they disagree", "4.017 mm is far from this box",
        "No calibration of the caliper is given", "accredited laboratories decide",
    ):  # fmt: skip
        assert must in text, must


def test_numbers_keep_their_unit_on_the_line(findings: Findings) -> None:
    """No line begins with a per cent sign or a unit that belongs to the number before it."""
    for width in range(60, 100, 7):
        assert not re.search(r"^\s*(%|mm\b|g\b)", printed(findings, width), re.MULTILINE)


def test_no_boxes_are_drawn(findings: Findings, comparison: Comparison) -> None:
    """No corner or crossing of a boxed table is printed."""
    assert not set("┌┐└┘├┤┬┴┼╭╮╰╯╔╗╚╝") & set(printed(findings, 80) + printed(comparison, 80))


def test_markup_in_a_name_is_not_obeyed(findings: Findings, example: ModuleType) -> None:
    """A product called [red]x[/red] :smile: is printed letter by letter."""
    odd = replace(findings, products=(example.product("[red]x[/red] :smile: [link=a]"),))
    assert "[red]x[/red] :smile: [link=a], 24 balls" in printed(odd, 100)


def test_terminal_without_unicode_gets_ascii(findings: Findings, comparison: Comparison) -> None:
    """On an ASCII terminal the same marks and strips are drawn in ASCII, and nothing fails to encode."""
    text = printed(findings, 80, "ascii") + printed(comparison, 80, "ascii")
    assert "  | o  Diameter variation of each ball: not met" in text
    assert " (|)   Mean diameter of the balls: undecided" in text
    assert "-0.005 mm" in text


def test_colour_adds_nothing_but_weight(findings: Findings) -> None:
    """With colours on the same text is printed; only weight is added, no colour."""
    coloured = printed(findings, 80, colour=True)
    assert re.sub(r"\x1b\[[\d;]*m", "", coloured) == printed(findings, 80)
    assert set(re.findall(r"\x1b\[([\d;]*)m", coloured)) <= {"0", "1", "2"}


def test_many_products_print_only_what_is_open(example: ModuleType) -> None:
    """Of forty products each has its headline, and only open clauses are written out."""
    text = printed(example.many_findings(40), 80)
    assert len(re.findall(r"^.{7}Make \d+, 24 balls", text, re.MULTILINE)) == 40
    assert "Mass of each ball" not in text
    assert text.count("Diameter variation of each ball: not met") == 14


def test_comparison_says_ties(comparison: Comparison) -> None:
    """A tie is told as a tie with what could have been told."""
    text = " ".join(printed(comparison, 80).split())
    assert "Curlew and Dunlin: tie: not told apart" in text
    assert "This sample tells 0.031 mm apart four times in five." in text


@given(st.floats(39.0, 41.5), st.floats(0.001, 0.6), st.integers(20, 90), st.booleans())
def test_strip_in_characters_tells_the_side_of_the_limit(
    example: ModuleType, median: float, half: float, width: int, plain: bool
) -> None:
    """Bar and limit share a cell exactly when the interval crosses the limit, and every line fits."""
    clause = replace(example.MEAN, truth=Truth(median, median - half, median + half), as_read=median)
    chart = clause_strip(clause, 24)
    assert chart is not None
    lines = strip_lines(chart, width, plain=plain)
    assert all(len(line) <= width for line in lines)
    bar, across = ("=@", "#0") if plain else ("━●", "┿◐")
    crosses = median - half <= 40.0 <= median + half or median - half <= 40.5 <= median + half
    assert any(sign in lines[0] for sign in across) == crosses
    assert any(sign in lines[0] for sign in bar + across)
    assert any("as read" in line or line.strip() in {"○", "o"} for line in lines[1:])


def test_json_and_terminal_import_nothing_heavy() -> None:
    """Writing JSON and terminal text loads no drawing, typesetting or template library."""
    code = (
        "import sys, ballbench.presentation.findings_json, ballbench.presentation.comparison_json, "
        "ballbench.presentation.terminal, ballbench.presentation.report, ballbench.presentation.report_files as f; "
        "heavy = 'altair', 'vl_convert', 'typst', 'jinja2', 'scipy', 'numpy', 'polars'; "
        "print([name for name in heavy if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
