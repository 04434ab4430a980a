"""From the words of a request to what flights are worked out with: ball, air, gravity, drag, contact, drop height."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TypeVar

from ballbench.errors import BadRequest, Fault
from ballbench.findings.bouncing.results import BounceSettings
from ballbench.physics.air import (
    air_density_of,
    air_viscosity,
    inside_range,
    standard_pressure,
    weighed_in_air,
)
from ballbench.physics.local_gravity import ANYWHERE, local_gravity
from ballbench.physics.sphere_drag import flight_drag
from ballbench.physics.vertical_flight import Faller
from ballbench.quantities.uncertain import Uncertain
from ballbench.records import Bench
from ballbench.workflows.flight_words import FlightWords
from ballbench.workflows.stated_quantities import stated_ball, stated_quantity, stated_temperature

__all__ = ["DRAG_U", "Prepared", "settings_of", "true_mass"]

DRAG_U = 0.10
"""Relative standard uncertainty of the drag coefficient where none is stated (own choice): correlations for smooth
spheres and measured points differ by up to 6 %, and flights after a bounce are unsteady and meet their own wake."""
_AIR_T, _AIR_P, _AIR_H = Uncertain(21.0, 3.0), Uncertain(1e5, 3e3), Uncertain(0.5, 0.2)
"""A room of which nothing is said: degC; Pa, up to about 700 m of altitude; humidity (own choice)."""
_WEATHER = 1000.0
"""SD of the weather about the standard pressure of an altitude, Pa (own choice)."""
_CONTACTS = (
    (50.0, Uncertain(1.0e-3, 0.4e-3)), (100.0, Uncertain(5.0e-3, 2.0e-3)), (math.inf, Uncertain(12.0e-3, 5.0e-3)),
)  # fmt: skip
"""Up to which diameter, mm, a ball touches the plate how long, s (own choice: about 1 ms for a ball of 40 mm, 5 ms for
one of 65 mm and 8 to 16 ms for inflated ones are from memory)."""
_DENSEST = 23_000.0
"""kg/m3; the densest metal, osmium, has some 22 600 (from memory)."""
_SPEED_GUESS = 3.0
_ANY_ALTITUDE = 500.0
"""Standard uncertainty of an altitude that is not said, m (own choice)."""
_FREE_AIR = 3.086e-6
"""What gravity loses with height, m/s2 a metre (from memory)."""
_LATITUDE = re.compile(r"^\s*([+-]?)(\d+(?:\.\d+)?)\s*(?:deg(?:rees)?\b|°)?\s*([NS]?)\s*$", re.IGNORECASE)
_BARE = re.compile(r"^\s*[+-]?\d+(?:\.\d+)?\s*$")
_COARSEST = 5.0
"""An input that is known less well than to a fifth says nothing here (own choice)."""

Read = TypeVar("Read")


@dataclass(frozen=True, slots=True)
class Prepared:
    """Settings, the air's viscosity, Pa s, and in words what was not said."""

    settings: BounceSettings
    viscosity: float
    assumptions: tuple[str, ...]


@dataclass(slots=True)
class _Reader:
    """Reads texts, and keeps faults until all are found."""

    bench: Mapping[str, str]
    faults: list[Fault] = field(default_factory=list)
    assumptions: list[str] = field(default_factory=list)

    def kept(self, read: Read | Fault, usual: Read) -> Read:
        if isinstance(read, Fault):
            self.faults.append(read)
            return usual
        return read

    def text(self, option: str, said: str, *conditions: str) -> tuple[str, str]:
        """Give what was said, or what the bench file says, and how a message names it."""
        if said.strip():
            return f"option --{option}", said
        name = next((name for name in conditions if name in self.bench), "")
        return (f"bench file, conditions, {name}", self.bench[name]) if name else (f"option --{option}", "")

    def between(self, where: str, value: Uncertain, low: float, high: float, allowed: str) -> Uncertain:
        if not low <= value.value <= high:
            self.faults.append(Fault(where, f"{value.value:g}", allowed, "check the number and its unit"))
        elif value.u > value.value / _COARSEST:
            found = f"{value.value:g} with a standard uncertainty of {value.u:.2g}"
            rule, todo = f"at most a {_COARSEST:g}th of it", "give narrower limits, or more decimals"
            self.faults.append(Fault(where, found, rule, todo))
        return value


