"""The measurement equations of the bench: from what an instrument shows to the value that is reported.

Every equation takes its inputs by keyword, numbers or arrays of one shape, so that the same equation serves first-order
propagation (`ballbench.quantities.propagation.propagate`) and simulation (`ballbench.quantities.coverage.monte_carlo`).

An error that strikes all readings alike is *one* input of a mean, however many readings the mean is of: that is what
"perfectly correlated" comes to once the common cause has a name (JCGM 100:2008, F.1.2.4, from memory).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np

from ballbench.quantities.coverage import Distribution, Normal, Rectangular, ScaledT
from ballbench.records import Bench, instrument_of
from ballbench.statistics.preparation import LENGTHS, NEARLY_NONE, Prepared, Shared
from ballbench.statistics.thermal_change import thermal_change

__all__ = [
    "Equation",
    "Input",
    "as_shown",
    "equation_of",
    "inputs_of",
    "length_at_reference",
    "mass_in_vacuum",
    "rebound_from",
    "sphere_volume",
    "with_sampling",
]

Kind = Literal["A", "B"]
Equation = Callable[..., Any]


@dataclass(frozen=True, slots=True)
class Input:
    """One input of a measurement equation.

    Parameters
    ----------
    known : Distribution
        What is known of it: its estimate, standard uncertainty and degrees of freedom follow.
    kind : str
        ``A``: from repeated readings; ``B``: by other means (JCGM 100:2008, 2.3.2 and 2.3.3).
    unit : str
        Base unit of the quantity, ``K``, ``1/K`` or ``1``.
    several : int
        Levels behind a shared error, such as two sittings with a zero each; 1 for a single one.
    """

    known: Distribution
    kind: Kind
    unit: str
    several: int = 1


def with_sampling(base: Equation) -> Equation:
    """Add to an equation what other balls, and other places on them, would differ by: `balls` and `places`, both 0."""

    def for_balls_like_these(*, balls: Any, places: Any, **inputs: Any) -> Any:
        return base(**inputs) + balls + places

    return for_balls_like_these


def length_at_reference(
    *,
    reading: Any,
    offset: Any,
    scale: Any,
    zero: Any,
    ball_temperature: Any,
    instrument_temperature: Any,
    expansion: Any,
    squeeze: Any,
    reference: Any,
) -> Any:
    """Give a diameter or circumference at the reference temperature, unsqueezed.

    Parameters
    ----------
    reading, offset, zero, squeeze : float or array
        What is shown, what it shows too much, where its zero stands, how much the jaws took away; one unit.
    scale : float or array
        Relative error of the scale: 1e-4 reads 0.01 % too much.
    ball_temperature, instrument_temperature, reference : float or array
        Degrees Celsius. The scale of a steel instrument is right at 20 degC.
    expansion : float or array
        Linear expansion of the ball's material, 1/K.

    Returns
    -------
    float or array
        In the unit of `reading`.

    Notes
    -----
    D = (y - offset - zero) / (1 + scale) (1 + a_s (T_i - 20) - a_b (T_b - T_ref)) + squeeze, the equation of JCGM
    100:2008, H.1 for one length alone, with a_s = 11.5e-6 per K; methods page "instruments".
    """
    shown = (reading - offset - zero) / (1.0 + scale)
    change = thermal_change(
        instrument=instrument_temperature, ball=ball_temperature, reference=reference, expansion=expansion
    )
    return shown * (1.0 + change) + squeeze


def as_shown(*, reading: Any, offset: Any, scale: Any, zero: Any) -> Any:
    """Give what an instrument shows, freed of its own error: mass, rebound, restitution, deformation, hardness.

    The mass is the one that a scale shows in air, and rebound and deformation are those of the drop and the load that
    were set. Inputs and result in one unit, `scale` relative, as for `length_at_reference`.
    """
    return (reading - offset - zero) / (1.0 + scale)


def rebound_from(*, rebound: Any, drop_height: Any, asked_height: Any) -> Any:
    """Give the rebound from the height that is asked for, from that of another height; one unit.

    h (H_asked / H): a restitution that does not depend on the speed, and no drag. Good for heights that differ by a few
    per cent; it serves to say what an error of the height does.
    """
    return rebound * asked_height / drop_height


def mass_in_vacuum(*, weighed: Any, air_density: Any, weights_density: Any, volume: Any) -> Any:
    """Give the mass of a ball from what a scale shows in air.

    Parameters
    ----------
    weighed : float or array
        What the scale shows, g, set with weights of `weights_density`.
    air_density, weights_density : float or array
        kg/m3.
    volume : float or array
        Of the whole ball, hollow or not, mm3.

    Returns
    -------
    float or array
        g.

    Notes
    -----
    m = W (1 - rho_a / rho_w) + rho_a V: balance of weight and buoyancy on both sides (exact; OIML R 111 writes it with
    the ball's density instead of its volume, from memory).
    """
    return weighed * (1.0 - air_density / weights_density) + 1e-6 * air_density * volume


def sphere_volume(diameter: Any) -> Any:
    """Give the volume of a sphere, pi D^3 / 6, in the cube of the unit of `diameter`."""
    return math.pi * diameter**3 / 6.0


def equation_of(quantity: str) -> Equation:
    """Give the measurement equation of one reading of a quantity."""
    return length_at_reference if quantity in LENGTHS else as_shown


def inputs_of(prepared: Prepared, bench: Bench, *, single: bool) -> dict[str, Input]:
    """List what is known of every input of `equation_of` the quantity, in its base unit.

    Parameters
    ----------
    prepared : Prepared
        The sample and its errors.
    bench : Bench
        Temperatures, expansion and squeeze.
    single : bool
        For one reading: a shared error counts in full. Otherwise for the mean of all readings, where errors with
        several levels count with the weights that the draws give them (`Shared.weight`).

    Returns
    -------
    dict of str to Input
        ``reading`` is that of one displayed reading at the mean of all; exact inputs have standard uncertainty 0.
    """
    sample = prepared.sample
    unit = sample.unit
    tool = prepared.instrument
    reading = _mean_reading(prepared)
    errors = _by_kind(prepared.shared)
    offset, scale = Normal(_mean_offset(prepared, bench), 0.0), Normal(0.0, 0.0)
    calibration = errors.get("calibration", ())
    if len(calibration) == 1 and calibration[0].key == f"{sample.quantity}/{tool.name}":
        offset, scale = replace(offset, sd=tool.offset_sd), replace(scale, sd=tool.scale_sd)
    elif calibration:
        offset = replace(offset, sd=_size(calibration, single=single))
    zeros = errors.get("zero", ())
    half = math.sqrt(3.0) * _size(zeros, single=single)
    alone = bool(zeros) and (single or len(zeros) == 1)
    zero: Distribution = Rectangular(-half, half) if alone else Normal(0.0, half / math.sqrt(3.0))
    found = {
        "reading": _scatter(prepared, reading),
        "offset": Input(offset, "B", unit, max(len(calibration), 1)),
        "scale": Input(scale, "B", "1"),
        "zero": Input(zero, "B", unit, max(len(zeros), 1)),
    }
    if sample.quantity in LENGTHS:
        found |= _thermal_inputs(prepared, bench, errors, reading, single=single)
    return found


def _mean_reading(prepared: Prepared) -> float:
    """Mean of the balls' mean readings; a display that cuts off took half a step on average."""
    mean = float(np.mean(np.nanmean(prepared.sample.mean, axis=1)))
    return mean + (0.5 * prepared.step if prepared.instrument.display == "truncates" else 0.0)


def _mean_offset(prepared: Prepared, bench: Bench) -> float:
    """Offset of the mean reading: that of each instrument by its share of the readings."""
    sample = prepared.sample
    weight = {
        name: float(sample.shares[:, :, i].sum())
        for i, ((kind, _), (name, _)) in enumerate(zip(sample.levels, sample.origins, strict=True))
        if kind == "instrument"
    }
    total = sum(weight.values())
    offsets = {name: instrument_of(bench, sample.quantity, name).offset for name in weight}
    return sum(offsets[name] * share for name, share in weight.items()) / total


def _scatter(prepared: Prepared, reading: float) -> Input:
    """Repeatability of one displayed reading, the repeats in the sample pooled with what the bench file says."""
    study, tool = prepared.study, prepared.instrument
    sd, dof = study.noise.sd, study.noise.dof
    if prepared.bounds is not None:
        sd = math.hypot(sd, prepared.step / math.sqrt(12.0))  # that of the unrounded reading, and the display's
    if study.sse_dof and math.isfinite(dof):
        sd, dof = math.sqrt((dof * sd**2 + float(study.sse[0])) / (dof + study.sse_dof)), dof + study.sse_dof
    known: Distribution = ScaledT(reading, sd, dof) if math.isfinite(dof) else Normal(reading, sd)
    return Input(known, "B" if tool.assumed and not study.sse_dof else "A", prepared.sample.unit)


def _by_kind(shared: tuple[Shared, ...]) -> dict[str, tuple[Shared, ...]]:
    """Shared errors by kind; those of a latent study count as the kind that they are of."""
    kinds: dict[str, list[Shared]] = {}
    for row in shared:
        kinds.setdefault(row.kind.removesuffix(" as common"), []).append(row)
    return {kind: tuple(rows) for kind, rows in kinds.items()}


def _size(rows: tuple[Shared, ...], *, single: bool) -> float:
    """Standard uncertainty that the levels of one error bring to a mean, or typically to one reading."""
    if not rows:
        return 0.0
    if single:
        sizes = np.array([abs(row.sd) for row in rows])
        real = sizes[sizes > 2.0 * NEARLY_NONE * sizes.max()]
        return float(np.sqrt(np.mean(real**2)))
    return math.sqrt(sum((row.sd * row.weight) ** 2 for row in rows))


def _thermal_inputs(
    prepared: Prepared, bench: Bench, errors: dict[str, tuple[Shared, ...]], reading: float, *, single: bool
) -> dict[str, Input]:
    """Temperature, expansion and squeeze of a length.

    The temperature's uncertainty is carried by the ball alone, as in the draws: slightly too much, since the caliper
    expands with it (methods page "instruments").
    """
    sample = prepared.sample
    above, over_20, reference = _mean_temperature(prepared, bench)
    expansion = bench.expansion.value if bench.expansion is not None else 0.0
    warmth, material = errors.get("temperature", ()), errors.get("expansion", ())
    in_kelvin = _size(warmth, single=single) / abs(reading * expansion) if warmth else 0.0
    doubt = _size(material, single=single) / abs(reading * above) if material and above else 0.0
    squeeze = bench.squeeze.get(sample.product) if sample.quantity == "diameter" else None
    pressed = Normal(squeeze.value, squeeze.sd) if squeeze is not None else Normal(0.0, 0.0)
    return {
        "ball_temperature": Input(Normal(reference + above, in_kelvin), "B", "K", max(len(warmth), 1)),
        "instrument_temperature": Input(Normal(20.0 + over_20, 0.0), "B", "K"),
        "expansion": Input(Normal(expansion, doubt), "B", "1/K", max(len(material), 1)),
        "squeeze": Input(pressed, "B", sample.unit),
        "reference": Input(Normal(reference, 0.0), "B", "K"),
    }


def _mean_temperature(prepared: Prepared, bench: Bench) -> tuple[float, float, float]:
    """Mean of T - T_ref and of T - 20 over the readings that were corrected, 0 for the others; and T_ref."""
    sample = prepared.sample
    above = over_20 = total = 0.0
    reference = 20.0
    for i, ((kind, _), (_, sitting)) in enumerate(zip(sample.levels, sample.origins, strict=True)):
        if kind == "instrument":
            continue
        share = float(sample.shares[:, :, i].sum())
        total += share
        known = bench.sitting_temperatures.get(sitting, bench.temperature)
        if known is not None and bench.expansion is not None:
            reference = known.reference
            above += share * (known.value - known.reference)
            over_20 += share * (known.value - 20.0)
    return (above / total, over_20 / total, reference) if total else (0.0, 0.0, reference)
