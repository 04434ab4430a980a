"""Amounts as a requirement file writes them: decimal text with a unit, such as ``"40.60 mm"``, and nothing else."""

from __future__ import annotations

import math
import re
from decimal import Decimal
from fractions import Fraction

from ballbench.quantities.units import UnitError, factor, is_unit, parse_quantity
from ballbench.specs.model import Limit

__all__ = ["AmountError", "is_plain_unit", "parse_limit", "unit_of"]

_NUMBER = re.compile(r"[+-]?[0-9]+(?:\.[0-9]+)?")
_UNIT = re.compile(r"(?:1|%|\"|°C|[A-Za-zµμ_]+)(?:\^[1-4]|[²³])?(?:[/*][A-Za-zµμ_]+(?:\^[1-4]|[²³])?)*")
_FRACTION = re.compile(r"\s*(?:([0-9]{1,6})[\s-]+)?([0-9]{1,6})\s*/\s*([0-9]{1,6})\s*([^0-9]{0,20}?)\s*")
_COMMA = re.compile(r"\s*([+-]?[0-9]+),([0-9]+)\s*([^0-9,]{0,20}?)\s*")
_LONGEST = 60


class AmountError(ValueError):
    """An amount cannot be used.

    Parameters
    ----------
    allowed : str
        The rule, as a sentence part.
    todo : str
        The next step, an imperative.
    """

    def __init__(self, allowed: str, todo: str) -> None:
        self.allowed, self.todo = allowed, todo
        super().__init__(allowed, todo)


def is_plain_unit(unit: str) -> bool:
    """Say whether `unit` is written plainly (``mm``, ``N/mm``, ``kgf/cm^2``, ``%``, ``1``) and is known."""
    return len(unit) <= _LONGEST and _UNIT.fullmatch(unit) is not None and is_unit(unit)


def unit_of(text: str) -> str | None:
    """Give the unit that an amount is written in, or None where the text is no amount."""
    try:
        return _split(text)[1]
    except AmountError:
        return None


def parse_limit(text: str, base_unit: str) -> Limit:
    """Turn ``"40.60 mm"`` into a limit.

    Parameters
    ----------
    text : str
        A decimal number and a unit; no unit means a pure number.
    base_unit : str
        The unit of computation.

    Returns
    -------
    Limit
        Number and unit as written; the value in `base_unit`, finite.

    Raises
    ------
    AmountError
        No plain decimal number, an unknown unit, a unit of something else, or a number too large to compute with.
    """
    number, unit = _split(text)
    try:
        value = float(number) * factor(unit, base_unit)
    except UnitError:
        raise _wrong_unit(number, unit, base_unit) from None
    if not math.isfinite(value):  # a unit prefix can carry sixty digits past the largest float
        raise AmountError("a finite number", "write the number that the text gives")
    return Limit(number, unit, value)


def _split(text: str) -> tuple[str, str]:
    """Give number and unit as written, or say what is the matter."""
    if len(text) > _LONGEST:
        raise AmountError(f"a number with its unit, at most {_LONGEST} characters", "write it like 40.60 mm")
    try:
        number, unit = parse_quantity(text)
    except UnitError:
        raise _not_an_amount(text) from None
    if _NUMBER.fullmatch(number) is None or _UNIT.fullmatch(unit) is None:
        raise _not_an_amount(text)
    if not is_plain_unit(unit):
        allowed = "a number and a known unit, such as 40.60 mm, 8.8125 in, 2.7 g or 80 kPa"
        raise AmountError(allowed, f'put a unit in place of "{unit}"')
    return number, unit


def _wrong_unit(number: str, unit: str, base_unit: str) -> AmountError:
    """Say that a unit is missing, or measures something else than the quantity."""
    if base_unit == "1":
        return AmountError("a pure number, for this quantity has no unit", f"write {number}")
    allowed = f"a number with a unit that can be turned into {base_unit}"
    if unit == "1":
        return AmountError(allowed, f"add the unit, such as {number} {base_unit}")
    return AmountError(allowed, f"give the limit in {base_unit}, or correct the clause's quantity")


def _not_an_amount(text: str) -> AmountError:
    """Name the likely slip: a fraction, a decimal comma, or no number at all."""
    fraction = _FRACTION.fullmatch(text)
    if fraction is not None and int(fraction[3]) != 0:
        value = Fraction(int(fraction[1] or 0)) + Fraction(int(fraction[2]), int(fraction[3]))
        return AmountError("a decimal number, no fraction", f"write {_decimal(value)} {fraction[4]}".rstrip())
    comma = _COMMA.fullmatch(text)
    if comma is not None:
        return AmountError("a decimal point, no comma", f"write {comma[1]}.{comma[2]} {comma[3]}".rstrip())
    allowed = "a decimal number and its unit, such as 40.60 mm; no fraction, exponent, NaN or infinity"
    return AmountError(allowed, "write it like 40.60 mm")


def _decimal(value: Fraction) -> str:
    """Write a fraction as decimal text: exact where ten decimals reach, else rounded to ten."""
    text = f"{Decimal(value.numerator) / Decimal(value.denominator):.10f}".rstrip("0")
    return text.rstrip(".")
