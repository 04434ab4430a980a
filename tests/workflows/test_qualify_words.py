"""What a qualification says in sentences is no more than what it found."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest

from ballbench.findings.qualification import CalibrationFound, DriftFound, PersonFound, Qualification
from ballbench.findings.qualifying.words import qualification_sentences
from ballbench.workflows.qualify import QualifyRequest, qualify

HEAD = "product,ball,quantity,repeat,value,instrument,operator\n"


@pytest.fixture
def found(tmp_path: Path) -> Qualification:
    """Three people, five balls, two readings each, all within a hundredth."""
    rows = [
        f"Curlew,{ball},diameter,{2 * who + repeat + 1},{40.0 + 0.05 * ball + 0.01 * ((ball + who * repeat) % 3):.2f},"
        f"caliper,{name}"
        for ball in range(5) for who, name in enumerate(("Ada", "Ben", "Cy")) for repeat in range(2)
    ]  # fmt: skip
    path = tmp_path / "study.csv"
    path.write_text(HEAD + "\n".join(rows) + "\n", encoding="utf-8")
    return qualify(QualifyRequest(path))


def with_people(found: Qualification, *people: PersonFound, coarse: bool = False) -> str:
    assert found.repeats is not None
    repeats = replace(found.repeats, people_found=people, people=len(people), places=5, coarse=coarse)
    return " ".join(qualification_sentences(replace(found, repeats=repeats)))


def person(name: str, difference: float, half: float) -> PersonFound:
    return PersonFound(name, 10, difference, difference - half, difference + half, 0.01, 5.0)


def test_nobody_is_called_right_or_wrong(found: Qualification) -> None:
    """A person beyond chance reads higher or lower than the mean of all; nothing says who is right."""
    said = with_people(found, person("Ada", 0.05, 0.01), person("Ben", -0.05, 0.01), person("Cy", 0.0, 0.01))
    assert "Ada reads 0.050 mm higher than the mean of all" in said
    assert "Ben reads 0.050 mm lower than the mean of all" in said
    assert "Cy reads" not in said
    assert "too high" not in said


def test_one_of_three_people_is_named_by_the_interval_of_three(found: Qualification) -> None:
    """With 4 dof t(1 - 0.025/3) is 3.961 and t(0.975) 2.776 (t tables): 0.013 is beyond 0.01 and not beyond 0.01427."""
    others = person("Ben", 0.0, 0.01), person("Cy", 0.0, 0.01)
    assert "Ada reads" not in with_people(found, person("Ada", 0.0140, 0.01), *others)
    assert "Ada reads" in with_people(found, person("Ada", 0.0145, 0.01), *others)


def test_equal_readings_do_not_name_a_person(found: Qualification) -> None:
    """An interval of no width becomes 1.96 step/sqrt(6), 0.0080 mm at a step of 0.01: half a step apart is rounding."""
    assert "reads" not in with_people(found, person("Ada", -0.005, 0.0), person("Ben", 0.005, 0.0)).split("Repeated")[1]
    assert "Ben reads 0.020 mm more than Ada" in with_people(
        found, person("Ada", -0.01, 0.0), person("Ben", 0.01, 0.0), coarse=True
    )


def test_an_offset_is_told_by_its_own_interval(found: Qualification) -> None:
    """0.01 mm with u 0.004 mm and 2 degrees of freedom reaches 4.30 u (t tables) and is not beyond zero."""
    line = CalibrationFound(
        2, 4, 40.0, 0.01, 0.004, 2.0, math.nan, math.nan, math.nan, 39.0, 41.0, math.nan,
        error_low=0.01 - 4.3027 * 0.004, error_high=0.01 + 4.3027 * 0.004,
    )  # fmt: skip
    assert "off by no more than can be told" in " ".join(qualification_sentences(replace(found, calibration=line)))
    beyond = replace(line, error_low=0.002, error_high=0.018)
    assert "reads 0.010 mm too high" in " ".join(qualification_sentences(replace(found, calibration=beyond)))


def drifting(found: Qualification, **changes: object) -> str:
    one = DriftFound("steel ball", 3, 4.0 / 60.0, 0.6, 0.2, 5.3, 0.04, 0.01, beyond_noise=True)
    return " ".join(qualification_sentences(replace(found, drift=(replace(one, **changes),))))  # type: ignore[arg-type]


def test_checks_minutes_apart_tell_no_rate(found: Qualification) -> None:
    """0.6 mm an hour over 4 min are 0.040 mm; over 4 h, or where no time is known, it is a rate as before."""
    said = drifting(found)
    assert "moved up by 0.040 mm, beyond noise, over 3 checks within 4 min: too close in time to tell a rate" in said
    assert "an hour" not in said
    quiet = drifting(found, beyond_noise=False)
    assert "no drift is seen beyond noise over 3 checks within 4 min: too close in time" in quiet
    assert "an hour" not in quiet
    assert "up to 5.3 mm an hour" in drifting(found, beyond_noise=False, hours=4.0)
    assert "0.60 mm a check" in drifting(found, hours=math.nan)
    assert "one check lay 0.030 mm above the first" in drifting(found, steady=False, jump=0.03)
