from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import numpy as np
import polars as pl
import pytest
from made_tables import clean_products, readings_of

from ballbench.records import Readings, plausibility_queries

BALL_SD, READING_SD = 0.05, 0.02
SD = float(np.hypot(BALL_SD, READING_SD))
OUTSIDE = 8.0  # a typo counts as moving its value outside from 8 true SDs on


def _clean(seed: int, products: int = 250) -> Readings:
    return clean_products(np.random.default_rng(seed), products, 24, 4, ball_sd=BALL_SD, reading_sd=READING_SD)


def _swap(value: float, place: int) -> float:
    """Swap two neighbouring digits of a value as text, which is how a person does it."""
    digits = list(f"{value:.2f}".replace(".", ""))
    digits[place], digits[place + 1] = digits[place + 1], digits[place]
    return float(f"{''.join(digits[:-2])}.{''.join(digits[-2:])}")


def _digit(value: float, place: int, digit: int) -> float:
    """Write another digit at one place."""
    digits = list(f"{value:.2f}".replace(".", ""))
    digits[place] = str(digit)
    return float(f"{''.join(digits[:-2])}.{''.join(digits[-2:])}")


def _typo(kind: str, value: float, rng: np.random.Generator) -> float:
    """Make one typo."""
    return {
        "lost point": lambda: value * 100,
        "point one place off": lambda: float(Decimal(str(value)) * Decimal(10) ** int(rng.choice([-1, 1]))),
        "point three places off": lambda: float(Decimal(str(value)) * Decimal(10) ** int(rng.choice([-3, 3]))),
        "inches": lambda: round(value / 25.4, 3),
        "swapped digits": lambda: _swap(value, int(rng.integers(0, 3))),
        "wrong digit": lambda: _digit(value, int(rng.integers(0, 3)), int(rng.integers(0, 10))),
    }[kind]()


def _planted(kind: str, seed: int) -> tuple[Readings, dict[int, float]]:
    """Plant 1000 typos among clean readings, four a product; give the right value by line of those outside."""
    rng = np.random.default_rng(seed)
    readings = _clean(seed)
    values = readings.table.get_column("value").to_numpy().copy()
    rows = np.concatenate([96 * product + rng.choice(96, 4, replace=False) for product in range(250)])
    right = {}
    for row in rows.tolist():
        wrong = _typo(kind, float(values[row]), rng)
        if abs(wrong - 40.0) > OUTSIDE * SD:
            right[row + 2] = float(values[row])
        values[row] = wrong
    decimals = [len(repr(value).partition(".")[2].removesuffix("0")) for value in values.tolist()]
    return replace(
        readings, table=readings.table.with_columns(value=pl.Series(values), decimals=pl.Series(decimals))
    ), right


@pytest.mark.parametrize(
    ("kind", "gross", "mended"),
    [
        ("lost point", True, 0.99),
        ("point one place off", True, 0.95),
        ("point three places off", True, 0.95),
        ("inches", True, 0.0),
        ("swapped digits", False, 0.9),
        ("wrong digit", False, 0.0),
    ],
)
def test_planted_typos_are_found(kind: str, mended: float, *, gross: bool) -> None:
    """Of 1000 planted typos of a kind, 95 % of those that move the value outside are asked about, none is altered."""
    readings, right = _planted(kind, seed=sum(map(ord, kind)))
    before = readings.table.clone()
    queries = {query.line: query for query in plausibility_queries(readings)}
    assert readings.table.equals(before)
    found = [queries[line] for line in right if line in queries]
    assert len(right) >= 300
    assert len(found) >= 0.95 * len(right)
    if gross:
        assert all(query.gross for query in found)
    suggested = [query.suggestion.split(",") for query in found]
    well = sum(
        cells[5] == "correct" and float(cells[6]) == pytest.approx(right[query.line], abs=0.006)
        for query, cells in zip(found, suggested, strict=True)
    )
    assert well >= mended * len(found)
    others = len(queries) - len(found)
    assert others <= 0.001 * readings.table.height + 1000 - len(right)


