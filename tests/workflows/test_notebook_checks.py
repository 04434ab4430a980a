from __future__ import annotations

import itertools
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from made_tests import new_test, places, put, sent

from ballbench.errors import BadRequest
from ballbench.store import Notebook
from ballbench.workflows.bench import bench_state
from ballbench.workflows.bench_requests import EndSitting, TakeBack
from ballbench.workflows.correct import Amend, amend_readings
from ballbench.workflows.keep import one_test
from ballbench.workflows.measure import take_back
from ballbench.workflows.set_up import InstrumentPlan, QuantityPlan, ReferencePlan
from ballbench.workflows.sittings import end

CALIPER = InstrumentPlan("caliper", "diameter", "mm", 0.01, 0.008, 20.0, 0.0, 0.0)
SCALE = InstrumentPlan("scale", "mass", "g", 0.01, 0.006, 20.0, 0.0, 0.0)
STEEL = ReferencePlan("steel ball", "diameter", 40.0, 0.001, "mm", "caliper")
WEIGHT = ReferencePlan("check weight", "mass", 2.7, 0.0005, "g", "scale")


class Tray:
    """Balls, a steel ball for the caliper and a check weight for the scale."""

    def __init__(self, notebook: Notebook, **changes: Any) -> None:
        usual = {
            "instruments": (CALIPER, SCALE), "references": (STEEL, WEIGHT),
            "quantities": (QuantityPlan("diameter", ("seam",), 3, "caliper"), QuantityPlan("mass", (), 3, "scale")),
        }  # fmt: skip
        self.notebook = notebook
        self.test = new_test(notebook, **{**usual, **changes}).id
        state = bench_state(notebook, self.test)
        self.pieces = {one.quantity: place.id for place in state.places for one in state.references
                       if place.reference == one.id}  # fmt: skip
        self._next: Iterator[int] = iter(range(10**6))

    def ball(self, quantity: str) -> int:
        """Read the next ball; give the reading's number."""
        at = places(self.notebook, self.test, quantity)[next(self._next) % 18].id
        text = "40.21" if quantity == "diameter" else "2.71"
        return int(put(self.notebook, self.test, at, text)["reading"]["id"])

    def check(self, quantity: str, *, passes: bool) -> dict[str, Any]:
        """Read the piece of a quantity; give the check."""
        text = {"diameter": ("40.20", "40.00"), "mass": ("2.90", "2.70")}[quantity][passes]
        check = put(self.notebook, self.test, self.pieces[quantity], text)["check"]
        assert check["passed"] == passes
        return dict(check)

    def touched(self) -> set[int]:
        """Readings in doubt."""
        return {one.id for one in bench_state(self.notebook, self.test).readings if one.touched}


STEPS = st.lists(
    st.tuples(st.sampled_from(["ball", "ball", "passes", "fails"]), st.sampled_from(["diameter", "mass"])), max_size=14
)
QUIET = settings(deadline=None, max_examples=25, suppress_health_check=list(HealthCheck))


def around(happened: list[tuple[str, int]]) -> tuple[set[int], list[int]]:
    """Say what one instrument's checks throw doubt on: what it read between two that passed, where one failed.

    Parameters
    ----------
    happened : list of (str, int)
        ``ball``, ``passes`` or ``fails`` with the reading's number, in the order in which they came.
    """
    doubt: set[int] = set()
    counts = []
    for position, (what, number) in enumerate(happened):
        sides = (happened[:position][::-1], happened[position + 1 :])
        near = [one for side in sides for one in itertools.takewhile(lambda one: one[0] != "passes", side)]
        if what == "ball":
            doubt |= {number} if any(kind == "fails" for kind, _ in near) else set()
        else:
            counts.append(sum(kind == "ball" for kind, _ in near) if what == "fails" else 0)
    return doubt, counts


@QUIET
@given(steps=STEPS)
def test_a_failed_check_throws_doubt_up_to_the_checks_that_passed(
    notebook: Notebook, steps: list[tuple[str, str]]
) -> None:
    """Random balls and checks of two instruments against plain lists."""
    tray = Tray(notebook)
    happened: dict[str, list[tuple[str, int]]] = {"diameter": [], "mass": []}
    for what, quantity in steps:
        number = tray.ball(quantity) if what == "ball" else tray.check(quantity, passes=what == "passes")["reading"]
        happened[quantity].append((what, number))
    found = {quantity: around(own) for quantity, own in happened.items()}
    doubt = set().union(*(one for one, _ in found.values()))
    assert tray.touched() == doubt
    checks = bench_state(notebook, tray.test).checks
    assert [one.passed for one in checks] == [what == "passes" for what, _ in steps if what != "ball"]
    for quantity, piece in (("diameter", "steel ball"), ("mass", "check weight")):
        assert [one.touched for one in checks if one.reference == piece] == found[quantity][1]
    assert one_test(notebook, tray.test).progress.in_doubt == len(doubt)


