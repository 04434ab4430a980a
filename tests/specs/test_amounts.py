from __future__ import annotations

import pytest

from ballbench.specs.amounts import AmountError, is_plain_unit, parse_limit, unit_of


@pytest.mark.parametrize(
    ("text", "base", "number", "unit", "value"),
    [
        ("40.60 mm", "mm", "40.60", "mm", 40.6),
        ("8.8125 in", "mm", "8.8125", "in", 223.8375),  # inch = 25.4 mm exactly
        ("5.25 oz", "g", "5.25", "oz", 148.83499640625),  # avoirdupois ounce = 28.349523125 g exactly
        ("0.25 um", "mm", "0.25", "um", 0.00025),
        ("0.30 kgf/cm^2", "kPa", "0.30", "kgf/cm^2", 29.41995),  # 9.80665 N exactly
        ("-175mm", "mm", "-175", "mm", -175.0),
        ("40", "1", "40", "1", 40.0),
        ("1.5 %", "%", "1.5", "%", 1.5),
        ("1.5 %", "1", "1.5", "%", 0.015),
        ("3.2 N/mm", "N/mm", "3.2", "N/mm", 3.2),
    ],
)
def test_an_amount_keeps_its_print_and_is_turned_by_exact_factors(
    text: str, base: str, number: str, unit: str, value: float
) -> None:
    """Text and unit stay as written; the value follows from the exact definitions of the units."""
    limit = parse_limit(text, base)
    assert (limit.text, limit.unit) == (number, unit)
    assert limit.value == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "todo"),
    [
        ("8 13/16 in", "write 8.8125 in"),
        ("8-13/16 in", "write 8.8125 in"),
        ("1/32 in", "write 0.03125 in"),
        ("1/3 in", "write 0.3333333333 in"),
        ("40,60 mm", "write 40.60 mm"),
        ("40.60", "add the unit, such as 40.60 mm"),
        ("40.60 mn", 'put a unit in place of "mn"'),
        ("2.7 g", "give the limit in mm, or correct the clause's quantity"),
    ],
)
def test_a_likely_slip_is_answered_with_what_to_write(text: str, todo: str) -> None:
    """Fractions and decimal commas are refused with the decimal number to write (exact division)."""
    with pytest.raises(AmountError) as caught:
        parse_limit(text, "mm")
    assert caught.value.todo == todo


@pytest.mark.parametrize(
    "text",
    ["nan mm", "inf mm", "-inf", "4e1 mm", "40 60 mm", "forty", " ", "8½ in", "1/0 in", "٤٠ mm", "9" * 70 + " mm"],
)
def test_no_plain_decimal_number_is_no_amount(text: str) -> None:
    """NaN, infinity, exponents, two numbers, other digits and very long numbers are refused."""
    with pytest.raises(AmountError):
        parse_limit(text, "mm")
    assert unit_of(text) is None


def test_a_number_past_the_largest_float_is_refused() -> None:
    """A value that would become infinite in the unit of computation is refused (largest float about 1.8e308)."""
    with pytest.raises(AmountError, match="finite"):
        parse_limit("9" * 40 + " Qm*Qm*Qm*Qm*Qm*Qm", "qm*qm*qm*qm*qm*qm")


def test_a_unit_where_none_belongs_is_refused() -> None:
    """A pure number takes no millimetres."""
    with pytest.raises(AmountError) as caught:
        parse_limit("40 mm", "1")
    assert caught.value.todo == "write 40"


@pytest.mark.parametrize(
    ("unit", "plain"),
    [("mm", True), ("N/mm", True), ("%", True), ("1", True), ("cm²", True), ("13/16 in", False), ("2**9**9 mm", False),
     ("shore", False), ("", False)],
)  # fmt: skip
def test_only_plain_known_units_pass(unit: str, plain: bool) -> None:
    """Arithmetic is no unit, and an unknown word is none."""
    assert is_plain_unit(unit) is plain
