"""Simulated tests: balls of a known make, read with the planned instrument, shown on its display.

What the instrument does to a ball is followed forward, the other way round from `statistics.preparation`: the squeeze
takes something away, the temperature stretches ball and caliper, the calibration adds its offset and scale, each
reading its own noise, and the display rounds. Every simulated test draws each of these anew from what the bench leaves
open; the SD of the noise too, from the scaled inverse chi distribution of its degrees of freedom.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ballbench.findings.planning.designs import Design, Kit, TruthAt
from ballbench.records import Bench, Expansion, Instrument, Sample, Temperature
from ballbench.statistics.preparation import LENGTHS
from ballbench.statistics.study import Floats
from ballbench.statistics.thermal_change import thermal_change

__all__ = ["SharedErrors", "draw_balls", "draw_shared", "read_balls", "sample_from"]

PLACES = ("seam", "across", "free")
LEAST_NOISE = 0.1
"""Share of a display step below which noise hidden by the rounding is not taken to fall."""


@dataclass(frozen=True, slots=True)
class SharedErrors:
    """What is common to all readings of a test, one value for each of T tests; base unit.

    Parameters
    ----------
    offset, scale : (T,) float arrays
        Reading = offset + (1 + scale) times the size between the jaws.
    stretch : (T,) float array
        Size at the bench over size at the reference temperature, as the caliper sees it.
    noise : (T,) float array
        True SD of unrounded readings.
    """

    offset: Floats
    scale: Floats
    stretch: Floats
    noise: Floats


def draw_balls(truth: TruthAt, balls: int, axes: int, tests: int, rng: np.random.Generator) -> Floats:
    """True values of the balls, (T, n, k): level of the ball, and form at the place with the ball's own form SD."""
    level = truth.mean + truth.sd * rng.standard_normal((tests, balls, 1))
    form = truth.form_sd * np.exp(truth.form_spread * rng.standard_normal((tests, balls, 1)))
    values: Floats = level + form * rng.standard_normal((tests, balls, axes))
    return values


def draw_shared(kit: Kit, tests: int, rng: np.random.Generator) -> SharedErrors:
    """Draw what is common to all readings of each test, and the true noise."""
    tool = kit.tool
    offset = tool.offset + tool.offset_sd * rng.standard_normal(tests)
    scale = tool.scale_sd * rng.standard_normal(tests)
    if tool.zeroed == "each sitting":
        offset = offset + tool.resolution * rng.uniform(-0.5, 0.5, tests)
    shown = tool.sd * np.sqrt(tool.dof / rng.chisquare(tool.dof, tests))
    least = (LEAST_NOISE * tool.resolution) ** 2
    noise = np.sqrt(np.maximum(shown**2 - tool.resolution**2 / 12.0, least))
    return SharedErrors(offset, scale, _stretch(kit.bench, kit.quantity, tests, rng), noise)


def _stretch(bench: Bench, quantity: str, tests: int, rng: np.random.Generator) -> Floats:
    """Size that the instrument finds over size at the reference temperature, (T,)."""
    temperature: Temperature | None = bench.temperature
    expansion: Expansion | None = bench.expansion
    if quantity not in LENGTHS or temperature is None or expansion is None:
        return np.ones(tests)
    warm = temperature.value + temperature.sd * rng.standard_normal(tests)
    ball = expansion.value * (1.0 + expansion.relative_sd * rng.standard_normal(tests))
    change = thermal_change(instrument=warm, ball=warm, reference=temperature.reference, expansion=ball)
    return np.asarray(1.0 / (1.0 + change))


def read_balls(
    kit: Kit, product: str, values: Floats, repeats: int, shared: SharedErrors, rng: np.random.Generator
) -> Floats:
    """What the display shows, (T, n, k, r), of true values (T, n, k).

    The squeeze of the make, where the bench states one, is drawn anew for each test.
    """
    tests = values.shape[0]
    squeeze = kit.bench.squeeze.get(product) if kit.quantity == "diameter" else None
    lost = np.zeros(tests)
    if squeeze is not None:
        lost += squeeze.value + squeeze.sd * rng.standard_normal(tests)

    def wide(row: Floats) -> Floats:
        return row[:, None, None]

    between = (values - wide(lost)) * wide(shared.stretch)
    centre = wide(shared.offset) + (1.0 + wide(shared.scale)) * between
    noise = shared.noise[:, None, None, None] * rng.standard_normal((*values.shape, repeats))
    return _shown(centre[..., None] + noise, kit.tool)


def _shown(readings: Floats, tool: Instrument) -> Floats:
    """Readings as the display shows them."""
    steps = readings / tool.resolution
    whole = np.floor(steps) if tool.display == "truncates" else np.rint(steps)
    return np.asarray(whole * tool.resolution)


def sample_from(kit: Kit, product: str, design: Design, readings: Floats) -> Sample:
    """Give one simulated test, readings (n, k, r), the form in which the judging takes readings."""
    n, k, r = readings.shape
    tool, name = kit.tool, kit.instrument
    mean = readings.mean(axis=2)
    about = readings - mean[:, :, None]
    axes = tuple(PLACES[j] if j < len(PLACES) else f"place {j + 1}" for j in range(k)) if design.named else ("",) * k
    cell = np.repeat(np.arange(n * k, dtype=np.int64), r)
    return Sample(
        product=product, quantity=kit.quantity, unit=tool.unit,
        balls=tuple(str(i + 1) for i in range(n)), boxes=("",) * n, axes=axes,
        mean=mean, count=np.full((n, k), r, np.int64), sse=float((about**2).sum()), sse_dof=n * k * (r - 1),
        shares=np.ones((n, k, 2)), levels=(("instrument", name), ("sitting", f"{name}/1")),
        origins=((name, ""), (name, "1")), instrument=name, step=tool.resolution,
        values=readings.ravel(), cell=cell, line=np.arange(cell.size, dtype=np.int64) + 2,
    )  # fmt: skip
