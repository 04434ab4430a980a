from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np
import pytest

from ballbench.errors import BadRequest, NotFound
from ballbench.physics.thermal import EXPANSIONS, GAUGE_STEEL, at_reference, expansion_of
from ballbench.quantities.uncertain import Uncertain

DATA = Path(__file__).resolve().parents[1] / "reference" / "expansion"
NONE = Uncertain(0.0, 0.0)


def exact(value: float) -> Uncertain:
    return Uncertain(value, 0.0)


def size_change(alpha: float, caliper: Uncertain = NONE) -> float:
    """What 5 K above the reference add to 40 mm, micrometres, as the correction takes it off again."""
    done = at_reference(exact(40.0), exact(25.0), 20.0, exact(alpha), caliper_expansion=caliper)
    return 1000 * (40.0 - done.result.value)


def test_five_kelvin_are_worth_micrometres() -> None:
    """Size change of a 40 mm ball to the printed digit (computed for this project)."""
    with (DATA / "sizes.csv").open(encoding="utf-8") as lines:
        for row in csv.DictReader(lines):
            alpha, printed = float(row["alpha_per_million"]), row["um_for_5_kelvin"]
            assert f"{size_change(alpha * 1e-6):.1f}" == printed


def test_a_plastic_ball_outgrows_the_display() -> None:
    """40 mm of ABS at 73.8e-6 per K: 0.0148 mm; of 9e-5 per K: 0.018 mm; a steel caliper hides 2.3 um (computed)."""
    assert f"{size_change(73.8e-6) / 1000:.4f}" == "0.0148"
    assert f"{size_change(9e-5) / 1000:.3f}" == "0.018"
    assert f"{size_change(9e-5) - size_change(9e-5, GAUGE_STEEL):.1f}" == "2.3"


def test_steel_read_with_steel_needs_no_correction() -> None:
    """A steel ball read by a steel caliper at any temperature has its diameter of 20 degC (exact algebra)."""
    done = at_reference(exact(50.8), exact(31.0), 20.0, GAUGE_STEEL)
    assert done.result.value == pytest.approx(50.8, rel=1e-15)


def test_the_uncertainty_is_that_of_simulated_benches() -> None:
    """200,000 drawn benches have the stated mean and SD; temperature acts on ball and caliper at once (simulation)."""
    rng = np.random.default_rng(8)
    read, t, ball, steel = (
        rng.normal(value, u, 200_000) for value, u in ((40.12, 0.004), (26.0, 1.0), (9e-5, 1.8e-5), (11.5e-6, 1.2e-6))
    )
    drawn = read * (1 + steel * (t - 20) - ball * (t - 23))
    done = at_reference(Uncertain(40.12, 0.004), Uncertain(26.0, 1.0), 23.0, Uncertain(9e-5, 1.8e-5)).result
    assert done.value == pytest.approx(float(drawn.mean()), abs=5e-5)
    assert done.u == pytest.approx(float(drawn.std()), rel=0.03)  # the product of two deviations is second order


def test_a_warm_hand_is_the_ball_s_alone() -> None:
    """A ball 5 K warmer than the bench is 0.018 mm larger than it would be (9e-5 per K, exact algebra)."""
    usual = at_reference(exact(40.0), exact(23.0), 23.0, exact(9e-5)).result.value
    warm = at_reference(exact(40.0), exact(23.0), 23.0, exact(9e-5), ball_temperature=exact(28.0)).result.value
    assert usual - warm == pytest.approx(0.018, rel=1e-9)


def test_the_table_holds_the_published_numbers() -> None:
    """Every row with material, range and grade as in the certificate, and no other."""
    with (DATA / "sources.csv").open(encoding="utf-8") as lines:
        printed = [(r["material"], float(r["low"]), float(r["high"]), r["seen"]) for r in csv.DictReader(lines)]
    rows = [(row.material, round(row.low * 1e6, 6), round(row.high * 1e6, 6), row.seen) for row in EXPANSIONS]
    assert rows == printed
    assert all(row.source for row in EXPANSIONS)


def test_sources_that_differ_make_an_expansion_uncertain() -> None:
    """ABS 53 to 150 as a rectangle (JCGM 100:2008, 4.3.7); one number alone keeps 20 per cent; steel is that of H.1."""
    abs_ = expansion_of("ABS")
    assert (abs_.value, abs_.u) == pytest.approx((101.5e-6, 97e-6 / math.sqrt(12)), rel=1e-9)
    rubber = expansion_of("nitrile rubber")
    assert (rubber.value, rubber.u) == pytest.approx((235e-6, 47e-6), rel=1e-9)
    assert expansion_of("steel") is GAUGE_STEEL
    with pytest.raises(NotFound, match=r"one of: cellulose nitrate, .*1/K"):
        expansion_of("cork")


def test_what_no_bench_has_is_refused() -> None:
    """Fahrenheit and millionths are named, all at once."""
    with pytest.raises(BadRequest) as caught:
        at_reference(
            exact(40.0), exact(70.0), 73.0, exact(90.0), caliper_expansion=exact(11.5), ball_temperature=exact(75.0)
        )
    assert len(caught.value.faults) == 5
    assert "9e-5" in str(caught.value)
