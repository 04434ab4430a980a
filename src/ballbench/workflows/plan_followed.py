"""A test beside the plan that it follows: what became otherwise, in what was set up and in what was read."""

from __future__ import annotations

import json
import math
from collections import Counter
from collections.abc import Iterator

from ballbench.findings.planning import Design
from ballbench.presentation.screens.plan_words import FollowedPlan, Otherwise, PlanLine, What
from ballbench.records.ball_test import BallTest, PlannedQuantity
from ballbench.records.bench import Instrument
from ballbench.store import Tx
from ballbench.store.ball_tests import balls_of
from ballbench.store.bench import places_of
from ballbench.store.plans import PlanRow, followers_of, plan_followed
from ballbench.store.readings import readings_of
from ballbench.workflows.exported_tables import bench_text
from ballbench.workflows.plan_record import plan_from_text
from ballbench.workflows.qualified import bench_of_text

__all__ = ["followed_plan", "instrument_of_plan", "plan_line"]


def plan_line(tx: Tx, row: PlanRow) -> PlanLine:
    """Give a plan as a list shows it."""
    told = json.loads(json.loads(row.result)["json"])
    how_many = told["how_many"]["chosen"] or told["settings"][-1]
    design = Design(how_many["balls"], how_many["axes"], how_many["repeats"])
    tests = tuple((one.test, one.title) for one in followers_of(tx, row.id))
    invented = bool(json.loads(row.asked)["invented"])
    return PlanLine(
        row.id, row.title, row.requirement, row.quantity, design, told["sentence"], row.by, row.at, tests, invented
    )


def instrument_of_plan(row: PlanRow) -> Instrument | None:
    """Give what a plan reads with; None: another version of ballbench wrote it."""
    plan = plan_from_text(json.loads(row.result)["record"])
    return None if plan is None else plan.instrument


def followed_plan(tx: Tx, test: BallTest) -> FollowedPlan | None:
    """Give the plan that a test follows, and what became otherwise; None: it follows none."""
    row = plan_followed(tx, test.id)
    if row is None:
        return None
    line, told = plan_line(tx, row), json.loads(json.loads(row.result)["json"])
    return FollowedPlan(line, tuple(_otherwise(tx, test, row, line.design, told["rule"])))


def _otherwise(
    tx: Tx, test: BallTest, row: PlanRow, design: Design, rule: dict[str, str | float]
) -> Iterator[Otherwise]:
    """Go through the plan in the order of the set-up form."""
    if row.requirement != test.requirement:
        yield Otherwise("requirement", row.requirement, test.requirement)
    elif row.requirement_digest != test.requirement_digest:
        yield Otherwise("requirement text")
    quantity = next((one for one in test.quantities if one.name == row.quantity), None)
    if quantity is None:
        yield Otherwise("quantity")
    else:
        yield from _design(tx, test, design, quantity)
        yield from _instrument(tx, test, row, quantity)
    for what, planned, now in (("rule", rule["name"], test.rule), ("risk", rule["risk"], test.risk)):
        if planned != now:
            yield Otherwise("rule" if what == "rule" else "risk", planned, now)
    if quantity is not None:
        yield from _read(tx, test, quantity)


def _design(tx: Tx, test: BallTest, design: Design, quantity: PlannedQuantity) -> Iterator[Otherwise]:
    balls = Counter(one.make for one in balls_of(tx, test.id))
    counts: tuple[tuple[What, int, int], ...] = (
        ("balls", design.balls, min(balls.values(), default=0)), ("places", design.axes, len(quantity.axes)),
        ("readings a place", design.repeats, quantity.repeats),
    )  # fmt: skip
    yield from (Otherwise(what, planned, now) for what, planned, now in counts if planned != now)


def _instrument(tx: Tx, test: BallTest, row: PlanRow, quantity: PlannedQuantity) -> Iterator[Otherwise]:
    """Hold the numbers that the test states, or takes as usual, against those that the plan was made with."""
    planned = instrument_of_plan(row)
    if planned is None:
        return
    tools = bench_of_text(bench_text(tx, test, None)).instruments.values()
    own = [one for one in tools if one.quantity == quantity.name]
    if len(own) != 1:
        return
    now, unit = own[0], planned.unit
    pairs: tuple[tuple[What, str | float, str | float, str], ...] = (
        ("instrument", planned.name, quantity.instrument, ""), ("step", planned.resolution, now.resolution, unit),
        ("noise", planned.sd, now.sd, unit), ("degrees of freedom", planned.dof, now.dof, ""),
        ("offset", planned.offset, now.offset, unit), ("offset uncertainty", planned.offset_sd, now.offset_sd, unit),
        ("scale uncertainty", planned.scale_sd, now.scale_sd, ""), ("zeroed", planned.zeroed, now.zeroed, ""),
        ("display", planned.display, now.display, ""),
    )  # fmt: skip
    yield from (Otherwise(*pair) for pair in pairs if not _alike(pair[1], pair[2]))


def _alike(one: str | float, other: str | float) -> bool:
    if isinstance(one, str) or isinstance(other, str):
        return one == other
    return math.isclose(one, other, rel_tol=1e-9)


def _read(tx: Tx, test: BallTest, quantity: PlannedQuantity) -> Iterator[Otherwise]:
    """Count what was not taken of a finished test, and what was left out after it was taken."""
    readings = [one for one in readings_of(tx, test.id) if one.quantity == quantity.name and one.ball is not None]
    places = [one for one in places_of(tx, test.id) if one.quantity == quantity.name and one.ball is not None]
    left_out = [one.place for one in readings if one.standing == "excluded"]
    missing = len({one.id for one in places if not one.filled and not one.why} - set(left_out))
    if test.stage == "finished" and missing:
        yield Otherwise("not taken", now=missing)
    if left_out:
        yield Otherwise("left out", now=len(left_out))
