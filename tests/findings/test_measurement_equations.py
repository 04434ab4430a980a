from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.findings.made_samples import bench_of, sample_of

from ballbench.findings.measurement_equations import (
    as_shown,
    equation_of,
    inputs_of,
    length_at_reference,
    mass_in_vacuum,
    rebound_from,
    sphere_volume,
    with_sampling,
)
from ballbench.quantities.coverage import Rectangular
from ballbench.quantities.propagation import Budget, propagate
from ballbench.quantities.uncertain import Uncertain
from ballbench.records import Bench, Expansion, Instrument, Squeeze, Temperature
from ballbench.statistics.preparation import Prepared, prepare

WARM = {"temperature": Temperature(21.5, 1.0, 23.0), "expansion": Expansion(9e-5, 0.2)}


def propagated(prepared: Prepared, bench: Bench, *, single: bool = True) -> Budget:
    """Propagate the equation of a sample's quantity with all its inputs."""
    inputs = inputs_of(prepared, bench, single=single)
    known = {name: each.known.uncertain(each.unit) for name, each in inputs.items()}
    return propagate(equation_of(prepared.sample.quantity), known, unit="mm")


def sizes(budget: Budget) -> dict[str, float]:
    """Contributions by name, without sign."""
    return {line.name: abs(line.contribution) for line in budget.lines if line.contribution}


def test_a_length_comes_out_as_the_instruments_page_works_it_out_by_hand() -> None:
    """40.12 mm, offset 0.01, 21.5 for 23 degC, 0.02 mm of squeeze: 40.1361 mm and the errors, all by hand algebra."""
    bench = bench_of(
        sd=0.008, dof=20, resolution=0.01, offset=0.01, offset_sd=0.01, zeroed="each sitting",
        squeeze={"A": Squeeze(0.02, 0.005)}, **WARM,  # type: ignore[arg-type]
    )  # fmt: skip
    prepared = prepare(sample_of(np.array([[40.12]]), step=0.01), bench)
    budget = propagated(prepared, bench)
    by_hand = (40.12 - 0.01) * (1 + 11.5e-6 * 1.5 + 9e-5 * 1.5) + 0.02
    assert budget.result.value == pytest.approx(by_hand, abs=1e-12)
    assert sizes(budget) == pytest.approx(
        {
            "reading": 8e-3, "offset": 10e-3, "zero": 0.01 / math.sqrt(12), "ball_temperature": 40.11 * 9e-5,
            "expansion": 40.11 * 1.8e-5 * 1.5, "squeeze": 5e-3,
        }, rel=1e-3,
    )  # fmt: skip


def test_the_equation_and_the_engine_s_corrections_agree() -> None:
    """Its value at the estimates is the mean of the corrected readings, its shared errors those taken off the draws."""
    rng = np.random.default_rng(1)
    bench = bench_of(
        sd=0.008, offset=-0.03, offset_sd=0.012, scale_sd=2e-4, squeeze={"A": Squeeze(0.01, 0.004)}, **WARM
    )
    prepared = prepare(sample_of(40 + 0.03 * rng.standard_normal((6, 3))), bench)
    budget = propagated(prepared, bench, single=False)
    assert budget.result.value == pytest.approx(float(prepared.study.means.mean()), abs=1e-9)
    found = sizes(budget)
    shared = math.hypot(*(size for name, size in found.items() if name != "reading"))
    assert shared == pytest.approx(prepared.shared_sd, rel=1e-3)
    assert found["scale"] == pytest.approx(40 * 2e-4, rel=1e-2)


def test_a_display_that_cuts_off_takes_half_a_step() -> None:
    """Readings cut off to 0.1 mm stand 0.05 mm low on average (exact algebra); the engine adds as much."""
    bench = bench_of(sd=0.2, resolution=0.1, display="truncates")
    prepared = prepare(sample_of(np.array([[40.1, 40.5], [40.3, 40.2], [39.9, 40.7]]), step=0.1), bench)
    budget = propagated(prepared, bench)
    assert prepared.bounds is None
    assert budget.result.value == pytest.approx(float(np.mean([40.1, 40.5, 40.3, 40.2, 39.9, 40.7])) + 0.05)
    assert budget.result.value == pytest.approx(float(prepared.study.means.mean()))


