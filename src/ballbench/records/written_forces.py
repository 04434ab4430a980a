"""Forces as people write them: a unit of force, or a mass that stands for its weight."""

from __future__ import annotations

from ballbench.quantities.units import UnitError
from ballbench.records.written_units import exact_factor

__all__ = ["newtons"]

_G = 9.80665
"""Standard acceleration of free fall, m/s2 (defined, 3rd CGPM 1901)."""


def newtons(unit: str) -> float:
    """Give the factor that turns a force in some unit into newtons.

    Parameters
    ----------
    unit : str
        A unit of force, or a unit of mass for the weight of that mass under standard gravity.

    Returns
    -------
    float
        Positive.

    Raises
    ------
    UnitError
        It is neither.
    """
    try:
        return exact_factor(unit, "kg") * _G
    except UnitError:
        return exact_factor(unit, "N")
