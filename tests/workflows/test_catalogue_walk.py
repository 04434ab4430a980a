"""Every requirement of the catalogue with simulated good balls: judged, or not tested for a reason."""

from __future__ import annotations

import re
from collections import defaultdict
from typing import Any

import numpy as np
import pytest

from ballbench.quantities.kinds import KINDS
from ballbench.quantities.units import factor
from ballbench.specs import Requirement, catalogue_ids, find_requirement

COLUMNS = ("product", "ball", "quantity", "axis", "repeat", "value", "unit")
BALLS, REPEATS = 6, 3


def levels(requirement: Requirement) -> dict[str, tuple[float, float, str]]:
    """For each quantity a level inside all of its limits, a width that is small beside every one, and its base unit."""
    lows: dict[str, list[float]] = defaultdict(list)
    highs: dict[str, list[float]] = defaultdict(list)
    spreads: dict[str, list[float]] = defaultdict(list)
    units = {}
    for clause in (clause for clause in requirement.clauses if clause.count is None):
        reading, quantity = clause.readings[0], clause.quantity
        units[quantity] = clause.base_unit
        named = clause.nominal or reading.lower or reading.upper
        if reading.ball == "range" or reading.sample in ("sd", "range"):
            spreads[quantity] += [reading.upper.value] if reading.upper is not None else []
        else:
            lows[quantity].append(reading.lower.value if reading.lower is not None else -np.inf)
            highs[quantity].append(reading.upper.value if reading.upper is not None else np.inf)
            if named is not None and not (reading.lower or reading.upper):
                lows[quantity].append(0.99 * named.value)
                highs[quantity].append(1.01 * named.value)
    return {
        quantity: _inside(
            max(lows[quantity], default=12.0), min(highs[quantity], default=13.0), spreads[quantity], unit
        )
        for quantity, unit in units.items()
    }


def _inside(low: float, high: float, spreads: list[float], unit: str) -> tuple[float, float, str]:
    """Middle and a tenth of the span; where a side is open, something near."""
    low = low if np.isfinite(low) else 0.5 * high
    high = high if np.isfinite(high) else 1.5 * low
    return 0.5 * (low + high), 0.1 * min([high - low, *spreads]), unit


def invented(requirement: Requirement) -> list[tuple[object, ...]]:
    """Good balls under a requirement: numbers near the middle of their limits, and the right answers."""
    rng = np.random.default_rng(1)
    rows: list[tuple[object, ...]] = []
    for quantity, (level, width, unit) in levels(requirement).items():
        placed = quantity in ("diameter", "circumference")
        step = 10.0 ** np.floor(np.log10(width / 4.0))
        decimals = max(int(-np.log10(step)), 0)
        for ball in range(1, BALLS + 1):
            size = level + 0.2 * width * float(np.clip(rng.standard_normal(), -1.5, 1.5))
            for at in range(REPEATS):
                value = f"{size + 0.1 * width * float(np.clip(rng.standard_normal(), -1.5, 1.5)):.{decimals}f}"
                axis, repeat = (("x", "y", "z")[at], 1) if placed else ("", at + 1)
                rows.append(("Good", ball, quantity, axis, repeat, value, "" if unit == "1" else unit))
    for clause in requirement.clauses:
        rule = clause.count
        if rule is None:
            continue
        trials = rule.out_of or 1
        wanted = rule.at_most // 2 if rule.at_most is not None else trials
        for ball in range(1, BALLS + 1):
            for trial in range(1, trials + 1):
                answer = rule.answer if trial <= max(wanted, rule.at_least or 0) else not rule.answer
                rows.append(("Good", ball, clause.quantity, "", trial, "yes" if answer else "no", ""))
    return rows


def temperature(requirement: Requirement) -> str:
    """The temperature that the last clause with one asks for; a requirement may ask for several, one at a time."""
    wanted = [clause.conditions["temperature"] for clause in requirement.clauses if "temperature" in clause.conditions]
    return wanted[-1] if wanted else "23 degC"


