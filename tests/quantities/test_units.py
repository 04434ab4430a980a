from __future__ import annotations

import pytest

from ballbench.quantities.kinds import KINDS
from ballbench.quantities.units import UnitError, factor, parse_quantity, same_dimension


@pytest.mark.parametrize(
    ("unit", "to", "exact"),
    [
        ("in", "mm", 25.4),
        ("ft", "mm", 304.8),
        ("lb", "g", 453.59237),
        ("oz", "g", 28.349523125),
        ("µm", "mm", 0.001),
        ("%", "1", 0.01),
        ("cm", "mm", 10.0),
        ("g", "g", 1.0),
    ],
)
def test_factors_are_the_exact_definitions(unit: str, to: str, exact: float) -> None:
    """The inch is 25.4 mm and the pound 453.59237 g exactly (yard and pound agreement of 1959, from memory)."""
    assert factor(unit, to) == pytest.approx(exact, rel=1e-15)


@pytest.mark.parametrize(("unit", "to"), [("mm", "g"), ("parsnip", "mm"), ("mm", "parsnip"), (")(", "mm")])
def test_units_that_do_not_turn_into_each_other_are_refused(unit: str, to: str) -> None:
    """Unknown units, other dimensions and odd text give one error (exact algebra)."""
    with pytest.raises(UnitError):
        factor(unit, to)
    assert not same_dimension(unit, to)


def test_text_is_split_into_number_and_unit_as_written() -> None:
    """The number keeps the digits that the source prints (text, no arithmetic)."""
    assert parse_quantity(" 40.60 mm ") == ("40.60", "mm")
    assert parse_quantity("-1.5e-3 in") == ("-1.5e-3", "in")
    assert parse_quantity("12") == ("12", "1")
    with pytest.raises(UnitError, match="not a number"):
        parse_quantity("mm 40")


def test_every_quantity_has_a_unit_that_is_known_and_a_range_in_order() -> None:
    """Each declared quantity can be converted from its own unit (self-consistency of the declarations)."""
    for name, kind in KINDS.items():
        assert kind.name == name
        assert same_dimension(kind.unit, kind.unit)
        assert factor(kind.unit, "1" if kind.unit == "1" else {"mm": "m", "g": "kg"}[kind.unit]) > 0
        assert kind.lowest < kind.highest


@pytest.mark.parametrize(("unit", "to"), [("degC", "K"), ("degF", "degC"), ("degC", "degF")])
def test_scales_with_different_zeros_have_no_factor(unit: str, to: str) -> None:
    """0 degC is 273.15 K (SI Brochure, 9th edition, 2.3.1), so that no factor turns one temperature into the other."""
    with pytest.raises(UnitError):
        factor(unit, to)
