from __future__ import annotations

import re
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from ballbench.errors import BadReadings, Fault
from ballbench.quantities.kinds import KINDS
from ballbench.records import read_readings
from ballbench.records.entry import Typed, read_entry

FACTORS = {
    "mm": {"": "1", "mm": "1", "cm": "10", "m": "1000", "µm": "0.001", "in": "25.4", "ft": "304.8"},
    "g": {"": "1", "g": "1", "kg": "1000", "mg": "0.001", "oz": "28.349523125", "lb": "453.59237"},
}
"""Exact by definition, from memory: 1 in = 25.4 mm, 1 ft = 12 in, 1 lb = 453.59237 g, 1 oz = 1/16 lb."""


def entered(text: str, quantity: str = "diameter", *, signed: bool = False) -> Typed:
    """Read a number of one of the trade's quantities."""
    return read_entry(text, quantity, KINDS[quantity].unit, yes_no=False, signed=signed)


def fault(text: str, quantity: str = "diameter", unit: str = "", *, yes_no: bool = False) -> Fault:
    """Read what is no reading; give the one fault."""
    with pytest.raises(BadReadings) as caught:
        read_entry(text, quantity, unit or KINDS[quantity].unit, yes_no=yes_no, signed=False)
    (found,) = caught.value.faults
    assert found.where == "entry"
    assert all((found.found, found.allowed, found.todo))
    return found


@pytest.mark.parametrize(
    ("text", "quantity", "number", "unit"),
    [
        ("40.27", "diameter", "40.27", "mm"),
        ("40,27", "diameter", "40.27", "mm"),
        ("+0040.27", "diameter", "40.27", "mm"),
        ("  40.270\r\n", "diameter", "40.270", "mm"),
        ("40.27 mm", "diameter", "40.27", "mm"),
        ("40.27MM", "diameter", "40.27", "mm"),
        ("40.27\u00a0mm", "diameter", "40.27", "mm"),
        ("40.27\u202fmm", "diameter", "40.27", "mm"),
        ("1.575 in", "diameter", "1.575", "in"),
        ('1.575"', "diameter", "1.575", "in"),
        ("1.575''", "diameter", "1.575", "in"),
        ("1,575 in", "diameter", "1.575", "in"),
        ("2.71 g", "mass", "2.71", "g"),
        ("0.0956 oz", "mass", "0.0956", "oz"),
        ("2,71 oz.", "mass", "2.71", "oz"),
        ("156. g", "mass", "156", "g"),
        ("ST,+002.712  g", "mass", "2.712", "g"),
        ("ST,GS,   2.712g", "mass", "2.712", "g"),
        ("ST,NT,+  2.712  g\r\n", "mass", "2.712", "g"),
        ("S S   2.712 g", "mass", "2.712", "g"),
        ("N     +   2.712 g", "mass", "2.712", "g"),
        ("G     +   2.712 g", "mass", "2.712", "g"),
        ("\x02  2.712 g\x03", "mass", "2.712", "g"),
        ("ST,+002,712  g", "mass", "2.712", "g"),
        ("-0.00 g", "mass", "0.00", "g"),
        (".89", "bounce_restitution", "0.89", "1"),
        ("89 %", "bounce_restitution", "89", "%"),
        ("0,123", "mass", "0.123", "g"),
    ],
)
def test_what_people_and_instruments_type_is_taken(text: str, quantity: str, number: str, unit: str) -> None:
    """Decimal commas, units, blanks, leading zeros and marks of a steady scale leave the number as it is."""
    typed = entered(text, quantity)
    assert (typed.text, typed.unit, typed.answer) == (number, unit, None)
    assert typed.decimals == len(number.partition(".")[2])