def test_doubt_reaches_over_sittings_and_not_into_another_test(notebook: Notebook) -> None:
    """An instrument that fails tomorrow may have been wrong tonight; the same name in another test is another."""
    tray, other = Tray(notebook), Tray(notebook)
    mine = [tray.ball("diameter")]
    others = other.ball("diameter")
    end(notebook, tray.test, EndSitting(**sent()))
    mine.append(tray.ball("diameter"))
    tray.check("diameter", passes=False)
    assert tray.touched() == set(mine)
    assert other.touched() == set()
    assert others not in mine


def test_what_was_looked_at_since_is_in_doubt_no_more(notebook: Notebook) -> None:
    """Kept with a reason after the failed check it stands; a check that fails later throws doubt on it again."""
    tray = Tray(notebook)
    first, second = tray.ball("diameter"), tray.ball("diameter")
    tray.check("diameter", passes=False)
    assert tray.touched() == {first, second}
    amend_readings(notebook, tray.test, Amend(**sent(readings=(first,), action="keep", reason="read again by eye")))
    assert tray.touched() == {second}
    tray.check("diameter", passes=False)
    assert tray.touched() == {first, second}


@pytest.mark.parametrize("strike", ["take back", "exclude"])
def test_a_check_that_was_struck_is_none(notebook: Notebook, strike: str) -> None:
    """A piece that was mistyped, taken back or excluded, throws no doubt, parts nothing and is listed no more."""
    tray = Tray(notebook)
    first = tray.ball("diameter")
    typo = tray.check("diameter", passes=False)["reading"]
    second = tray.ball("diameter")
    assert tray.touched() == {first, second}
    if strike == "exclude":
        amend_readings(notebook, tray.test, Amend(**sent(readings=(typo,), action="exclude", reason="typo")))
    else:
        take_back(notebook, tray.test, TakeBack(**sent(reading=typo)))
    assert tray.touched() == set()
    assert bench_state(notebook, tray.test).checks == ()
    assert tray.check("diameter", passes=False)["touched"] == 2
    assert tray.touched() == {first, second}


def test_what_was_said_before_the_check_answers_nothing(notebook: Notebook) -> None:
    """A reading that was kept with a reason before the instrument failed is in doubt like any other."""
    tray = Tray(notebook)
    first = tray.ball("diameter")
    amend_readings(notebook, tray.test, Amend(**sent(readings=(first,), action="keep", reason="odd, but seen")))
    tray.check("diameter", passes=False)
    assert tray.touched() == {first}


@pytest.mark.parametrize(
    ("tool", "piece", "text", "value", "known"),
    [
        (CALIPER, STEEL, "40.01", 40.01, 40.0),
        (InstrumentPlan("caliper", "diameter", "mm", 0.01, 0.008, 20.0, 0.5, 0.0), STEEL, "40.51", 40.01, 40.0),
        (InstrumentPlan("caliper", "diameter", "in", 0.0005, 0.0003, 20.0, 0.0, 0.0), STEEL, "1.575", 40.005, 40.0),
        (CALIPER, ReferencePlan("gauge", "diameter", 1.575, 0.0, "in", "caliper"), "40.01", 40.01, 40.005),
        (CALIPER, ReferencePlan("gauge", "diameter", 4.0, 0.0, "cm", "caliper"), "4.001 cm", 40.01, 40.0),
    ],
)
def test_a_check_is_in_the_base_unit_less_the_known_offset(
    notebook: Notebook, tool: InstrumentPlan, piece: ReferencePlan, text: str, value: float, known: float
) -> None:
    """Whatever units display, piece and entry have; reading less offset against the piece (1 in = 25.4 mm)."""
    tray = Tray(notebook, instruments=(tool, SCALE), references=(piece,))
    check = put(notebook, tray.test, tray.pieces["diameter"], text)["check"]
    assert (check["value"], check["known"]) == (pytest.approx(value, rel=1e-12), pytest.approx(known, rel=1e-12))
    assert check["unit"] == "mm"
    assert check["passed"]
    assert check["allowed"] < 0.03


def test_what_the_offset_is_not_known_to_is_no_failure(notebook: Notebook) -> None:
    """The same reading 0.2 mm off fails a caliper that was calibrated, and not one whose offset is known to 0.2 mm."""
    for offset_sd, passes in ((0.0, False), (0.2, True)):
        tool = InstrumentPlan("caliper", "diameter", "mm", 0.01, 0.008, 20.0, 0.0, offset_sd)
        tray = Tray(notebook, instruments=(tool, SCALE))
        assert put(notebook, tray.test, tray.pieces["diameter"], "40.20")["check"]["passed"] == passes


def test_a_piece_is_not_corrected(notebook: Notebook) -> None:
    """What a check found stands; it may be excluded, and the piece be read again."""
    tray = Tray(notebook)
    check = tray.check("diameter", passes=False)
    with pytest.raises(BadRequest, match="read the piece again"):
        amend_readings(notebook, tray.test, Amend(**sent(readings=(check["reading"],), action="correct", reason="typo",
                                                         text="40.00")))  # fmt: skip
    amend_readings(notebook, tray.test, Amend(**sent(readings=(check["reading"],), action="exclude", reason="typo")))
    assert [one.standing for one in bench_state(notebook, tray.test).readings] == ["excluded"]
