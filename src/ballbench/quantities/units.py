"""Units at the door: text such as ``"40.60 mm"`` becomes a number in the unit that is asked for, through pint.

Factors are pint's own, to 15 significant digits: the definitions of inch (25.4 mm) and pound (0.45359237 kg) have
fewer, and what a chain of floating conversions leaves behind them is none of theirs.
"""

from __future__ import annotations

import math
import re
from functools import lru_cache

import pint

__all__ = ["UnitError", "factor", "is_unit", "parse_quantity", "same_dimension"]

_SPELLINGS = {
    "1": "dimensionless", "": "dimensionless", "%": "percent", "°C": "degC", "N/mm": "newton/millimeter",
    "in": "inch", '"': "inch", "ft": "foot", "oz": "ounce", "lb": "pound", "lbf": "pound_force", "um": "micrometer",
    "µm": "micrometer", "μm": "micrometer",
}  # fmt: skip
_QUANTITY = re.compile(r"^\s*([+-]?\d+(?:\.\d+)?(?:[eE][+-]?\d+)?)\s*(.*?)\s*$")


class UnitError(ValueError):
    """A unit is unknown, or two units are not of one dimension."""


@lru_cache(maxsize=1)
def _registry() -> pint.UnitRegistry[float]:
    return pint.UnitRegistry(cache_folder=None)


@lru_cache(maxsize=512)
def factor(unit: str, to: str) -> float:
    """Give the number that turns a value in `unit` into a value in `to`.

    Parameters
    ----------
    unit, to : str
        Unit symbols such as ``"mm"``, ``"in"``, ``"g"``, ``"oz"``, ``"1"`` (a pure number).

    Returns
    -------
    float
        ``value_in_to = value_in_unit * factor``. Never NaN.

    Raises
    ------
    UnitError
        A unit is unknown, has an offset (degC against K), or the two measure different things.
    """
    if unit == to:
        return 1.0
    try:
        ureg = _registry()
        target = _SPELLINGS.get(to, to)
        zero, one = (float(ureg.Quantity(v, _SPELLINGS.get(unit, unit)).to(target).magnitude) for v in (0.0, 1.0))
    except pint.UndefinedUnitError as error:
        raise UnitError(f"unknown unit {unit!r} or {to!r}") from error
    except (pint.DimensionalityError, pint.OffsetUnitCalculusError) as error:
        raise UnitError(f"{unit!r} cannot be turned into {to!r}") from error
    except Exception as error:  # pint's parser raises tokenizer errors of several kinds on odd text
        raise UnitError(f"unknown unit {unit!r} or {to!r}") from error
    if math.isfinite(zero) and zero != 0.0:
        raise UnitError(f"{unit!r} and {to!r} count from different zeros; no factor turns one into the other")
    return float(f"{one:.15g}")


@lru_cache(maxsize=512)
def is_unit(unit: str) -> bool:
    """Say whether `unit` is a unit at all, whatever it measures."""
    try:
        _registry().Quantity(1.0, _SPELLINGS.get(unit, unit))
    except Exception:  # pint's parser raises tokenizer errors of several kinds on odd text
        return False
    return True


def same_dimension(unit: str, other: str) -> bool:
    """Say whether a value in `unit` can be turned into `other`."""
    try:
        factor(unit, other)
    except UnitError:
        return False
    return True


def parse_quantity(text: str) -> tuple[str, str]:
    """Split ``"40.60 mm"`` into the number as written and the unit.

    Raises
    ------
    UnitError
        The text does not begin with a number.
    """
    match = _QUANTITY.match(text)
    if match is None:
        raise UnitError(f"{text!r} is not a number followed by a unit")
    return match.group(1), match.group(2) or "1"
