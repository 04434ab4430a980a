"""The pictures of the vee and of the press: geometry of the drawing, what each dot stands for, what is left out."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from ballbench.findings.vee.results import VeeFindings
from ballbench.presentation.charts.axis_data import ValueAxis
from ballbench.presentation.charts.layout import lay_out
from ballbench.presentation.charts.press_picture import press_picture
from ballbench.presentation.charts.sheet import WIDTH
from ballbench.presentation.charts.vee_data import VeeChart
from ballbench.presentation.charts.vee_picture import vee_picture
from ballbench.presentation.document import Figure
from ballbench.presentation.vee_report import vee_document
from ballbench.workflows.press import press_typed
from ballbench.workflows.vee import vee_typed

HEAD = "product,ball,section,angle,setting,low,high,turns,u,lobes\n"


def forms(rows: str) -> VeeFindings:
    return vee_typed(HEAD + rows)


def drawn(angle: float, lobes: int, setting: str = "summit") -> VeeChart:
    return VeeChart("A, ball 1", angle, setting, lobes, "0.030 mm", "", ValueAxis("form", "mm", 0, 1), (), "n = 1 ball")  # type: ignore[arg-type]


@pytest.mark.parametrize("angle", [60, 90, 120, 180])
@pytest.mark.parametrize("lobes", [0, 2, 3, 5, 12])
@pytest.mark.parametrize("setting", ["summit", "rider"])
def test_the_ball_rests_on_both_flanks(angle: float, lobes: int, setting: str) -> None:
    """No point of the outline lies beyond a flank, and each flank is touched, to a tenth of a pixel (geometry)."""
    sheet = lay_out(drawn(angle, lobes, setting))
    ring = [slant for slant in sheet.slants if slant.tone == "ink"]
    points = [(sheet.scale.pixel(slant.value), slant.y) for slant in ring]
    for flank in (slant for slant in sheet.slants if slant.tone == "limit"):
        ax, ay, bx, by = sheet.scale.pixel(flank.value), flank.y, sheet.scale.pixel(flank.to_value), flank.to_y
        length = math.hypot(bx - ax, by - ay)
        middle = (sum(x for x, _ in points) / len(points), sum(y for _, y in points) / len(points))
        side = math.copysign(1.0, (bx - ax) * (middle[1] - ay) - (by - ay) * (middle[0] - ax))
        away = [side * ((bx - ax) * (y - ay) - (by - ay) * (x - ax)) / length for x, y in points]
        assert min(away) == pytest.approx(0.0, abs=0.1)


@pytest.mark.parametrize("angle", [60, 72, 90, 108, 120, 180])
@pytest.mark.parametrize("setting", ["summit", "rider"])
def test_the_whole_drawing_stays_on_its_sheet(angle: float, setting: str) -> None:
    """Vee, ball, indicator and text lie inside the picture."""
    sheet = lay_out(drawn(angle, 3, setting))
    for slant in sheet.slants:
        for value, y in ((slant.value, slant.y), (slant.to_value, slant.to_y)):
            assert 0.0 <= sheet.scale.pixel(value) <= WIDTH
            assert 0.0 <= y <= sheet.height
    for text in sheet.texts:
        assert text.ends[0] >= 0.0
        assert text.ends[1] <= WIDTH
        assert 0.0 <= text.y <= sheet.height


def test_a_dot_is_a_ball_s_form_and_hollow_where_it_is_ruled_out() -> None:
    """Range 0.030 in 90 degrees and 0.015 in 120: three lobes fit with 0.015 mm, two do not; nothing is blind."""
    (product,) = forms("A,1,s,90,summit,0,0.030,3,0.000001,\nA,1,s,120,summit,0,0.015,3,0.000001,\n").products
    rows = {row.lobes: row for row in vee_picture(product).rows}
    (three,), (two,) = rows[3].dots, rows[2].dots
    assert (three.fits, two.fits) == (True, False)
    assert three.form == pytest.approx(0.015, rel=1e-3)  # half of what so little noise adds is off
    assert rows[2].word == "ruled out"
    assert "blind" not in {row.word for row in rows.values()}


def test_blind_lobes_have_a_word_and_no_dot() -> None:
    """90 degrees are blind to seven and nine lobes."""
    (product,) = forms("A,1,s,90,summit,0,0.030,3,0.001,\n").products
    blind = [row.lobes for row in vee_picture(product).rows if row.word == "blind" and not row.dots]
    assert blind == [7, 9]


def test_a_ball_that_is_not_told_from_round_is_drawn_round() -> None:
    """A range of one step draws no lobes, and the picture says why."""
    (product,) = forms("A,1,s,90,summit,0,0.001,3,0.001,\n").products
    chart = vee_picture(product)
    assert chart.lobes == 0
    assert "no more movement" in chart.remark


def test_a_crowd_of_balls_is_thinned_and_said() -> None:
    """Of 60 balls the picture shows the 40 with the largest form, and says so."""
    rows = "".join(f"A,{i},s,90,summit,0,{0.02 + 0.001 * i:.3f},3,0.000001,2\n" for i in range(60))
    (product,) = forms(rows).products
    chart = vee_picture(product)
    assert chart.n_text == "n = 60 balls, 40 largest shown"
    assert min(dot.form for dot in chart.rows[0].dots) == pytest.approx(0.040, rel=1e-3)
    assert lay_out(chart).height < 900


def test_a_press_shows_every_ball_and_the_mean_with_its_interval(tmp_path: Path) -> None:
    """A dot a ball, a bar where there are two balls or more, and the rig's label with the count."""
    del tmp_path
    text = (
        "product,ball,orientation,direction,load,preload,seconds,deformation\n"
        "A,1,seam,forward,80,15,5,6.1\nA,2,seam,forward,80,15,5,6.5\nB,1,seam,forward,80,15,5,7.0\n"
    )
    chart = press_picture(press_typed(text), "deformation")
    two, one = chart.rows
    assert two.specks == (6.1, 6.5)
    assert two.bars[0].median == pytest.approx(6.3)
    assert (one.specks, one.bars) == ((7.0,), ())
    assert chart.n_text == "n = 3 balls, this rig only"
    lay_out(chart)


def test_the_ball_that_is_drawn_is_the_one_that_is_surely_out_of_round_by_most() -> None:
    """Ball 02 moved little in one vee, so its band is wide; ball 01 moved 0.030 mm with three lobes counted."""
    found = forms("A,01,seam,90,summit,-0.012,0.018,3,0.0005,3\nA,02,seam,90,summit,-0.004,0.012,3,0.0005,\n")
    (product,) = found.products
    one, two = (ball.sections[0] for ball in product.balls)
    assert two.high > one.high
    assert one.low > two.low
    assert vee_picture(product).label == "A, ball 01, seam"
    captions = [block.caption for block in vee_document(found).blocks if isinstance(block, Figure)]
    assert any("largest at the lower end of its band" in text for text in captions)
