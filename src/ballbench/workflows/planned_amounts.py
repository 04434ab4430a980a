"""Amounts that a plan is asked with, what it uses of the bench, and the grid of true makes around its limits."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from ballbench.errors import Fault
from ballbench.findings.planning import Kit, Setting, Terms
from ballbench.quantities.units import UnitError
from ballbench.records.written_units import exact_factor
from ballbench.statistics.preparation import LENGTHS
from ballbench.workflows.what_to_read import limits_of_a_ball

__all__ = ["SIDE", "amount", "bench_notes", "planned_product", "surface_grid"]

SIDE = 10
"""Places along each side of a surface."""
REACH = 4.0
"""The grid of means reaches so many typical spreads beyond the limit that is nearest, and inside it (own choice)."""


def amount(where: str, text: str, base: str, faults: list[Fault], least: float | None = None) -> float | None:
    """Read ``"40.2"`` or ``"1.58 in"`` in the base unit; note a fault and give None where it is no such number."""
    number, unit = text.strip().replace("\N{MINUS SIGN}", "-"), base
    head, _, tail = number.partition(" ")
    if tail.strip():
        number, unit = head, tail.strip()
    allowed = f"a number such as 0.05, with or without a unit; without, it is in {base}"
    try:
        value = float(number)
        value *= 1.0 if unit == base else exact_factor(unit, base)
    except (ValueError, UnitError):
        faults.append(Fault(where, repr(text[:60]), allowed, "write it so"))
        return None
    if not math.isfinite(value) or (least is not None and value < least):
        faults.append(Fault(where, repr(text[:60]), allowed + (", not below 0" if least == 0.0 else ""), "change it"))
        return None
    return value


def planned_product(kit: Kit) -> str:
    """Name the make whose squeeze a plan uses: the only one of the bench, else none of them (a name of its own)."""
    names = list(kit.bench.squeeze)
    return names[0] if len(names) == 1 else "planned"


def bench_notes(terms: Terms, *, compared: bool = False) -> Iterator[str]:
    """Say which numbers of the bench belong to a make or to a sitting, and whether the plan uses them."""
    bench, quantity = terms.kit.bench, terms.kit.quantity
    if quantity == "diameter" and terms.product in bench.squeeze:
        one = bench.squeeze[terms.product]
        yield f"the make is taken to give way as {terms.product} does, by {one.value:g} mm, SD {one.sd:.2g} mm"
        if compared:
            yield "the comparison of two makes takes no squeeze"
    elif quantity == "diameter" and bench.squeeze:
        names = ", ".join(bench.squeeze)
        yield f"no squeeze is used: the bench states it for several makes ({names}), and the plan is for none of them"
    if quantity in LENGTHS and bench.sitting_temperatures:
        used = "that of the whole bench is used" if bench.temperature else "no temperature is used"
        yield f"temperatures of single sittings are not part of the plan; {used}"


def surface_grid(setting: Setting) -> tuple[list[float], list[float]]:
    """Give the true means and the true SDs between balls of a surface.

    Parameters
    ----------
    setting : Setting
        Terms, design and the make in the middle of interest.

    Returns
    -------
    means, spreads : lists of float
        Ten each, base unit: means evenly across the limit of a single ball that is nearest to the make's mean (across
        the mean itself where there is none), three quarters of them on the make's side of it, spreads in equal ratios
        from a quarter of the make's to two and a half times it.
    """
    truth, tool = setting.truth, setting.terms.kit.tool
    limits = [x for x in limits_of_a_ball(setting.terms.requirement, setting.terms.kit.quantity) if x is not None]
    nearest = min(limits, key=lambda limit: abs(limit - truth.mean)) if limits else truth.mean
    typical = math.sqrt(truth.sd**2 + truth.form_sd**2 + tool.offset_sd**2 + tool.sd**2 / setting.design.readings)
    reach = max(REACH * typical, abs(nearest - truth.mean) + typical)
    spread = truth.sd or tool.sd
    inward = 1.0 if truth.mean >= nearest else -1.0
    means = nearest + inward * np.linspace(-0.5 * reach, 1.5 * reach, SIDE)
    return sorted(means.tolist()), (spread * np.geomspace(0.25, 2.5, SIDE)).tolist()