def test_a_shared_error_is_one_input_and_that_is_perfect_correlation() -> None:
    """An offset input for each of 5 balls, correlated with 1, is one offset for all (JCGM 100:2008, 5.2.2)."""
    balls = range(5)
    each = {f"y{i}": Uncertain(40.0, 0.02) for i in balls} | {f"o{i}": Uncertain(0.0, 0.01) for i in balls}
    correlation = np.eye(10)
    correlation[5:, 5:] = 1.0

    def mean(**x: float) -> float:
        return sum(as_shown(reading=x[f"y{i}"], offset=x[f"o{i}"], scale=0.0, zero=0.0) for i in balls) / 5

    apart = propagate(mean, each, correlation)
    known = {"reading": Uncertain(40.0, 0.02 / math.sqrt(5)), "offset": Uncertain(0.0, 0.01)}
    together = propagate(lambda reading, offset: as_shown(reading=reading, offset=offset, scale=0.0, zero=0.0), known)
    assert apart.result.u == pytest.approx(math.hypot(0.02 / math.sqrt(5), 0.01))
    assert together.result.u == pytest.approx(apart.result.u)
    assert propagate(mean, each).result.u < 0.8 * apart.result.u  # independent offsets would average away


def test_one_thermometer_for_ball_and_caliper_acts_on_the_difference_of_their_expansions() -> None:
    """Temperatures correlated with 1 contribute D (a_ball - a_steel) u(T) (exact algebra): less than the ball alone."""
    known = {"ball_temperature": Uncertain(23.0, 1.0), "instrument_temperature": Uncertain(23.0, 1.0)}

    def length(ball_temperature: float, instrument_temperature: float) -> float:
        return float(
            length_at_reference(
                reading=40.0, offset=0.0, scale=0.0, zero=0.0, squeeze=0.0, expansion=9e-5, reference=23.0,
                ball_temperature=ball_temperature, instrument_temperature=instrument_temperature,
            )
        )  # fmt: skip

    both = propagate(length, known, [[1.0, 1.0], [1.0, 1.0]])
    assert both.result.u == pytest.approx(40.0 * (9e-5 - 11.5e-6), rel=1e-6)
    assert both.result.u < 40.0 * 9e-5


@settings(deadline=None, derandomize=True)
@given(true=st.floats(0.1, 1e3), offset=st.floats(-1, 1), zero=st.floats(-0.1, 0.1), scale=st.floats(-0.05, 0.05))
def test_what_an_instrument_adds_is_taken_off_again(true: float, offset: float, zero: float, scale: float) -> None:
    """A value shown as value (1 + scale) + offset + zero comes back (exact algebra)."""
    shown = true * (1.0 + scale) + offset + zero
    assert as_shown(reading=shown, offset=offset, scale=scale, zero=zero) == pytest.approx(true, rel=1e-9)


def test_a_hollow_ball_weighs_less_in_air() -> None:
    """2.700 g on a 40 mm ball is 2.740 g (computed: 1.2 kg/m3 times 33.51 cm3 is 0.0402 g); a weight is itself."""
    volume = sphere_volume(40.0)
    assert volume == pytest.approx(33_510.3, abs=0.1)
    assert mass_in_vacuum(weighed=2.7, air_density=1.2, weights_density=8000.0, volume=volume) == pytest.approx(
        2.7398, abs=5e-5
    )
    steel = mass_in_vacuum(weighed=8.0, air_density=1.2, weights_density=8000.0, volume=1000.0)
    assert steel == pytest.approx(8.0, rel=1e-12)
    true, heavy = 2.5, 5e4  # balance of forces, the other way round: m g - rho_a V g = W g (1 - rho_a / rho_w)
    weighed = (true - 1.2e-6 * heavy) / (1.0 - 1.2 / 8000.0)
    found = mass_in_vacuum(weighed=weighed, air_density=1.2, weights_density=8000.0, volume=heavy)
    assert found == pytest.approx(true, rel=1e-12)