def settings_of(words: FlightWords, bench: Bench) -> Prepared:
    """Read what flights are worked out with.

    Parameters
    ----------
    words : FlightWords
        What was said.
    bench : Bench
        What its file says of drop_height, temperature, air_pressure, humidity, latitude, altitude counts where nothing
        was said.

    Returns
    -------
    Prepared
        Every input with its uncertainty, and what was taken for granted.

    Raises
    ------
    BadRequest
        All faults at once.
    """
    reader = _Reader(bench.conditions)
    diameter, weighed = _ball(reader, words.ball)
    height = _height(reader, words.drop_height)
    gravity, altitude = _gravity(reader, words)
    air, temperature = _air(reader, words, bench, altitude)
    contact = _contact(reader, words.contact_time, diameter.value)
    drag = _drag(reader, words.drag)
    if reader.faults:
        raise BadRequest(reader.faults)
    mass = weighed if words.true_mass else true_mass(weighed, diameter, air)
    viscosity = float(air_viscosity(temperature))
    shown = None if words.true_mass else weighed
    settings = _settled(diameter, mass, shown, height, contact, drag, air, gravity, viscosity)
    return Prepared(settings, viscosity, tuple(reader.assumptions))


def true_mass(weighed: Uncertain, diameter: Uncertain, air: Uncertain) -> Uncertain:
    """Give the true mass of a ball, g, from what a balance showed of it in air.

    Parameters
    ----------
    weighed : Uncertain
        g; the balance was adjusted with weights of 8000 kg/m3.
    diameter : Uncertain
        mm.
    air : Uncertain
        Density, kg/m3.

    Notes
    -----
    `weighed_in_air`; uncertainty to first order (JCGM 100:2008, 5.1.2).
    """
    value = float(weighed_in_air(weighed.value * 1e-3, diameter.value * 1e-3, air.value)) * 1e3
    volume = math.pi * diameter.value**3 / 6.0 * 1e-6
    parts = (weighed.u, 3.0 * air.value * volume * diameter.u / diameter.value, air.u * volume)
    return Uncertain(value, math.hypot(*parts), weighed.dof, "g")


def _ball(reader: _Reader, text: str) -> tuple[Uncertain, Uncertain]:
    usual = (Uncertain(40.0, 0.1, unit="mm"), Uncertain(2.7, 0.01, unit="g"))
    if not text.strip():
        todo = 'say it, such as "40 mm, 2.7 g"'
        reader.faults.append(Fault("option --ball", "nothing", "diameter and mass of the balls", todo))
        return usual
    read: tuple[Uncertain, Uncertain] | Fault = stated_ball("option --ball", text)
    diameter, mass = reader.kept(read, usual)
    if not isinstance(read, Fault):
        reader.assumptions.append(
            "One diameter and one mass are taken for all balls, known to the decimals that they are written with or to "
            "the limits that were given"
        )
        if math.pi * (diameter.value * 1e-3) ** 3 / 6.0 * 2.0 > mass.value * 1e-3:
            found = f"{diameter.value:g} mm, {mass.value:g} g: hardly heavier than the air in its place"
            reader.faults.append(Fault("option --ball", found, "a ball that falls", "check both numbers and units"))
        if math.pi * (diameter.value * 1e-3) ** 3 / 6.0 * _DENSEST < mass.value * 1e-3:
            found = f"{diameter.value:g} mm, {mass.value:g} g: denser than any metal"
            reader.faults.append(Fault("option --ball", found, "a ball of known stuff", "check both numbers and units"))
    return diameter, mass


