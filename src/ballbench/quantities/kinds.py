"""The quantities of the trade: each with the unit it is computed in and the range in which a value is believable.

The ranges only serve to notice a lost decimal point or a wrong unit; they cover every ball in the catalogue with room
to spare (own choice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["KINDS", "Kind"]


@dataclass(frozen=True, slots=True)
class Kind:
    """One quantity.

    Parameters
    ----------
    name : str
        As written in a readings file.
    unit : str
        The unit it is stored and computed in; ``"1"`` for a pure number.
    lowest, highest : float
        Believable range in that unit.
    words : str
        How a sentence names it.
    """

    name: str
    unit: str
    lowest: float
    highest: float
    words: str


KINDS: dict[str, Kind] = {
    kind.name: kind
    for kind in (
        Kind("diameter", "mm", 1.0, 400.0, "diameter"),
        Kind("circumference", "mm", 30.0, 1200.0, "circumference"),
        Kind("mass", "g", 0.5, 8000.0, "mass"),
        Kind("rebound", "mm", 10.0, 4000.0, "rebound height"),
        Kind("bounce_restitution", "1", 0.01, 1.0, "coefficient of restitution"),
        Kind("veer", "mm", -2000.0, 2000.0, "sideways drift"),
        Kind("hardness", "mm", 0.0, 50.0, "indentation"),
        Kind("deformation", "mm", 0.0, 100.0, "deformation under load"),
        Kind("outline_form", "mm", 0.0, 20.0, "form of the outline"),
    )
}
