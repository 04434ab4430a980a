"""Check a set-up before anything of it is written: every fault at once, each with the field it is about."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import datetime
from types import MappingProxyType
from typing import TYPE_CHECKING

from ballbench.errors import BadRequest, Fault
from ballbench.quantities.units import same_dimension
from ballbench.records.fault_list import nearest
from ballbench.records.reading_order import MOMENTS
from ballbench.specs import Requirement
from ballbench.workflows.ball_facts import read_moment
from ballbench.workflows.boxes_again import KnownBox, boxes_faults, plain_name
from ballbench.workflows.repeat_study import is_study, study_faults
from ballbench.workflows.what_to_read import base_units, yes_no_quantities

if TYPE_CHECKING:
    from ballbench.workflows.set_up import BoxPlan, InstrumentPlan, QuantityPlan, ReferencePlan, SetUp

__all__ = ["MOST_BALLS", "MOST_PLACES", "check_set_up", "name_fault", "sender_faults", "stated_faults"]

MOST_BALLS = 2_000
MOST_PLACES = 50_000
"""More than a person reads in one test, by far (own choice)."""

_LONGEST = 120
_MOST_AXES = 24
_MOST_REPEATS = 100


def check_set_up(
    request: SetUp,
    requirement: Requirement,
    known: Mapping[int, KnownBox] = MappingProxyType({}),
    *,
    planned: bool = True,
) -> None:
    """Refuse a set-up that cannot be used.

    Parameters
    ----------
    known : mapping of int to KnownBox
        Boxes of the notebook that the request names, those that there are.
    planned : bool
        False: the notebook has no such plan as the request follows.

    Raises
    ------
    BadRequest
        All faults, in the order of the form.
    """
    faults = [*_facts(request, requirement), *boxes_faults(request, known)]
    if not planned:
        faults.append(Fault("plan", f"no plan {request.plan}", "a plan of this notebook", "choose one from the list"))
    faults += [fault for part in (_makes, study_faults, _instruments, _quantities, _references, _surroundings)
               for fault in part(request, requirement)]  # fmt: skip
    if not faults:
        faults = list(_size(request, sum(len(one.balls) for one in known.values())))
    if faults:
        raise BadRequest(faults)


def name_fault(where: str, text: str, what: str) -> Iterator[Fault]:
    """Say what is wrong with a name: empty, too long, or with characters that cannot be printed."""
    allowed = f"a name of 1 to {_LONGEST} printable characters"
    if not text.strip():
        yield Fault(where, "nothing", allowed, f"write {what}")
    elif len(text) > _LONGEST:
        yield Fault(where, f"{len(text)} characters", allowed, "shorten it")
    elif not text.isprintable():
        yield Fault(where, "characters that cannot be printed", allowed, "write it anew, on one line")


def sender_faults(by: str, client: str, at: str) -> Iterator[Fault]:
    """Say what is wrong with the person, the sender or the time of an act; an empty time is now."""
    yield from name_fault("by", by, "who does this: a name or initials")
    if len(client) > _LONGEST or not client.isprintable():
        found = f"{len(client)} characters" if client.isprintable() else "characters that cannot be printed"
        yield Fault("client", found, f"at most {_LONGEST} printable ones", "name it anew")
    if at and read_moment(at) is None:
        yield Fault("at", at[:40], "a time with its zone, such as 2026-11-25T10:00:00+00:00", "correct it")


def stated_faults(title: str, rule: str, risk: float, seed: int | None) -> Iterator[Fault]:
    """Say what is wrong with a test's name, or with what is stated before it is judged."""
    if title:
        yield from name_fault("title", title, "a name for the test")
    if rule not in {"guarded", "simple"}:
        yield Fault("rule", rule or "nothing", "guarded or simple", "choose one of them")
    if not 0.0 < risk < 0.5:
        yield Fault("risk", f"{risk:g}", "a number between 0 and 0.5, such as 0.05", "change it")
    if seed is not None and not 0 <= seed < 2**31:
        yield Fault("seed", str(seed), "a whole number from 0 to 2147483647, or nothing", "change it")


def _facts(request: SetUp, _: Requirement) -> Iterator[Fault]:
    yield from sender_faults(request.by, request.client, request.at)
    yield from stated_faults(request.title, request.rule, request.risk, request.seed)
    if request.kind not in {"whole", "quick"}:
        yield Fault("kind", request.kind or "nothing", "whole or quick", "choose one of them")
    if request.control_every and not 2 <= request.control_every <= MOST_BALLS:
        allowed = f"2 to {MOST_BALLS} balls, or 0 for no control ball"
        yield Fault("control_every", str(request.control_every), allowed, "change it")


