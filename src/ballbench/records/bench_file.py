"""The bench file: instruments, conditions, material and squeeze, all checked at once."""

from __future__ import annotations

import math
from collections.abc import Mapping
from pathlib import Path
from typing import Literal

from ballbench.errors import BadBench
from ballbench.quantities.kinds import KINDS
from ballbench.quantities.units import UnitError
from ballbench.records.bench import Bench, Expansion, Instrument, Squeeze, Temperature
from ballbench.records.default_instruments import ASSUMED_DOF, default_instrument
from ballbench.records.fault_list import FaultList, nearest, quoted
from ballbench.records.toml_fields import Fields, load_toml
from ballbench.records.written_units import exact_factor

__all__ = ["read_bench"]

_TOP = ("instrument", "conditions", "sitting", "material", "squeeze")
_INSTRUMENT = ("quantity", "unit", "resolution", "repeatability", "calibration", "zeroed", "display", "looks")
_TEMPERATURE_UNITS = {
    "degC": (1.0, 0.0),
    "°C": (1.0, 0.0),
    "C": (1.0, 0.0),
    "K": (1.0, -273.15),
    "degF": (5 / 9, -160 / 9),
}
"""Scale and shift to degC: T/K - 273.15 by definition of the degree Celsius; (T/degF - 32) * 5/9."""


def read_bench(path: Path, declared: Mapping[str, str] | None = None) -> Bench:
    """Read a bench file.

    Parameters
    ----------
    path : Path
        TOML: ``[instrument.NAME]``, ``[conditions]``, ``[sitting.NAME]``, ``[material]``, ``[squeeze."PRODUCT"]``.
    declared : mapping of str to str, or None
        Further quantities with their base unit, from the requirement.

    Returns
    -------
    Bench
        Every number in the base unit of its quantity. Where ``includes_rounding`` is false, the variance of the
        display's rounding, step squared over 12, is added to the SD's (JCGM 100:2008, 4.3.7 and F.2.2.1; a display that
        truncates has the same variance).

    Raises
    ------
    BadBench
        All faults at once: unknown keys with the nearest known one, negative SDs, units that do not fit.
    """
    name, content = load_toml(path, BadBench)
    faults = FaultList()
    top = Fields(name, "", content, faults)
    top.known(_TOP)
    bases = {**(declared or {}), **{kind.name: kind.unit for kind in KINDS.values()}}
    assumptions: list[str] = []
    instruments = {
        key: instrument
        for key, fields in top.tables("instrument").items()
        if (instrument := _instrument(key, fields, bases, assumptions)) is not None
    }
    conditions = top.table("conditions")
    temperature = _temperature(conditions, None) if conditions else None
    bench = Bench(
        instruments=instruments,
        temperature=temperature,
        sitting_temperatures=_sittings(top, temperature),
        expansion=_expansion(top),
        squeeze=_squeezes(top),
        conditions=_conditions(conditions),
        assumptions=tuple(assumptions),
    )
    has_temperature = bench.temperature is not None or bool(bench.sitting_temperatures)
    if has_temperature and bench.expansion is None and "material" not in content:
        found = "a temperature without the material's expansion"
        todo = "add expansion = { value = 9e-5, relative_sd = 0.2 } with the material's own numbers"
        Fields(name, "[material]", {}, faults).fault("", found, "both, or neither", todo)
    faults.raise_if_any(BadBench)
    return bench


def _instrument(name: str, fields: Fields, bases: Mapping[str, str], assumptions: list[str]) -> Instrument | None:
    """Read one instrument; None where it is wrong."""
    before = fields.faults.total
    fields.known(_INSTRUMENT)
    fields.missing(("quantity", "unit", "resolution"))
    quantity, unit = fields.text("quantity"), fields.text("unit")
    resolution = fields.number("resolution", above=0.0)
    looks = fields.number("looks", least=1.0)
    zeroed = fields.text("zeroed", ("each reading", "each sitting"))
    display = fields.text("display", ("rounds", "truncates"))
    if looks is not None and looks != round(looks):
        fields.fault("looks", f"{looks:g}", "a whole number", "give the number of directions")
    scale, base = _unit(fields, quantity, unit, bases)
    sd, dof = _repeatability(name, fields, resolution, assumptions)
    offset, offset_sd, scale_sd = _calibration(fields)
    if fields.faults.total > before or quantity is None or unit is None or resolution is None:
        return None
    usual = default_instrument(quantity, base, resolution * scale)
    if sd is None:
        assumptions.append(
            f"The bench file gives no repeatability for {name}: {usual.sd:.3g} {base} is taken. {_PRACTICE}"
        )
    if offset_sd is None:
        assumptions.append(
            f"The bench file gives no offset_sd for {name}: a shared offset uncertainty of {usual.offset_sd:.3g} "
            f"{base} is taken. {_PRACTICE}"
        )
    return Instrument(
        name=name,
        quantity=quantity,
        unit=base,
        resolution=resolution * scale,
        sd=usual.sd if sd is None else sd * scale,
        dof=usual.dof if sd is None else dof,
        offset=offset * scale,
        offset_sd=usual.offset_sd if offset_sd is None else offset_sd * scale,
        scale_sd=scale_sd,
        zeroed=_zeroed(zeroed),
        display="truncates" if display == "truncates" else "rounds",
        looks=12 if looks is None else int(looks),
        assumed=sd is None,
    )


_PRACTICE = "Common practice, no source."


def _zeroed(text: str | None) -> Literal["each reading", "each sitting"]:
    return "each sitting" if text == "each sitting" else "each reading"


