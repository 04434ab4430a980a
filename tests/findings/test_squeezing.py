"""The squeeze of a make from hung weights, which share their friction, and from forces that were read."""

from __future__ import annotations

import math

import numpy as np
import pytest

from ballbench.errors import BadRequest
from ballbench.findings.qualifying.squeezing import FRICTION, MASS_U, SLIDE_U, Hanging, squeeze_found
from ballbench.physics.jaw_forces import GRAVITY
from ballbench.records.bench import Instrument
from ballbench.records.force_readings import ForceReading

CALIPER = Instrument("caliper", "diameter", "mm", 0.001, 0.002, math.inf)
MASSES = (100.0, 200.0, 400.0)
SLIDE = 60.0
LOSS = 0.02  # mm a newton


def benches(count: int, seed: int, noise: float = 0.002) -> np.ndarray:
    """Squeeze found less the true one over its SD, for benches whose weights share slide, friction and gravity."""
    rng = np.random.default_rng(seed)
    tool, out = Instrument("caliper", "diameter", "mm", 1e-4, noise, math.inf), []
    for _ in range(count):
        slide, gravity = SLIDE + rng.normal(0.0, SLIDE_U), rng.normal(GRAVITY.value, GRAVITY.u)
        hung = np.array(MASSES) + rng.normal(0.0, MASS_U, 3)
        pull = (hung + slide) / 1000.0 * gravity - rng.uniform(0.0, FRICTION)
        rows = [
            ForceReading(1, "Curlew", "01", "", 0.0, 40.2 - LOSS * force + rng.normal(0.0, noise), mass)
            for force, mass in zip(pull.tolist(), MASSES, strict=True)
            for _ in range(4)
        ]
        (found,) = squeeze_found(rows, tool, "shell", hanging=Hanging(SLIDE))
        out.append((found.value - LOSS * pull[0]) / found.sd)
    return np.array(out)


@pytest.mark.parametrize("noise", [0.002, 0.0003])
def test_intervals_of_a_squeeze_by_hung_weights_hold_the_truth(noise: float) -> None:
    """400 benches, friction anything from none to all: 95 % intervals cover 92 to 98 %, give or take 3 SE (simulation).

    Where noise is small the friction alone is left, a rectangle, which 1.96 of its SD hold wholly (exact algebra).
    """
    share = float(np.mean(np.abs(benches(400, 1, noise)) < 1.96))
    slack = 3.0 * math.sqrt(0.95 * 0.05 / 400)
    assert 0.92 - slack < share
    assert share < 0.98 + slack or noise < 0.001


@pytest.mark.slow
def test_intervals_of_a_squeeze_by_hung_weights_hold_the_truth_in_many_benches() -> None:
    """The same in 4,000 benches: 92 to 98 % (simulation)."""
    assert 0.92 < np.mean(np.abs(benches(4000, 2)) < 1.96) < 0.98


def test_a_shared_friction_moves_the_squeeze_by_its_own_part() -> None:
    """U = s u_common for a shell, of one straight line through two forces (squeeze.md: "so many newtons": s dF)."""
    rows = [
        ForceReading(1, "Curlew", "01", "", 0.0, 40.2 - LOSS * (mass + SLIDE) / 1000.0 * GRAVITY.value, mass)
        for mass in (100.0, 400.0)
    ]
    still = Instrument("caliper", "diameter", "mm", 1e-6, 1e-6, math.inf)
    (found,) = squeeze_found(rows, still, "shell", hanging=Hanging(SLIDE, 0.3))
    gravity = GRAVITY.value
    common = math.hypot(0.3 / math.sqrt(12.0), gravity * SLIDE_U / 1000.0)
    ratio = (100.0 + SLIDE) / 300.0  # own errors of the two masses, each times the distance drawn out
    own = gravity * MASS_U / 1000.0 * math.hypot(ratio, ratio)
    assert found.force == pytest.approx(0.16 * gravity - 0.15, rel=1e-9)
    assert found.sd == pytest.approx(LOSS * math.hypot(common, own), rel=0.02)


def test_forces_in_newtons_share_nothing() -> None:
    """5 % of each, independent: s hypot(u1 g2, u2 g1)/(g2 - g1) at the smallest force, two forces (JCGM 100, 5.1.2)."""
    rows = [ForceReading(1, "Curlew", "01", "", force, 40.2 - LOSS * force) for force in (2.0, 8.0)]
    still = Instrument("caliper", "diameter", "mm", 1e-6, 1e-6, math.inf)
    (found,) = squeeze_found(rows, still, "shell")
    assert found.force == 2.0
    assert found.sd == pytest.approx(LOSS * math.hypot(0.1 * 8.0, 0.4 * 2.0) / 6.0, rel=1e-3)


def test_a_weight_and_a_force_go_together() -> None:
    """One reading by hand at 2 N, one with 400 g hung: the line has both, and loses what was planted."""
    pull = (400.0 + SLIDE) / 1000.0 * GRAVITY.value - FRICTION / 2.0
    rows = [
        ForceReading(1, "Curlew", "01", "", 2.0, 40.2 - LOSS * 2.0),
        ForceReading(2, "Curlew", "01", "", 3.92, 40.2 - LOSS * pull, 400.0),
    ]
    (found,) = squeeze_found(rows, CALIPER, "shell", at_force=2.0, hanging=Hanging(SLIDE))
    assert found.value == pytest.approx(LOSS * 2.0, rel=1e-6)


def test_one_weight_is_not_enough() -> None:
    """The refusal names the weight as it was hung."""
    rows = [ForceReading(1, "Curlew", "01", "", 0.98, 40.2, 100.0)]
    with pytest.raises(BadRequest, match="one force, 100 g"):
        squeeze_found(rows, CALIPER, "shell")


def test_a_weight_that_friction_holds_is_named_with_its_ball() -> None:
    """No name of a function: ball, which mass, its weight, the friction, and what to do (rule of this project)."""
    rows = [ForceReading(1, "Curlew", "01", "seam", 0.0, 40.2, mass) for mass in (100.0, 400.0)]
    with pytest.raises(BadRequest) as caught:
        squeeze_found(rows, CALIPER, "shell", hanging=Hanging(SLIDE, 2.0))
    (fault,) = caught.value.faults
    assert fault.where == "ball 01, seam: mass 1"
    assert "more than the friction, 2 N" in fault.allowed
