from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from types import ModuleType

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ballbench.findings.qualification import CheckFound, Qualification, Telling
from ballbench.presentation.charts.calibration_layout import lay_out_calibration
from ballbench.presentation.charts.check_layout import FAILED
from ballbench.presentation.charts.layout import lay_out
from ballbench.presentation.charts.qualification_pictures import (
    MOST_CHECKS,
    calibration_picture,
    check_picture,
    line_at,
    people_picture,
    ruler,
)
from ballbench.presentation.charts.sheet import Sheet

Legible = Callable[[Sheet], None]


@pytest.fixture(scope="module")
def found(example_bench: ModuleType) -> Qualification:
    return example_bench.qualification()


def test_two_balls_draw_apart_along_the_ruler_and_part_where_they_can_be_told(found: Qualification) -> None:
    """Hollow pairs overlap below the told difference, filled ones are clear of each other from there on."""
    chart = ruler(found)
    assert chart is not None
    assert chart.told == 0.028
    sheet = lay_out(chart)
    radius = sheet.balls[0].radius
    pairs = [(one, other) for one, other in zip(sheet.balls[:-4:2], sheet.balls[1:-4:2], strict=True)]
    distances = [other.y - one.y for one, other in pairs]
    assert distances == sorted(distances)
    for one, other in pairs:
        assert one.look == ("filled" if one.value >= 0.028 else "hollow")
        assert (other.y - one.y >= 2 * radius) == (one.value >= 0.028)
    below, above = ([one for one, _ in pairs if (one.value >= 0.028) is told] for told in (False, True))
    assert below
    assert above


def test_ruler_says_can_and_cannot_on_their_sides(found: Qualification) -> None:
    """The words stand on either side of the line at 0.028 mm, and n is printed."""
    chart = ruler(found)
    assert chart is not None
    sheet = lay_out(chart)
    words = {text.text: text for text in sheet.texts}
    line = sheet.scale.pixel(0.028)
    assert words["cannot tell"].ends[1] < line < words["can tell"].ends[0]
    assert "n = 5 balls, 45 readings by 3 people" in words
    assert any(mark.value == 0.028 for mark in sheet.lines)


def test_ruler_marks_one_reading_three_readings_and_two_people(found: Qualification) -> None:
    """Each mark stands at its difference: 0.028, 0.016 and 0.046 mm, the upper ends 0.037 and 0.021 mm beside them."""
    chart = ruler(found)
    assert chart is not None
    assert [(mark.value, mark.high) for mark in chart.marks] == [(0.028, 0.037), (0.016, 0.021), (0.046, 0.046)]
    assert [mark.text for mark in chart.marks] == ["0.028 mm (up to 0.037)", "0.016 mm (up to 0.021)", "0.046 mm"]


def test_room_of_the_requirement_is_to_scale(found: Qualification) -> None:
    """One reading takes 2 x 0.0208 of the 0.6 mm between the limits: 6.9 % of the band's width in the picture."""
    chart = ruler(found)
    assert chart is not None
    assert chart.window is not None
    sheet = lay_out(chart)
    bar, band = sheet.areas[-1], sheet.areas[-2]
    assert (bar.high - bar.low) / (band.high - band.low) == pytest.approx(2 * 0.0208 / 0.6)
    without = ruler(replace(found, tolerance=()))
    assert without is not None
    assert without.window is None


@settings(max_examples=60, deadline=None)
@given(
    one=st.floats(1e-4, 50), three=st.floats(0.3, 1.0), people=st.none() | st.floats(1.0, 40),
    room=st.none() | st.floats(0.05, 500),
)  # fmt: skip
def test_ruler_is_legible_however_much_can_be_told(
    example_bench: ModuleType, legible: Legible, one: float, three: float, people: float | None, room: float | None
) -> None:
    """Whatever the differences, and however small the room of the requirement, the ruler's text stays legible."""
    made = example_bench.qualification()
    other = math.nan if people is None else one * people
    telling = (Telling(1, one, 1.4 * one, other, math.nan), Telling(3, one * three, one, math.nan, math.nan))
    share = made.tolerance[0]
    tolerance = () if room is None else (replace(share, room=room * one, expanded=one, share=2 / room),)
    chart = ruler(replace(made, repeats=replace(made.repeats, telling=telling), tolerance=tolerance))
    assert chart is not None
    legible(lay_out(chart))