def test_signs() -> None:
    """A true minus sign counts as a hyphen; below zero is for quantities with a sign only; minus zero is zero."""
    for text in ("-12.5", "\u221212.5", "-  12,5 mm", "- 12.5"):
        typed = entered(text, "veer", signed=True)
        assert (typed.value, typed.text) == (-12.5, "-12.5")
        assert "below zero" in fault(text).allowed
    assert entered("-0.0", "veer", signed=True).text == "0.0"
    assert entered("−0.00").value == 0.0


@pytest.mark.parametrize(
    ("text", "quantity", "reading"),
    [
        ("1,234", "mass", None),  # a light ball, or a heavy one
        ("2,712 g", "mass", None),
        ("ST,GS,   2,712 g", "mass", None),
        ("1,234", "rebound", None),  # only as 1234 it is believable, but no rule says that a comma marks thousands
        ("1,234", "veer", None),
        ("40,270", "diameter", 40.27),  # no ball measures 40 metres
        ("1,575 in", "diameter", 40.005),
        ("40,2700", "diameter", 40.27),
        ("1234,5", "mass", 1234.5),
        ("0,905", "bounce_restitution", 0.905),
        ("0040,270", "diameter", 40.27),
    ],
)
def test_a_comma_that_could_mark_thousands_is_asked_back(text: str, quantity: str, reading: float | None) -> None:
    """A comma is a decimal comma; before three digits only where the believable range leaves no other way."""
    if reading is not None:
        assert entered(text, quantity).value == reading
        return
    found = fault(text, quantity)
    assert "which can be read as" in found.found
    assert re.fullmatch(r"type \d\.\d{3} or \d{4}", found.todo)


def test_a_narrower_believable_range_tells_the_comma() -> None:
    """Where a plan says that balls weigh 2 to 4 g, 2,712 is 2.712 g; where they weigh kilograms it is asked back."""
    asked = {"yes_no": False, "signed": False}
    assert read_entry("2,712", "mass", "g", believable=(2.0, 4.0), **asked).value == 2.712
    with pytest.raises(BadReadings, match="or as 2712"):
        read_entry("2,712", "mass", "g", believable=(2000.0, 4000.0), **asked)
    with pytest.raises(BadReadings, match="or as 2712"):
        read_entry("2,712", "stiffness", "N/mm", **asked)


@pytest.mark.parametrize(
    "text",
    ["US,+002.712 g", "US,GS,   2.712g", "S D   2.712 g", "S I", "2.712 g ?", "?2.712", "N     +   2.712", "us,gs,1 g"],
)
def test_a_scale_that_is_not_steady_is_refused(text: str) -> None:
    """The message says what to do: wait until the display is steady."""
    assert "wait until the display is steady" in fault(text, "mass").todo


@pytest.mark.parametrize(
    "text", ["OL", "OL,GS,+-------", "S +", "S -", "-----", "Err 4", "ERROR", "OVER", "- OL g", "Lo"]
)
def test_an_overload_is_refused(text: str) -> None:
    """What an instrument shows in place of a number is no number, and the ball is to be taken off."""
    assert "take the ball off" in fault(text, "mass").todo


@pytest.mark.parametrize("text", ["2.712 g*", "* 2.712 g"])
def test_a_star_is_asked_back(text: str) -> None:
    """Some instruments put a star on steady readings and others on unsteady ones: it is not guessed."""
    assert "star" in fault(text, "mass").found


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("4.027e1", "exponent"),
        ("4 E+01", "exponent"),
        ("nan", "no number"),
        ("-inf", "no number"),
        ("Infinity", "no number"),
        ("40.27 40.31", "more than one number"),
        ("40.27\n40.31", "more than one number"),
        ("40.27;40.31", "more than one number"),
        ("1'234", "more than one number"),
        ("2026-11-25", "more than one number"),
        ("1,234.5", "more than one decimal mark"),
        ("1.234,5", "more than one decimal mark"),
        ("40..27", "more than one decimal mark"),
        ("40.", "ends with its decimal mark"),
        ("40,", "ends with its decimal mark"),
        ("", "nothing"),
        (" \t", "nothing"),
        ("\uff14\uff10.27", "no number"),
        ("forty", "no number"),
        ("40.27 (seam)", "no number"),
        ("yes", "no number"),
        ("4" * 81, "81 characters"),
    ],
)
def test_what_is_no_reading_is_refused(text: str, found: str) -> None:
    """Exponents, words, several numbers, several marks and unfinished numbers are faults that say which."""
    assert found in fault(text).found


