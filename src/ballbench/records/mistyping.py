"""What makes a number look mistyped: the criteria that the whole-file gate and the bench share."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ballbench.quantities.kinds import Kind
from ballbench.records.fellows import TIGHT_SHARE, Fellows

__all__ = ["AMONG_FELLOWS", "Digits", "Mistyped", "Wording", "ask_far", "ask_mistyped", "ask_outside_belief", "unasked"]

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]
Rows = npt.NDArray[np.int64]

_POINT_SHIFTS = (1, 2, 3, -1, -2, -3)
_POINT_NEAR = 0.15  # a shifted value this near its product's median is one of them (own choice)
_SLIP_NEAR = 0.06  # and a converted one, nearer because 25.4 and 28.35 lie 11 % apart (own choice)
_OFF = 0.5  # share of the median from which a value is off by more than balls can differ (own choice)
_FEWEST_TIGHT = 3
_WITH_FELLOWS = 3.0  # robust SDs within which a value lies with its fellows (own choice)
_MOST_DIGITS = 12  # of more, a float64 does not hold every one
_SLIPS = {"mm": (25.4, "inches for millimetres"), "g": (28.349523125, "ounces for grams")}
"""Exact definitions: 1 in = 25.4 mm; 1 oz = 0.45359237 kg / 16."""


@dataclass(frozen=True, slots=True)
class Wording:
    """How a question names what a number is held against.

    Parameters
    ----------
    whose : str
        Whose size, ``"its fellows'"``.
    they : str
        What a number is off from, ``"its fellows"``.
    far : str
        That it is far away.
    swapped : str
        What follows `far` where two digits, swapped, would put it right.
    """

    whose: str
    they: str
    far: str
    swapped: str


AMONG_FELLOWS = Wording(
    "its fellows'",
    "its fellows",
    "far from the other readings of its box",
    ", and among them with two digits swapped",
)
"""Held against the readings that were kept."""


@dataclass(frozen=True, slots=True)
class Digits:
    """Values taken apart into digits.

    Parameters
    ----------
    counts : (R,) float64
        The values as whole numbers of a last decimal place.
    last : (R,) float64
        The size of that place in the base unit.
    as_usual : (R,) bool
        Whether the value was written with the decimals that are usual for it.
    """

    counts: Floats
    last: Floats
    as_usual: Flags


@dataclass(slots=True)
class Mistyped:
    """What is asked about each of N values.

    Parameters
    ----------
    why : (N,) object
        What is odd about it; an empty text where nothing is asked.
    gross : (N,) bool
        As in `ballbench.records.readings.Query`.
    right : (N,) float64
        The value that would put it right, base unit; NaN where none is known.
    shift : (N,) int64
        By how many places the decimal point is off in it.
    """

    why: npt.NDArray[np.object_]
    gross: Flags
    right: Floats
    shift: Rows

    def ask(self, rows: Rows, why: str, *, gross: bool) -> Rows:
        """Ask about rows that are not asked about yet, and give those."""
        new: Rows = rows[self.why[rows] == ""]
        self.why[new] = why
        self.gross[new] = gross
        return new


def unasked(count: int) -> Mistyped:
    """Begin with nothing asked about `count` values."""
    return Mistyped(
        np.full(count, "", dtype=object),
        np.zeros(count, dtype=np.bool_),
        np.full(count, np.nan),
        np.zeros(count, dtype=np.int64),
    )


def ask_mistyped(
    value: Floats,
    fellows: Fellows,
    bases: Callable[[Rows], npt.NDArray[np.object_]],
    digits: Callable[[Rows], Digits],
    wording: Wording = AMONG_FELLOWS,
) -> Mistyped:
    """Ask about lost decimal points, unit slips and swapped digits.

    Parameters
    ----------
    value : (N,) float64
        In the base units of their quantities; finite.
    fellows : Fellows
        Of each.
    bases : callable
        Gives the base units of some rows; asked only where a unit slip is possible.
    digits : callable
        Takes the values of some rows apart; asked only where a value is far from its fellows.
    wording : Wording
        What the values are held against.

    Returns
    -------
    Mistyped
        A lost point and a unit slip are gross, and stay so where swapped digits explain the value better.
    """
    asked = unasked(value.size)
    tight = (fellows.tight >= TIGHT_SHARE) & (fellows.count >= _FEWEST_TIGHT) & (fellows.median != 0.0)
    off = np.flatnonzero(tight & (np.abs(value - fellows.median) > _OFF * np.abs(fellows.median)))
    if off.size:
        _lost_points(value, fellows, off, asked, wording)
        slips = off[asked.why[off] == ""]
        _unit_slips(value, bases(slips), fellows, slips, asked, wording)
    far = _far(value, fellows)
    if far.size:
        _swapped_digits(value, digits(far), fellows, far, asked, wording)
    return asked


def ask_outside_belief(value: Floats, rows: Rows, kind: Kind, asked: Mistyped) -> None:
    """Ask where no ball of any sport has such a value.

    Parameters
    ----------
    value : (N,) float64
        In the unit of `kind`.
    rows : (R,) int64
        Those of this kind.
    kind : Kind
        The quantity.
    asked : Mistyped
        Takes in what is asked.
    """
    outside = rows[(value[rows] < kind.lowest) | (value[rows] > kind.highest)]
    why = f"outside what a ball's {kind.words} can be, {kind.lowest:g} to {kind.highest:g} {kind.unit}"
    asked.ask(outside, why.removesuffix(" 1"), gross=True)


def ask_far(value: Floats, fellows: Fellows, asked: Mistyped, wording: Wording = AMONG_FELLOWS) -> None:
    """Ask about values that are far from their fellows for no reason that was found.

    Parameters
    ----------
    value : (N,) float64
        In the base units of their quantities.
    fellows : Fellows
        Of each.
    asked : Mistyped
        Takes in what is asked.
    wording : Wording
        What the values are held against.
    """
    asked.ask(_far(value, fellows), wording.far, gross=False)


def _far(value: Floats, fellows: Fellows) -> Rows:
    """Give the rows that are far from their fellows."""
    return np.flatnonzero(np.abs(value - fellows.centre) > fellows.limit * fellows.spread)


def _lost_points(value: Floats, fellows: Fellows, rows: Rows, asked: Mistyped, wording: Wording) -> None:
    """Ask where the value is a power of ten off its product's median."""
    for power in _POINT_SHIFTS:
        shifted = value[rows] * 10.0**-power
        fits = np.abs(shifted - fellows.median[rows]) <= _POINT_NEAR * np.abs(fellows.median[rows])
        times = f"{10 ** abs(power)} times" if power > 0 else f"1/{10 ** abs(power)} of"
        why = f"{times} {wording.whose} size: a lost decimal point or a wrong unit"
        new = asked.ask(rows[fits], why, gross=True)
        asked.right[new] = value[new] * 10.0**-power
        asked.shift[new] = power