def _height(reader: _Reader, text: str) -> Uncertain | None:
    where, said = reader.text("drop-height", text, "drop_height")
    if not said:
        return None
    read = stated_quantity(where, said, "mm", "a height such as 305 mm or 305 ± 1 mm")
    if isinstance(read, Fault):
        reader.faults.append(read)
        return None
    limits = "±" in said or "+-" in said or "+/-" in said
    known = read if limits else Uncertain(read.value, 0.0)
    reader.between(where, known, 20.0, 10_000.0, "a height from 20 mm to 10 m")
    if limits:
        return read
    u = max(1.0, 0.003 * read.value)
    reader.assumptions.append(
        f"The drop height is known to {u:.3g} mm (standard uncertainty, own choice), the same error in all drops; give "
        'limits, such as --drop-height "305 ± 1 mm", where it is known better'
    )
    return Uncertain(read.value, u, math.inf, "mm")


def _gravity(reader: _Reader, words: FlightWords) -> tuple[Uncertain, float | None]:
    """Give the gravity of the place, and its altitude, m; None: not said."""
    where, said = reader.text("latitude", words.latitude, "latitude")
    north = reader.kept(_latitude(where, said), 0.0) if said else None
    if north is not None and not -90.0 <= north <= 90.0:
        reader.faults.append(Fault(where, f"{north:g}", "-90 to 90 degrees", "correct it"))
    where, said = reader.text("altitude", words.altitude, "altitude")
    high = reader.kept(_altitude(where, said), 0.0) if said else None
    if high is not None and not -500.0 <= high <= 6000.0:
        reader.faults.append(Fault(where, f"{high:g}", "-500 to 6000 m", "correct it"))
    if north is None or not -90.0 <= north <= 90.0:
        reader.assumptions.append(
            f"Gravity is {ANYWHERE.value} m/s2 with a standard uncertainty of {ANYWHERE.u} m/s2, which covers most "
            "places (own choice); --latitude gives that of yours"
        )
        return ANYWHERE, high
    if high is not None:
        return local_gravity(north, high), high
    reader.assumptions.append(
        f"Gravity is that of the latitude at sea level, as if the altitude were known to {_ANY_ALTITUDE:g} m (own "
        "choice); --altitude gives that of your place"
    )
    sea = local_gravity(north)
    return Uncertain(sea.value, math.hypot(sea.u, _FREE_AIR * _ANY_ALTITUDE), unit=sea.unit), None


def _latitude(where: str, said: str) -> float | Fault:
    """Read a latitude, degrees; positive to the north."""
    match = _LATITUDE.match(said.replace("\N{MINUS SIGN}", "-"))
    if match is None or (match[1] and match[3]):
        todo = "write a decimal point, no decimal comma" if "," in said else "write it so"
        return Fault(where, repr(said.strip()[:60]), "degrees such as 54.3, or -33.5 south of the equator", todo)
    return float(match[2]) * (-1.0 if match[1] == "-" or match[3].upper() == "S" else 1.0)


def _altitude(where: str, said: str) -> float | Fault:
    """Read a height above the sea, m; a bare number is one of metres."""
    text = said.replace("\N{MINUS SIGN}", "-")
    read = stated_quantity(where, f"{text} m" if _BARE.match(text) else text, "m", "a height such as 120 m")
    return read if isinstance(read, Fault) else read.value


def _air(reader: _Reader, words: FlightWords, bench: Bench, altitude: float | None) -> tuple[Uncertain, float]:
    """Give the density of the air and its temperature, degC."""
    unsaid = []
    where, said = reader.text("temperature", words.temperature, "air_temperature")
    if said:
        warm = reader.kept(stated_temperature(where, said, 1.0), _AIR_T)
    elif bench.temperature is not None:
        warm = Uncertain(bench.temperature.value, max(bench.temperature.sd, 0.5))
    else:
        warm = _AIR_T
        unsaid.append(f"{_AIR_T.value:g} degC (u {_AIR_T.u:g})")
    where, said = reader.text("pressure", words.pressure, "air_pressure")
    if said:
        example = "the pressure of the place, such as 1008 hPa"
        pressure = reader.kept(stated_quantity(where, said, "Pa", example, 100.0), _AIR_P)
    elif altitude is not None and -500.0 <= altitude <= 6000.0:
        pressure = Uncertain(standard_pressure(altitude), _WEATHER)
    else:
        pressure = _AIR_P
        unsaid.append(f"{_AIR_P.value / 100:g} hPa (u {_AIR_P.u / 100:g})")
    where, said = reader.text("humidity", words.humidity, "humidity")
    if said:
        wet = _humidity(reader, where, said)
    else:
        wet = _AIR_H
        unsaid.append(f"{100 * _AIR_H.value:g} % (u {100 * _AIR_H.u:g})")
    if unsaid:
        reader.assumptions.append(f"Of the air this is taken where nothing was said: {', '.join(unsaid)}; own choice")
    if reader.faults:
        return Uncertain(1.18, 0.04), _AIR_T.value
    if not inside_range(warm.value, pressure.value):
        reader.assumptions.append(
            "The air is outside 15 to 27 degC and 600 to 1100 hPa, for which its equation of density was made"
        )
    try:
        return air_density_of(warm, pressure, wet).result, warm.value
    except BadRequest as refused:
        reader.faults += refused.faults
        return Uncertain(1.18, 0.04), _AIR_T.value