def _makes(request: SetUp, _: Requirement) -> Iterator[Fault]:
    for name in request.people:
        yield from name_fault("people", name, "who reads")
    without = is_study(request) and bool(request.references)  # an instrument may be held against pieces alone
    if not request.makes and not request.boxes and not without:
        yield Fault("makes", "none", "at least one box of balls, new or of the notebook", "add a make, or choose a box")
    yield from _twice("makes", [make.make for make in request.makes], "makes", "join them, or name them apart")
    for number, make in enumerate(request.makes, 1):
        where = f"makes {number}"
        yield from name_fault(f"{where}, make", make.make, "the make")
        if not make.boxes:
            yield Fault(f"{where}, boxes", "none", "at least one box", "add a box")
        labels = [one.label for one in make.boxes]
        yield from _twice(f"{where}, boxes", labels, "boxes", "name them apart, as they are marked")
        for position, one in enumerate(make.boxes, 1):
            yield from _box(f"{where}, box {position}", one)


def _box(where: str, one: BoxPlan) -> Iterator[Fault]:
    yield from name_fault(f"{where}, label", one.label, "what the box is called")
    if not 1 <= one.balls <= MOST_BALLS:
        yield Fault(f"{where}, balls", str(one.balls), f"1 to {MOST_BALLS} balls", "count them again")
    elif one.labels and len(one.labels) != one.balls:
        yield Fault(f"{where}, labels", f"{len(one.labels)} names for {one.balls} balls", "a name for each", "count")
    yield from _twice(f"{where}, labels", list(one.labels), "balls", "name them apart, as they are marked")
    for label in one.labels:
        yield from name_fault(f"{where}, labels", label, "the ball's name")
    for name in ("bought", "where", "price", "given_by"):
        if getattr(one, name):
            yield from name_fault(f"{where}, {name}", getattr(one, name), "it")
    if one.bought and not _is_day(one.bought):
        yield Fault(f"{where}, bought", one.bought[:40], "a date such as 2026-11-25", "write year, month and day")


def _is_day(text: str) -> bool:
    """Say whether a text is a date as a file of ball facts has it."""
    try:
        datetime.fromisoformat(text.strip())
    except ValueError:
        return False
    return True


def _instruments(request: SetUp, requirement: Requirement) -> Iterator[Fault]:
    units = base_units(requirement)
    yield from _twice("instruments", [one.name for one in request.instruments], "instruments", "name them apart")
    for number, one in enumerate(request.instruments, 1):
        where = f"instruments {number}"
        yield from name_fault(f"{where}, name", one.name, "the instrument, such as caliper")
        if one.quantity not in units:
            yield _unknown(f"{where}, quantity", one.quantity, units)
        elif not same_dimension(one.unit, units[one.quantity]):
            allowed = f"a unit that can be turned into {units[one.quantity]}"
            yield Fault(f"{where}, unit", one.unit or "nothing", allowed, "correct it")
        yield from _numbers(where, one)


def _numbers(where: str, one: InstrumentPlan) -> Iterator[Fault]:
    """Check the numbers of an instrument."""
    above: Callable[[float], bool] = lambda value: value > 0.0  # noqa: E731 - two rules side by side
    not_below: Callable[[float], bool] = lambda value: value >= 0.0  # noqa: E731 - as above
    rules = (
        ("resolution", one.resolution, above, "above 0"), ("sd", one.sd, above, "above 0"),
        ("dof", one.dof, above, "above 0"), ("offset_sd", one.offset_sd, not_below, "0 or more"),
        ("scale_sd", one.scale_sd, not_below, "0 or more"), ("offset", one.offset, math.isfinite, "any number"),
    )  # fmt: skip
    for name, value, holds, allowed in rules:
        if value is not None and not (math.isfinite(value) and abs(value) < 1e9 and holds(value)):
            yield Fault(
                f"{where}, {name}", f"{value:g}", f"a number {allowed}".replace("number any", "any"), "correct it"
            )
    if one.zeroed not in {"each reading", "each sitting"}:
        yield Fault(f"{where}, zeroed", one.zeroed or "nothing", "each reading or each sitting", "choose one of them")
    if one.display not in {"rounds", "truncates"}:
        yield Fault(f"{where}, display", one.display or "nothing", "rounds or truncates", "choose one of them")


def _quantities(request: SetUp, requirement: Requirement) -> Iterator[Fault]:
    units, yes_no = base_units(requirement), yes_no_quantities(requirement)
    tools = {one.name: one for one in request.instruments}
    if not request.quantities:
        yield Fault("quantities", "none", "at least one quantity to read", "choose one")
    yield from _twice("quantities", [plan.name for plan in request.quantities], "quantities", "take one out")
    for number, plan in enumerate(request.quantities, 1):
        where = f"quantities {number}"
        if plan.name not in units:
            yield _unknown(f"{where}, name", plan.name, units)
            continue
        yield from _reads(where, plan)
        tool = tools.get(plan.instrument)
        if plan.name not in yes_no and (tool is None or tool.quantity != plan.name):
            known = [one.name for one in request.instruments if one.quantity == plan.name]
            allowed = ", ".join(known) or f"an instrument that reads {plan.name}"
            yield Fault(f"{where}, instrument", plan.instrument or "nothing", allowed, "name its instrument")