def test_people_have_a_row_each_with_offset_and_repeats(found: Qualification) -> None:
    """Ada reads 0.009 mm low (-0.012 to -0.006); her readings stand as specks, and 0 is all people together."""
    chart = people_picture(found)
    assert chart is not None
    assert [row.label for row in chart.rows] == ["Ada", "Ben", "Cleo"]
    bar = chart.rows[0].bars[0]
    assert (bar.low, bar.median, bar.high) == (-0.012, -0.009, -0.006)
    assert chart.rows[0].specks == (-0.02, -0.01, -0.01, 0.0, 0.002)
    assert chart.reference is not None
    assert chart.reference.value == 0.0


def test_no_people_are_drawn_where_one_person_read(found: Qualification) -> None:
    """With one person there is nobody to be compared with."""
    assert found.repeats is not None
    assert people_picture(replace(found, repeats=replace(found.repeats, people=1))) is None


def test_failed_check_is_hollow_beyond_its_band_with_the_word(found: Qualification) -> None:
    """38.17 on a ball of 38.1 mm, 0.03 allowed, failed: a hollow ball beyond the band, and "failed +0.07"."""
    chart = check_picture(found)
    assert chart is not None
    sheet = lay_out(chart)
    hollow = [ball for ball in sheet.balls if ball.look == "hollow"]
    assert [ball.value for ball in hollow] == [pytest.approx(0.07)]
    assert hollow[0].value > 0.03
    failed = [text.text for text in sheet.texts if text.text.startswith(FAILED)]
    assert failed == ["failed +0.07"]


def test_drift_is_drawn_only_beyond_noise_and_straight_in_time(found: Qualification) -> None:
    """0.017 mm an hour through the mean of the four errors: two hours between 11:00 and 13:00 are 0.034 mm apart."""
    chart = check_picture(found)
    assert chart is not None
    steel, gauge = chart.groups
    along = [spot.drift for spot in steel.spots]
    assert [b - a for a, b in pairwise(along)] == pytest.approx([0.017, 0.017, 0.034])  # type: ignore[operator]
    assert all(spot.drift is None for spot in gauge.spots)
    assert steel.remark == "moved up by 0.017 mm an hour, beyond noise"
    calm = check_picture(replace(found, drift=(replace(found.drift[0], beyond_noise=False),)))
    assert calm is not None
    assert lay_out(calm).slants == ()


def test_band_stands_around_a_stated_offset(found: Qualification) -> None:
    """A caliper stated to read 0.05 mm too much passes at +0.06 mm: the ball lies inside the band from 0.02 to 0.08."""
    check = CheckFound("steel", 38.1, 0.001, 38.16, 0.06, 0.03, passed=True, expected=0.05)
    chart = check_picture(replace(found, checks=(check,), drift=()))
    assert chart is not None
    spot = chart.groups[0].spots[0]
    assert (spot.low, spot.high) == pytest.approx((0.02, 0.08))
    assert lay_out(chart).balls[0].look == "filled"


def test_many_checks_keep_those_that_failed(example_bench: ModuleType, found: Qualification, legible: Legible) -> None:
    """Of 200 checks on a piece 24 are drawn, the failed third one among them, and the picture says so."""
    many = [example_bench.check("steel ball", 38.1, 38.11, f"{8 + k // 60:02d}:{k % 60:02d}") for k in range(200)]
    many[2] = example_bench.check("steel ball", 38.1, 39.0, "08:02")
    chart = check_picture(replace(found, checks=tuple(many), drift=()))
    assert chart is not None
    spots = chart.groups[0].spots
    assert len(spots) == MOST_CHECKS
    assert [spot.when for spot in spots if not spot.passed] == ["08:02"]
    assert chart.n_text == "n = 200 checks, 24 shown, those that failed among them"
    legible(lay_out(chart))


