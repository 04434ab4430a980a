"""One entry at the bench: what a person types, or an instrument as a keyboard, becomes a reading or a fault.

What can be read in two ways is asked back, never guessed.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from ballbench.errors import BadReadings, Fault
from ballbench.quantities.kinds import KINDS
from ballbench.quantities.units import same_dimension
from ballbench.records.fault_list import quoted
from ballbench.records.importers.value_check import ANSWERS
from ballbench.records.scale_lines import WHERE, number_part
from ballbench.records.written_units import USUAL, exact_factor, plain_unit

__all__ = ["Typed", "read_entry"]

_LONGEST = 80  # characters; no instrument sends more around one number (own choice)
_SHORT_ANSWERS = {"y": True, "1": True, "n": False, "0": False}
_PARTS = re.compile(r"(?P<sign>[+-]?) ?(?P<number>[0-9.,]*[0-9][0-9.,]*) ?(?P<unit>.*)")
_EXPONENT = re.compile(r"e ?[+-]? ?[0-9]+.*", re.IGNORECASE)
_COULD_BE_THOUSANDS = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}")
_UNIT = re.compile(r"%|[A-Za-z\u00b5\u03bc°]+(?:/[A-Za-z\u00b5\u03bc]+)?")
_INCH_MARKS = frozenset(('"', "''", "″", "”"))
_NAMED_UNITS = {"mm": "mm, cm, m, µm, in or ft", "g": "g, kg, mg, oz or lb"}
_A_NUMBER = "a number such as 40.12, with or without its unit"
_AN_ANSWER = "yes, no, passed or failed (y, n, 1, 0)"


@dataclass(frozen=True, slots=True)
class Typed:
    """An entry that is a reading.

    Parameters
    ----------
    value : float or None
        In the base unit of the quantity; None for a yes/no result.
    answer : bool or None
        Of a yes/no result; True for yes or passed.
    text : str
        The number with a decimal point and its own decimals, without unit, plus sign and idle zeros before it;
        ``yes`` or ``no``.
    decimals : int
        How many the number was written with.
    unit : str
        As written, or the base unit where none was.
    """

    value: float | None
    answer: bool | None
    text: str
    decimals: int
    unit: str


def read_entry(
    text: str, quantity: str, unit: str, *, yes_no: bool, signed: bool, believable: tuple[float, float] | None = None
) -> Typed:
    """Read one entry.

    Parameters
    ----------
    text : str
        As it was typed or sent.
    quantity : str
        Canonical name.
    unit : str
        Base unit of the quantity.
    yes_no : bool
        True: the entry is an answer.
    signed : bool
        True: the number may be below zero.
    believable : tuple of float or None
        Range in `unit` that tells a decimal comma from a mark between thousands; None: that of the quantity, if any.

    Returns
    -------
    Typed
        Never NaN. `value` is the float64 nearest to number times factor, as `ballbench.records.read_readings` has it.

    Raises
    ------
    BadReadings
        With one fault: the entry is no reading, or can be read in two ways.
    """
    if len(text) > _LONGEST:
        raise BadReadings(Fault(WHERE, f"{quoted(text)}, {len(text)} characters", _A_NUMBER, "type one reading"))
    if yes_no:
        return _answer(text, unit)
    parts = _PARTS.fullmatch(number_part(text))
    if parts is None:
        raise _no_number(text)
    written, scale = _unit(text, parts["unit"], unit)
    sign = -1.0 if parts["sign"] == "-" else 1.0
    limits = believable or _of_kind(quantity)
    number = _with_point(text, parts["number"], sign * scale, limits)
    if parts["number"][-1] in ".," and not parts["unit"]:
        found = f"{quoted(text)}, which ends with its decimal mark"
        raise BadReadings(Fault(WHERE, found, _A_NUMBER, "type all digits that the display shows"))
    below = sign < 0.0 and float(number) != 0.0
    if below and not signed:
        todo = "type it without the minus sign; where the instrument shows less than zero, zero it and read again"
        raise BadReadings(Fault(WHERE, quoted(text), "a number that is not below zero", todo))
    number = f"-{number}" if below else number
    return Typed(float(Fraction(number) * Fraction(repr(scale))), None, number, len(number.partition(".")[2]), written)


def _answer(text: str, unit: str) -> Typed:
    """Read a yes/no result."""
    answer = (ANSWERS | _SHORT_ANSWERS).get(text.strip().casefold())
    if answer is None:
        raise BadReadings(Fault(WHERE, quoted(text), _AN_ANSWER, "type yes or no"))
    return Typed(None, answer, "yes" if answer else "no", 0, unit)


def _no_number(text: str) -> BadReadings:
    """Say that an entry is no number."""
    if not text.strip():
        return BadReadings(Fault(WHERE, "nothing", _A_NUMBER, "type the reading, or note the attempt as spoiled"))
    return BadReadings(Fault(WHERE, f"{quoted(text)}, which is no number", _A_NUMBER, "type the number alone"))


def _unit(text: str, written: str, base: str) -> tuple[str, float]:
    """Give the unit behind the number and its factor to the base unit."""
    if written in {"", base}:
        return base, 1.0
    if _EXPONENT.fullmatch(written):
        raise BadReadings(Fault(WHERE, f"{quoted(text)}, with an exponent", _A_NUMBER, "type all digits"))
    if re.search(r"[0-9]", written):
        found = f"{quoted(text)}, more than one number, or a mark between its digits"
        raise BadReadings(Fault(WHERE, found, "one number", "type one reading"))
    name = "in" if written in _INCH_MARKS else plain_unit(written)
    if not _UNIT.fullmatch(name):
        raise _no_number(text)
    named = next((names for known, names in _NAMED_UNITS.items() if same_dimension(known, base)), None)
    usable = name in USUAL if named else base != "1" or name == "%"
    if usable and same_dimension(name, base):
        return name, exact_factor(name, base)
    found = f"{quoted(text)}, with a unit that cannot be used here"
    allowed = named or ("a number without unit, or with %" if base == "1" else f"a number in {base}")
    raise BadReadings(Fault(WHERE, found, allowed, "type the number alone" + (f", in {base}" if base != "1" else "")))


def _of_kind(quantity: str) -> tuple[float, float] | None:
    """Give the range in which a quantity of the trade is believable; None where none is known."""
    kind = KINDS.get(quantity)
    return (kind.lowest, kind.highest) if kind is not None else None


def _with_point(text: str, number: str, scale: float, believable: tuple[float, float] | None) -> str:
    """Write a number without sign with a decimal point, if any, and without idle zeros before it."""
    if number.count(",") + number.count(".") > 1:
        found = f"{quoted(text)}, with more than one decimal mark, or a mark between thousands"
        todo = "type it without marks between thousands"
        raise BadReadings(Fault(WHERE, found, "one decimal mark and no other", todo))
    if _COULD_BE_THOUSANDS.fullmatch(number):
        decimal, thousands = number.replace(",", "."), number.replace(",", "")
        low, high = believable or (float("inf"), float("-inf"))
        if not low <= float(decimal) * scale <= high or low <= float(thousands) * scale <= high:
            found = f"{quoted(text)}, which can be read as {decimal} or as {thousands}"
            raise BadReadings(Fault(WHERE, found, "one way to read it", f"type {decimal} or {thousands}"))
    whole, _, fraction = number.replace(",", ".").partition(".")
    return (whole.lstrip("0") or "0") + (f".{fraction}" if fraction else "")
