from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np
import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made_tables import clean_products, readings_of

from ballbench.records import Readings, samples_of

_ROW = st.fixed_dictionaries(
    {
        "product": st.sampled_from("AB"),
        "box": st.sampled_from(["", "1"]),
        "ball": st.sampled_from(["1", "2", "3"]),
        "quantity": st.sampled_from(["diameter", "mass"]),
        "axis": st.sampled_from(["", "seam"]),
        "instrument": st.sampled_from(["", "caliper", "micrometer"]),
        "sitting": st.sampled_from(["", "1", "a/b"]),
        "value": st.integers(3900, 4100).map(lambda hundredths: hundredths / 100),
    }
)


@settings(max_examples=80, deadline=None)
@given(rows=st.lists(_ROW, min_size=1, max_size=40))
def test_samples_agree_with_counting_row_by_row(rows: list[dict[str, object]]) -> None:
    """Means, counts, shares and squared deviations equal those of plain loops over the rows, and no row is lost."""
    readings = readings_of({name: [row[name] for row in rows] for name in rows[0]})
    samples = {(name, quantity): sample for name, of in samples_of(readings) for quantity, sample in of.items()}
    assert set(samples) == {(row["product"], row["quantity"]) for row in rows}
    for (name, quantity), sample in samples.items():
        mine = [row for row in rows if (row["product"], row["quantity"]) == (name, quantity)]
        assert sample.values.tolist() == [row["value"] for row in mine]
        assert sample.unit == {"diameter": "mm", "mass": "g"}[quantity]
        for (i, ball), (j, axis) in product(
            enumerate(zip(sample.boxes, sample.balls, strict=True)), enumerate(sample.axes)
        ):
            cell = [row for row in mine if (row["box"], row["ball"], row["axis"]) == (*ball, axis)]
            assert sample.count[i, j] == len(cell)
            assert np.isnan(sample.mean[i, j]) == (not cell)
            if cell:
                assert sample.mean[i, j] == pytest.approx(np.mean([row["value"] for row in cell]), rel=1e-12)
            for level, (kind, _) in enumerate(sample.levels):
                tool, sitting = sample.origins[level]
                belongs = [
                    row
                    for row in cell
                    if row["instrument"] == tool and (kind == "instrument" or row["sitting"] == sitting)
                ]
                assert sample.shares[i, j, level] == pytest.approx(len(belongs) / len(cell) if cell else 0.0)
        groups: dict[tuple[object, ...], list[float]] = {}
        for row in mine:
            key = tuple(row[part] for part in ("box", "ball", "axis", "instrument", "sitting"))
            groups.setdefault(key, []).append(float(str(row["value"])))
        assert sample.sse == pytest.approx(sum(len(group) * np.var(group) for group in groups.values()), abs=1e-9)
        assert sample.sse_dof == len(mine) - len(groups)
        assert [mine[0]["axis"]] == [sample.axes[sample.cell[0] % len(sample.axes)]]


def test_levels_are_named_by_instrument_and_sitting() -> None:
    """Two sittings of one caliper are one instrument level and two sitting levels."""
    readings = readings_of(
        {
            "ball": ["1", "1", "2"],
            "value": [40.0, 40.2, 40.1],
            "instrument": ["caliper"] * 3,
            "sitting": ["1", "2", "2"],
        }
    )
    sample = dict(samples_of(readings))["A"]["diameter"]
    assert sample.levels == (("instrument", "caliper"), ("sitting", "caliper/1"), ("sitting", "caliper/2"))
    np.testing.assert_allclose(sample.shares[:, 0], [[1.0, 0.5, 0.5], [1.0, 0.0, 1.0]])
    assert sample.instrument == "caliper"


def test_products_without_such_readings_have_no_sample() -> None:
    """Every product is given in order of first appearance, with an empty dict where the quantity was not read."""
    readings = readings_of(
        {"product": ["B", "A", "B"], "quantity": ["mass", "diameter", "mass"], "value": [2.7, 40.1, 2.8]}
    )
    assert [(name, list(of)) for name, of in samples_of(readings, ["mass"])] == [("B", ["mass"]), ("A", [])]
    empty = replace(readings, table=readings.table.clear())
    assert list(samples_of(empty)) == []


@pytest.mark.parametrize(("step", "decimals", "unit", "wanted"), [
    (0.01, 2, "mm", 0.01),
    (0.02, 2, "mm", 0.02),
    (0.05, 2, "mm", 0.05),
    (0.0005, 4, "in", 0.0127),
    (0.001, 3, "mm", 0.001),
])  # fmt: skip
def test_display_steps_are_seen_from_the_values(step: float, decimals: int, unit: str, wanted: float) -> None:
    """A display that moves by 0.01, 0.02 or 0.05 mm or by 0.0005 in (0.0127 mm) is told from enough readings."""
    rng = np.random.default_rng(11)
    scale = 25.4 if unit == "in" else 1.0
    values = np.round(np.round(rng.normal(40.0, 15 * step * scale, 200) / scale / step) * step, decimals) * scale
    readings = readings_of({"value": values, "decimals": [decimals] * 200, "unit": [unit] * 200})
    assert dict(samples_of(readings))["A"]["diameter"].step == pytest.approx(wanted, rel=1e-9)


def test_few_or_equal_readings_show_the_last_decimal_only() -> None:
    """Ten readings that all end in 0 do not make a step of 0.1: the written decimals decide."""
    readings = readings_of({"value": np.full(100, 40.1), "decimals": np.full(100, 2)})
    assert dict(samples_of(readings))["A"]["diameter"].step == pytest.approx(0.01)


def test_every_reading_of_ten_thousand_products_is_in_one_sample(made: Readings) -> None:
    """Of 10,000 products x 100 readings every reading is in one sample."""
    total = sum(of["diameter"].values.size for _, of in samples_of(made))
    assert total == made.table.height == 1_000_000


@pytest.fixture(scope="module")
def made() -> Readings:
    """A million clean readings."""
    return clean_products(np.random.default_rng(1), 10_000, 25, 4, ball_sd=0.05, reading_sd=0.02)


def test_rows_in_any_order_give_the_same_samples() -> None:
    """Shuffling the rows of a table changes the order of balls and axes, but no ball's mean."""
    readings = clean_products(np.random.default_rng(2), 3, 6, 2, ball_sd=0.05, reading_sd=0.02)
    shuffled = replace(readings, table=readings.table.sample(fraction=1.0, shuffle=True, seed=5))
    for name, of in samples_of(shuffled):
        sample, original = of["diameter"], dict(samples_of(readings))[name]["diameter"]
        balls = [original.balls.index(ball) for ball in sample.balls]
        axes = [original.axes.index(axis) for axis in sample.axes]
        np.testing.assert_allclose(sample.mean, original.mean[np.ix_(balls, axes)])
    assert shuffled.table.select(pl.col("value").sum()).item() == pytest.approx(readings.table["value"].sum())