def _unit_slips(
    value: Floats, base: npt.NDArray[np.object_], fellows: Fellows, rows: Rows, asked: Mistyped, wording: Wording
) -> None:
    """Ask where the value fits its fellows once converted from, or into, the other common unit."""
    for unit, (scale, words) in _SLIPS.items():
        for times in (scale, 1.0 / scale):
            converted = value[rows] * times
            near = np.abs(converted - fellows.median[rows]) <= _SLIP_NEAR * np.abs(fellows.median[rows])
            why = f"{scale:.4g} times off {wording.they}: {words}?"
            new = asked.ask(rows[near & (base == unit)], why, gross=True)
            asked.right[new] = value[new] * times


def _swapped_digits(
    value: Floats, written: Digits, fellows: Fellows, rows: Rows, asked: Mistyped, wording: Wording
) -> None:
    """Ask where two adjacent digits, swapped, would put the value among its fellows."""
    counts, last = written.counts, written.last
    small = np.abs(counts) < 10.0**_MOST_DIGITS
    best, miss = np.full(rows.size, np.nan), np.full(rows.size, np.inf)
    digits = np.where(small, np.abs(counts), 0.0).astype(np.int64)
    for position in range(len(str(digits.max()))):
        low, high = digits // 10**position % 10, digits // 10 ** (position + 1) % 10
        swapped = digits + (low - high) * (10 ** (position + 1) - 10**position)
        candidate = np.sign(value[rows]) * swapped * last
        distance = np.abs(candidate - fellows.centre[rows]) / fellows.spread[rows]
        better = (swapped != digits) & (distance < miss)
        best[better], miss[better] = candidate[better], distance[better]
    fits = miss <= _WITH_FELLOWS
    shifted_miss = np.abs(asked.right[rows] - fellows.centre[rows]) / fellows.spread[rows]
    nearer = (shifted_miss > _WITH_FELLOWS) | (written.as_usual & (miss < shifted_miss))
    better_than_shift = fits & (asked.shift[rows] != 0) & nearer
    new = np.flatnonzero(fits & (asked.why[rows] == "") | better_than_shift)
    asked.why[rows[new]] = wording.far + wording.swapped
    asked.right[rows[new]] = best[new]
    asked.shift[rows[new]] = 0