def _humidity(reader: _Reader, where: str, said: str) -> Uncertain:
    """Read a relative humidity; a bare ``50`` is 50 times saturated, and the fault shows what was written."""
    wet = reader.kept(stated_quantity(where, said, "1", "a relative humidity such as 50 %", 0.05), _AIR_H)
    if 0.0 <= wet.value <= 1.0:
        return wet
    reader.faults.append(Fault(where, repr(said.strip()[:60]), "0 to 100 %", "write it with its unit, such as 50 %"))
    return _AIR_H


def _contact(reader: _Reader, text: str, diameter: float) -> Uncertain:
    if text.strip():
        where = "option --contact-time"
        read = reader.kept(stated_quantity(where, text, "s", "a time such as 1.0 ± 0.3 ms", 2e-4), _CONTACTS[0][1])
        if read.u > read.value / 2.0:
            todo = "measure it, or leave it out"
            reader.faults.append(Fault(where, repr(text[:60]), "limits that leave some of the time itself", todo))
        if not 0.0 <= read.value <= 0.1:
            reader.faults.append(Fault(where, repr(text[:60]), "0 to 100 ms", "check the number and its unit"))
        return read
    usual = next(contact for most, contact in _CONTACTS if diameter <= most)
    reader.assumptions.append(
        f"The ball touches the plate for {1e3 * usual.value:g} ms, with a standard uncertainty of {1e3 * usual.u:g} ms "
        "(from memory; own choice); --contact-time takes a measured one"
    )
    return usual


def _drag(reader: _Reader, text: str) -> Uncertain | None:
    if not text.strip():
        reader.assumptions.append(
            "Drag is that of a smooth sphere at three quarters of each flight's launch speed, constant over the "
            f"flight, with a standard uncertainty of {100 * DRAG_U:g} % (own choice); balls with felt or deep seams "
            "need --drag"
        )
        return None
    where = "option --drag"
    example = "a drag coefficient such as 0.50 ± 0.05"
    read = reader.kept(stated_quantity(where, text, "1", example), Uncertain(0.45, 0.0))
    return reader.between(where, read, 0.0, 2.0, "0 to 2")


def _settled(
    diameter: Uncertain,
    mass: Uncertain,
    weighed: Uncertain | None,
    height: Uncertain | None,
    contact: Uncertain,
    drag: Uncertain | None,
    air: Uncertain,
    gravity: Uncertain,
    viscosity: float,
) -> BounceSettings:
    """Put the settings together, with what they come to."""
    speed = math.sqrt(2.0 * gravity.value * height.value * 1e-3) if height is not None else _SPEED_GUESS
    toughness = viscosity / air.value
    sphere = float(flight_drag(speed, diameter.value * 1e-3, toughness))
    seen = sphere if drag is None else drag.value
    faller = Faller(mass.value * 1e-3, diameter.value * 1e-3, seen, air.value, gravity.value)
    return BounceSettings(
        diameter, mass, weighed, height, contact, drag, seen,
        DRAG_U if drag is None else drag.u / max(drag.value, 1e-9), air, gravity,
        float(faller.displaced / faller.mass), float(faller.effective_gravity), float(faller.terminal_speed),
    )  # fmt: skip
