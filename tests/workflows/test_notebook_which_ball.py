from __future__ import annotations

import re

import numpy as np
import pytest
from made_tests import new_test, places, put, sent
from scipy import stats

from ballbench.errors import BadInput
from ballbench.store import Notebook
from ballbench.workflows.bench import bench_state
from ballbench.workflows.bench_requests import Finish, TakeBack
from ballbench.workflows.correct import Amend, amend_readings
from ballbench.workflows.measure import take_back
from ballbench.workflows.set_up import BoxPlan, InstrumentPlan, MakePlan, QuantityPlan
from ballbench.workflows.sittings import finish
from ballbench.workflows.which_ball import which_ball_is_this

SD = 0.006


def weighed(
    notebook: Notebook, masses: list[str], *, blind: bool = False, unit: str = "g"
) -> tuple[int, dict[int, str]]:
    """Weigh balls, one mass each; give the test, and the balls' masses by their number in the notebook."""
    boxes = (MakePlan("Curlew", (BoxPlan("C-1", len(masses)),)),)
    scale = InstrumentPlan("scale", "mass", unit, 0.01, SD, 20.0)
    quantities = (QuantityPlan("mass", (), 1, "scale"),)
    test = new_test(notebook, makes=boxes, instruments=(scale,), quantities=quantities, references=(), blind=blind).id
    tray = {}
    for place, text in zip(places(notebook, test, "mass"), masses, strict=True):
        put(notebook, test, place.id, text)
        tray[place.ball or 0] = text
    return test, tray


def test_the_chances_are_those_of_bayes(notebook: Notebook) -> None:
    """Equal chances beforehand, one reading each: normal about each mass with variance 2 SD^2 (by hand, with scipy)."""
    test, tray = weighed(notebook, ["2.70", "2.71", "2.75"])
    found = which_ball_is_this(notebook, test, "2.72")
    density = {ball: stats.norm.pdf(2.72, float(mass), SD * np.sqrt(2.0)) for ball, mass in tray.items()}
    total = sum(density.values())
    for one in found.candidates:
        assert one.chance == pytest.approx(density[one.ball] / total, rel=1e-9)
        assert one.mass == pytest.approx(float(tray[one.ball]))
    chances = [one.chance for one in found.candidates]
    assert chances == sorted(chances, reverse=True)
    assert sum(chances) == pytest.approx(1.0, abs=0.01)


def test_one_ball_is_told_and_alike_ones_are_not(notebook: Notebook) -> None:
    """A ball that no other is near is named by its number; between two alike the sentence says that nothing tells."""
    test, tray = weighed(notebook, ["2.70", "2.70", "2.90"])
    numbers = {ball.id: ball.number for ball in bench_state(notebook, test).balls}
    (heavy,) = (numbers[ball] for ball, mass in tray.items() if mass == "2.90")
    assert (
        which_ball_is_this(notebook, test, "2.91").sentence == f"Ball {heavy}: no other that was weighed fits as well."
    )
    unsure = which_ball_is_this(notebook, test, "2.70").sentence
    assert unsure.startswith("The scale cannot tell: it may be ")
    assert heavy not in re.findall(r"\d+", unsure)
    assert which_ball_is_this(notebook, test, "3.50").sentence.startswith("None of the balls that were weighed")


def test_however_many_are_alike_some_are_named(notebook: Notebook) -> None:
    """Of 120 balls of one mass none has a chance of 1 %; the sentence still names balls."""
    test, _ = weighed(notebook, ["2.70"] * 120)
    found = which_ball_is_this(notebook, test, "2.70")
    assert len(found.candidates) == 5
    assert [one.chance for one in found.candidates] == pytest.approx([1 / 120] * 5)
    assert all(one.number in found.sentence for one in found.candidates)


def test_only_readings_that_stand_count_with_the_value_that_holds(notebook: Notebook) -> None:
    """A mass that was taken back tells nothing, and a corrected one tells what it was corrected to."""
    test, tray = weighed(notebook, ["2.70", "2.90"])
    first, second = (one.id for one in bench_state(notebook, test).readings)
    take_back(notebook, test, TakeBack(**sent(reading=first)))
    assert [one.ball for one in which_ball_is_this(notebook, test, "2.90").candidates] == [list(tray)[1]]
    amend_readings(notebook, test, Amend(**sent(readings=(second,), action="correct", reason="sheet", text="2.75")))
    (one,) = which_ball_is_this(notebook, test, "2.75").candidates
    assert one.mass == pytest.approx(2.75)
    take_back(notebook, test, TakeBack(**sent(reading=second)))
    with pytest.raises(BadInput, match="weigh the balls first"):
        which_ball_is_this(notebook, test, "2.75")


@pytest.mark.parametrize("text", ["2.70", "2.71", "2.75", "2.80", "3.10", "0.00"])
def test_a_blind_test_names_no_mass(notebook: Notebook, text: str) -> None:
    """Neither a mass nor a number that is one stands in what is said while it is under way; afterwards masses do."""
    test, tray = weighed(notebook, ["2.70", "2.71", "2.80"], blind=True)
    numbers = {ball.number for ball in bench_state(notebook, test).balls}
    told = which_ball_is_this(notebook, test, text)
    assert {one.mass for one in told.candidates} <= {None}
    assert not re.search(r"\d[.,]\d", told.sentence)
    assert set(re.findall(r"\d+", told.sentence)) <= numbers
    assert "Curlew" not in told.sentence
    finish(notebook, test, Finish(**sent()))
    for one in which_ball_is_this(notebook, test, text).candidates:
        assert one.mass == pytest.approx(float(tray[one.ball]))


def test_a_scale_in_ounces_reads_ounces(notebook: Notebook) -> None:
    """What is typed without a unit is in the unit of the display: 0.10 oz is 2.83 g (1 oz = 28.349523125 g)."""
    test, tray = weighed(notebook, ["0.10", "0.11"], unit="oz")
    found = which_ball_is_this(notebook, test, "0.10")
    assert found.candidates[0].mass == pytest.approx(2.8349523125)
    assert found.candidates[0].ball == next(iter(tray))


def test_what_cannot_be_told(notebook: Notebook) -> None:
    """No ball was weighed, the text is no mass, or there is no such test: each a fault, and nothing is kept of it."""
    test = new_test(notebook).id
    with pytest.raises(BadInput, match="weigh the balls first"):
        which_ball_is_this(notebook, test, "2.70")
    other, _ = weighed(notebook, ["2.70", "2.71"])
    for text in ("", "heavy", "?2.70", "2.70 mm"):
        with pytest.raises(BadInput):
            which_ball_is_this(notebook, other, text)
    with pytest.raises(BadInput, match="no test 99"):
        which_ball_is_this(notebook, 99, "2.70")
    before = bench_state(notebook, other)
    which_ball_is_this(notebook, other, "2.70")
    assert bench_state(notebook, other) == before