def test_a_check_far_off_leaves_the_band_wide(found: Qualification, example_bench: ModuleType) -> None:
    """A check 10 mm off, 0.03 mm allowed, stands at the edge, and the band still takes a fifth of the picture."""
    far = example_bench.check("steel ball", 38.1, 48.1, "09:00")
    chart = check_picture(replace(found, checks=(far,), drift=()))
    assert chart is not None
    sheet = lay_out(chart)
    assert sheet.balls[0].value == pytest.approx(chart.axis.high)
    assert sheet.areas[0].high - sheet.areas[0].low >= 0.2 * (chart.axis.high - chart.axis.low)


def test_line_of_errors_has_its_own_uncertainty_at_every_size(found: Qualification) -> None:
    """JCGM 100:2008, 5.2.2: u^2(a + b d) = u_a^2 + 2 r u_a u_b d + u_b^2 d^2, U with t(0.975; 26) = 2.0555."""
    line = found.calibration
    assert line is not None
    point = line_at(line, 42.23)
    assert point.error == pytest.approx(0.0125 + 0.001 * 2)
    u = math.sqrt(0.0035**2 + 2 * 0.09 * 0.0035 * 0.0018 * 2 + (0.0018 * 2) ** 2)
    assert point.high - point.error == pytest.approx(2.0555 * u, rel=1e-4)


def test_line_ends_where_its_use_ends_and_marks_the_balls(found: Qualification) -> None:
    """It runs from 37.71 to 42.39 mm; the ball of these balls' size is hollow, at 0.0125 mm."""
    chart = calibration_picture(found)
    assert chart is not None
    assert (chart.line[0].size, chart.line[-1].size) == pytest.approx((37.71, 42.39))
    assert (chart.low_text, chart.high_text) == ("holds from 37.71 mm", "to 42.39 mm")
    sheet = lay_out(chart)
    (here,) = [ball for ball in sheet.balls if ball.look == "hollow"]
    assert here.value == 0.0125
    heights = [ball.y for ball in sheet.balls if ball.look == "filled" and ball.radius > 5]
    assert heights[0] < here.y < heights[1]


def test_one_piece_gives_a_level_line(found: Qualification, legible: Legible) -> None:
    """Without a slope the error is the same at every size of use."""
    assert found.calibration is not None
    one = replace(found.calibration, pieces=1, slope=math.nan, slope_sd=math.nan, correlation=math.nan)
    chart = calibration_picture(replace(found, calibration=one, checks=found.checks[:1]))
    assert chart is not None
    assert {point.error for point in chart.line} == {0.0125}
    legible(lay_out(chart))


def test_pieces_of_nearly_one_size_keep_their_names_apart(found: Qualification, legible: Legible) -> None:
    """Twelve pieces within a tenth of a millimetre are all named, none over another."""
    checks = tuple(
        CheckFound(f"a piece with a long name {k}", 40.0 + k / 120, 0.001, 40.0, 0.01, 0.03, passed=True)
        for k in range(12)
    )
    chart = calibration_picture(replace(found, checks=checks))
    assert chart is not None
    sheet = lay_out_calibration(chart)
    legible(sheet)
    assert len([text for text in sheet.texts if text.x == 2]) == 13


def test_every_picture_of_the_example_is_legible(found: Qualification, legible: Legible) -> None:
    """No text leaves a picture, is under 12 px, or lies over text, bars or balls."""
    for chart in (ruler(found), people_picture(found), check_picture(found), calibration_picture(found)):
        assert chart is not None
        legible(lay_out(chart))


def test_nothing_is_drawn_of_what_was_not_studied(found: Qualification) -> None:
    """Without a repeat study there is no ruler and no people, without checks no checks and no line."""
    bare = replace(found, repeats=None, checks=(), calibration=None, drift=())
    assert (ruler(bare), people_picture(bare), check_picture(bare), calibration_picture(bare)) == (None,) * 4
