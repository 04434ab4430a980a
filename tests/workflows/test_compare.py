from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest

from ballbench.errors import BadRequest
from ballbench.presentation.comparison_json import comparison_to_json
from ballbench.workflows.compare import CompareRequest, compare

PAIR = (
    "a", "b", "difference", "low", "high", "sd_ratio", "sd_ratio_low", "sd_ratio_high", "form_ratio", "form_ratio_low",
    "form_ratio_high", "told_apart",
)  # fmt: skip


@pytest.fixture
def compared(bench: Any) -> Callable[..., dict[str, Any]]:
    """Compare the diameters of some rows with the good caliper."""

    def run(rows: list[Any], **options: Any) -> dict[str, Any]:
        place = bench.file("bench.toml", BENCH)
        request = CompareRequest(bench.readings(rows), "diameter", place, **{"draws": 4000, **options})
        return json.loads(comparison_to_json(compare(request)))

    return run


BENCH = """[instrument.caliper]
quantity = "diameter"
unit = "mm"
resolution = 0.01
repeatability = { sd = 0.008, dof = 20, includes_rounding = true }
calibration = { offset = 0.0, offset_sd = 0.2, scale_sd = 0.0 }
"""


def test_every_key_of_the_contract_is_there(compared: Callable[..., Any], diameters: Callable[..., Any]) -> None:
    """Format, quantity, products and pairs carry the contract's keys; a pair's numbers are in order."""
    found = compared([*diameters("Curlew"), *diameters("Dunlin", seed=2), *diameters("Plover", seed=3)])
    assert found["format"] == "ballbench/comparison/1"
    assert found["quantity"] == "diameter"
    assert [p["product"] for p in found["products"]] == ["Curlew", "Dunlin", "Plover"]
    assert all({"balls", "mean", "sd", "form"} <= set(p) for p in found["products"])
    assert [(p["a"], p["b"]) for p in found["pairs"]] == [
        ("Curlew", "Dunlin"), ("Curlew", "Plover"), ("Dunlin", "Plover"),
    ]  # fmt: skip
    for pair in found["pairs"]:
        assert set(PAIR) <= set(pair)
        assert pair["low"] <= pair["difference"] <= pair["high"]
        assert isinstance(pair["told_apart"], bool)


def test_a_shared_offset_cancels_between_makes(compared: Callable[..., Any], diameters: Callable[..., Any]) -> None:
    """With an offset known to 0.2 mm only, makes 0.1 mm apart are told apart, for one caliper read both."""
    found = compared([*diameters("Curlew", balls=12), *diameters("Dunlin", balls=12, mean=40.35, seed=2)])
    (pair,) = found["pairs"]
    assert pair["told_apart"]
    assert pair["low"] < -0.1 < pair["high"]
    assert pair["high"] - pair["low"] < 0.08


def test_the_same_make_twice_is_a_tie(compared: Callable[..., Any], diameters: Callable[..., Any]) -> None:
    """Two samples of one make are not told apart, and 0 lies inside the interval of their difference."""
    (pair,) = compared([*diameters("Curlew", balls=12), *diameters("Curlew again", balls=12, seed=2)])["pairs"]
    assert not pair["told_apart"]
    assert pair["low"] < 0 < pair["high"]
    assert pair["sd_ratio_low"] < 1 < pair["sd_ratio_high"]
    assert pair["form_ratio_low"] < 1 < pair["form_ratio_high"]


def test_exchanging_the_makes_turns_the_difference_round(
    compared: Callable[..., Any], diameters: Callable[..., Any]
) -> None:
    """A minus B is minus (B minus A), up to the error of the draws."""
    a, b = diameters("Curlew"), diameters("Dunlin", mean=40.30, seed=2)
    (one,), (other,) = compared([*a, *b])["pairs"], compared([*b, *a])["pairs"]
    assert one["difference"] == pytest.approx(-other["difference"], abs=0.002)
    assert one["low"] == pytest.approx(-other["high"], abs=0.004)


def test_too_few_and_too_many_are_refused(compared: Callable[..., Any], diameters: Callable[..., Any]) -> None:
    """One make, a make of one ball, more than forty makes, or too few draws: refused with the reason."""
    for rows, says in (
        (diameters(), "two products"),
        ([*diameters(), *diameters("Dunlin", balls=1)], "two products"),
        ([row for i in range(41) for row in diameters(f"make {i}", balls=2, axes=1, seed=i)], "at most 40"),
    ):
        with pytest.raises(BadRequest, match=says):
            compared(rows)
    with pytest.raises(BadRequest, match="--draws"):
        compared([*diameters(), *diameters("Dunlin")], draws=10)
