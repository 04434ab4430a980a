"""From a sample and the bench to a study: corrections applied, noise and shared errors listed.

Corrections of a length (methods page "instruments"): offset of the instrument; D(Tref) = D_read (1 + a_cal (T - 20)
- a_ball (T - Tref)); squeeze of the make added. What stays uncertain in them is shared by many readings and listed as
`Shared`; a shared error with one level in this sample is taken off after the draws, one with several is part of the
model.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ballbench.records import Bench, Instrument, Sample, instrument_of
from ballbench.statistics.latent import Bounds, Latent, needs_bounds
from ballbench.statistics.posterior import Posterior
from ballbench.statistics.study import Floats, LevelKind, Noise, Study
from ballbench.statistics.thermal_change import thermal_change

__all__ = ["EXTREMES", "Prepared", "Shared", "engine", "prepare", "shared_draws"]

EXTREMES = ("largest found", "smallest found")
NEARLY_NONE = 1e-4
"""A level without an error of its own is given this share of the largest: the model needs a positive SD."""
LENGTHS = ("diameter", "circumference")


@dataclass(frozen=True, slots=True)
class Shared:
    """One level of a shared error.

    Parameters
    ----------
    kind : str
        ``calibration``, ``zero``, ``temperature``, ``expansion`` or ``squeeze``.
    key : str
        Names the level everywhere: products with the same key share the error.
    sd : float
        Signed effect of one standard uncertainty on the readings, base unit.
    weight : float
        Share of it in the error of the product's mean; 1 for a single level.
    """

    kind: str
    key: str
    sd: float
    weight: float = 1.0


@dataclass(frozen=True, slots=True)
class Prepared:
    """A sample ready to be drawn from.

    Parameters
    ----------
    sample : Sample
        As read.
    study : Study
        Corrected cell means and the noise.
    shared : tuple of Shared
        To be taken off each draw.
    instrument : Instrument
        The reference instrument.
    step : float
        Display step, base unit.
    bounds : Bounds or None
        Set where readings are latent: a coarse display, or extremes found by turning.
    correction : float
        What was added to the readings on average by the corrections, base unit.
    notes : tuple of str
        What was done that a reader must know.
    """

    sample: Sample
    study: Study
    shared: tuple[Shared, ...]
    instrument: Instrument
    step: float
    bounds: Bounds | None
    correction: float
    notes: tuple[str, ...]

    @property
    def shared_sd(self) -> float:
        """Standard uncertainty of the product's mean from shared errors."""
        return float(np.sqrt(sum((item.sd * item.weight) ** 2 for item in self.shared)))


def shared_draws(shared: Iterable[Shared], seed: int, start: int, draws: int) -> Floats:
    """Draw the shared error of each draw, (draws,): the same key gives the same numbers wherever it occurs.

    Parameters
    ----------
    shared : iterable of Shared
        The levels.
    seed : int
        Of the whole judgement.
    start : int
        Index of the first draw, so that later rounds go on where earlier ones ended; a multiple of the round's size.
    draws : int
        How many.
    """
    total = np.zeros(draws)
    for item in shared:
        entropy = [seed, start, *item.kind.encode(), 0, *item.key.encode()]
        rng = np.random.Generator(np.random.PCG64(np.random.SeedSequence(entropy)))
        total += item.sd * item.weight * rng.standard_normal(draws)
    return total


@dataclass(frozen=True, slots=True)
class _Level:
    """An instrument, or an instrument in a sitting, that readings of the sample belong to."""

    instrument: Instrument
    sitting: str
    shares: Floats


def _levels(sample: Sample, bench: Bench) -> tuple[list[_Level], list[_Level]]:
    """Instruments, and instruments by sitting, with the share of each cell's readings (n, k)."""
    instruments: list[_Level] = []
    sittings: list[_Level] = []
    for index, (kind, _) in enumerate(sample.levels):
        name, sitting = sample.origins[index]
        level = _Level(instrument_of(bench, sample.quantity, name), sitting, sample.shares[:, :, index])
        (instruments if kind == "instrument" else sittings).append(level)
    return instruments, sittings