def test_the_rebound_keeps_its_restitution() -> None:
    """From 305 mm to 250 mm is e^2 = 0.8197; from 308 mm the same ball comes to 252.5 mm (h = e^2 H, no drag)."""
    assert rebound_from(rebound=250.0, drop_height=305.0, asked_height=308.0) == pytest.approx(250 / 305 * 308)


def test_the_zero_of_a_sitting_is_a_rectangle_half_a_step_wide_on_either_side() -> None:
    """Pressed once, the zero stands within half a step: u = 0.29 of the step (JCGM 100:2008, F.2.2.1, from memory)."""
    bench = bench_of(sd=0.02, resolution=0.01, zeroed="each sitting")
    prepared = prepare(sample_of(np.array([[40.12, 40.15], [40.1, 40.2]]), step=0.01), bench)
    zero = inputs_of(prepared, bench, single=False)["zero"].known
    assert isinstance(zero, Rectangular)
    assert (zero.low, zero.high) == pytest.approx((-0.005, 0.005))
    assert zero.uncertain().u == pytest.approx(0.29 * 0.01, rel=0.01)


def test_zeros_of_two_sittings_average_in_a_mean_but_not_in_one_reading() -> None:
    """Two sittings alike: the mean bears a zero over the root of two, one reading bears its own (exact algebra)."""
    bench = bench_of(sd=0.02, resolution=0.01, zeroed="each sitting")
    y = 40 + 0.03 * np.random.default_rng(2).standard_normal((8, 2))
    prepared = prepare(sample_of(y, sittings=np.arange(16.0).reshape(8, 2) % 2, step=0.01), bench)
    one, mean = (sizes(propagated(prepared, bench, single=single))["zero"] for single in (True, False))
    assert one == pytest.approx(0.01 / math.sqrt(12), rel=1e-6)
    assert mean == pytest.approx(one / math.sqrt(2), rel=1e-6)


def test_repeats_in_the_sample_join_the_bench_file_s_noise() -> None:
    """Pooled SD and summed degrees of freedom (exact algebra): 0.01 with 10, and SSE 0.0063 with 12, make 22."""
    y = np.array([[[40.0, 40.0 + d]] for d in np.sqrt(2 * 0.0063 / 12) * np.ones(12)])  # SSE d^2 / 2 a cell
    prepared = prepare(sample_of(y), bench_of(sd=0.01, dof=10))
    reading = inputs_of(prepared, bench_of(sd=0.01, dof=10), single=True)["reading"]
    known = reading.known.uncertain()
    assert known.dof == 22
    assert known.u == pytest.approx(math.sqrt((10 * 0.01**2 + 0.0063) / 22))
    assert reading.kind == "A"


def test_a_repeatability_that_was_only_assumed_is_of_type_b() -> None:
    """Usual values without a bench file are no repeated readings (JCGM 100:2008, 2.3.3)."""
    bench = bench_of(sd=0.01, dof=4, assumed=True)
    prepared = prepare(sample_of(np.array([[40.0, 40.1], [40.2, 40.05]])), bench)
    assert inputs_of(prepared, bench, single=True)["reading"].kind == "B"


def test_other_quantities_have_no_temperature() -> None:
    """A mass is what the scale shows, freed of offset, scale and zero; balls and places are added by name."""
    tool = Instrument("caliper", "rebound", "mm", 1e-4, 0.01, 1e6, offset=0.5)
    bench = Bench({"caliper": tool}, **WARM)  # type: ignore[arg-type]
    sample = sample_of(np.array([[2.7], [2.8]]), quantity="rebound")
    inputs = inputs_of(prepare(sample, bench), bench, single=True)
    assert set(inputs) == {"reading", "offset", "scale", "zero"}
    estimates = {name: each.known.uncertain().value for name, each in inputs.items()}
    assert equation_of("rebound")(**estimates) == pytest.approx(2.75 - 0.5)
    assert with_sampling(as_shown)(**estimates, balls=0.1, places=-0.02) == pytest.approx(2.75 - 0.5 + 0.08)
