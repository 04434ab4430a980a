"""A budget for every result of one quantity: one reading, one ball, these balls, balls like these.

Each is the same measurement equation, its inputs propagated to first order (JCGM 100:2008); the equation is simulated
too (JCGM 101:2008), and where the engine has drawn the same mean, its draws stand beside the budget.
"""

from __future__ import annotations

import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ballbench.findings.budget_omissions import left_out
from ballbench.findings.budget_words import budget_sentence, line_words, parting_note
from ballbench.findings.evidence import Evidence
from ballbench.findings.measurement_equations import (
    Equation,
    Input,
    equation_of,
    inputs_of,
    with_sampling,
)
from ballbench.findings.results import BudgetFinding, BudgetLine, FirstOrderCheck, QuantityFinding
from ballbench.quantities.coverage import Normal, ScaledT, monte_carlo_until, numerical_tolerance, validate_first_order
from ballbench.quantities.propagation import Budget, effective_dof, propagate
from ballbench.quantities.uncertain import Uncertain, coverage_factor
from ballbench.quantities.units import factor
from ballbench.records import Bench
from ballbench.statistics.preparation import Prepared
from ballbench.statistics.study import Floats

__all__ = [
    "CONFIDENCE",
    "Sampling",
    "assembled",
    "budgets_of",
    "described",
    "like_these_inputs",
    "mean_variance",
    "parted",
]

CONFIDENCE = 0.95
FEWEST_BALLS = 4
"""Fewer balls give no "balls like these" (methods page "decision")."""
MOST_DRAWS = 400_000
"""Of the check; beyond it the check is said to be provisional (own choice)."""
PARTED = 0.1
"""Expanded uncertainties of budget and draws that differ by more than this are remarked on (own choice)."""
LITTLE = 1e-9
"""Lines with less of the variance than this are not listed: they are rounding of the arithmetic."""
FEW_DOF = 10.0


@dataclass(frozen=True, slots=True)
class Sampling:
    """How balls like these spread, base unit.

    Parameters
    ----------
    balls : float
        SD between balls, freed of noise and form.
    places : float
        SD between the places of a ball, root mean square over the balls; 0 where it was not seen.
    """

    balls: float
    places: float


def described(evidence: Mapping[str, Evidence], bench: Bench, *, check: bool) -> tuple[QuantityFinding, ...]:
    """Describe every quantity of a product, its budgets with it.

    Parameters
    ----------
    evidence : mapping of str to Evidence
        Drawn, by quantity.
    bench : Bench
        As for `ballbench.statistics.preparation.prepare`.
    check : bool
        Also simulate each quantity's largest mean and hold the budget against it.
    """
    found = []
    across = evidence.get("diameter")
    diameter = None if across is None else across.prepared.sample
    for item in evidence.values():
        described = item.describe()
        budgets = _of_evidence(item, bench, check=check)
        notes = left_out(item.prepared.sample, diameter, bench)
        found.append(replace(described, budgets=tuple(replace(one, notes=(*one.notes, *notes)) for one in budgets)))
    return tuple(found)


def _of_evidence(item: Evidence, bench: Bench, *, check: bool) -> tuple[BudgetFinding, ...]:
    """Give the budgets of one quantity in the unit of its clauses, the draws beside them."""
    sampling = None
    if item.n >= FEWEST_BALLS:
        places = item.kept("places")
        sampling = Sampling(float(np.median(item.kept("sb"))), float(np.median(places)) if places.size else 0.0)
    drawn = {"mean of these balls": item.kept("these"), "mean of balls like these": item.kept("mean")}
    seed = item.seed if check else None
    return budgets_of(item.prepared, bench, sampling, drawn, unit=item.unit, seed=seed)


