"""How far inside its limits a value lies, and where a number stands."""

from __future__ import annotations

import pytest

from ballbench.specs import Limit
from ballbench.specs.model import Reading, Source

LOW, HIGH = Limit("40.0", "mm", 40.0), Limit("40.6", "mm", 40.6)


@pytest.mark.parametrize(
    ("lower", "upper", "value", "gap"),
    [
        (LOW, HIGH, 40.1, 0.1),
        (LOW, HIGH, 40.5, 0.1),
        (LOW, HIGH, 40.7, -0.1),
        (LOW, HIGH, 39.9, -0.1),
        (LOW, None, 41.0, 1.0),
        (None, HIGH, 41.0, -0.4),
        (LOW, HIGH, 40.6, 0.0),
    ],
)
def test_a_gap_is_the_way_to_the_nearest_limit(
    lower: Limit | None, upper: Limit | None, value: float, gap: float
) -> None:
    """The smaller of value less lower limit and upper limit less value, below 0 beyond one (algebra), to rounding."""
    assert Reading("", "mean", "each", lower, upper).gap(value) == pytest.approx(gap, abs=1e-12)


def test_a_place_is_document_and_clause() -> None:
    """As a source is cited; nothing stands for what is not there."""
    assert Source("ISO 3290-1:2014", "table 4", "official").place == "ISO 3290-1:2014, table 4"
    assert Source("ISO 3290-1:2014", "", "official").place == "ISO 3290-1:2014"
    assert Source("", "", "own").place == ""
