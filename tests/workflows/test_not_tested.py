from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from ballbench.specs import find_requirement

REBOUND = """[[clause]]
id = "rebound"
text = "Dropped from 305 mm on steel, each ball rebounds 240 to 260 mm."
quantity = "rebound"
ball = "mean"
sample = "each"
lower = "240 mm"
upper = "260 mm"
conditions = { drop_height = "305 mm", surface = "steel block", temperature = "18 to 22 degC" }
"""
PHONE = """[instrument.phone]
quantity = "rebound"
unit = "mm"
resolution = 1.0
repeatability = { sd = 2.5, dof = 10, includes_rounding = true }
calibration = { offset = 0.0, offset_sd = 1.0, scale_sd = 0.0 }
[material]
expansion = { value = 9e-5, relative_sd = 0.2 }
[conditions]
"""
WARM = 'temperature = { value = 20.0, sd = 0.5, reference = 23.0, unit = "degC" }\n'


def rebounds() -> list[tuple[object, ...]]:
    """Six balls, three drops each, about 250 mm."""
    return [("Curlew", b, "rebound", "", r, 248 + (b * 2 + r) % 5) for b in range(1, 7) for r in (1, 2, 3)]


def reason(clause: dict[str, Any]) -> str:
    """The one note of a clause that was not tested; nothing else may be said of it."""
    assert clause["decision"] == "not tested"
    assert (clause["truth"], clause["probability_met"], clause["margin"]) == (None, None, None)
    assert clause["as_read"] == {"value": None, "outside": 0}
    (note,) = clause["notes"]
    assert note.startswith("not tested: ")
    return str(note)


@pytest.mark.parametrize(
    ("conditions", "says"),
    [
        ("", "drop_height"),
        ('drop_height = "305 mm"\n', "surface"),
        ('drop_height = "305 mm"\nsurface = "steel block"\n', "temperature"),
        ('drop_height = "254 mm"\nsurface = "steel block"\n' + WARM, "254 mm"),
        ('drop_height = "310 mm"\nsurface = "steel block"\n' + WARM, "310 mm"),
        ('drop_height = "305 mm"\nsurface = "concrete"\n' + WARM, "concrete"),
        ('drop_height = "305 mm"\nsurface = "steel block"\n' + WARM.replace("20.0", "25.0"), "25"),
    ],
)  # fmt: skip
def test_unknown_or_other_conditions_are_not_tested(bench: Any, conditions: str, says: str) -> None:
    """A clause whose conditions are not known to have held says which, or what held instead."""
    clause = bench.one(bench.readings(rebounds()), bench.spec(REBOUND), PHONE + conditions)
    assert says in reason(clause)


@pytest.mark.parametrize("height", ["305 mm", "30.5 cm", "0.305 m", "12.0079 in", "304 mm"])
def test_conditions_that_held_are_told_in_any_unit(bench: Any, height: str) -> None:
    """The drop height of the rule in another unit, or within half a per cent of it, is the rule's."""
    conditions = f'drop_height = "{height}"\nsurface = "Steel block"\n' + WARM
    clause = bench.one(bench.readings(rebounds()), bench.spec(REBOUND), PHONE + conditions)
    assert clause["decision"] == "met"


def test_facts_of_the_balls_show_that_a_condition_held(bench: Any) -> None:
    """Conditioning told for every ball counts; told for some of them, or differing, it does not."""
    spec = bench.spec(REBOUND[: REBOUND.index("conditions")] + 'conditions = { conditioned = "24 h" }\n')
    path = bench.readings(rebounds())
    for hours, tested in (([24] * 6, True), ([24] * 5, False), ([24] * 5 + [3], False), ([3] * 6, False)):
        rows = [f"Curlew,{ball},{hour}" for ball, hour in enumerate(hours, start=1)]
        balls = bench.file("balls.csv", "\n".join(["product,ball,conditioned_h", *rows]) + "\n")
        clause = bench.one(path, spec, PHONE + 'surface = "steel block"\n', balls=balls)
        assert (clause["decision"] == "met") == tested
        if not tested:
            assert "conditioned" in reason(clause)


