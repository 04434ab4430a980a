"""Quantities said in words: ``"305 mm"``, ``"305 ± 1 mm"``, ``"40 mm, 2.7 g"``, with how well it is known."""

from __future__ import annotations

import math
import re

from ballbench.errors import Fault
from ballbench.quantities.uncertain import Uncertain
from ballbench.quantities.units import UnitError
from ballbench.records.written_units import exact_factor

__all__ = ["decimals_u", "stated_ball", "stated_quantity", "stated_temperature"]

_NUMBER = r"[+-]?\d+(?:\.\d+)?(?:[eE][+-]?\d+)?"
_STATED = re.compile(
    rf"^\s*(?P<value>{_NUMBER})\s*(?P<unit>[^\d\s±+][^±+]*?)?\s*"
    rf"(?:(?:±|\+/-|\+-)\s*(?P<half>{_NUMBER})\s*(?P<after>\S.*?)?)?\s*$"
)
_TEMPERATURES = {
    "degC": (1.0, 0.0), "°C": (1.0, 0.0), "C": (1.0, 0.0), "K": (1.0, -273.15),
    "degF": (5.0 / 9.0, -160.0 / 9.0), "°F": (5.0 / 9.0, -160.0 / 9.0), "F": (5.0 / 9.0, -160.0 / 9.0),
}  # fmt: skip
_ROOT3 = math.sqrt(3.0)


def stated_quantity(where: str, text: str, unit: str, example: str, usual_u: float | None = None) -> Uncertain | Fault:
    """Read a value with its unit, and between what limits it lies where that is said.

    Parameters
    ----------
    where : str
        Such as ``"option --drop-height"``, for the message.
    text : str
        ``"305 mm"``, ``"305 ± 1 mm"``, ``"305 mm +- 1 mm"``.
    unit : str
        That of the result; ``"1"``: a pure number, or per cent.
    example : str
        For the message.
    usual_u : float or None
        Standard uncertainty in `unit` where the text gives none; None: as the decimals show (`decimals_u`).

    Returns
    -------
    Uncertain or Fault
        In `unit`. What stands behind ± are limits: the standard uncertainty is that over the root of 3 (JCGM 100:2008,
        4.3.7).
    """
    match = _STATED.match(text)
    if match is None:
        todo = "write a decimal point, and the unit behind the number" if "," in text else "write it so"
        return Fault(where, repr(text[:60]), example, todo)
    written = (match["unit"] or match["after"] or "1").strip()
    try:
        scale = exact_factor(written, unit)
        half_scale = exact_factor((match["after"] or written).strip(), unit)
    except UnitError:
        todo = f"give it in {unit}" if unit != "1" else "give a number alone"
        todo = f"write the unit behind the number, such as {unit}" if written == "1" else todo
        todo = "write a decimal point, no decimal comma" if "," in text else todo
        return Fault(where, repr(text[:60]), example, todo)
    if match["half"] is not None:
        u = float(match["half"]) * half_scale / _ROOT3
    elif usual_u is not None:
        u = usual_u
    else:
        u = decimals_u(match["value"]) * scale
    if not (math.isfinite(float(match["value"])) and u >= 0.0):
        return Fault(where, repr(text[:60]), example, "write it so")
    return Uncertain(float(match["value"]) * scale, u, math.inf, unit)


def decimals_u(number: str) -> float:
    """Give the standard uncertainty of a number that was rounded to the decimals it is written with.

    Half a unit of the last decimal over the root of 3 (JCGM 100:2008, F.2.2.1).
    """
    mantissa, _, exponent = number.lower().partition("e")
    decimals = len(mantissa.partition(".")[2])
    return 0.5 * 10.0 ** (int(exponent or 0) - decimals) / _ROOT3


def stated_temperature(where: str, text: str, usual_u: float) -> Uncertain | Fault:
    """Read a temperature, ``"21 degC"`` or ``"70 ± 2 degF"``, as degC; `usual_u`, in K, where no limits are said."""
    match, example = _STATED.match(text), "a temperature such as 21 degC or 70 degF"
    if match is None:
        return Fault(where, repr(text[:60]), example, "write it so")
    unit = (match["unit"] or match["after"] or "degC").strip()
    if unit not in _TEMPERATURES or (match["after"] or unit).strip() not in _TEMPERATURES:
        todo = "write a decimal point, no decimal comma" if "," in text else "write degC or degF behind the number"
        return Fault(where, repr(text[:60]), example, todo)
    scale, shift = _TEMPERATURES[unit]
    u = usual_u if match["half"] is None else float(match["half"]) * scale / _ROOT3
    return Uncertain(float(match["value"]) * scale + shift, u, math.inf, "degC")


def stated_ball(where: str, text: str) -> tuple[Uncertain, Uncertain] | Fault:
    """Read a ball's diameter, mm, and mass, g, in either order: ``"40 mm, 2.7 g"``.

    Parameters
    ----------
    where : str
        Such as ``"option --ball"``.
    text : str
        Each with or without limits; without, it is known to the decimals it is written with.

    Returns
    -------
    tuple of Uncertain, or Fault
        Diameter and mass.
    """
    example = "a diameter and a mass, such as 40 mm, 2.7 g"
    parts = [part for part in re.split(r"[,;]", text) if part.strip()]
    if len(parts) != 2:
        todo = "give both, with a comma between them; write decimal points, no decimal commas"
        return Fault(where, repr(text[:60]), example, todo)
    found: dict[str, Uncertain] = {}
    for part in parts:
        read = {unit: stated_quantity(where, part, unit, example) for unit in ("mm", "g")}
        found |= {unit: value for unit, value in read.items() if isinstance(value, Uncertain)}
    if len(found) != 2:
        return Fault(where, repr(text[:60]), example, "give one length and one mass, each with its unit")
    ranges = (("mm", 5.0, 400.0, "a diameter from 5 to 400 mm"), ("g", 0.2, 8000.0, "a mass from 0.2 to 8000 g"))
    for unit, low, high, words in ranges:
        if not low <= found[unit].value <= high:
            return Fault(where, repr(text[:60]), words, "check the number and its unit")
        if found[unit].u > found[unit].value / 8.0:
            todo = "write more decimals, or narrower limits"
            return Fault(where, repr(text[:60]), f"{words}, known to an eighth of it or better", todo)
    return found["mm"], found["g"]
