from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from ballbench.errors import BadRequest
from ballbench.statistics.conformity import (
    capability_index,
    chance_calibration_decides,
    global_risks,
    guard_factor,
    guarded_limits,
    probability_inside,
)

DATA = Path(__file__).resolve().parents[1] / "reference" / "conformity"


@pytest.mark.parametrize(
    ("value", "u", "limits", "printed"),
    [
        (-5.47, 0.05, (None, -5.40), "0.92"),  # breakdown voltage
        (507.0, 10.0, (490.0, None), "0.955"),  # bursting strength
    ],
)
def test_chances_of_conformity_are_those_of_the_examples(
    value: float, u: float, limits: tuple[float | None, float | None], printed: str
) -> None:
    """0.92 and 0.955 (examples of JCGM 106:2012, from memory, recomputed), to the printed digit."""
    found = float(probability_inside(value, u, *limits))
    assert f"{found:.{len(printed) - 2}f}" == printed


@pytest.mark.parametrize(("chance", "z"), [(0.80, 0.84), (0.90, 1.28), (0.95, 1.64), (0.99, 2.33), (0.999, 3.09)])
def test_guard_factors_are_those_of_the_table(chance: float, z: float) -> None:
    """One-sided z as in JCGM 106:2012, Table 1 (from memory, recomputed), and the chance that it gives."""
    assert guard_factor(1 - chance) == pytest.approx(z, abs=0.0051)
    limits = guarded_limits(0.01, upper=40.0, factor=guard_factor(1 - chance))
    assert float(probability_inside(limits.met_high, 0.01, upper=40.0)) == pytest.approx(chance, rel=1e-9)


def test_a_speed_is_over_the_limit_beyond_doubt_from_107_on() -> None:
    """Guarded rejection at 99.9 % with u = 2 % of the speed: 107 km/h (JCGM 106:2012, from memory, recomputed)."""
    speed = 100.0 / (1.0 - 0.02 * guard_factor(0.001))
    assert speed == pytest.approx(107.0, abs=0.5)
    assert guarded_limits(0.02 * speed, upper=100.0, factor=guard_factor(0.001)).not_met_above == pytest.approx(speed)


def test_guard_bands_of_the_standards() -> None:
    """1.65 u leaves 95 % (ISO 14253-1:2017), 2 u leaves 97.7 % (JCGM 106:2012), both from memory, recomputed."""
    for factor, chance, half_unit in ((1.65, 0.95053, 6e-6), (2.0, 0.97725, 6e-6)):
        limits = guarded_limits(0.02, 39.5, 40.6, factor)
        assert (limits.met_low, limits.met_high) == pytest.approx((39.5 + 0.02 * factor, 40.6 - 0.02 * factor))
        assert (limits.not_met_below, limits.not_met_above) == pytest.approx(
            (39.5 - 0.02 * factor, 40.6 + 0.02 * factor)
        )
        assert float(probability_inside(limits.met_high, 0.02, 39.5, 40.6)) == pytest.approx(chance, abs=half_unit)
        assert not limits.empty
    assert guarded_limits(0.02, 39.5).met_high == math.inf
    assert guarded_limits(1.0, 39.5, 40.6).empty


def test_the_capability_index_of_four_to_one() -> None:
    """A tolerance of 0.40 and u = 0.025, expanded 0.05, give 4 (definition in JCGM 106:2012, 7.6.3, from memory)."""
    assert capability_index(-0.2, 0.2, 0.025) == pytest.approx(4.0)


@pytest.mark.parametrize(
    "row",
    list(csv.DictReader((DATA / "risks_computed.csv").read_text(encoding="utf-8").splitlines())),
    ids=lambda row: f"{row['case']}, guard {row['guard']}",
)
def test_global_risks_agree_with_an_independent_calculation(row: dict[str, str]) -> None:
    """Consumer's and producer's risk (inputs of JCGM 106:2012, 9.5.4, from memory; answers computed, not published)."""
    mean, sd, u, lower, upper, guard = (float(row[k]) for k in ("mean", "sd", "u", "lower", "upper", "guard"))
    found = global_risks(mean, sd, u, lower, upper, guard=guard)
    half_unit = 1.1 * float(row["half_unit"])
    assert found.consumer == pytest.approx(float(row["consumer"]), abs=half_unit)
    assert found.producer == pytest.approx(float(row["producer"]), abs=half_unit)


