"""What no line of a budget knows: the air that a ball displaces, the drop's height, the load."""

from __future__ import annotations

import numpy as np

from ballbench.findings.measurement_equations import mass_in_vacuum, rebound_from, sphere_volume
from ballbench.quantities.units import UnitError, factor, parse_quantity
from ballbench.records import Bench, Sample

__all__ = ["AIR", "WEIGHTS", "left_out"]

AIR, WEIGHTS = 1.2, 8000.0
"""kg/m3: conventional density of air, and of weights (OIML R 111, from memory)."""


def left_out(sample: Sample, diameter: Sample | None, bench: Bench) -> tuple[str, ...]:
    """Say what the budgets of a quantity do not hold.

    Parameters
    ----------
    sample : Sample
        Readings of the quantity.
    diameter : Sample or None
        Diameters of the same product, where they were read.
    bench : Bench
        Its conditions name the drop height.

    Returns
    -------
    tuple of str
        Sentences without a full stop; empty for quantities whose budget holds all that the bench file can say.
    """
    value = float(np.nanmean(sample.mean))
    if sample.quantity == "mass" and diameter is not None and sample.unit == "g" and diameter.unit == "mm":
        volume = sphere_volume(float(np.nanmean(diameter.mean)))
        more = mass_in_vacuum(weighed=value, air_density=AIR, weights_density=WEIGHTS, volume=volume) - value
        note = "the mass is the one that a scale shows in air; the air that the ball displaces carries "
        return (note + f"{more:.2g} g more, which is not added",)
    if sample.quantity == "rebound":
        height = _length(bench.conditions.get("drop_height", ""), sample.unit)
        if height is not None:
            moved = rebound_from(rebound=value, drop_height=height, asked_height=1.01 * height) - value
            note = "the drop height counts as exact; if it is off by 1 %, so is the rebound, by "
            return (note + f"{moved:.2g} {sample.unit}",)
    return ("the load counts as exact",) if sample.quantity == "deformation" else ()


def _length(text: str, unit: str) -> float | None:
    """Read a length such as ``"305 mm"``; None where it is none, or not above 0."""
    try:
        number, written = parse_quantity(text)
        value = float(number) * factor(written, unit)
    except (UnitError, ValueError):
        return None
    return value if value > 0.0 else None