@pytest.mark.parametrize(
    ("text", "quantity", "unit", "allowed"),
    [
        ("40.27 g", "diameter", "mm", "mm, cm, m, µm, in or ft"),
        ("2.71 mm", "mass", "g", "g, kg, mg, oz or lb"),
        ("41.8 gr", "mass", "g", "g, kg, mg, oz or lb"),  # grams to some, grains to the registry
        ("2.71 N", "mass", "g", "g, kg, mg, oz or lb"),
        ("0.9 pi", "bounce_restitution", "1", "a number without unit, or with %"),
        ("0.9 deg", "bounce_restitution", "1", "a number without unit, or with %"),
        ("0.8 mm", "pressure", "bar", "a number in bar"),
    ],
)
def test_a_unit_of_another_kind_is_refused(text: str, quantity: str, unit: str, allowed: str) -> None:
    """The fault names the units that are allowed, and constants or doubtful units are no way round."""
    assert fault(text, quantity, unit).allowed == allowed


def test_units_of_a_declared_quantity() -> None:
    """The base unit is taken as it is written, another of its kind is converted (1 bar = 100 kPa by definition)."""
    asked = {"yes_no": False, "signed": False}
    assert read_entry("800 g/cm2", "pressure", "g/cm2", **asked).value == 800.0
    assert read_entry("80 kPa", "pressure", "bar", **asked) == Typed(80 * 0.01, None, "80", 0, "kPa")


@pytest.mark.parametrize(
    ("text", "answer"),
    [
        ("yes", True),
        ("Passed", True),
        ("Y", True),
        (" 1 ", True),
        ("no", False),
        ("FAILED", False),
        ("n", False),
        ("0", False),
    ],
)
def test_answers(text: str, answer: bool) -> None:
    """Yes, passed, y and 1 are yes; no, failed, n and 0 are no; capitals do not matter."""
    typed = read_entry(text, "holes", "1", yes_no=True, signed=False)
    assert typed == Typed(None, answer, "yes" if answer else "no", 0, "1")


@pytest.mark.parametrize("text", ["", "2", "maybe", "yes no", "40.27", "yess"])
def test_what_is_no_answer_is_refused(text: str) -> None:
    """Anything else is a fault that names the answers."""
    assert fault(text, "holes", "1", yes_no=True).allowed == "yes, no, passed or failed (y, n, 1, 0)"


DECORATIONS: tuple[Callable[[str, str], str], ...] = (
    lambda number, unit: number + unit,
    lambda number, unit: f"{number} {unit}",
    lambda number, unit: f"+{number}\u00a0{unit}",
    lambda number, unit: f"  000{number}   {unit.upper()}\r\n",
    lambda number, unit: f"ST,+00{number}  {unit}",
    lambda number, unit: f"ST,GS,   {number}{unit}",
    lambda number, unit: f"S S   {number} {unit}",
    lambda number, unit: f"N     +   {number} {unit or 'g'}",
    lambda number, unit: f"\x02{number}{unit}\x03",
)


