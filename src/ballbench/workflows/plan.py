"""Plan a test: which design is enough, what a change would buy, what a comparison could tell, how many of a box."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import product
from pathlib import Path

from ballbench.errors import BadRequest, Fault
from ballbench.findings.box_plans import box_plan
from ballbench.findings.cautions import cautions_for
from ballbench.findings.deciding import Rule
from ballbench.findings.footing import Footing
from ballbench.findings.plan_words import plan_sentences
from ballbench.findings.planning import (
    Design,
    Gain,
    HowMany,
    Kit,
    Place,
    Setting,
    SettingChances,
    ShapeCaught,
    Surface,
    TellingApart,
    Terms,
    TruthAt,
    Two,
    shapes_caught,
    smallest_design,
    surface,
    tell_apart,
    what_it_would_buy,
)
from ballbench.findings.plans import Plan
from ballbench.findings.qualification import RoundBallFound
from ballbench.findings.qualifying.round_balls import round_balls
from ballbench.quantities.kinds import KINDS
from ballbench.records import Bench, Instrument, default_instrument, read_bench
from ballbench.specs import Requirement, find_requirement
from ballbench.workflows.planned_amounts import amount, bench_notes, planned_product, surface_grid
from ballbench.workflows.what_to_read import base_units, limits_of_a_ball

__all__ = ["DEFAULT_RESOLUTION", "PlanRequest", "Progress", "designs_of", "plan", "plan_with"]

Progress = Callable[[str, int, int], None]
"""Told what is worked on, how much of it is done, and how much there is; first of all 0 of 0, when it is begun."""

SHAPE_SEED = 1
"""Of the shapes that axes are tried on: what they catch is the same in every plan, so its last digit is too."""
LEAST_AXES = 2
"""One axis has no variation."""
MOST_DESIGNS = 60
MOST_BALLS = 1000
MOST_TESTS = 20_000
DEFAULT_RESOLUTION = {"diameter": 0.01, "circumference": 1.0, "mass": 0.01}
"""Display step that is taken where no bench file says it, base unit of the quantity (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class PlanRequest:
    """What a person asks of `plan`.

    Parameters
    ----------
    spec : str
        An id of the catalogue or a path to a requirement file.
    true_mean, true_sd, true_form_sd : str
        The make that the tests are taken to meet: number with or without unit; the base unit then. An empty mean is
        the middle between the limits of a single ball.
    quantity : str
        Empty: diameter if the requirement has a clause on it, else its first quantity.
    bench : Path or None
        Instruments and conditions; None: usual ones, and said so.
    instrument : str
        Which, where the bench has several for the quantity.
    balls, axes, repeats : tuple of int
        Every combination is a design.
    form_spread : float
        SD of the natural logarithm of the balls' form SDs; 0: all balls are alike.
    wanted : float
        Chance of a right answer that is enough.
    difference : str
        A difference of means that a comparison of two such makes is to tell; empty: no comparison.
    gains, surface : bool
        Also simulate what a change would buy, and the chances over mean and spread.
    boxes : tuple of int
        Balls in a box or consignment, each with a counting plan; 0: very many.
    bad_share : float
        Share of bad balls that the counting plans are to notice.
    rule, risk : str, float
        Decision rule.
    tests, seed : int
        Simulated at each setting, and the seed.
    processes : int or None
        So many of this machine; None: all.
    workers : str
        Address of a Dask scheduler; empty: this machine.
    accept_unverified : bool
        Limits from memory may decide.
    """

    spec: str
    true_mean: str
    true_sd: str
    true_form_sd: str = "0"
    quantity: str = ""
    bench: Path | None = None
    instrument: str = ""
    balls: tuple[int, ...] = (6, 12, 24)
    axes: tuple[int, ...] = (3,)
    repeats: tuple[int, ...] = (1,)
    form_spread: float = 0.0
    wanted: float = 0.9
    difference: str = ""
    gains: bool = False
    surface: bool = False
    boxes: tuple[int, ...] = ()
    bad_share: float = 0.1
    rule: str = "guarded"
    risk: float = 0.05
    tests: int = 400
    seed: int = 1
    processes: int | None = None
    workers: str = ""
    accept_unverified: bool = False


def plan(request: PlanRequest, progress: Progress | None = None) -> Plan:
    """Plan a test of one quantity against a requirement.

    Parameters
    ----------
    request : PlanRequest
        What is asked.
    progress : callable, optional
        Told how far the work is.

    Returns
    -------
    Plan
        The same for the same request, wherever it ran.

    Raises
    ------
    BadInput
        A file or an option cannot be used, all faults at once; or no clause can be tested.
    """
    requirement = find_requirement(request.spec)
    bench = Bench() if request.bench is None else read_bench(request.bench, base_units(requirement))
    return plan_with(requirement, bench, request, progress)


def plan_with(requirement: Requirement, stated: Bench, request: PlanRequest, progress: Progress | None = None) -> Plan:
    """Plan with a requirement and a bench that were read already; those of the request are not looked at.

    Raises
    ------
    BadInput
        As `plan`.
    """
    quantity = _quantity(request, requirement)
    bench, assumptions = _bench(stated, quantity, requirement)
    kit = Kit(quantity, bench, request.instrument)
    truth = _checked(request, requirement, quantity, kit)
    terms = Terms(requirement, kit, Rule(request.rule, request.risk), planned_product(kit), request.accept_unverified)
    return plan_on(terms, truth, request, assumptions, progress)


def plan_on(
    terms: Terms, truth: TruthAt, request: PlanRequest, assumptions: tuple[str, ...], progress: Progress | None = None
) -> Plan:
    """Plan on terms that were read already: requirement, kit and rule."""
    place = Place(request.processes, request.workers)
    told = _Told(progress)
    kit, requirement = terms.kit, terms.requirement
    terms = replace(terms, in_question=max(request.balls))
    how_many = smallest_design(
        terms, _designs(request), truth, request.wanted, request.tests, request.seed, place, told("designs")
    )
    chosen = how_many.best
    setting = Setting(terms, chosen.design, truth)
    gains: tuple[Gain, ...] = ()
    if request.gains:
        gains = what_it_would_buy(setting, request.tests, request.seed, place, told("changes"), chosen)
    over = _surface(setting, request, place, told("surface")) if request.surface else None
    telling = _telling(setting, request, place, told("comparison")) if request.difference else None
    boxes = tuple(box_plan(lot or None, request.bad_share) for lot in request.boxes)
    judged = {clause.clause for clause in chosen.clauses}
    lower, upper = limits_of_a_ball(requirement, kit.quantity)
    caught, round_ball = _form(chosen.design, kit.tool, request.seed)
    result = Plan(
        requirement=requirement, quantity=kit.quantity, unit=kit.tool.unit, instrument=kit.tool,
        lower=lower, upper=upper, rule=request.rule, risk=request.risk, truth=truth, tests=request.tests,
        seed=request.seed, settings=how_many.tried, how_many=how_many, gains=gains, surface=over, telling=telling,
        boxes=boxes, sentence="", sentences=(),
        clauses=tuple((clause.id, clause.text) for clause in requirement.clauses if clause.id in judged),
        footing=Footing(
            False, assumptions, cautions_for(requirement, [kit.quantity]),
            (*_notes(how_many, requirement), *bench_notes(terms, compared=bool(request.difference))),
        ),
        sample_size=requirement.sample_size, caught=caught, round_ball=round_ball,
    )  # fmt: skip
    sentence, *rest = plan_sentences(result)
    return replace(result, sentence=sentence, sentences=tuple(rest))


class _Told:
    """Progress of several pieces of work, each by its name."""

    def __init__(self, progress: Progress | None) -> None:
        self._progress = progress

    def __call__(self, what: str) -> Callable[[int, int], None] | None:
        progress = self._progress
        if progress is None:
            return None
        progress(what, 0, 0)
        return lambda done, total: progress(what, done, total)


def _quantity(request: PlanRequest, requirement: Requirement) -> str:
    """Give the quantity that is planned for."""
    have = list(dict.fromkeys(clause.quantity for clause in requirement.clauses if clause.count is None))
    if not request.quantity:
        if not have:
            found = "counts of yes/no results only"
            raise BadRequest(Fault(request.spec, found, "a clause on a measured quantity", "plan it by --box"))
        return "diameter" if "diameter" in have else have[0]
    if request.quantity not in have:
        todo = "choose one of them"
        raise BadRequest(Fault("option --quantity", request.quantity, ", ".join(have) or "none", todo))
    return request.quantity


def _bench(bench: Bench, quantity: str, requirement: Requirement) -> tuple[Bench, tuple[str, ...]]:
    """Give the bench that is planned with, complete for the quantity, and what was assumed."""
    units = base_units(requirement)
    if any(tool.quantity == quantity for tool in bench.instruments.values()):
        return bench, bench.assumptions
    step = DEFAULT_RESOLUTION.get(quantity)
    unit = KINDS[quantity].unit if quantity in KINDS else units[quantity]
    if step is None:
        found = f"no instrument for {quantity}"
        todo = "give its resolution and repeatability in a bench file"
        raise BadRequest(Fault("option --bench", found, "a bench file with one", todo))
    tool = default_instrument(quantity, unit, step)
    said = (
        f"No instrument is stated for {quantity}: a {tool.name} of {tool.resolution:g} {unit} display steps is taken, "
        f"repeatability SD {tool.sd:.2g} {unit}, shared offset uncertainty {tool.offset_sd:.2g} {unit}. Common "
        "practice, no source; qualify your own instrument, for the answer rests on it."
    )
    return replace(bench, instruments={**bench.instruments, tool.name: tool}), (*bench.assumptions, said)


def _checked(request: PlanRequest, requirement: Requirement, quantity: str, kit: Kit) -> TruthAt:
    """Read the true make, and refuse all that is out of range at once."""
    unit = kit.tool.unit
    faults = list(_option_faults(request))
    low, high = limits_of_a_ball(requirement, quantity)
    mean = None
    if request.true_mean.strip():
        mean = amount("option --true-mean", request.true_mean, unit, faults)
    elif low is not None and high is not None:
        mean = 0.5 * (low + high)
    else:
        found, todo = "nothing, and no limits on both sides", "say what mean the make may have"
        faults.append(Fault("option --true-mean", found, f"a number in {unit}", todo))
    sd = amount("option --true-sd", request.true_sd, unit, faults, least=0.0)
    form = amount("option --true-form-sd", request.true_form_sd or "0", unit, faults, least=0.0)
    if request.difference:
        amount("option --difference", request.difference, unit, faults, least=0.0)
    if faults or mean is None or sd is None or form is None:
        raise BadRequest(faults)
    return TruthAt(mean, sd, form, request.form_spread)


def _option_faults(request: PlanRequest) -> Iterator[Fault]:
    """Say which options are out of range."""
    yield from _design_faults(request)
    if not 20 <= request.tests <= MOST_TESTS:
        yield Fault("option --tests", str(request.tests), f"20 to {MOST_TESTS}", "change it")
    if request.seed < 0:
        yield Fault("option --seed", str(request.seed), "a number from 0 up", "change it")
    if not 0.0 < request.risk < 0.5:
        yield Fault("option --risk", str(request.risk), "a number between 0 and 0.5, such as 0.05", "change it")
    if request.rule not in ("guarded", "simple"):
        yield Fault("option --rule", request.rule, "guarded or simple", "choose one of them")
    if not 0.0 < request.wanted < 1.0:
        yield Fault("option --wanted", str(request.wanted), "a chance between 0 and 1, such as 0.9", "change it")
    if not 0.0 <= request.form_spread <= 2.0:
        yield Fault("option --form-spread", str(request.form_spread), "a number from 0 to 2", "change it")
    if request.boxes and not 0.0 < request.bad_share < 1.0:
        yield Fault("option --bad-share", str(request.bad_share), "a share between 0 and 1, such as 0.1", "change it")
    if any(lot < 0 or lot > 10_000_000 for lot in request.boxes):
        yield Fault("option --box", str(request.boxes), "a number of balls, or 0 for very many", "change it")
    if request.processes is not None and not 1 <= request.processes <= 256:
        yield Fault("option --processes", str(request.processes), "a number from 1 to 256", "change it")


def _design_faults(request: PlanRequest) -> Iterator[Fault]:
    """Say which numbers of balls, axes and repeats cannot be, and whether there are too many designs."""
    for name, values, most in (
        ("balls", request.balls, MOST_BALLS), ("axes", request.axes, 60), ("repeats", request.repeats, 60),
    ):  # fmt: skip
        if not values or not all(1 <= value <= most for value in values):
            found = ", ".join(map(str, values)) or "nothing"
            yield Fault(f"option --{name}", found, f"whole numbers from 1 to {most}, such as 6,12,24", "change it")
    designs = len(request.balls) * len(request.axes) * len(request.repeats)
    if designs > MOST_DESIGNS:
        yield Fault("designs", str(designs), f"at most {MOST_DESIGNS} combinations", "ask for fewer at once")


def _designs(request: PlanRequest) -> list[Design]:
    return [Design(n, k, r) for n, k, r in dict.fromkeys(product(request.balls, request.axes, request.repeats))]


def designs_of(request: PlanRequest) -> int:
    """Count the designs that a request asks for, each once."""
    return len(_designs(request))


def _surface(
    setting: Setting, request: PlanRequest, place: Place, progress: Callable[[int, int], None] | None
) -> Surface:
    means, spreads = surface_grid(setting)
    tests = max(request.tests // 4, 20)
    return surface(
        setting.terms, setting.design, setting.truth, means, spreads, "sd", tests, 3 * tests, request.seed, place,
        progress,
    )  # fmt: skip


def _telling(
    setting: Setting, request: PlanRequest, place: Place, progress: Callable[[int, int], None] | None
) -> TellingApart | None:
    """Simulate a comparison of two makes of the design; None for a single ball of each."""
    if setting.design.balls < 2:
        return None
    unit = setting.terms.kit.tool.unit
    difference = amount("option --difference", request.difference, unit, [], least=0.0) or 0.0
    two = Two(setting.terms.kit, setting.design, setting.truth, setting.truth)
    asked = sorted({0.0, *(difference * share for share in (0.5, 1.0, 1.5, 2.0))})
    return tell_apart(two, asked, 0.8, request.tests, request.seed, place, progress)


def _form(design: Design, tool: Instrument, seed: int) -> tuple[tuple[ShapeCaught, ...], tuple[RoundBallFound, ...]]:
    """Give what the axes of a design, and one and two more, show of form; nothing for anything but diameters."""
    if tool.quantity != "diameter":
        return (), ()
    axes = tuple(k for k in range(design.axes, design.axes + 3) if k >= LEAST_AXES)
    return shapes_caught(axes, SHAPE_SEED), round_balls(tool, axes, seed)


def _notes(how_many: HowMany, requirement: Requirement) -> tuple[str, ...]:
    """Say what must be known of the plan."""
    notes = [*requirement.notes]
    left_out: dict[str, str] = {}
    for setting in how_many.tried:
        left_out |= setting.left_out
    notes += [f"{clause} is not part of the plan: {reason}" for clause, reason in left_out.items()]
    full = sum(setting.in_full for setting in how_many.tried)
    if full:
        notes.append(f"{full} simulated tests were judged one by one, as their display is coarse beside the noise")
    if any(_is_rough(setting) for setting in how_many.tried):
        notes.append("chances are known to a few per cent; ask for more tests where it matters")
    return tuple(dict.fromkeys(notes))


def _is_rough(setting: SettingChances) -> bool:
    return math.isfinite(setting.right.se) and setting.right.se > 0.02
