from __future__ import annotations

import math

import numpy as np
import pytest

from ballbench.errors import BadReadings, BadRequest
from ballbench.physics.deformation import CREEP_NOTE, NEEDED, RIG_LABEL, press_readings, press_study

ONE = {
    "ball": "01", "orientation": "seam", "direction": "forward", "load_n": "80.07", "preload_n": "15.57",
    "seconds": "5", "deformation_mm": "6.1",
}  # fmt: skip


def row(**changes: object) -> dict[str, object]:
    return {**ONE, **changes}


def test_text_and_numbers_are_read_alike() -> None:
    """A record from a table and one from a program give the same reading; repeats count from one."""
    text, number = press_readings([row(), row(load_n=80.07, preload_n=15.57, seconds=5, deformation_mm=6.1, repeat=2)])
    assert (text.load_n, text.seconds, text.deformation_mm, text.repeat) == (80.07, 5.0, 6.1, 1)
    assert (number.load_n, number.deformation_mm, number.repeat) == (80.07, 6.1, 2)


@pytest.mark.parametrize("field", NEEDED)
@pytest.mark.parametrize("gone", ["absent", "empty", None])
def test_every_field_is_needed(field: str, gone: str | None) -> None:
    """A record without one of the fields is refused with its row and name, whether absent, blank or None."""
    bad = {name: value for name, value in row().items() if name != field or gone != "absent"}
    if gone != "absent":
        bad[field] = "  " if gone else None
    with pytest.raises(BadReadings, match=rf"press readings, row 2, {field}: found nothing") as caught:
        press_readings([row(), bad])
    assert len(caught.value.faults) == 1


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"direction": "up"}, "forward or return"),
        ({"load_n": "-3"}, "above 0 to 5000"),
        ({"seconds": 0}, "above 0 to 3600"),
        ({"deformation_mm": "6,1"}, "decimals with a point"),
        ({"deformation_mm": "nan"}, "from 0 to 100"),
        ({"preload_n": 80.07}, "less than the load"),
        ({"repeat": 1.5}, "count the repeats"),
        ({"humidity": 50}, "a field that is not known"),
    ],
)
def test_what_cannot_be_is_refused(changes: dict[str, object], words: str) -> None:
    """Each fault with its place and what is allowed."""
    with pytest.raises(BadReadings, match=words) as caught:
        press_readings([row(**changes)], "hall press")
    assert str(caught.value).startswith("hall press, row 1")


def test_all_faults_come_at_once_and_doubles_are_seen() -> None:
    """Three bad rows of four make one message; the same reading twice is one of them."""
    with pytest.raises(BadReadings) as caught:
        press_readings([row(), row(deformation_mm="x"), row(), row(orientation="")])
    assert len(caught.value.faults) == 3
    assert "the same reading as in row 1" in str(caught.value)


def made(rng: np.random.Generator, balls: int = 40, creep: float = 0.0) -> list[dict[str, object]]:
    """Records of a rig with known truth: seam 6.0, pole 6.5 mm, 2 mm more on the way back, SD 0.3 mm between balls."""
    rows = []
    for ball in range(balls):
        own = 0.3 * rng.standard_normal()
        for orientation, level in (("seam", 6.0), ("pole", 6.5)):
            for direction, more in (("forward", 0.0), ("return", 2.0)):
                for repeat, seconds in ((1, 2.0), (2, 20.0)):
                    read = level + own + more + creep * math.log10(seconds) + 0.02 * rng.standard_normal()
                    rows.append(row(ball=f"{ball:02}", orientation=orientation, direction=direction, repeat=repeat,
                                    seconds=seconds, deformation_mm=read))  # fmt: skip
    return rows


def test_each_orientation_and_way_has_its_mean_and_spread() -> None:
    """Means within three of their standard uncertainties of the known truth, SD near the balls' own (simulation)."""
    study = press_study(press_readings(made(np.random.default_rng(2))))
    truth = {("pole", "forward"): 6.5, ("pole", "return"): 8.5, ("seam", "forward"): 6.0, ("seam", "return"): 8.0}
    assert [(group.orientation, group.direction) for group in study.groups] == sorted(truth)
    for group in study.groups:
        assert group.mean == pytest.approx(truth[group.orientation, group.direction], abs=3 * group.u)
        assert group.sd == pytest.approx(0.3, rel=0.35)
        assert group.u == pytest.approx(group.sd / math.sqrt(40), rel=1e-12)
        assert (group.balls, group.readings) == (40, 80)


def test_the_way_back_is_paired_by_ball() -> None:
    """2 mm of return less forward stand out of balls that differ by 0.3 mm, to 0.01 mm (simulation)."""
    study = press_study(press_readings(made(np.random.default_rng(2))))
    assert [item.orientation for item in study.returns] == ["pole", "seam"]
    for item in study.returns:
        assert item.mean == pytest.approx(2.0, abs=0.01)
        assert item.u < 0.005
        assert item.balls == 40


def test_creep_is_found_within_balls_and_said() -> None:
    """0.15 mm a decade of time comes back, with a note that the times were uneven (simulation)."""
    study = press_study(press_readings(made(np.random.default_rng(2), creep=0.15)))
    assert [group.creep for group in study.groups] == pytest.approx([0.15] * 4, abs=0.015)
    assert study.notes[0] == CREEP_NOTE
    assert "read 2 to 20 s after loading" in study.notes[1]


def test_one_ball_has_no_spread_and_even_times_no_creep() -> None:
    """A single reading has a mean and nothing else: NaN, not 0."""
    (group,) = press_study(press_readings([row()])).groups
    assert group.mean == 6.1
    assert all(math.isnan(value) for value in (group.u, group.sd, group.creep))
    assert press_study(press_readings([row()])).returns == ()


def test_every_result_is_of_this_rig_only() -> None:
    """The label stands on the study and on each part of it."""
    study = press_study(press_readings(made(np.random.default_rng(2), balls=2)))
    assert {study.label, *(item.label for item in (*study.groups, *study.returns))} == {RIG_LABEL} == {"this rig only"}


def test_loads_are_not_mixed() -> None:
    """Another load, or another preload, is another group."""
    rows = [row(), row(load_n=100.0, deformation_mm=7.5), row(preload_n=0.0, deformation_mm=7.0)]
    assert [group.mean for group in press_study(press_readings(rows)).groups] == [7.0, 6.1, 7.5]


def test_no_reading_is_no_study() -> None:
    """An empty list is refused."""
    with pytest.raises(BadRequest, match="one at least"):
        press_study(())
