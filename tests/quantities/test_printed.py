"""Numbers and counts as sentences have them."""

from __future__ import annotations

import math

import pytest

from ballbench.quantities.printed import number, plural, span_words, with_sign


@pytest.mark.parametrize(
    ("value", "decimals", "plain", "signed"),
    [
        (-0.034, 2, "\u22120.03", "\u22120.03"),
        (0.034, 2, "0.03", "+0.03"),
        (0.004, 2, "0.00", "0.00"),
        (-0.004, 2, "0.00", "0.00"),
        (0.0, 1, "0.0", "0.0"),
        (math.nan, 2, "not known", "not known"),
        (-math.inf, 0, "\u2212\u221e", "\u2212\u221e"),
    ],
)
def test_a_minus_is_one_and_nothing_has_no_sign(value: float, decimals: int, plain: str, signed: str) -> None:
    """The sign of subtraction U+2212 (ISO 80000-1:2009, 7.3.2, from memory), and none where a number rounds to 0."""
    assert number(value, decimals) == plain
    assert with_sign(value, decimals) == signed


def test_two_ends_and_counts() -> None:
    """Ends with as many decimals each; one ball, none and many balls (English)."""
    assert span_words(-0.02, 0.05, 2) == "\u22120.02 to 0.05"
    assert [plural(count, "ball") for count in (0, 1, 24)] == ["0 balls", "1 ball", "24 balls"]
    assert plural(2, "box", "boxes") == "2 boxes"