@given(
    count=st.integers(0, 10**7),
    decimals=st.integers(0, 6),
    unit=st.sampled_from(sorted(FACTORS["g"])),
    decorate=st.sampled_from(DECORATIONS),
    comma=st.booleans(),
)
@settings(max_examples=1500)
def test_a_number_comes_back_exactly(
    count: int,
    decimals: int,
    unit: str,
    decorate: Callable[[str, str], str],
    *,
    comma: bool,
) -> None:
    """Any number in any dress comes back digit by digit, its value the nearest to that of exact arithmetic.

    With a decimal comma it may be asked back, but never be read as anything else.
    """
    number = f"{count // 10**decimals}.{count % 10**decimals:0{decimals}d}" if decimals else str(count)
    try:
        typed = entered(decorate(number.replace(".", ",") if comma else number, unit), "mass")
    except BadReadings:
        assert comma
        assert re.fullmatch(r"[1-9]\d{0,2}\.\d{3}", number)
        return
    assert (typed.text, typed.decimals) == (number, decimals)
    assert typed.unit == (unit or "g")
    exact = Fraction(count, 10**decimals) * Fraction(FACTORS["g"][unit])
    assert typed.value == float(exact)


@pytest.mark.parametrize(("quantity", "base"), [("diameter", "mm"), ("mass", "g")])
def test_unit_factors_are_exact(quantity: str, base: str) -> None:
    """One of a unit is what the definitions say, to the last bit."""
    for unit, factor in FACTORS[base].items():
        assert entered(f"1 {unit}", quantity).value == float(Fraction(factor))


def test_the_bench_and_the_file_give_the_same_value(tmp_path: Path) -> None:
    """What is exported as text and unit and imported again has the value that the bench had, to the last bit."""
    texts = [f"{count / 1000:.3f}" for count in range(1500, 1700)]
    units = [("in", "mm", "cm", "inch")[row % 4] for row in range(len(texts))]
    rows = [f"A,{row},diameter,{text},{unit}" for row, (text, unit) in enumerate(zip(texts, units, strict=True))]
    path = tmp_path / "readings.csv"
    path.write_text("product,ball,quantity,value,unit\n" + "\n".join(rows) + "\n", encoding="utf-8")
    table = read_readings(path).table.sort("line")
    bench = [entered(f"{text} {unit}") for text, unit in zip(texts, units, strict=True)]
    assert table.get_column("value").to_list() == [typed.value for typed in bench]
    assert table.get_column("decimals").to_list() == [typed.decimals for typed in bench]
    assert table.get_column("unit").to_list() == [typed.unit for typed in bench]


PIECES = (
    *("40.27", "2,712", "1", ".", ",", "+", "-", "\u2212", " ", "\u00a0", "g", "mm", '"', "oz", "%", "µm", "nan", "e5"),
    *("ST,", "US,", "GS,", "S S ", "S D", "N ", "OL", "?", "*", "\n", "\x02", "/", "(", "**2", "yes"),
)


@given(
    text=st.text(max_size=90) | st.lists(st.sampled_from(PIECES), max_size=8).map("".join),
    quantity=st.sampled_from([*sorted(KINDS), "stiffness"]),
    yes_no=st.booleans(),
    signed=st.booleans(),
)
@example(text="\ud800", quantity="mass", yes_no=False, signed=False)
@example(text="9" * 80, quantity="mass", yes_no=False, signed=False)
@settings(max_examples=3000)
def test_any_text_is_a_reading_or_a_fault(text: str, quantity: str, *, yes_no: bool, signed: bool) -> None:
    """Whatever is typed, the outcome is a finite reading that repeats its own text, or one fault with a next step."""
    unit = KINDS[quantity].unit if quantity in KINDS else "N/mm"
    try:
        typed = read_entry(text, quantity, unit, yes_no=yes_no, signed=signed)
    except BadReadings as error:
        (found,) = error.faults
        assert found.where == "entry"
        assert all((found.found, found.allowed, found.todo))
        return
    if yes_no:
        assert (typed.value, typed.text) == (None, "yes" if typed.answer else "no")
        return
    assert re.fullmatch(r"-?(0|[1-9][0-9]*)(\.[0-9]+)?" if signed else r"(0|[1-9][0-9]*)(\.[0-9]+)?", typed.text)
    assert abs(typed.value or 0.0) < float("inf")
    if len(text) < 70:
        again = read_entry(f"{typed.text} {typed.unit}", quantity, unit, yes_no=False, signed=signed)
        assert again == typed
