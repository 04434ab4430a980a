"""Units as people write them: capitals do not matter for the usual ones, and factors are exact."""

from __future__ import annotations

from ballbench.quantities.units import UnitError, factor

__all__ = ["USUAL", "exact_factor", "plain_unit"]

USUAL = frozenset(
    ("mm", "cm", "m", "um", "µm", "in", "inch", "inches", "ft", "foot", "g", "kg", "mg", "oz", "lb", "lbs", "gram",
     "grams", "ounce", "ounces", "pound", "pounds", "millimetre", "millimeter", "millimetres", "millimeters")
)  # fmt: skip
"""Units of length and mass that are known in any capitals."""


def plain_unit(text: str) -> str:
    """Give a unit as the unit registry spells it: ``"MM"`` is mm, not a megametre.

    Parameters
    ----------
    text : str
        As written.

    Returns
    -------
    str
        The same, in lower case for the usual units.
    """
    text = text.strip().rstrip(".")
    return text.casefold().replace("μ", "µ") if text.casefold().replace("μ", "µ") in USUAL else text


def exact_factor(unit: str, to: str) -> float:
    """Give the number that turns a value in one unit into a value in another.

    Parameters
    ----------
    unit, to : str
        Unit symbols, as people write them.

    Returns
    -------
    float
        The factor, positive.

    Raises
    ------
    UnitError
        A unit is unknown, or the two measure different things.
    """
    number = factor(plain_unit(unit), plain_unit(to))
    if not number > 0.0:
        raise UnitError(f"{unit!r} cannot be turned into {to!r}")
    return number