def prepare(sample: Sample, bench: Bench, *, noise_factor: float = 1.0, looks_factor: float = 1.0) -> Prepared:
    """Correct the readings and list what is known of their errors.

    Parameters
    ----------
    sample : Sample
        Readings of one product and quantity.
    bench : Bench
        Complete: every instrument that the sample names is in it, or its quantity has a default.
    noise_factor, looks_factor : float
        For seeing what depends on an assumption: the repeatability, and the number of looks, times this.

    Returns
    -------
    Prepared
        Cell means are NaN where nothing was read.
    """
    instruments, sittings = _levels(sample, bench)
    reference = instrument_of(bench, sample.quantity, sample.instrument)
    step = max(reference.resolution, sample.step) if reference.assumed else reference.resolution
    means, counts = sample.mean.copy(), sample.count.astype(float)
    notes: list[str] = []
    before = means.copy()
    variance = np.zeros(counts.shape)
    for level in instruments:
        means -= level.shares * level.instrument.offset
        variance += level.shares * (level.instrument.sd / reference.sd) ** 2
    counts = np.where(counts > 0, counts / np.where(variance > 0, variance, 1.0), 0.0)
    centre = float(np.nanmean(means))
    kinds, shared = _shared_errors(sample, bench, instruments, sittings, centre)
    means = _correct_lengths(sample, bench, sittings, means)
    correction = float(np.nanmean(means - before))
    noise = Noise(reference.sd * noise_factor, reference.dof)
    found = [axis for axis in sample.axes if axis in EXTREMES]
    alike = all(np.isclose(level.instrument.sd, reference.sd) for level in instruments)
    if not alike and sample.sse_dof:
        notes.append("repeats were read with instruments of unlike repeatability and add nothing to the reference's")
    study = Study(
        means[None], counts, np.array([sample.sse if alike else 0.0]), sample.sse_dof if alike else 0, noise,
        prior_scale=max(1e-3 * abs(centre), step),
        axis_effects=_labelled(sample) and not found,
        kinds=tuple(kinds),
    )  # fmt: skip
    bounds = None
    if found:
        looks = max(round(reference.looks * looks_factor), 3)
        study, bounds = _turned(sample, study, step, reference, looks)
        notes.append(f"{looks} directions are taken as looked at before an extreme was written down")
    elif needs_bounds(study, step):
        study, bounds = _coarse(sample, study, means - before, step, reference)
        notes.append("the display is coarse beside the spread, so every reading counts as an interval one step wide")
    elif reference.display == "truncates":
        study = replace(study, means=study.means + 0.5 * step)  # cutting off takes half a step on average
        correction += 0.5 * step
    if bounds is not None and study.kinds:
        names = {kind.name for kind in study.kinds}
        shared = [*(row for row in shared if row.kind not in names), *_as_common(study.kinds)]
        study = replace(study, kinds=())
    return Prepared(sample, study, tuple(shared), reference, step, bounds, correction, tuple(notes))


def engine(prepared: Prepared, rng: np.random.Generator) -> Posterior | Latent:
    """Give what draws the true values of a prepared sample.

    Raises
    ------
    NotConverged
        The sampler for latent readings does not agree with itself.
    """
    if prepared.bounds is None:
        return Posterior(prepared.study)
    return Latent(prepared.study, prepared.bounds, rng)


def _labelled(sample: Sample) -> bool:
    """Whether the axes carry labels, every ball has all of them, and there are balls enough to see their effects."""
    return len(sample.balls) >= 3 and len(sample.axes) >= 2 and all(sample.axes) and bool((sample.count > 0).all())