@pytest.mark.parametrize(("balls", "axes"), [(3, 2), (5, 1), (12, 1), (12, 4), (24, 1), (24, 4)])
@pytest.mark.parametrize(("ball_sd", "reading_sd"), [(0.05, 0.02), (0.0, 0.05), (0.01, 0.008), (0.0, 0.004)])
def test_clean_readings_are_hardly_asked_about(balls: int, axes: int, ball_sd: float, reading_sd: float) -> None:
    """Clean normal readings are asked about less often than once in a thousand, whatever the design and the display."""
    rng = np.random.default_rng(balls * 100 + axes)
    readings = clean_products(rng, 60_000 // (balls * axes), balls, axes, ball_sd=ball_sd, reading_sd=reading_sd)
    assert len(plausibility_queries(readings)) < 0.001 * readings.table.height


@pytest.mark.parametrize(
    ("quantity", "mean", "sd"), [("veer", 0.0, 40.0), ("outline_form", 0.04, 0.012), ("mass", 2.7, 0.02)]
)
def test_quantities_with_any_spread_are_hardly_asked_about(quantity: str, mean: float, sd: float) -> None:
    """Drifts that scatter about zero, skewed form and tight masses give no false lost points or wrong units."""
    rng = np.random.default_rng(3)
    values = np.abs(rng.normal(mean, sd, 24_000)) if quantity == "outline_form" else rng.normal(mean, sd, 24_000)
    products = pl.Series(np.arange(24_000) // 24).cast(pl.String)
    balls = pl.Series(np.arange(24_000) % 24).cast(pl.String)
    readings = readings_of(
        {"product": products, "ball": balls, "quantity": [quantity] * 24_000, "value": np.round(values, 2)}
    )
    queries = plausibility_queries(readings)
    assert len(queries) < 24
    assert not any(query.gross for query in queries)


def test_ounces_for_grams() -> None:
    """A mass written in ounces, 0.095 for 2.70 g, is asked about as a unit slip with the grams suggested."""
    readings = readings_of(
        {"quantity": ["mass"] * 6, "ball": list("123456"), "value": [2.70, 2.72, 2.69, 2.71, 2.70, 0.095]}
    )
    (query,) = plausibility_queries(readings)
    assert (query.line, query.gross) == (7, True)
    assert "ounces for grams" in query.why
    assert query.suggestion == "A,6,mass,,1,correct,2.69,,,"  # 0.095 x 28.349523125 = 2.6932


def test_the_believable_range_is_held_even_by_a_whole_file() -> None:
    """Where every diameter lost its point there is no fellow to compare with, but no ball measures 4 metres."""
    readings = readings_of({"ball": list("123"), "value": [4012.0, 4013.0, 4010.0]})
    queries = plausibility_queries(readings)
    assert len(queries) == 3
    assert all(query.gross and "1 to 400 mm" in query.why for query in queries)


def test_readings_entered_twice() -> None:
    """The same repeat again in one sitting, or the same value at the same second, is asked about at its second row."""
    columns = {
        "ball": ["1", "1", "1", "2", "2", "3", "3"],
        "axis": ["seam"] * 7,
        "repeat": [1, 1, 1, 1, 2, 1, 1],
        "sitting": ["1", "1", "2", "1", "1", "1", "1"],
        "operator": ["", "", "", "", "", "E", "F"],
        "time": ["", "", "", "2026-11-25T10:00:07", "2026-11-25T10:00:07", "", ""],
        "value": [40.1, 40.2, 40.1, 40.3, 40.3, 40.1, 40.2],
    }
    queries = plausibility_queries(readings_of(columns))
    assert [(query.line, query.gross) for query in queries] == [(3, True), (6, True)]
    assert queries[0].suggestion == "A,1,diameter,seam,1,exclude,,,,,,3"
    assert queries[1].suggestion == "A,2,diameter,seam,2,exclude,,,,"


def test_balls_of_one_number_in_two_boxes_are_singled_out() -> None:
    """Where two boxes have a ball 7, the suggestion names the box and the line behind the contract's columns."""
    readings = readings_of(
        {
            "ball": ["7", "7", "8", "9"],
            "box": ["x", "y", "x", "x"],
            "value": [40.12, 4013.0, 40.14, 40.15],
            "decimals": [2, 0, 2, 2],
        }
    )
    (query,) = plausibility_queries(readings)
    assert query.suggestion == "A,7,diameter,,1,correct,40.13,,,,y,3"
    assert query.box == "y"


def test_suggestions_are_in_the_unit_of_the_file() -> None:
    """A reading in inches gets its suggestion in inches: 15.81 in among 1.58 in is 1.581."""
    inches = [1.58, 1.581, 1.579, 15.81]
    readings = readings_of(
        {"ball": list("1234"), "value": [25.4 * inch for inch in inches], "unit": ["in"] * 4, "decimals": [3, 3, 3, 2]}
    )
    (query,) = plausibility_queries(readings)
    assert query.suggestion == "A,4,diameter,,1,correct,1.581,,,"


def test_a_million_clean_readings_are_hardly_asked_about() -> None:
    """Of a million clean readings fewer than one in a thousand are asked about, and none as gross (own limit)."""
    readings = clean_products(np.random.default_rng(4), 10_000, 25, 4, ball_sd=0.05, reading_sd=0.02)
    queries = plausibility_queries(readings)
    assert len(queries) < 1000
    assert not any(query.gross for query in queries)