def _unit(fields: Fields, quantity: str | None, unit: str | None, bases: Mapping[str, str]) -> tuple[float, str]:
    """Give the factor to the base unit, and the base unit."""
    if quantity is None or unit is None:
        return 1.0, ""
    if quantity not in bases:
        meant = nearest(quantity, bases)
        if meant is not None:
            fields.fault("quantity", quoted(quantity), ", ".join(bases), f'write "{meant}"')
        return 1.0, unit
    base = bases[quantity]
    try:
        return exact_factor(unit, base), base
    except UnitError:
        fields.fault("unit", quoted(unit), f"a unit that can be turned into {base}", "correct the unit or the quantity")
        return 1.0, base


def _repeatability(
    name: str, fields: Fields, resolution: float | None, assumptions: list[str]
) -> tuple[float | None, float]:
    """Give the SD of displayed readings, None where the file gives none, and its degrees of freedom."""
    part = fields.table("repeatability")
    if part is None:
        return None, ASSUMED_DOF
    part.known(("sd", "dof", "includes_rounding"))
    part.missing(("sd",))
    sd, dof = part.number("sd", least=0.0), part.number("dof", above=0.0)
    rounded = part.flag("includes_rounding")
    if sd is None or resolution is None:
        return sd, ASSUMED_DOF
    if rounded is False:
        sd = math.sqrt(sd**2 + resolution**2 / 12.0)
    elif sd == 0.0:
        allowed = "larger than 0, or includes_rounding = false"
        part.fault("sd", "0", allowed, "a display hides what is smaller than its step: add includes_rounding = false")
    if rounded is None and "includes_rounding" not in part.values:
        assumptions.append(f"The repeatability of {name} is taken as that of displayed readings, rounding included.")
    if dof is None and "dof" not in part.values:
        assumptions.append(f"The repeatability of {name} is taken with {ASSUMED_DOF:g} degrees of freedom. {_PRACTICE}")
    return sd, ASSUMED_DOF if dof is None else dof


def _calibration(fields: Fields) -> tuple[float, float | None, float]:
    """Give offset, its uncertainty (None: not given) and the scale's relative uncertainty."""
    part = fields.table("calibration")
    if part is None:
        return 0.0, None, 0.0
    part.known(("offset", "offset_sd", "scale_sd"))
    offset = part.number("offset") or 0.0
    return offset, part.number("offset_sd", least=0.0), part.number("scale_sd", least=0.0) or 0.0


def _temperature(fields: Fields, of_bench: Temperature | None) -> Temperature | None:
    """Read a temperature; its reference may stand at the bench's."""
    part = fields.table("temperature")
    if part is None:
        return None
    part.known(("value", "sd", "reference", "unit"))
    needed = ("value", "sd") if of_bench is not None else ("value", "sd", "reference")
    missing = part.missing(needed)
    scale, shift = _TEMPERATURE_UNITS[part.text("unit", tuple(_TEMPERATURE_UNITS)) or "degC"]
    value, sd, reference = part.number("value"), part.number("sd", least=0.0), part.number("reference")
    if missing or value is None or sd is None:
        return None
    if reference is None:
        return Temperature(value * scale + shift, sd * scale, of_bench.reference) if of_bench is not None else None
    return Temperature(value * scale + shift, sd * scale, reference * scale + shift)


def _sittings(top: Fields, of_bench: Temperature | None) -> dict[str, Temperature]:
    """Read the temperatures of single sittings."""
    found = {}
    for name, fields in top.tables("sitting").items():
        fields.known(("temperature",))
        fields.missing(("temperature",))
        temperature = _temperature(fields, of_bench)
        if temperature is not None:
            found[name] = temperature
    return found


def _conditions(fields: Fields | None) -> dict[str, str]:
    """Give every condition but the temperature as text."""
    conditions = {}
    for key, value in fields.values.items() if fields else ():
        if key == "temperature" or fields is None:
            continue
        if nearest(key, ("temperature",), 0.8):
            fields.fault(key, "an unknown key", "temperature, or a condition of its own name", 'write "temperature"')
        elif isinstance(value, dict | list):
            fields.fault(key, quoted(value), 'a text such as "305 mm", or a number', "write it as one text")
        else:
            conditions[key] = str(value).strip()
    return conditions


def _expansion(top: Fields) -> Expansion | None:
    """Read the material's linear expansion, 1/K."""
    material = top.table("material")
    if material is None:
        return None
    material.known(("expansion",))
    material.missing(("expansion",))
    part = material.table("expansion")
    if part is None:
        return None
    part.known(("value", "relative_sd"))
    missing = part.missing(("value", "relative_sd"))
    value, relative_sd = part.number("value", least=0.0), part.number("relative_sd", least=0.0)
    return None if missing or value is None or relative_sd is None else Expansion(value, relative_sd)


def _squeezes(top: Fields) -> dict[str, Squeeze]:
    """Read the squeeze of each make, mm."""
    found = {}
    for product, fields in top.tables("squeeze").items():
        fields.known(("value", "sd", "unit"))
        missing = fields.missing(("value", "sd"))
        value, sd, unit = fields.number("value", least=0.0), fields.number("sd", least=0.0), fields.text("unit") or "mm"
        try:
            scale = exact_factor(unit, "mm")
        except UnitError:
            fields.fault("unit", quoted(unit), "a unit of length such as mm or um", "correct the unit")
            continue
        if not missing and value is not None and sd is not None:
            found[product] = Squeeze(value * scale, sd * scale)
    return found