def test_limits_from_memory_decide_only_when_accepted(bench: Any, diameters: Callable[..., Any]) -> None:
    """A limit seen only in memory is not tested and names the option; accepted, it decides and its grade is kept."""
    own = 'source = { document = "Recalled", seen = "memory" }\n'
    text = """[[clause]]
id = "largest"
text = "At most 40.60 mm."
quantity = "diameter"
ball = "max"
sample = "each"
upper = "40.60 mm"
"""
    spec, path = bench.spec(text + own), bench.readings(diameters())
    assert "--accept-unverified" in reason(bench.one(path, spec))
    accepted = bench.one(path, spec, accept_unverified=True)
    assert (accepted["decision"], accepted["seen"]) == ("met", "memory")


def test_missing_quantities_are_named(bench: Any, diameters: Callable[..., Any]) -> None:
    """A clause on a quantity that was not read says so; the product is met as far as tested at the best."""
    text = """[[clause]]
id = "largest"
text = "At most 40.60 mm."
quantity = "diameter"
ball = "max"
sample = "each"
upper = "40.60 mm"
[[clause]]
id = "mass"
text = "At most 3 g."
quantity = "mass"
ball = "mean"
sample = "each"
upper = "3 g"
[[clause]]
id = "crack"
text = "No crack."
quantity = "crack"
count = { answer = "no" }
"""
    (product,) = bench.judge(bench.readings(diameters()), bench.spec(text))["products"]
    assert (product["decision"], product["tested"], product["clauses_in_all"]) == ("met as far as tested", 1, 3)
    assert "mass" in reason(product["clauses"][1])
    assert "crack" in reason(product["clauses"][2])


def test_a_nominal_without_a_tolerance_decides_nothing(bench: Any, diameters: Callable[..., Any]) -> None:
    """The Law's 40 mm and 2.7 g have no tolerance: nothing is tested, and the way out is named."""
    found = bench.judge(bench.readings(diameters()), "table-tennis-law")
    (product,) = found["products"]
    assert product["decision"] == "not tested"
    assert all("tolerance" in reason(clause) for clause in product["clauses"])


@pytest.mark.parametrize("grade", ["g3", "g5", "g10", "g16", "g20", "g24", "g28", "g40", "g60", "g100", "g200"])
def test_a_bearing_grade_is_refused_for_a_caliper(bench: Any, grade: str) -> None:
    """Steel balls read to 0.01 mm cannot be held against limits in micrometres: no clause on diameters is tested.

    Table of grades, ISO 3290-1:2014: the widest, G200, leaves 5 um of diameter variation, half a step of the display.
    """
    rows = [("Bead", b, "diameter", axis, 1, "12.70") for b in range(1, 7) for axis in ("a", "b", "c")]
    requirement = find_requirement(f"bearing-{grade}")
    (product,) = bench.judge(bench.readings(rows), f"bearing-{grade}", accept_unverified=True)["products"]
    for clause, own in zip(product["clauses"], requirement.clauses, strict=True):
        limits = [r.upper.value for r in own.readings if r.upper is not None]
        if own.quantity == "diameter" and min(limits) < 0.005:
            assert "finer than half a step" in reason(clause)
    assert product["decision"] != "met"


def test_limits_that_exclude_each_other_are_named_as_such(bench: Any, diameters: Callable[..., Any]) -> None:
    """A clause whose lower limit lies above its upper one is not tested for that reason, and no other is given."""
    text = """[[clause]]
id = "size"
text = "From 40.60 to 40.00 mm."
quantity = "diameter"
ball = "mean"
sample = "each"
lower = "40.60 mm"
upper = "40.00 mm"
"""
    note = reason(bench.one(bench.readings(diameters()), bench.spec(text)))
    assert "step of the display" not in note
    assert "40.60" in note
