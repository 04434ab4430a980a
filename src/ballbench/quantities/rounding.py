"""Numbers for print: a value never shows more figures than its uncertainty supports.

Convention (own choice within JCGM 100:2008, 7.2.6, which asks for at most two figures of an uncertainty): two figures
where the leading figure of the uncertainty is 1 or 2, one figure otherwise, so that rounding never moves a value by
more than a sixth of its uncertainty. Halves go to the even figure of the *decimal* number that a person reads, so
40.605 becomes 40.60 and 40.615 becomes 40.62 (ISO 80000-1:2009, annex B, rule A: from memory).

Everything here is text for people. Decisions are taken on full precision, elsewhere.
"""

from __future__ import annotations

import math
from decimal import ROUND_HALF_EVEN, Context, Decimal

from ballbench.errors import BadRequest, Fault

__all__ = ["decimals_for", "decimals_of", "format_value", "percent", "round_to_uncertainty"]

_MOST = 6  # decimals where nothing limits them: an uncertainty of 0 (own choice)
_WIDE = Context(prec=400, rounding=ROUND_HALF_EVEN)  # room for every float64 at any number of decimals


def decimals_of(u: float, most: int = _MOST) -> int:
    """Say to how many decimals a value with this uncertainty is printed.

    Parameters
    ----------
    u : float
        Standard or expanded uncertainty, in the unit of the value; finite and not negative.
    most : int
        Never more than this; it is the answer for ``u = 0``.

    Returns
    -------
    int
        Decimals; negative for tens, hundreds and so on.

    Raises
    ------
    BadRequest
        `u` is negative or not finite.

    Notes
    -----
    Own convention, stated above.
    """
    if not (math.isfinite(u) and u >= 0.0):
        raise BadRequest(Fault("u", str(u), "a finite number from 0", "print a value without uncertainty as it is"))
    if u == 0.0:
        return most
    leading, exponent = f"{u:.15e}".split("e")
    figures = 2 if leading[0] in "12" else 1
    return min(figures - 1 - int(exponent), most)


def format_value(value: float, decimals: int) -> str:
    """Print a value to so many decimals.

    Parameters
    ----------
    value : float
        Any number; NaN prints as ``not known``, an infinite one as ``∞`` with its sign.
    decimals : int
        Decimals to print; negative rounds to tens, hundreds and so on.

    Returns
    -------
    str
        Decimal point, no thousands separator, no exponent, never ``-0``.

    Notes
    -----
    Halves go to the even figure of the shortest decimal number that is the float.
    """
    if math.isnan(value):
        return "not known"
    if math.isinf(value):
        return "∞" if value > 0 else "-∞"
    rounded = Decimal(repr(float(value))).quantize(Decimal(1).scaleb(-decimals), context=_WIDE)
    text = f"{rounded:.{max(decimals, 0)}f}"
    return text.removeprefix("-") if rounded == 0 else text


def round_to_uncertainty(value: float, u: float, most: int = _MOST) -> str:
    """Print a value to the last figure that its uncertainty supports.

    Parameters
    ----------
    value : float
        Any number; NaN prints as ``not known``.
    u : float
        Its uncertainty in the same unit, finite and not negative.
    most : int
        Never more decimals than this.

    Returns
    -------
    str
        As `format_value`.

    Raises
    ------
    BadRequest
        `u` is negative or not finite.

    Notes
    -----
    JCGM 100:2008, 7.2.6, with the convention of this module.
    """
    return format_value(value, decimals_of(u, most))


def decimals_for(low: float, high: float, most: int = _MOST) -> int:
    """Say to how many decimals an interval, and the value in it, are printed.

    Parameters
    ----------
    low, high : float
        Ends of the interval, in one unit. An end that is not finite leaves the other's size to decide; two such
        ends leave `most`.
    most : int
        Never more than this; it is the answer for an interval of no width.

    Returns
    -------
    int
        Decimals, the same for both ends; negative for tens, hundreds and so on.

    Notes
    -----
    The half width is taken for the uncertainty (own convention). Each printed end is then off by at most half a unit
    of the last figure, at most a sixth of the half width.
    """
    half = abs(high - low) / 2.0
    if not math.isfinite(half):
        ends = [abs(end) for end in (low, high) if math.isfinite(end)]
        half = ends[0] / 10.0 if ends else 0.0
    return decimals_of(half, most)


def percent(low: float, high: float, most: int = 2) -> str:
    """Print an interval of shares or relative differences in per cent.

    Parameters
    ----------
    low, high : float
        Ends as fractions of 1, negative ones allowed: 0.117 is 11.7 %.
    most : int
        Never more decimals than this.

    Returns
    -------
    str
        Such as ``"0 % to 12 %"``; one number where both ends print alike.

    Notes
    -----
    `decimals_for` on the interval in per cent: no more figures than the interval supports.
    """
    decimals = decimals_for(100.0 * low, 100.0 * high, most)
    first, last = (format_value(100.0 * end, decimals) for end in (low, high))
    return f"{first} %" if first == last else f"{first} % to {last} %"