def _correct_lengths(sample: Sample, bench: Bench, sittings: list[_Level], means: Floats) -> Floats:
    """Bring lengths to the reference temperature and add what the jaws squeezed away."""
    if sample.quantity not in LENGTHS:
        return means
    factor = np.ones(means.shape)
    for level in sittings:
        temperature = bench.sitting_temperatures.get(level.sitting, bench.temperature)
        if temperature is not None and bench.expansion is not None:
            factor += level.shares * thermal_change(
                instrument=temperature.value, ball=temperature.value, reference=temperature.reference,
                expansion=bench.expansion.value,
            )  # fmt: skip
    squeeze = bench.squeeze.get(sample.product)
    add = squeeze.value if squeeze is not None and sample.quantity == "diameter" else 0.0
    return means * factor + add


def _shared_errors(
    sample: Sample, bench: Bench, instruments: list[_Level], sittings: list[_Level], centre: float
) -> tuple[list[LevelKind], list[Shared]]:
    """List shared errors: kinds with several levels in this sample, and everything to take off each draw."""
    groups: dict[str, list[tuple[str, float, Floats]]] = {}
    for level in instruments:
        tool = level.instrument
        sd = float(np.hypot(tool.offset_sd, tool.scale_sd * centre))
        groups.setdefault("calibration", []).append((f"{sample.quantity}/{tool.name}", sd, level.shares))
    for level in sittings:
        tool = level.instrument
        if tool.zeroed == "each sitting":
            key = f"{sample.quantity}/{tool.name}/{level.sitting}"
            groups.setdefault("zero", []).append((key, tool.resolution / np.sqrt(12.0), level.shares))
    if sample.quantity in LENGTHS and bench.expansion is not None:
        _temperature_errors(bench, sittings, centre, groups)
    kinds: list[LevelKind] = []
    shared: list[Shared] = []
    for kind, rows in groups.items():
        levels = _merge_levels(rows)
        levels += _rest(levels, sample.count > 0)
        largest = max((abs(sd) for _, sd, _ in levels), default=0.0)
        if largest == 0.0:
            continue
        levels = [(key, sd or NEARLY_NONE * largest, shares) for key, sd, shares in levels]
        if len(levels) > 1:
            sds = np.array([abs(sd) for _, sd, _ in levels])
            kinds.append(LevelKind(kind, tuple(k for k, _, _ in levels), np.stack([s for _, _, s in levels], 2), sds))
            weights = (1.0 / sds**2) / (1.0 / sds**2).sum()
            shared += [Shared(kind, key, sd, float(w)) for (key, sd, _), w in zip(levels, weights, strict=True)]
        else:
            shared += [Shared(kind, key, sd) for key, sd, _ in levels]
    squeeze = bench.squeeze.get(sample.product)
    if squeeze is not None and sample.quantity == "diameter" and squeeze.sd > 0:
        shared.append(Shared("squeeze", sample.product, squeeze.sd))
    return kinds, shared


def _temperature_errors(
    bench: Bench, sittings: list[_Level], centre: float, groups: dict[str, list[tuple[str, float, Floats]]]
) -> None:
    """Add the errors of the temperature and of the expansion coefficient.

    A temperature given once for all sittings comes from one thermometer and is shared by all; one given for a
    sitting is that sitting's own.
    """
    expansion = bench.expansion
    if expansion is None:
        return
    levers: list[tuple[float, float]] = []
    for level in sittings:
        own = bench.sitting_temperatures.get(level.sitting)
        temperature = own or bench.temperature
        if temperature is None:
            continue
        key = level.sitting if own else "all"
        groups.setdefault("temperature", []).append((key, centre * expansion.value * temperature.sd, level.shares))
        lever = centre * expansion.value * expansion.relative_sd * (temperature.value - temperature.reference)
        levers.append((lever, float(level.shares.sum())))
    if levers:  # one coefficient, and with it one error; its lever is that of the mean temperature
        weight = sum(share for _, share in levers)
        mean = sum(lever * share for lever, share in levers) / weight
        everywhere: Floats = np.sum([level.shares for level in sittings], axis=0)
        groups.setdefault("expansion", []).append(("material", mean, everywhere))


