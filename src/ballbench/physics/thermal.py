"""The diameter of a ball at another temperature than that at which it was read."""

from __future__ import annotations

import math
from dataclasses import dataclass

from ballbench.errors import BadRequest, Fault, NotFound
from ballbench.quantities.propagation import Budget, propagate
from ballbench.quantities.uncertain import Uncertain
from ballbench.statistics.thermal_change import STEEL_EXPANSION, thermal_change

__all__ = ["EXPANSIONS", "GAUGE_STEEL", "Expansion", "at_reference", "expansion_of"]

GAUGE_STEEL = Uncertain(STEEL_EXPANSION, 1.2e-6, unit="1/K")
"""Expansion of a steel caliper: that of the gauge block in JCGM 100:2008, H.1 (second-hand)."""


@dataclass(frozen=True, slots=True)
class Expansion:
    """Linear expansion of a material as one source gives it.

    Parameters
    ----------
    material : str
        Its name in the trade.
    low, high : float
        1/K; equal where the source gives one number.
    source : str
        Where it stands.
    seen : str
        ``opened`` or ``second-hand``: how the number came here.
    """

    material: str
    low: float
    high: float
    source: str
    seen: str


def _row(material: str, low: float, high: float, source: str, seen: str = "opened") -> Expansion:
    return Expansion(material, low * 1e-6, high * 1e-6, source, seen)


_WEB_A = "web table of polymers, in Chinese"
_WEB_B = "web table of thermal expansion of plastics"
_WEB_C = "web database of polymer properties"
_WEB_D = "web page of materials of a plastics shop"
_PHYSICS = "Springer Handbook of Condensed Matter and Materials Data, tables 3.3-6 and 3.3-23"
_SCIENCE = "Callister, Materials Science and Engineering, table B.6"

EXPANSIONS: tuple[Expansion, ...] = (
    _row("cellulose nitrate", 100.0, 100.0, _WEB_A),
    _row("cellulose nitrate", 80.0, 120.0, _WEB_A),
    _row("cellulose nitrate", 65.0, 160.0, _WEB_B),
    _row("cellulose acetate", 130.0, 130.0, _WEB_A),
    _row("cellulose acetate", 80.0, 180.0, _WEB_B),
    _row("cellulose acetate", 100.0, 120.0, _PHYSICS),
    _row("ABS", 73.8, 73.8, _WEB_A),
    _row("ABS", 53.0, 110.0, _WEB_B),
    _row("ABS", 70.0, 150.0, _WEB_C),
    _row("ABS", 72.0, 72.0, _WEB_D),
    _row("polypropylene", 121.0, 121.0, _WEB_D),
    _row("polypropylene", 81.0, 100.0, _WEB_B),
    _row("polypropylene", 146.0, 180.0, _SCIENCE),
    _row("polypropylene", 143.0, 143.0, _PHYSICS),
    _row("styrene-butadiene rubber", 220.0, 220.0, _SCIENCE),
    _row("nitrile rubber", 235.0, 235.0, _SCIENCE),
    _row("silicone rubber", 270.0, 270.0, _SCIENCE),
    _row("polycarbonate", 122.0, 122.0, _SCIENCE),
    _row("acrylic", 90.0, 162.0, _SCIENCE),
    _row("PVC", 90.0, 180.0, _SCIENCE),
    _row("polystyrene", 90.0, 150.0, _SCIENCE),
    _row("low-density polyethylene", 180.0, 400.0, _SCIENCE),
    _row("high-density polyethylene", 106.0, 198.0, _SCIENCE),
    _row("steel", 11.0, 11.0, _WEB_D),
    _row("steel", 11.5, 11.5, "JCGM 100:2008, H.1, gauge blocks", "second-hand"),
)
"""Published numbers, 1/K. Sources of one material differ by up to a factor of two and more."""

_LEAST = 0.2
"""Relative standard uncertainty of an expansion from a table, at least: one number in one source does not say which
recipe a ball is made of (own choice)."""


def expansion_of(material: str) -> Uncertain:
    """Give the expansion of a material as the published numbers leave it.

    Parameters
    ----------
    material : str
        A name of `EXPANSIONS`.

    Returns
    -------
    Uncertain
        1/K: the middle of all sources and their whole range as a rectangle, at least 20 per cent of it (own choice);
        for steel `GAUGE_STEEL`.

    Raises
    ------
    NotFound
        A material that is not in the table.
    """
    rows = [row for row in EXPANSIONS if row.material == material]
    if not rows:
        known = ", ".join(dict.fromkeys(row.material for row in EXPANSIONS))
        raise NotFound(Fault("material", f'"{material}"', f"one of: {known}", "give the expansion itself in 1/K"))
    if material == "steel":
        return GAUGE_STEEL
    low, high = min(row.low for row in rows), max(row.high for row in rows)
    middle = (low + high) / 2.0
    return Uncertain(middle, max((high - low) / math.sqrt(12.0), _LEAST * middle), math.inf, "1/K")


def at_reference(
    reading: Uncertain,
    temperature: Uncertain,
    reference: float,
    ball_expansion: Uncertain,
    *,
    caliper_expansion: Uncertain = GAUGE_STEEL,
    ball_temperature: Uncertain | None = None,
) -> Budget:
    """Bring a diameter to the temperature at which a requirement holds.

    Parameters
    ----------
    reading : Uncertain
        As the caliper shows it, mm.
    temperature : Uncertain
        At the bench, degC.
    reference : float
        At which the requirement holds, degC.
    ball_expansion, caliper_expansion : Uncertain
        Linear, 1/K.
    ball_temperature : Uncertain or None
        degC, where the ball has another one than the bench, such as after a warm hand; None: the same.

    Returns
    -------
    Budget
        Diameter at the reference temperature, mm, and what makes it uncertain.

    Raises
    ------
    BadRequest
        Temperatures or expansions that no bench has.

    Notes
    -----
    D = y (1 + a_cal (T - 20) - a_ball (T_ball - T_ref)), first order in the expansions; uncertainty by JCGM 100:2008,
    5.1.2. Where ball and bench have one temperature, its uncertainty acts on both, and the caliper takes a part back.
    """
    faults = [
        Fault(f"at_reference, {name}", f"{value:g}", "-30 to 60 degC", "give degrees Celsius")
        for name, value in (
            ("temperature", temperature.value), ("reference", reference),
            ("ball_temperature", (ball_temperature or temperature).value),
        )
        if not -30.0 <= value <= 60.0
    ]  # fmt: skip
    faults += [
        Fault(f"at_reference, {name}", f"{value:g}", "0 to 0.001 1/K", "give 9e-5 for 90 millionths a kelvin")
        for name, value in (("ball_expansion", ball_expansion.value), ("caliper_expansion", caliper_expansion.value))
        if not 0.0 <= value <= 1e-3
    ]
    if faults:
        raise BadRequest(faults)
    given = {
        "reading": reading, "temperature": temperature, "ball_expansion": ball_expansion,
        "caliper_expansion": caliper_expansion,
    }  # fmt: skip
    if ball_temperature is not None:
        given["ball_temperature"] = ball_temperature

    def length(
        reading: float,
        temperature: float,
        ball_expansion: float,
        caliper_expansion: float,
        ball_temperature: float | None = None,
    ) -> float:
        ball = temperature if ball_temperature is None else ball_temperature
        change = thermal_change(
            instrument=temperature, ball=ball, reference=reference, expansion=ball_expansion, steel=caliper_expansion
        )
        return reading * (1.0 + float(change))

    return propagate(length, given, unit="mm")