def budgets_of(
    prepared: Prepared,
    bench: Bench,
    sampling: Sampling | None,
    drawn: Mapping[str, Floats],
    *,
    unit: str,
    seed: int | None,
) -> tuple[BudgetFinding, ...]:
    """Give the budgets of one quantity.

    Parameters
    ----------
    prepared : Prepared
        Readings and errors.
    bench : Bench
        Temperatures, expansion, squeeze, instruments.
    sampling : Sampling or None
        None: no budget for balls like these.
    drawn : mapping of str to (N,) float array
        Draws of the means by `BudgetFinding.of`, base unit; what is missing or empty is not compared.
    unit : str
        Of the results, such as that of the clauses.
    seed : int or None
        Of the check by simulation; None: none is made.

    Returns
    -------
    tuple of BudgetFinding
        From one reading up. A mean that would repeat the one before it is left out, and so is every mean of balls that
        were turned for their extremes: their readings are no sample of a ball's places.
    """
    quantity = prepared.sample.quantity
    equation = equation_of(quantity)
    one, all_readings = (inputs_of(prepared, bench, single=single) for single in (True, False))
    wanted: list[tuple[str, Equation, dict[str, Input]]] = [("one reading", equation, one)]
    if prepared.bounds is None or not prepared.bounds.hidden:
        of_ball, of_all = mean_variance(prepared)
        balls = len(prepared.sample.balls)
        if int(prepared.sample.count.sum()) > balls:
            wanted.append(("mean of one ball", equation, _averaged(one, of_ball)))
        if balls > 1:
            wanted.append(("mean of these balls", equation, _averaged(all_readings, of_all)))
        if sampling is not None:
            inputs = like_these_inputs(prepared, bench, sampling)
            wanted.append(("mean of balls like these", with_sampling(equation), inputs))
    checked = "mean of these balls" if len(prepared.sample.balls) > 1 else wanted[-1][0]
    found = []
    for of, formula, inputs in wanted:
        budget = propagate(
            formula, {name: each.known.uncertain(each.unit) for name, each in inputs.items()}, unit=prepared.sample.unit
        )
        check = _check(budget, formula, inputs, prepared, seed, unit) if seed is not None and of == checked else None
        found.append(_finding(of, budget, inputs, prepared, drawn.get(of, np.empty(0)), unit, check))
    return tuple(found)


def mean_variance(prepared: Prepared) -> tuple[float, float]:
    """Variance of a ball's mean (the balls' average), and of the mean of all balls, in units of one reading's.

    A ball's mean is that of its places, each counting once however often it was read; the balls count once likewise.
    """
    counts = prepared.study.counts
    read = counts > 0
    cells = np.where(read, 1.0 / np.where(read, counts, 1.0), 0.0)
    of_balls = cells.sum(axis=1) / read.sum(axis=1) ** 2
    return float(of_balls.mean()), float(of_balls.mean() / counts.shape[0])


def _averaged(inputs: dict[str, Input], variance: float) -> dict[str, Input]:
    """The same inputs, the scatter of the readings averaged; errors that all readings share stay as they are."""
    scatter = inputs["reading"]
    known = scatter.known.uncertain()
    times = float(np.sqrt(variance))
    finite = np.isfinite(known.dof)
    mean = ScaledT(known.value, known.u * times, known.dof) if finite else Normal(known.value, known.u * times)
    return {**inputs, "reading": replace(scatter, known=mean)}


def like_these_inputs(prepared: Prepared, bench: Bench, sampling: Sampling) -> dict[str, Input]:
    """List the inputs of the mean of balls like these: those of these balls, and what sampling adds.

    The balls spread with n - 1 degrees of freedom, the places with n (k - 1), as in an analysis of variance.
    """
    inputs = _averaged(inputs_of(prepared, bench, single=False), mean_variance(prepared)[1])
    read = prepared.study.counts > 0
    n, cells = read.shape[0], int(read.sum())
    of_places = float((1.0 / read.sum(axis=1)).mean() / n)
    unit = prepared.sample.unit
    balls = ScaledT(0.0, sampling.balls / float(np.sqrt(n)), float(n - 1))
    places = ScaledT(0.0, sampling.places * float(np.sqrt(of_places)), float(max(cells - n, 1)))
    return {**inputs, "balls": Input(balls, "A", unit), "places": Input(places, "A", unit)}


def _finding(
    of: str,
    budget: Budget,
    inputs: Mapping[str, Input],
    prepared: Prepared,
    drawn: Floats,
    unit: str,
    check: FirstOrderCheck | None,
) -> BudgetFinding:
    """Put a propagated budget into the unit of the result and into words."""
    base, tool = prepared.sample.unit, prepared.instrument.name
    scale = factor(base, unit)
    lines = []
    for line in budget.lines:
        own = scale if line.unit == base else 1.0
        part = abs(line.contribution) * scale
        if part**2 <= LITTLE * (budget.result.u * scale) ** 2:
            continue
        each = inputs[line.name]
        words = line_words(line.name, tool, each.several)
        u_unit = unit if line.unit == base else line.unit
        slope = line.sensitivity * scale / own
        lines.append(BudgetLine(line.name, words, each.kind, line.u * own, u_unit, slope, part, line.dof, 0.0))
    made = assembled(of, unit, budget.result.value * scale, lines, drawn * scale, tool)
    return replace(made, check=check, notes=parted(made, prepared))