def _merge_levels(rows: list[tuple[str, float, Floats]]) -> list[tuple[str, float, Floats]]:
    """Add up the shares of rows that name the same level."""
    merged: dict[str, tuple[str, float, Floats]] = {}
    for key, sd, shares in rows:
        merged[key] = (key, sd, merged[key][2] + shares if key in merged else shares)
    return list(merged.values())


def _rest(levels: list[tuple[str, float, Floats]], read: NDArray[np.bool_]) -> list[tuple[str, float, Floats]]:
    """Give readings that no level of a kind touches a level without an error."""
    covered: Floats = np.sum([shares for _, _, shares in levels], axis=0)
    rest = np.where(read, 1.0 - covered, 0.0)
    return [("none", 0.0, rest)] if float(rest.max()) > 1e-9 else []


def _as_common(kinds: Iterable[LevelKind]) -> list[Shared]:
    """Count the levels of a kind as one common error of their largest SD: the safe side for a latent study."""
    return [Shared(f"{kind.name} as common", "/".join(kind.keys), float(kind.sd.max())) for kind in kinds]


def _unrounded(noise: Noise, step: float) -> Noise:
    """SD of readings before the display rounds them: sd^2 - step^2 / 12 (GUM F.2.2.1), at least a tenth of a step."""
    return Noise(float(np.sqrt(max(noise.sd**2 - step**2 / 12.0, (0.1 * step) ** 2))), noise.dof)


def _interval(values: Floats, step: float, instrument: Instrument) -> tuple[Floats, Floats]:
    """Bounds of the unrounded reading behind a displayed value."""
    if instrument.display == "truncates":
        return values, values + step
    return values - 0.5 * step, values + 0.5 * step


def _coarse(
    sample: Sample, study: Study, corrected: Floats, step: float, instrument: Instrument
) -> tuple[Study, Bounds]:
    """Every reading becomes an interval one step wide, moved by the cell's correction."""
    n, k = sample.count.shape
    depth = int(sample.count.max())
    values = np.full((n * k, depth), np.nan)
    slot = np.zeros(n * k, np.intp)
    for value, cell in zip(sample.values, sample.cell, strict=True):
        values[cell, slot[cell]] = value
        slot[cell] += 1
    values = values.reshape(n, k, depth) + corrected[:, :, None]
    low, high = _interval(values, step, instrument)
    return replace(study, noise=_unrounded(study.noise, step), sse=np.zeros(1), sse_dof=0), Bounds(low, high)


def _turned(sample: Sample, study: Study, step: float, instrument: Instrument, looks: int) -> tuple[Study, Bounds]:
    """Put written extremes and the hidden looks between them in axes of their own, beside any fixed axes."""
    names = list(sample.axes)
    n, k = sample.count.shape
    hidden = tuple(range(k, k + looks - sum(name in EXTREMES for name in names)))
    total = k + len(hidden)
    means = np.full((n, total), np.nan)
    counts = np.zeros((n, total))
    means[:, :k], counts[:, :k] = study.means[0], study.counts
    middle = np.nanmean(study.means[0], axis=1)
    means[:, k:], counts[:, k:] = middle[:, None], 1.0
    low, high = np.full((n, total, 1), np.nan), np.full((n, total, 1), np.nan)
    coarse = study.noise.sd < 0.5 * step
    if coarse:
        low[:, :k, 0], high[:, :k, 0] = _interval(means[:, :k], step, instrument)
    else:
        low[:, :k, 0] = high[:, :k, 0] = means[:, :k]
    low[:, k:, 0], high[:, k:, 0] = -np.inf, np.inf
    noise = _unrounded(study.noise, step) if coarse else study.noise
    bounds = Bounds(
        low, high,
        names.index(EXTREMES[0]) if EXTREMES[0] in names else None,
        names.index(EXTREMES[1]) if EXTREMES[1] in names else None,
        hidden,
    )  # fmt: skip
    return replace(study, means=means[None], counts=counts, noise=noise, sse=np.zeros(1), sse_dof=0), bounds