def _reads(where: str, plan: QuantityPlan) -> Iterator[Fault]:
    if not 1 <= plan.repeats <= _MOST_REPEATS:
        yield Fault(f"{where}, repeats", str(plan.repeats), f"1 to {_MOST_REPEATS}", "change it")
    if len(plan.axes) > _MOST_AXES:
        yield Fault(f"{where}, axes", f"{len(plan.axes)} axes", f"at most {_MOST_AXES}", "take some out")
    yield from _twice(f"{where}, axes", list(plan.axes), "axes", "name them apart")
    for axis in plan.axes:
        yield from name_fault(f"{where}, axes", axis, "where on the ball")


def _references(request: SetUp, requirement: Requirement) -> Iterator[Fault]:
    units = base_units(requirement)
    planned = {plan.name: plan for plan in request.quantities}
    for number, piece in enumerate(request.references, 1):
        where = f"references {number}"
        yield from name_fault(f"{where}, name", piece.name, "the piece, such as steel ball")
        if piece.quantity not in planned or piece.quantity in yes_no_quantities(requirement):
            allowed = "a quantity that is read as a number"
            yield Fault(f"{where}, quantity", piece.quantity or "nothing", allowed, "choose one of the test")
            continue
        yield from _piece(where, piece, planned[piece.quantity], units[piece.quantity])


def _piece(where: str, piece: ReferencePlan, plan: QuantityPlan, unit: str) -> Iterator[Fault]:
    if piece.instrument != plan.instrument:
        yield Fault(f"{where}, instrument", piece.instrument or "nothing", plan.instrument, "name that instrument")
    if not same_dimension(piece.unit, unit):
        allowed = f"a unit that can be turned into {unit}"
        yield Fault(f"{where}, unit", piece.unit or "nothing", allowed, "correct it")
    if not (math.isfinite(piece.value) and 0.0 < piece.value < 1e9):
        yield Fault(f"{where}, value", f"{piece.value:g}", "what the piece is, above 0", "correct it")
    if not (math.isfinite(piece.u) and 0.0 <= piece.u < 1e9):
        yield Fault(f"{where}, u", f"{piece.u:g}", "its standard uncertainty, 0 or more", "correct it")


def _surroundings(request: SetUp, _: Requirement) -> Iterator[Fault]:
    numbers = {"reference_c": request.reference_c, "expansion": request.expansion,
               "expansion_relative_sd": request.expansion_relative_sd}  # fmt: skip
    known = [name for name, value in numbers.items() if value is not None]
    for name in numbers if 0 < len(known) < len(numbers) else ():
        if name not in known:
            yield Fault(name, "nothing", "all of reference_c, expansion and expansion_relative_sd, or none", "add it")
    for name in known:
        value = numbers[name] or 0.0
        if not math.isfinite(value) or abs(value) > 1000.0 or (name != "reference_c" and value < 0.0):
            yield Fault(name, f"{value:g}", "a number that can be true", "correct it")
    for name, text in (request.conditions or {}).items():
        if nearest(name, ("temperature",), 0.8):
            yield Fault("conditions", name, "other conditions than the temperature", "use reference_c")
        yield from name_fault(f"conditions, {name or 'name'}", name, "what the condition is called")
        yield from name_fault(f"conditions, {name or 'value'}", text, "what holds at the bench")


def _size(request: SetUp, again: int) -> Iterator[Fault]:
    balls = again + sum(one.balls for make in request.makes for one in make.boxes)
    reads = sum(max(len(plan.axes), 1) * plan.repeats for plan in request.quantities)
    more = 2 / request.control_every if request.control_every else 0.0
    places = math.ceil(balls * reads * (1.0 + more)) + len(MOMENTS) * len(request.references)
    if balls > MOST_BALLS or places > MOST_PLACES:
        allowed = f"at most {MOST_BALLS} balls and {MOST_PLACES} readings in one test"
        yield Fault("makes", f"{balls} balls, {places} readings", allowed, "split it into several tests")


def _twice(where: str, names: Iterable[str], what: str, todo: str) -> Iterator[Fault]:
    """Find names that a reader of the files takes for one: alike but for capitals, blanks and underscores."""
    seen: set[str] = set()
    for name in names:
        plain = plain_name(name)
        if plain in seen:
            yield Fault(where, f'"{name}" twice', f"{what} of different names", todo)
        seen.add(plain)


def _unknown(where: str, found: str, units: Iterable[str]) -> Fault:
    return Fault(where, found or "nothing", ", ".join(units), "choose one of them")