def conditions(requirement: Requirement) -> str:
    """A bench file that says that every condition held, and knows the instruments better than any limit asks for."""
    lines = ["[conditions]"]
    wanted: dict[str, str] = {}
    for clause in requirement.clauses:
        wanted.update(clause.conditions)
    for name, text in wanted.items():
        span = re.match(r"([\d.+-]+) to ([\d.+-]+) (.*)", text)
        held = f"{(float(span[1]) + float(span[2])) / 2:g} {span[3]}" if span else text
        if name != "temperature":
            lines.append(f'{name} = "{held}"')
    degrees = temperature(requirement)
    span = re.match(r"([\d.+-]+) to ([\d.+-]+) (.*)", degrees)
    number, unit = (
        ((float(span[1]) + float(span[2])) / 2, span[3]) if span else (float(degrees.split()[0]), degrees.split()[1])
    )
    lines.append(f'temperature = {{ value = {number}, sd = 0.1, reference = {number}, unit = "{unit}" }}')
    lines += ["[material]", "expansion = { value = 1e-5, relative_sd = 0.1 }"]
    for quantity, (_level, width, unit) in levels(requirement).items():
        sd = 0.05 * width
        lines += [
            f"[instrument.for-{quantity.replace('_', '-')}]", f'quantity = "{quantity}"', f'unit = "{unit}"',
            f"resolution = {sd!r}", f"repeatability = {{ sd = {sd!r}, dof = 30, includes_rounding = true }}",
            f"calibration = {{ offset = 0.0, offset_sd = {sd!r}, scale_sd = 0.0 }}",
        ]  # fmt: skip
    return "\n".join(lines) + "\n"


@pytest.mark.parametrize("identity", catalogue_ids())
def test_good_balls_are_judged_under_every_requirement(bench: Any, identity: str) -> None:
    """Good balls, good instruments: clauses are met, or not tested where another temperature is asked for."""
    requirement = find_requirement(identity)
    path = bench.readings(invented(requirement), COLUMNS)
    found = bench.judge(path, identity, conditions(requirement), accept_unverified=True, draws=1000)
    (product,) = found["products"]
    assert len(product["clauses"]) == len(requirement.clauses)
    for clause, own in zip(product["clauses"], requirement.clauses, strict=True):
        if not own.decides:
            assert clause["decision"] == "not tested"
            assert "tolerance" in clause["notes"][0]
        elif clause["decision"] == "not tested":
            assert own.conditions["temperature"] != temperature(requirement)
            assert "temperature" in clause["notes"][0]
        else:
            assert clause["decision"] in {"met", "undecided"}, (clause["id"], clause["notes"])
    assert sum(clause["decision"] == "met" for clause in product["clauses"]) >= product["tested"] // 2


@pytest.mark.parametrize("identity", catalogue_ids())
def test_without_conditions_and_bench_nothing_is_met_that_needs_them(bench: Any, identity: str) -> None:
    """The same balls with no bench file and nothing accepted: clauses with conditions or from memory are not tested."""
    requirement = find_requirement(identity)
    found = bench.judge(bench.readings(invented(requirement), COLUMNS), identity, None, draws=1000)
    for clause, own in zip(found["products"][0]["clauses"], requirement.clauses, strict=True):
        if own.source.seen == "memory" or not own.decides or (own.conditions and own.count is None):
            assert clause["decision"] == "not tested"
            (note,) = clause["notes"]
            assert len(note) > len("not tested: ") + 20


def test_the_units_of_the_catalogue_are_those_of_the_readings() -> None:
    """Every clause's unit converts into the unit that its quantity is read in."""
    for identity in catalogue_ids():
        for clause in find_requirement(identity).clauses:
            if clause.count is None:
                base = KINDS[clause.quantity].unit if clause.quantity in KINDS else clause.base_unit
                assert factor(clause.unit, base) > 0.0