def test_global_risks_agree_with_counting_balls() -> None:
    """Of two million simulated balls so many are bad and accepted, good and rejected (known truth), one limit."""
    rng = np.random.default_rng(27)
    true = rng.normal(40.30, 0.15, 2_000_000)
    read = true + rng.normal(0.0, 0.05, true.size)
    found = global_risks(40.30, 0.15, 0.05, upper=40.60, guard=0.03)
    bad, accepted = true > 40.60, read <= 40.57
    for share, counted in (
        (found.consumer, bad & accepted),
        (found.producer, ~bad & ~accepted),
        (found.nonconforming, bad),
    ):
        assert share == pytest.approx(float(counted.mean()), abs=4 * math.sqrt(share / true.size))


def test_risks_at_the_ends_are_exact() -> None:
    """A rule that accepts nothing rejects every good ball; a sharp instrument hardly errs (exact limits)."""
    nothing = global_risks(0.0, 1.0, 0.1, -1.0, 1.0, guard=2.0)
    assert (nothing.consumer, nothing.producer + nothing.nonconforming) == (0.0, pytest.approx(1.0))
    assert nothing.nonconforming == pytest.approx(2 * stats.norm.sf(1.0))
    sharp = global_risks(0.0, 1.0, 1e-6, -1.0, 1.0)
    # u/sd times phi(1)/sqrt(2 pi) on either side, to first order.
    assert sharp.consumer == pytest.approx(2 * 1e-6 * stats.norm.pdf(1.0) / math.sqrt(2 * math.pi), rel=1e-3)


def test_small_chances_keep_their_figures() -> None:
    """Ten u beyond a limit the chance is Phi(-10), not 0 (scipy's own tail)."""
    assert float(probability_inside(10.0, 1.0, -5.0, 0.0)) == pytest.approx(stats.norm.sf(10.0), rel=1e-10)
    assert float(probability_inside(-10.0, 1.0, 0.0, 5.0)) == pytest.approx(stats.norm.sf(10.0), rel=1e-10)


def test_an_exact_value_is_inside_or_not() -> None:
    """A u of 0 gives 0 or 1 with the limit itself inside, and an unknown value stays unknown (exact)."""
    found = probability_inside([39.9, 40.0, 40.1, math.nan], 0.0, upper=40.0)
    assert found == pytest.approx([1.0, 1.0, 0.0, math.nan], nan_ok=True)
    assert math.isnan(float(probability_inside(math.nan, 0.1, upper=40.0)))


@pytest.mark.parametrize(("margin", "u", "u_after"), [(0.01, 0.02, 0.005), (0.0, 0.02, 0.01), (0.05, 0.02, 0.01)])
def test_the_chance_that_a_calibration_decides_agrees_with_playing_it_through(
    margin: float, u: float, u_after: float
) -> None:
    """True offsets drawn, calibrated, combined and judged again: the share decided is the formula's (known truth)."""
    rng = np.random.default_rng(28)
    size = 400_000
    true = rng.normal(margin, u, size)
    # A calibration of standard uncertainty c brings u to u_after: 1/u_after^2 = 1/u^2 + 1/c^2.
    c = 1.0 / math.sqrt(1 / u_after**2 - 1 / u**2)
    seen = rng.normal(true, c)
    combined = u_after**2 * (margin / u**2 + seen / c**2)
    inside = stats.norm.cdf(combined / u_after)
    decided = float(np.mean((inside >= 0.95) | (inside <= 0.05)))
    assert chance_calibration_decides(margin, u, u_after) == pytest.approx(decided, abs=0.004)
    assert chance_calibration_decides(-margin, u, u_after) == chance_calibration_decides(margin, u, u_after)


def test_a_calibration_that_gains_nothing_or_everything() -> None:
    """With u unchanged the present decision stands; with u gone everything is decided (exact limits)."""
    assert chance_calibration_decides(0.01, 0.02, 0.02) == 0.0
    assert chance_calibration_decides(0.04, 0.02, 0.02) == 1.0
    assert chance_calibration_decides(0.01, 0.02, 0.0) == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        (lambda: probability_inside(1.0, 0.1), "one limit, or two in order"),
        (lambda: probability_inside(1.0, -0.1, upper=2.0), "standard uncertainties"),
        (lambda: guarded_limits(-0.1, 2.0, 1.0), "limits"),
        (lambda: guarded_limits(math.nan, upper=1.0, factor=-1.0), "factor"),
        (lambda: guard_factor(0.5), "between 0 and 0.5"),
        (lambda: capability_index(0.0, 1.0, 0.0), "above 0"),
        (lambda: global_risks(math.nan, 0.0, 0.1, upper=1.0), "sd"),
        (lambda: chance_calibration_decides(0.1, 0.1, 0.2), "up to 0.1"),
    ],
)
def test_what_cannot_be_judged_is_refused(wrong: object, words: str) -> None:
    """Each gives one message that says where and what is allowed."""
    with pytest.raises(BadRequest, match=words):
        wrong()  # type: ignore[operator]
