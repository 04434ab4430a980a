"""The gravity of a place, from its latitude and altitude."""

from __future__ import annotations

import math

from ballbench.quantities.uncertain import Uncertain

__all__ = ["ANYWHERE", "local_gravity"]

ANYWHERE = Uncertain(9.80665, 0.015, unit="m/s2")
"""Where nothing is said of the place: the standard value; the spread from the equator to 60 degrees (own choice)."""

_LATITUDE_U, _ALTITUDE_U = 0.5, 100.0
_ROCKS = 3e-4
"""What mountains and rocks leave beside the formula, m/s2: 30 mGal (own choice)."""


def local_gravity(latitude: float, altitude: float = 0.0) -> Uncertain:
    """Give the gravity of a place.

    Parameters
    ----------
    latitude : float
        Degrees north or south, known to half a degree.
    altitude : float
        m above the sea, known to 100 m.

    Returns
    -------
    Uncertain
        m/s2.

    Notes
    -----
    Normal gravity of the Geodetic Reference System 1980 (Somigliana's closed formula) less 3.086e-6 per metre of
    altitude; both from memory.
    """

    def normal(degrees: float) -> float:
        sine = math.sin(math.radians(degrees)) ** 2
        return 9.7803267715 * (1.0 + 0.001931851353 * sine) / math.sqrt(1.0 - 0.00669438002290 * sine)

    value = normal(latitude) - 3.086e-6 * altitude
    spread = abs(normal(abs(latitude) + _LATITUDE_U) - normal(abs(latitude) - _LATITUDE_U)) / 2.0
    return Uncertain(value, math.hypot(spread, 3.086e-6 * _ALTITUDE_U, _ROCKS), unit="m/s2")
