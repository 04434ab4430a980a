"""Balance as text, picture, report and JSON: every number and word where it belongs, nothing off the sheet."""

from __future__ import annotations

import io
import json
import math

import numpy as np
import pytest
from examples.recorded.ramps import Board, RolledBall, made_balls, ramp_table, spot_table, write_table
from rich.console import Console

from ballbench.findings.rolling.results import RollFindings
from ballbench.presentation.charts.layout import lay_out
from ballbench.presentation.charts.roll_data import RollChart
from ballbench.presentation.charts.roll_picture import roll_picture, roll_says, spot_picture, spot_says
from ballbench.presentation.charts.sheet import NOTE, WIDTH
from ballbench.presentation.document import DecisionBlock, Figure, Table, walk
from ballbench.presentation.page import page_html
from ballbench.presentation.rolls_json import rolls_to_json
from ballbench.presentation.rolls_report import rolls_document
from ballbench.presentation.rolls_terminal import print_rolls
from ballbench.workflows.roll import roll_typed


def ramp(count: int = 3, board: Board | None = None, spec: str = "", **options: object) -> RollFindings:
    rng = np.random.default_rng(17)
    balls = made_balls("Curlew", count, 0.003, rng) + made_balls("Dunlin", count, 0.08, rng)
    rows = ramp_table(balls, board or Board(lean=1.5, noise=2.0, run_out=400.0), rng, **options)  # type: ignore[arg-type]
    return roll_typed(write_table(None, rows), spec)


def floats() -> RollFindings:
    rng = np.random.default_rng(3)
    rows = [row for ball in ("1", "2", "3") for row in spot_table("Dunlin", ball, 10, 6, 0.7, rng)]
    return roll_typed(write_table(None, rows + spot_table("Curlew", "1", 8, 6, 0.0, rng)))


def printed(found: RollFindings, width: int = 80, *, ascii_only: bool = False) -> str:
    out = io.StringIO()
    console = Console(file=out, width=width, color_system=None)
    if ascii_only:
        console = Console(file=io.TextIOWrapper(io.BytesIO(), encoding="ascii"), width=width, color_system=None)
        print_rolls(found, console)
        console.file.seek(0)
        return console.file.read()
    print_rolls(found, console)
    return out.getvalue()


@pytest.mark.parametrize("found", [ramp(), ramp(board=Board(lean=1.5, noise=2.0)), ramp(24), floats()],
                         ids=["run-out", "slope", "many", "floats"])  # fmt: skip
def test_no_text_leaves_the_sheet_and_no_line_of_balls_lies_on_another(found: RollFindings) -> None:
    """All text inside the picture, none under 12 px; text of one height apart by a pixel at least."""
    chart = roll_picture(found) or spot_picture(found.spots)
    assert chart is not None
    sheet = lay_out(chart)
    for text in sheet.texts:
        assert text.ends[0] >= 0.0
        assert text.ends[1] <= WIDTH
        assert 0.0 <= text.y <= sheet.height
        assert text.size >= NOTE
    for one in sheet.texts:
        for other in sheet.texts:
            if one is not other and abs(one.y - other.y) < 10.0:
                assert one.ends[1] < other.ends[0] or other.ends[1] < one.ends[0], (one.text, other.text)
    for area in sheet.areas:
        assert sheet.scale.pixel(area.low) >= -1.0
        assert sheet.scale.pixel(area.high) <= WIDTH + 1.0


def test_the_tracks_end_as_far_apart_as_the_veers_and_meet_at_the_start() -> None:
    """Pixels from the middle at the read line are as the veers; the foot is where slope and run-out say."""
    found = ramp()
    chart = roll_picture(found)
    assert chart is not None
    assert chart.tracks is not None
    sheet = lay_out(chart)
    ends = [ball for ball in sheet.balls if ball.radius == 5.0]
    placed, turned, start = ((sheet.scale.pixel(ball.value) - WIDTH / 2, ball.y) for ball in ends)
    assert placed[0] / turned[0] == pytest.approx(chart.tracks.placed / chart.tracks.turned, rel=1e-9)
    assert start[0] == pytest.approx(0.0, abs=1e-9)
    assert placed[1] == turned[1] < start[1]
    foot = next(text for text in sheet.texts if text.text == "foot")
    assert (start[1] - foot.y) / (start[1] - placed[1]) == pytest.approx(1000.0 / 1400.0)


def test_the_axis_that_veers_most_is_drawn() -> None:
    """The ball with 0.3 mm along B, and no other."""
    balls = [RolledBall("A", "1", (0.1, 0, 0)), RolledBall("A", "2", (0.0, 0.3, 0.05))]
    found = roll_typed(write_table(None, ramp_table(balls, Board(noise=1.0), np.random.default_rng(1))))
    chart = roll_picture(found)
    assert chart is not None
    assert chart.tracks is not None
    assert chart.tracks.label == "A, ball 2, axis B"


