from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.findings.planning.planned import CALIPER, setting_of

from ballbench.errors import BadRequest
from ballbench.findings.planning.designs import Design, TruthAt
from ballbench.findings.planning.simulating import draw_balls, draw_shared, read_balls, sample_from
from ballbench.findings.planning.testing import Setting, simulated_samples
from ballbench.records import Expansion, Instrument, Squeeze, Temperature
from ballbench.statistics.preparation import prepare

SURE = Instrument("caliper", "diameter", "mm", 1e-5, 1e-6, 1e9, offset=-0.05)


def _readings(setting: Setting, tests: int, seed: int = 1) -> np.ndarray:
    """Displayed readings, (T, n, k, r)."""
    samples, _, _ = simulated_samples(setting, tests, np.random.default_rng(seed))
    design = setting.design
    return np.stack([sample.values for sample in samples]).reshape(tests, design.balls, design.axes, design.repeats)


def test_what_the_bench_does_is_undone_by_the_corrections() -> None:
    """Offset, squeeze and a warm bench, all known exactly: the judging's own corrections give the true values back."""
    setting = setting_of(
        TruthAt(40.0, 0.05, 0.03), 5, 3, tool=SURE,
        temperature=Temperature(27.0, 0.0, 23.0), expansion=Expansion(9e-5, 0.0),
        squeeze={"planned": Squeeze(0.04, 0.0)},
    )  # fmt: skip
    rng = np.random.default_rng(3)
    kit, product = setting.terms.kit, setting.terms.product
    values = draw_balls(setting.truth, 5, 3, 1, rng)
    shown = read_balls(kit, product, values, 1, draw_shared(kit, 1, rng), rng)
    assert abs(shown[0, :, :, 0] - values[0]).max() > 0.01
    prepared = prepare(sample_from(kit, product, setting.design, shown[0]), kit.bench)
    assert prepared.study.means[0] == pytest.approx(values[0], abs=2e-5)


def test_balls_and_form_have_their_spread() -> None:
    """Levels vary with the SD between balls, places about them with the ball's own form SD (definition; 4 se)."""
    values = draw_balls(TruthAt(40.0, 0.05, 0.02, 0.5), 400, 8, 20, np.random.default_rng(4))
    within = values.std(axis=2, ddof=1)
    assert values.mean() == pytest.approx(40.0, abs=4 * 0.05 / np.sqrt(8000))
    assert np.median(within) == pytest.approx(0.02 * np.sqrt(6.346 / 7), rel=0.05)  # median of chi-square, 7 dof
    form = float(np.mean(within**2))
    assert form == pytest.approx(0.02**2 * np.exp(2 * 0.5**2), rel=0.12)
    assert values.mean(axis=2).var() == pytest.approx(0.05**2 + form / 8, rel=0.07)


def test_repeats_differ_by_the_stated_repeatability_with_its_degrees_of_freedom() -> None:
    """Variance of repeats, rounding included: sd^2 dof / (dof - 2) on average (mean of a scaled inverse chi-square)."""
    y = _readings(setting_of(TruthAt(40.25, 0.02, 0.02), 6, 2, 5), 2000)
    own = y.var(axis=3, ddof=1).mean(axis=(1, 2))
    assert own.mean() == pytest.approx(0.008**2 * 20 / 18, rel=0.05)
    assert own.std() > 2 * own.mean() * np.sqrt(2 / (6 * 2 * 4)) * 0.5
    known = replace(CALIPER, dof=1e9)
    fixed = _readings(setting_of(TruthAt(40.25, 0.02, 0.02), 6, 2, 5, tool=known), 2000)
    spread = fixed.var(axis=3, ddof=1).mean(axis=(1, 2))
    assert spread.mean() == pytest.approx(0.008**2, rel=0.03)
    assert spread.std() < own.std()


def test_what_is_shared_is_drawn_anew_for_each_test() -> None:
    """Means of tests vary by offset, scale and temperature together: root of the sum of squares (JCGM 100, 5.1.2)."""
    tool = Instrument("caliper", "diameter", "mm", 1e-4, 1e-4, 1e9, offset_sd=0.01, scale_sd=3e-4)
    setting = setting_of(
        TruthAt(40.0, 0.0), 3, 1, tool=tool, temperature=Temperature(23.0, 4.0, 23.0), expansion=Expansion(9e-5, 0.2)
    )
    spread = float(_readings(setting, 4000).mean(axis=(1, 2, 3)).std())
    expected = np.sqrt(0.01**2 + (40 * 3e-4) ** 2 + (40 * (9e-5 - 11.5e-6) * 4.0) ** 2)
    assert spread == pytest.approx(expected, rel=0.05)


@pytest.mark.parametrize(("display", "lowest", "highest"), [("rounds", -0.5, 0.5), ("truncates", -1.0, 0.0)])
def test_the_display_shows_whole_steps(display: str, lowest: float, highest: float) -> None:
    """Readings are multiples of the step; a display that cuts off shows up to a step too little (definition)."""
    tool = Instrument("rule", "diameter", "mm", 0.1, 0.03, 1e9, display=display)  # type: ignore[arg-type]
    setting = setting_of(TruthAt(40.03, 0.0), 50, 1, tool=tool)
    kit, rng = setting.terms.kit, np.random.default_rng(1)
    values = draw_balls(TruthAt(40.03, 0.2), 50, 1, 40, rng)
    shared = replace(draw_shared(kit, 40, rng), noise=np.zeros(40))
    steps = read_balls(kit, "planned", values, 1, shared, rng)[..., 0] / 0.1
    assert steps == pytest.approx(np.rint(steps), abs=1e-6)
    off = np.rint(steps) - values / 0.1
    assert off.min() >= lowest - 1e-6
    assert off.max() <= highest + 1e-6
    assert np.ptp(off) > 0.9


def test_samples_hold_the_pooled_squares_of_repeats() -> None:
    """Mean, squares and degrees of freedom of a simulated sample are numpy's own of its readings (other library)."""
    setting = setting_of(TruthAt(40.2, 0.02, 0.02), 4, 2, 3)
    (sample,), _, _ = simulated_samples(setting, 1, np.random.default_rng(2))
    y = sample.values.reshape(4, 2, 3)
    assert sample.mean == pytest.approx(y.mean(axis=2))
    assert sample.sse == pytest.approx(float(y.var(axis=2, ddof=1).sum() * 2))
    assert sample.sse_dof == 4 * 2 * 2


def test_impossible_designs_and_truths_are_refused_all_faults_at_once() -> None:
    """Counts below 1, negative or infinite numbers: each is named (rule of this project)."""
    with pytest.raises(BadRequest) as caught:
        Design(0, 3, 0)
    assert [fault.where for fault in caught.value.faults] == ["design, balls", "design, repeats"]
    with pytest.raises(BadRequest) as caught:
        TruthAt(float("nan"), -1.0, float("inf"))
    assert [fault.where for fault in caught.value.faults] == ["true mean", "true sd", "true form sd"]


def test_minutes_are_a_quarter_of_a_minute_a_reading() -> None:
    """24 balls at 4 places, read twice: 192 readings, 48 minutes (own choice of the project)."""
    assert (Design(24, 4, 2).readings, Design(24, 4, 2).minutes) == (192, 48.0)
