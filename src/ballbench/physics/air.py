"""The air of the room: how dense it is, with its uncertainty, how tough, and what it presses at an altitude."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ballbench.errors import BadRequest, Fault
from ballbench.quantities.propagation import Budget, propagate
from ballbench.quantities.uncertain import Uncertain

__all__ = [
    "EQUATION_U",
    "air_density",
    "air_density_of",
    "air_viscosity",
    "inside_range",
    "standard_pressure",
    "weighed_in_air",
]

Array = NDArray[np.float64]

_GAS = 8.314472
"""Molar gas constant, J/(mol K), as CIPM-2007 takes it."""
_DRY, _WATER = 28.96546e-3, 18.01528e-3
"""Molar masses of dry air with 400 millionths of carbon dioxide and of water, kg/mol."""
_CARBON = 12.011e-3
"""What a mole of carbon dioxide in place of oxygen adds, kg/mol: from memory, with the equation for the molar mass."""
_ZERO = 273.15
_WEIGHTS = 8000.0
EQUATION_U = 2.2e-5
"""Relative standard uncertainty of the equation itself (CIPM-2007; from memory)."""
_CO2 = Uncertain(4.5e-4, 1e-4)
"""Share of carbon dioxide in a room, mol/mol (own choice); 1e-4 of it is 4e-5 of the density."""


def air_density(temperature: ArrayLike, pressure: ArrayLike, humidity: ArrayLike, co2: ArrayLike = 4e-4) -> Array:
    """Give the density of moist air.

    Parameters
    ----------
    temperature : array_like, any shape
        degC.
    pressure : array_like, any shape
        Of the place, Pa; not the one that weather reports bring down to sea level.
    humidity : array_like, any shape
        Relative humidity as a share, 0 to 1.
    co2 : array_like, any shape
        Share of carbon dioxide, mol/mol.

    Returns
    -------
    array
        kg/m3; NaN where something is NaN.

    Notes
    -----
    CIPM-2007: Picard, Davis, Glaeser and Fujii, Metrologia 45 (2008) 149 to 155. The paper was not opened: the
    constants were read in public code, the molar mass of water's share and of carbon dioxide is from memory. It holds
    at 600 to 1100 hPa and 15 to 27 degC (`inside_range`).
    """
    t, p, h = (np.asarray(value, dtype=np.float64) for value in (temperature, pressure, humidity))
    kelvin = t + _ZERO
    saturated = np.exp(1.2378847e-5 * kelvin**2 - 1.9121316e-2 * kelvin + 33.93711047 - 6.3431645e3 / kelvin)
    vapour = h * (1.00062 + 3.14e-8 * p + 5.6e-7 * t**2) * saturated / p
    first = 1.58123e-6 - 2.9331e-8 * t + 1.1043e-10 * t**2
    second = (5.707e-6 - 2.051e-8 * t) * vapour + (1.9898e-4 - 2.376e-6 * t) * vapour**2
    ratio = p / kelvin
    squeezed = 1.0 - ratio * (first + second) + ratio**2 * (1.83e-11 - 0.765e-8 * vapour**2)
    dry = _DRY + _CARBON * (np.asarray(co2, dtype=np.float64) - 4e-4)
    return np.asarray(p * dry / (squeezed * _GAS * kelvin) * (1.0 - vapour * (1.0 - _WATER / dry)))


def air_density_of(temperature: Uncertain, pressure: Uncertain, humidity: Uncertain) -> Budget:
    """Give the density of the air of a room with its uncertainty.

    Parameters
    ----------
    temperature : Uncertain
        degC.
    pressure : Uncertain
        Of the place, Pa.
    humidity : Uncertain
        Relative humidity as a share, 0 to 1.

    Returns
    -------
    Budget
        kg/m3, and what makes it uncertain: the three, carbon dioxide, and the equation itself.

    Raises
    ------
    BadRequest
        Air that no bench has: outside -20 to 50 degC, 50 to 110 kPa, 0 to 100 %.

    Notes
    -----
    First order, JCGM 100:2008, 5.1.2.
    """
    faults = [
        Fault(f"air, {name}", f"{value:g} {unit}", allowed, f"correct the {name}")
        for name, value, unit, low, high, allowed in (
            ("temperature", temperature.value, "degC", -20.0, 50.0, "-20 to 50 degC"),
            ("pressure", pressure.value / 100.0, "hPa", 500.0, 1100.0, "500 to 1100 hPa, that of the place"),
            ("humidity", 100.0 * humidity.value, "%", 0.0, 100.0, "0 to 100 %"),
        )
        if not low <= value <= high
    ]
    if faults:
        raise BadRequest(faults)

    def density(temperature: float, pressure: float, humidity: float, co2: float, equation: float) -> float:
        return float(air_density(temperature, pressure, humidity, co2)) * (1.0 + equation)

    given = {
        "temperature": temperature, "pressure": pressure, "humidity": humidity, "co2": _CO2,
        "equation": Uncertain(0.0, EQUATION_U),
    }  # fmt: skip
    return propagate(density, given, unit="kg/m3")


def weighed_in_air(mass: ArrayLike, diameter: ArrayLike, density: ArrayLike) -> Array:
    """Give the true mass of a ball that a balance showed as `mass` in air.

    Parameters
    ----------
    mass, diameter, density : array_like, any shape
        What the balance showed, kg; of the ball, m; of the air, kg/m3.

    Returns
    -------
    array
        kg.

    Notes
    -----
    W (1 - a/8000) + a V: the air lifts the ball by a V, and it lifted the weights of 8000 kg/m3 that the balance was
    adjusted with (OIML R 111; from memory). The division by 1 - a/density of the ball that is usually printed is the
    same thing.
    """
    shown, lifting = np.asarray(mass, dtype=np.float64), np.asarray(density, dtype=np.float64)
    volume = np.pi * np.asarray(diameter, dtype=np.float64) ** 3 / 6.0
    return np.asarray(shown * (1.0 - lifting / _WEIGHTS) + lifting * volume)


def inside_range(temperature: float, pressure: float) -> bool:
    """Whether degC and Pa lie where CIPM-2007 is said to hold, 15 to 27 degC and 600 to 1100 hPa."""
    return 15.0 <= temperature <= 27.0 and 6e4 <= pressure <= 1.1e5


def air_viscosity(temperature: ArrayLike) -> Array:
    """Give the dynamic viscosity of air at degC (any shape), in Pa s.

    Sutherland's formula with 1.716e-5 Pa s at 273.15 K and the constant 110.4 K (from memory); it hardly depends on
    pressure and moisture.
    """
    kelvin = np.asarray(temperature, dtype=np.float64) + _ZERO
    return np.asarray(1.716e-5 * (kelvin / 273.15) ** 1.5 * (273.15 + 110.4) / (kelvin + 110.4))


def standard_pressure(altitude: float) -> float:
    """Give the pressure of the standard atmosphere at an altitude in m up to 11 km, in Pa (ISO 2533; from memory)."""
    return float(101325.0 * (1.0 - 0.0065 * altitude / 288.15) ** 5.255877)