def lines_of(chart: RollChart | None) -> int:
    assert chart is not None
    return len(chart.lines)


def test_of_many_balls_those_with_the_largest_offsets_are_shown() -> None:
    """Forty of forty-eight, and that is said."""
    found = ramp(24, repeats=1)
    chart = roll_picture(found)
    assert lines_of(chart) == 40
    assert chart is not None
    assert chart.n_text == "n = 48 balls, 40 shown"
    dropped = {(p.product, b.ball) for p in found.products for b in p.balls} - {(x.group, x.label) for x in chart.lines}
    assert {product for product, _ in dropped} == {"Curlew"}


def test_a_ball_s_line_is_its_interval_and_filled_where_told() -> None:
    """Ends as found; a ball that is not told is printed as a bound."""
    found = ramp()
    chart = roll_picture(found)
    assert chart is not None
    balls = [ball for product in found.products for ball in product.balls]
    for line, ball in zip(chart.lines, balls, strict=True):
        assert (line.low, line.value, line.high, line.told) == (ball.low, ball.offset, ball.high, ball.told)
        assert line.text.startswith("under") != ball.told
    assert {line.told for line in chart.lines} == {True, False}
    assert all(line.text in roll_says(chart) for line in chart.lines)


def test_spots_are_drawn_against_their_chance() -> None:
    """Each ball's mark of chance at a sixth; its share in the middle of its interval."""
    chart = spot_picture(floats().spots)
    assert chart is not None
    assert [line.chance for line in chart.lines] == pytest.approx([100 / 6] * 4)
    assert all(line.low < line.value < line.high for line in chart.lines)
    assert "no more often than chance, 17 %" in spot_says(chart)


def test_no_ball_with_three_axes_is_no_picture() -> None:
    """One axis: no picture, the parts along it in the table."""
    found = ramp(axes=("A",))
    assert roll_picture(found) is None
    tables = walk(rolls_document(found), Table)
    assert any("axis by axis" in table.caption for table in tables)


def test_the_report_holds_every_ball_and_clause_and_warns() -> None:
    """A figure whose table has a row a ball, a row an axis in each product's table, a decision a clause, cautions."""
    found = ramp(spec="table-tennis-plastic")
    document = rolls_document(found)
    (figure,) = walk(document, Figure)
    assert len(figure.table.rows) == 6
    axes = [table for table in walk(document, Table) if "axis by axis" in table.caption]
    assert [len(table.rows) for table in axes] == [9, 9]
    assert len(walk(document, DecisionBlock)) == len(found.clauses) == 4
    page = page_html(document)
    assert "Invented data, for demonstration" in page
    assert "Tape the edges of glass" in page
    for table in walk(document, Table):
        assert all(len(row) == len(table.head) for row in table.rows)


def test_the_report_of_floats_holds_every_spot_and_warns_of_the_bath() -> None:
    """A row for each spot that was up, a row a ball."""
    found = floats()
    document = rolls_document(found)
    (figure,) = walk(document, Figure)
    assert len(figure.table.rows) == sum(len(ball.spots) for ball in found.spots)
    assert "Salt baths" in page_html(document)


def test_the_json_holds_what_was_found_and_null_where_nothing_is_known() -> None:
    """Numbers to ten figures; a ball of one axis has null for its length; the format has its name."""
    found = ramp()
    told = json.loads(rolls_to_json(found))
    assert told["format"] == "ballbench/rolls/1"
    ball = told["products"][1]["balls_found"][0]
    assert ball["offset"] == pytest.approx(found.products[1].balls[0].offset, rel=1e-9)
    assert set(ball["heavy_spot"]) == {"from_a", "from_b", "from_c", "within"}
    assert len(told["pairs"]) == 1
    one = json.loads(rolls_to_json(ramp(axes=("A",))))["products"][0]["balls_found"][0]
    assert (one["offset"], one["heavy_spot"], one["worst_veer"]["value"]) == (None, None, None)
    assert "axis B was not rolled" in one["reason"]
    spots = json.loads(rolls_to_json(floats()))
    assert spots["products"] == []
    assert spots["noise"] is None
    assert math.isclose(spots["spots"][0]["spots"][0]["chance"], 1 / 6)


@pytest.mark.parametrize("width", [60, 80, 120])
def test_the_terminal_keeps_its_width_and_its_letters(width: int) -> None:
    """No line is longer than the console; on a console that knows ASCII only, nothing else is printed."""
    for found in (ramp(spec="table-tennis-plastic"), floats(), ramp(axes=("A",))):
        assert max(len(line) for line in printed(found, width).splitlines()) <= width
        assert printed(found, width, ascii_only=True).isascii()


def test_with_many_balls_the_terminal_says_where_the_rest_is() -> None:
    """Forty are written out."""
    text = printed(ramp(24, repeats=1))
    assert text.count("axis A:") == 40
    assert "the rest is in the report and in the JSON" in text