def parted(budget: BudgetFinding, *sides: Prepared) -> tuple[str, ...]:
    """Say what the draws know that a budget does not, where both differ by more than `PARTED`."""
    if budget.drawn_expanded is None or abs(budget.drawn_expanded / budget.expanded - 1.0) <= PARTED:
        return ()
    return (
        parting_note(
            coarse=any(side.bounds is not None for side in sides),
            several=any(row.weight != 1.0 for side in sides for row in side.shared),
            few_dof=any(side.study.noise.dof < FEW_DOF for side in sides),
            sampled=any(line.name.startswith("balls") for line in budget.lines),
        ),
    )


def assembled(of: str, unit: str, value: float, lines: Sequence[BudgetLine], drawn: Floats, tool: str) -> BudgetFinding:
    """Combine lines to a budget.

    Parameters
    ----------
    of, unit : str
        As in `BudgetFinding`.
    value : float
        The result.
    lines : sequence of BudgetLine
        Independent of each other; their shares are worked out here.
    drawn : (N,) float array
        Draws of the same result by the engine, in `unit`; empty: none.
    tool : str
        Name of the instrument.

    Returns
    -------
    BudgetFinding
        u by JCGM 100:2008, equation (10); degrees of freedom by (G.2b); U by G.3.2.
    """
    total = float(np.sqrt(sum(line.contribution**2 for line in lines)))
    dof = effective_dof([line.contribution for line in lines], [line.dof for line in lines])
    shared = [replace(line, share=(line.contribution / total) ** 2 if total else 0.0) for line in lines]
    shared.sort(key=lambda line: -line.share)
    dominant = _dominant(shared)
    result = Uncertain(value, total, dof, unit)
    drawn_u = drawn_expanded = None
    if drawn.size:
        low, high = np.quantile(drawn, [(1.0 - CONFIDENCE) / 2.0, (1.0 + CONFIDENCE) / 2.0])
        drawn_u, drawn_expanded = float(np.std(drawn, ddof=1)), float(high - low) / 2.0
    return BudgetFinding(
        of=of, unit=unit, value=value, u=total, dof=dof, factor=coverage_factor(dof, CONFIDENCE),
        expanded=result.expanded(CONFIDENCE), confidence=CONFIDENCE, lines=tuple(shared), dominant=dominant,
        sentence=budget_sentence(shared, dominant, tool, of), drawn_u=drawn_u, drawn_expanded=drawn_expanded,
    )  # fmt: skip


def _dominant(lines: Sequence[BudgetLine]) -> str:
    """Name the cause with more than half of the variance; in a difference both products' lines of a kind are one."""
    causes: dict[str, float] = {}
    for line in lines:
        cause = line.name.partition(" ")[0]
        causes[cause] = causes.get(cause, 0.0) + line.share
    return next((cause for cause, share in causes.items() if share > 0.5), "")


def _check(
    budget: Budget, equation: Equation, inputs: Mapping[str, Input], prepared: Prepared, seed: int, unit: str
) -> FirstOrderCheck | None:
    """Simulate the equation and hold the budget's interval against it; None where nothing is uncertain."""
    if budget.result.u == 0.0:
        return None
    sample = prepared.sample
    entropy = [seed, zlib.crc32(sample.product.encode()), zlib.crc32(sample.quantity.encode()), zlib.crc32(b"budget")]
    rng = np.random.Generator(np.random.PCG64(np.random.SeedSequence(entropy)))
    tolerance = numerical_tolerance(budget.result.u, 1) / 5.0
    known = {name: each.known for name, each in inputs.items()}
    run = monte_carlo_until(equation, known, tolerance, rng, CONFIDENCE, most=MOST_DRAWS)
    held = validate_first_order(budget, run.coverage, digits=1)
    scale = factor(sample.unit, unit)
    return FirstOrderCheck(
        run.coverage.low * scale, run.coverage.high * scale, held.d_low * scale, held.d_high * scale,
        held.delta * scale, held.validated, run.settled, run.coverage.draws,
    )  # fmt: skip
