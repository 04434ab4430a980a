"""The repeat study: how well an instrument in these hands reads these balls."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

from ballbench.errors import BadRequest, Fault
from ballbench.statistics.anova import AnovaTable, crossed_anova
from ballbench.statistics.coarse_repeats import COARSE, HiddenNoise, hidden_noise
from ballbench.statistics.reml import RemlFit, reml
from ballbench.statistics.repeat_readings import RepeatCells, repeat_cells
from ballbench.statistics.spread import sd_interval
from ballbench.statistics.variance_pivots import VarianceDraws, chi_square_points, pivot_estimates, variance_draws

__all__ = ["Component", "RepeatStudy", "repeat_study"]

Array = NDArray[np.float64]

DUST = 1e-12
"""A variance below this part of that of all readings and the squared step is the error of arithmetic, and is 0."""
WHOLE = 1e-3
"""How far, in steps, a reading may be from a whole number of steps: written decimals are exact to far less."""


@dataclass(frozen=True, slots=True)
class Component:
    """One source of difference between readings.

    Parameters
    ----------
    sd : float
        Standard deviation, in the unit of the readings; 0 where the estimate of the variance is negative.
    low, high : float
        Interval of it at the confidence of the study.
    dof : float
        Effective degrees of freedom of `sd`; NaN where `sd` is 0.
    raw : float
        Estimate of the variance before a negative one was put to 0, in the squared unit.
    negative : bool
        Whether that was done: readings differ less than their noise alone lets expect.
    """

    sd: float
    low: float
    high: float
    dof: float
    raw: float
    negative: bool


@dataclass(frozen=True, slots=True)
class RepeatStudy:
    """What a repeat study found.

    Parameters
    ----------
    repeatability : Component
        The same person, the same part. Of displayed readings, unless `coarse`.
    person, interaction, reproducibility : Component or None
        People differ on average; they differ from ball to ball; both together. None with one person, with people who
        read no part in common, and the interaction also with one part, with no repeats, or left out.
    ball : Component or None
        Between parts; None with one part.
    total : Component
        One reading by anybody of these hands: repeatability and reproducibility.
    method : str
        ``"ANOVA"`` of a balanced study, otherwise ``"REML"``: how person, interaction and ball were estimated.
    pooled : bool
        Whether the interaction was left out at the caller's word.
    table : AnovaTable or None
        Of a balanced study.
    fit : RemlFit or None
        Of one that is not balanced; with a coarse display the noise in it is at least that before rounding.
    readings, parts, people : int
        How many.
    resolution : float or None
        Step of the display, as given.
    coarse : bool
        The display hides the noise: `repeatability` is then the noise before rounding, from intervals of one step, and
        belongs into a bench file with ``includes_rounding = false``; the other components are bounds that allow for
        rounding by one step over the square root of 12.
    confidence : float
        Of all intervals.
    notes : tuple of str
        What else has to be said.
    """

    repeatability: Component
    person: Component | None
    interaction: Component | None
    reproducibility: Component | None
    ball: Component | None
    total: Component
    method: str
    pooled: bool
    table: AnovaTable | None
    fit: RemlFit | None
    readings: int
    parts: int
    people: int
    resolution: float | None
    coarse: bool
    confidence: float
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Evidence:
    """What the components are made of, in the order noise, interaction, person, ball.

    `raw`: (4,) variances by expectation, negative ones too, NaN where the design says nothing; `kept`: (4,) the
    estimates, none below 0; `covariance`: (4, 4) of them; `draws` and `raised`: as `variance_draws` gives them, the
    second for upper limits of negative estimates; `rounding`: variance that the display may hide or add.
    """

    raw: Array
    kept: Array
    covariance: Array
    draws: VarianceDraws
    raised: VarianceDraws
    rounding: float
    confidence: float


def repeat_study(
    values: ArrayLike,
    parts: ArrayLike,
    people: ArrayLike | None = None,
    *,
    resolution: float | None = None,
    pool_interaction: bool = False,
    confidence: float = 0.95,
) -> RepeatStudy:
    """Take readings of the same parts by the same people apart into their sources.

    Parameters
    ----------
    values : (N,) array_like of float
        Readings, one unit, finite.
    parts : (N,) array_like
        Which part each reading is of, by number or name: a ball, or a place of a ball where several are read.
    people : (N,) array_like, optional
        Who read it; left out: one person.
    resolution : float, optional
        Step of the display, in the unit of the readings. Needed where repeats are all equal.
    pool_interaction : bool
        Count what people do differently from ball to ball as noise of repeats. Off unless asked for: an interaction
        that a test does not see may still be there, and its interval says how large.
    confidence : float
        Of the intervals, between 0 and 1.

    Returns
    -------
    RepeatStudy
        Any numbers of readings a cell, empty cells too.

    Raises
    ------
    BadRequest
        Arrays that do not fit, nothing read twice, no spread and no `resolution`, arguments out of range.
    NotConverged
        The fit of an unbalanced study did not end.

    Notes
    -----
    ``docs/methods/repeat-study.md``. Estimates: expected mean squares of a balanced study, otherwise restricted maximum
    likelihood. Intervals: chi-square for the repeatability, generalised pivotal quantities for the rest.
    """
    cells = repeat_cells(values, parts, people)
    _check(cells, resolution, confidence)
    crossed = not pool_interaction and cells.within_dof > 0 and cells.interaction_dof > 0
    ss, dof = (cells.within_ss, cells.within_dof) if crossed else (cells.additive_ss, cells.total - cells.rank)
    variance = ss / dof
    hidden = _hidden(cells, resolution, confidence)
    dust = DUST * (float(np.var(np.concatenate(cells.readings))) + (resolution or 0.0) ** 2)
    raw = _vector(pivot_estimates(cells, variance, interaction=crossed))
    raw[1:] = _without_dust(raw[1:], dust)
    table = crossed_anova(cells, pool_interaction=pool_interaction) if cells.balanced else None
    fit = None
    if table is not None:
        kept, covariance = np.maximum(raw, 0.0), _covariance(table, cells)
    else:
        seen = cells if hidden is None else replace(cells, within_ss=max(ss, dof * hidden.sd**2))
        fit = reml(seen, (max(raw[0], seen.within_ss / dof), raw[1], raw[2], raw[3]), interaction=crossed)
        kept, covariance = np.array([raw[0], fit.interaction, fit.person, fit.ball]), fit.covariance.copy()
        covariance[0, 0] = 2.0 * raw[0] ** 2 / dof
    kept[1:] = _without_dust(kept[1:], dust)
    if hidden is not None:
        kept[0], covariance[0, 0] = hidden.sd**2, 2.0 * hidden.sd**4 / hidden.dof
    noise_points, *others = chi_square_points(cells, dof)
    noise = ss / noise_points if hidden is None else hidden.draws(stats.chi2.sf(noise_points, dof)) ** 2
    points = (others[0], others[1], others[2])
    draws = variance_draws(cells, noise, points, interaction=crossed)
    below = bool(np.any(raw < 0.0))
    raised = variance_draws(cells, noise, points, interaction=crossed, at_least_zero=True) if below else draws
    rounding = 0.0 if hidden is None or resolution is None else resolution**2 / 12.0
    evidence = _Evidence(raw, kept, covariance, draws, raised, rounding, confidence)
    between = (1, 2) if crossed else (2,)
    return RepeatStudy(
        repeatability=_repeatability(variance, dof, hidden, confidence),
        person=_component(evidence, (2,), "person"),
        interaction=_component(evidence, (1,), "interaction") if crossed else None,
        reproducibility=_component(evidence, between, "reproducibility"),
        ball=_component(evidence, (3,), "ball"),
        total=_total(evidence, between),
        method="ANOVA" if table is not None else "REML",
        pooled=pool_interaction and cells.interaction_dof > 0,
        table=table,
        fit=fit,
        readings=cells.total,
        parts=cells.n_parts,
        people=cells.n_people,
        resolution=resolution,
        coarse=hidden is not None,
        confidence=confidence,
        notes=_notes(cells, crossed, pool_interaction, hidden, resolution),
    )


def _without_dust(variances: Array, dust: float) -> Array:
    """Put variances to 0 that are nothing but the error of arithmetic; NaN stays."""
    return np.where(np.abs(variances) < dust, 0.0, variances)


def _vector(draws: VarianceDraws) -> Array:
    """The one value of each variance, in order."""
    return np.array([float(x[0]) for x in (draws.repeatability, draws.interaction, draws.person, draws.ball)])


def _covariance(table: AnovaTable, cells: RepeatCells) -> Array:
    """Covariance of the estimates from mean squares, each of which has the variance 2 ms^2/dof."""
    n = int(cells.counts[0])
    names = [row.source for row in table.rows]
    spread = np.array([2.0 * row.ms**2 / row.dof for row in table.rows[:-1]])
    weights = np.zeros((4, spread.size))
    noise = names.index("repeats")
    crossed = names.index("people x balls") if "people x balls" in names else noise
    weights[0, noise] = 1.0
    if crossed != noise:
        weights[1, crossed], weights[1, noise] = 1.0 / n, -1.0 / n
    for at, source, size in ((2, "people", n * cells.n_parts), (3, "balls", n * cells.n_people)):
        if source in names:
            weights[at, names.index(source)], weights[at, crossed] = 1.0 / size, -1.0 / size
    found: Array = (weights * spread) @ weights.T
    return found


def _component(evidence: _Evidence, at: tuple[int, ...], name: str) -> Component | None:
    """Put a component together out of the variances `at`; None where one of them is unknown."""
    return _known(evidence, at, name) if np.all(np.isfinite(evidence.raw[list(at)])) else None


def _known(evidence: _Evidence, at: tuple[int, ...], name: str) -> Component:
    """Put a component together out of variances that are all known."""
    raws, kept = evidence.raw[list(at)], evidence.kept[list(at)]
    tail = (1.0 - evidence.confidence) / 2.0
    upper = evidence.raised if np.any(raws < 0.0) else evidence.draws
    low = float(np.quantile(getattr(evidence.draws, name), tail)) - evidence.rounding
    high = float(np.quantile(getattr(upper, name), 1.0 - tail)) + evidence.rounding
    variance = float(kept.sum())
    used = np.array(at)[kept > 0.0]
    unsure = float(evidence.covariance[np.ix_(used, used)].sum())
    dof = 2.0 * variance**2 / unsure if variance > 0.0 and unsure > 0.0 else math.nan
    return Component(
        sd=math.sqrt(variance),
        low=math.sqrt(max(min(low, variance), 0.0)),
        high=math.sqrt(max(high, variance)),
        dof=dof,
        raw=float(raws.sum()),
        negative=bool(np.any(kept == 0.0)),
    )


def _total(evidence: _Evidence, between: tuple[int, ...]) -> Component:
    """One reading by anybody; people who cannot be compared are left out of it."""
    return _known(evidence, (0, *(k for k in between if math.isfinite(evidence.raw[k]))), "total")


def _repeatability(variance: float, dof: int, hidden: HiddenNoise | None, confidence: float) -> Component:
    """Noise of repeats: exact by chi-square, or what a coarse display leaves to be said."""
    if hidden is not None:
        return Component(hidden.sd, hidden.low, hidden.high, hidden.dof, variance, negative=False)
    interval = sd_interval(math.sqrt(variance), dof, confidence)
    return Component(math.sqrt(variance), interval.low, interval.high, float(dof), variance, negative=False)


def _hidden(cells: RepeatCells, resolution: float | None, confidence: float) -> HiddenNoise | None:
    """Noise from intervals of one step, where the display is coarse beside it."""
    if resolution is None or cells.within_dof == 0:
        return None
    if math.sqrt(cells.within_ss / cells.within_dof) >= COARSE * resolution:
        return None
    return hidden_noise(cells, resolution, confidence)


def _check(cells: RepeatCells, resolution: float | None, confidence: float) -> None:
    """Say all that stands against an answer."""
    faults = []
    where = "repeat study"
    if not 0.0 < confidence < 1.0:
        faults.append(Fault("confidence", str(confidence), "a number between 0 and 1", "give 0.95 for 95 %"))
    if resolution is not None and not (0.0 < resolution < math.inf):
        faults.append(Fault("resolution", str(resolution), "above 0", "give the step of the display"))
        resolution = None
    flat = cells.within_ss == 0.0 and cells.within_dof > 0
    if flat and resolution is None and not faults:
        found, allowed = "repeats that are all equal, and no step of the display", "a step, or repeats that differ"
        faults.append(Fault(where, found, allowed, "give the step of the display as resolution"))
    if resolution is not None and cells.within_dof > 0:
        steps = (np.concatenate(cells.readings) - cells.readings[0][0]) / resolution
        coarse = math.sqrt(cells.within_ss / cells.within_dof) < COARSE * resolution
        if coarse and np.any(np.abs(steps - np.rint(steps)) > WHOLE):
            found = f"readings that are no whole steps of {resolution:g} apart"
            faults.append(Fault(f"{where}, resolution", found, "the step of the display", "correct the step"))
    if faults:
        raise BadRequest(faults)


def _notes(
    cells: RepeatCells, crossed: bool, pooled: bool, hidden: HiddenNoise | None, resolution: float | None
) -> tuple[str, ...]:
    """What has to be said beside the numbers."""
    notes = []
    if cells.n_people == 1:
        notes.append("one person read: what other people would read is not tested")
    elif cells.person_dof == 0:
        notes.append("no two people read the same part, so people and balls cannot be told apart")
    elif pooled and cells.interaction_dof > 0:
        notes.append("what people do differently from ball to ball is counted as noise of repeats, as asked for")
    elif cells.within_dof == 0:
        notes.append("nobody read a part twice: repeatability includes what people do differently from ball to ball")
    elif not crossed:
        notes.append("the difference between people includes what they do differently from ball to ball")
    if cells.n_parts == 1:
        notes.append("one part was read: nothing is said of differences between balls")
    if hidden is not None and resolution is not None:
        same = "repeats are all equal" if cells.within_ss == 0.0 else "repeats differ by under half a step"
        notes.append(
            f"{same}: the display of {resolution:g} hides the noise, which is given as before rounding; the other "
            "limits allow for rounding of their own"
        )
    elif resolution is not None and cells.within_dof == 0:
        notes.append("without repeats it is not checked whether the display hides noise")
    return tuple(notes)
