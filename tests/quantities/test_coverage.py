from __future__ import annotations

import csv
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy import stats

from ballbench.errors import BadRequest
from ballbench.quantities import coverage as cov
from ballbench.quantities.propagation import propagate
from ballbench.quantities.uncertain import Uncertain

REFERENCE = Path(__file__).resolve().parents[1] / "reference"
DATA = REFERENCE / "gum_distributions"


def rows(name: str) -> list[dict[str, str]]:
    """Read one of the tables."""
    with (DATA / name).open(encoding="utf-8") as lines:
        return list(csv.DictReader(lines))


def total(**inputs: Any) -> Any:
    """Additive equation of JCGM 101:2008, 9.2."""
    return sum(inputs.values())


ROOT3 = math.sqrt(3.0)
UNIT_RECTANGLE = cov.Rectangular(-ROOT3, ROOT3)
ADDITIVE = {
    "9.2.2": ([cov.Normal(0, 1)] * 4, 2.00, 3.92, 3.92),
    "9.2.3": ([UNIT_RECTANGLE] * 4, 2.00, 3.92, 3.88),
    "9.2.4": ([*[UNIT_RECTANGLE] * 3, cov.Rectangular(-10 * ROOT3, 10 * ROOT3)], 10.1, 19.9, 17.0),
}


@pytest.mark.parametrize(("known", "u", "first_order", "simulated"), ADDITIVE.values(), ids=ADDITIVE)
def test_sums_of_four_inputs_have_the_intervals_of_the_supplement(
    known: list[cov.Distribution], u: float, first_order: float, simulated: float
) -> None:
    """JCGM 101:2008, 9.2 (from memory, recomputed; 3.8794 is exact for 9.2.3): both ways, printed digits."""
    inputs = dict(zip("abcd", known, strict=True))
    found = cov.monte_carlo(total, inputs, 1_000_000, np.random.default_rng(1))
    assert found.mean == pytest.approx(0.0, abs=0.005 * u)
    assert found.u == pytest.approx(u, rel=0.006)
    assert (found.low, found.high) == pytest.approx((-simulated, simulated), rel=0.004)
    assert (found.shortest_low, found.shortest_high) == pytest.approx((-simulated, simulated), rel=0.02)
    assert found.shortest_high - found.shortest_low <= found.high - found.low
    budget = propagate(total, {name: each.uncertain() for name, each in inputs.items()})
    assert budget.result.interval() == pytest.approx((-first_order, first_order), rel=0.002)


MASS = {
    "mRc": cov.Normal(100_000, 0.050),
    "dmRc": cov.Normal(1.234, 0.020),
    "rhoA": cov.Rectangular(1.10, 1.30),
    "rhoW": cov.Rectangular(7000, 9000),
    "rhoR": cov.Rectangular(7950, 8050),
}


def mass_difference(mRc: Any, dmRc: Any, rhoA: Any, rhoW: Any, rhoR: Any) -> Any:
    """Equation of JCGM 101:2008, 9.3, in mg and kg/m3."""
    return (mRc + dmRc) * (1 + (rhoA - 1.2) * (1 / rhoW - 1 / rhoR)) - 100_000


def test_the_mass_calibration_needs_more_than_the_first_order() -> None:
    """Table 6 of JCGM 101:2008 (from memory, recomputed): first order, second order and simulation, as printed."""
    table = {
        row["method"]: {key: float(row[key]) for key in ("y", "u", "low", "high")}
        for row in rows("mass_calibration.csv")
    }
    budget = propagate(mass_difference, {name: each.uncertain() for name, each in MASS.items()}, second_order=True)
    first, second, simulated = table["first order"], table["second order"], table["simulation"]
    assert (budget.result.value, budget.result.u) == pytest.approx((first["y"], first["u"]), abs=6e-5)
    assert budget.result.interval() == pytest.approx((first["low"], first["high"]), abs=1e-4)
    assert budget.second_order is not None
    assert (budget.second_order.value, budget.second_order.u) == pytest.approx((second["y"], second["u"]), abs=6e-5)
    half = 1.959964 * budget.second_order.u
    assert budget.second_order.value - half == pytest.approx(second["low"], abs=2e-4)
    assert budget.second_order.value + half == pytest.approx(second["high"], abs=2e-4)
    found = cov.monte_carlo(mass_difference, MASS, 1_000_000, np.random.default_rng(2))
    assert found.mean == pytest.approx(simulated["y"], abs=2e-4)
    # Exact: u^2 = 0.0029 + 1e10 (0.01/3) E[(1/rhoW - 1/rhoR)^2], 0.075479 (computed here before, not published).
    assert found.u == pytest.approx(0.075479, abs=2e-4)
    assert found.u == pytest.approx(simulated["u"], abs=3e-4)
    ends = (found.shortest_low, found.shortest_high)
    assert ends == pytest.approx((simulated["low"], simulated["high"]), abs=2e-3)


def test_the_mass_calibration_is_not_validated() -> None:
    """d_low 0.0451 and d_high 0.0430 against 0.005 (JCGM 101:2008, 9.3, from memory): first order is refused."""
    budget = propagate(mass_difference, {name: each.uncertain() for name, each in MASS.items()})
    found = cov.monte_carlo(mass_difference, MASS, 1_000_000, np.random.default_rng(3))
    check = cov.validate_first_order(budget, found, digits=1, shortest=True)
    assert check.delta == pytest.approx(0.005)
    assert (check.d_low, check.d_high) == pytest.approx((0.0451, 0.0430), abs=2e-3)
    assert not check.validated


def test_a_linear_equation_of_normal_inputs_is_validated() -> None:
    """First order is exact for a normal sum (exact algebra), and the validation of JCGM 101:2008, 8.1 says so."""
    inputs = {"a": cov.Normal(1.0, 0.3), "b": cov.Normal(2.0, 0.4)}
    budget = propagate(total, {name: each.uncertain() for name, each in inputs.items()})
    found = cov.monte_carlo(total, inputs, 1_000_000, np.random.default_rng(4))
    for shortest in (False, True):
        check = cov.validate_first_order(budget, found, digits=1, shortest=shortest)
        assert check.validated
        assert max(check.d_low, check.d_high) <= check.delta == pytest.approx(0.05)


@pytest.mark.parametrize("row", rows("comparison_loss.csv"), ids=lambda row: f"r {row['r']}, x1 {row['x1']}")
def test_the_comparison_loss_has_the_intervals_of_the_supplement(row: dict[str, str]) -> None:
    """JCGM 101:2008, 9.4 (from memory, recomputed), in 1e-6: first order, second order and simulation."""
    r, x1, u = float(row["r"]), float(row["x1"]), 0.005
    budget = propagate(
        lambda x1, x2: 1e6 * (x1**2 + x2**2),
        {"x1": Uncertain(x1, u), "x2": Uncertain(0.0, u)},
        [[1.0, r], [r, 1.0]],
        second_order=True,
    )
    assert budget.result.value == pytest.approx(float(row["first_y"]), abs=1e-6)
    assert budget.result.u == pytest.approx(float(row["first_u"]), abs=1e-6)
    printed = {0.0: (0, 0), 0.01: (-96, 296), 0.05: (1520, 3480)}[x1]
    assert budget.result.interval() == pytest.approx(printed, abs=0.5)
    assert budget.second_order is not None
    assert budget.second_order.value == pytest.approx(float(row["second_y"]), abs=0.5)
    assert budget.second_order.u == pytest.approx(float(row["second_u"]), abs=0.51)  # 504.504 is printed as 505
    covariance = ((u**2, r * u**2), (r * u**2, u**2))
    found = cov.monte_carlo(
        lambda x1, x2: 1e6 * (x1**2 + x2**2),
        {},
        1_000_000,
        np.random.default_rng(5),
        joint=[cov.MultivariateNormal(("x1", "x2"), (x1, 0.0), covariance)],
    )
    exact = 1e6 * math.sqrt(4 * x1**2 * u**2 + 4 * u**4 * (1 + r**2))
    assert found.u == pytest.approx(exact, rel=0.005)
    assert found.mean == pytest.approx(float(row["y"]), rel=0.005)
    # Ends of shortest intervals scatter more than quantiles: 1 % of u here, and as much in the printed run.
    assert found.shortest_low == pytest.approx(float(row["low"]), abs=0.02 * exact)
    assert found.shortest_high == pytest.approx(float(row["high"]), abs=0.02 * exact)


GAUGE = {
    "Ls": cov.ScaledT(50_000_623, 25, 18),
    "D": cov.ScaledT(215, 6, 24),
    "d1": cov.ScaledT(0, 4, 5),
    "d2": cov.ScaledT(0, 7, 8),
    "alpha": cov.Rectangular(9.5e-6, 13.5e-6),
    "t0": cov.Normal(-0.1, 0.2),
    "Delta": cov.Arcsine(-0.5, 0.5),
    "dalpha": cov.CurvilinearTrapezoid(-1.0e-6, 1.0e-6, 0.1e-6),
    "dt": cov.CurvilinearTrapezoid(-0.050, 0.050, 0.025),
}


def gauge_deviation(**x: Any) -> Any:
    """Equation of JCGM 101:2008, 9.5, in nm."""
    expansion = x["dalpha"] * (x["t0"] + x["Delta"]) + x["alpha"] * x["dt"]
    return x["Ls"] + x["D"] + x["d1"] + x["d2"] - x["Ls"] * expansion - 50_000_000


def test_the_gauge_block_has_the_intervals_of_the_supplement() -> None:
    """JCGM 101:2008, Table 11 (u second-hand, the rest from memory, recomputed): 838 nm, 99 % by both ways."""
    budget = propagate(gauge_deviation, {name: each.uncertain() for name, each in GAUGE.items()}, unit="nm")
    assert budget.result.value == pytest.approx(838, abs=0.5)
    assert budget.result.u == pytest.approx(32, abs=0.5)
    assert budget.result.interval(0.99) == pytest.approx((745, 931), abs=1.0)
    found = cov.monte_carlo(gauge_deviation, GAUGE, 1_000_000, np.random.default_rng(6), 0.99)
    assert found.mean == pytest.approx(838, abs=0.5)
    assert found.u == pytest.approx(36, abs=0.5)
    assert (found.low, found.high) == pytest.approx((745, 932), abs=1.5)


def test_inexact_limits_have_the_degrees_of_freedom_of_the_guide() -> None:
    """10 % and 50 % doubt give 50 and 2 degrees of freedom (JCGM 100:2008, H.1.6 with G.4.2, seen second-hand)."""
    assert GAUGE["dalpha"].uncertain().dof == pytest.approx(50)
    assert GAUGE["dt"].uncertain().dof == pytest.approx(2)


@pytest.mark.parametrize(
    ("known", "oracle"),
    [
        (cov.Normal(3.0, 0.5), stats.norm(3.0, 0.5)),
        (cov.Rectangular(1.0, 4.0), stats.uniform(1.0, 3.0)),
        (cov.Triangular(1.0, 4.0), stats.triang(0.5, 1.0, 3.0)),
        (cov.Arcsine(1.0, 4.0), stats.arcsine(1.0, 3.0)),
        (cov.ScaledT(2.0, 0.3, 5), stats.t(5, 2.0, 0.3)),
    ],
)
def test_draws_follow_the_distribution_that_they_are_named_after(known: cov.Distribution, oracle: Any) -> None:
    """Draws agree with scipy's distribution function (Kolmogorov-Smirnov), estimates with scipy's mean and SD."""
    drawn = known.draw(np.random.default_rng(7), 100_000)
    assert stats.kstest(drawn, oracle.cdf).pvalue > 0.001
    as_guide = known.uncertain()
    assert as_guide.value == pytest.approx(oracle.mean())
    if isinstance(known, cov.ScaledT):  # the guide takes the scale and keeps the degrees of freedom instead
        assert (as_guide.u, as_guide.dof) == (0.3, 5)
    else:
        assert as_guide.u == pytest.approx(oracle.std())


def test_a_curvilinear_trapezoid_is_a_rectangle_with_smeared_limits() -> None:
    """Variance (b - a)^2/12 + d^2/9 (exact algebra on JCGM 101:2008, 6.4.3) and no value beyond the smeared limits."""
    drawn = cov.CurvilinearTrapezoid(1.0, 3.0, 0.5).draw(np.random.default_rng(8), 400_000)
    assert float(np.var(drawn)) == pytest.approx(4.0 / 12.0 + 0.25 / 9.0, rel=0.01)
    assert float(np.mean(drawn)) == pytest.approx(2.0, abs=0.005)
    assert 0.5 <= float(drawn.min()) < 0.6
    assert 3.4 < float(drawn.max()) <= 3.5


def test_joint_inputs_keep_their_correlation() -> None:
    """R, X and Z of JCGM 100:2008, H.2 by simulation: u 0.071, 0.295, 0.236 (from memory, recomputed)."""
    readings = np.loadtxt(REFERENCE / "gum" / "impedance.csv", delimiter=",", skiprows=1)
    covariance = np.cov(readings.T) / len(readings)
    known = cov.MultivariateNormal(
        ("V", "I", "phi"), tuple(readings.mean(axis=0)), tuple(tuple(row) for row in covariance)
    )
    equations = {
        0.071: lambda V, I, phi: V / I * np.cos(phi),  # noqa: E741 - the letters of the source
        0.295: lambda V, I, phi: V / I * np.sin(phi),  # noqa: E741 - the letters of the source
        0.236: lambda V, I, phi: V / I + 0 * phi,  # noqa: E741 - the letters of the source
    }
    for u, equation in equations.items():
        found = cov.monte_carlo(equation, {}, 200_000, np.random.default_rng(9), joint=[known])
        assert found.u == pytest.approx(u, abs=0.002)


def test_intervals_are_read_by_counting() -> None:
    """JCGM 101:2008, 7.7 by hand: of 1..100 with p = 0.9, 5 to 95; of growing gaps the first 91 are shortest."""
    assert cov.symmetric_interval(np.arange(1.0, 101.0), 0.9) == (5.0, 95.0)
    growing = np.arange(1.0, 101.0) ** 2
    assert cov.shortest_interval(growing[::-1], 0.9) == (1.0, 91.0**2)
    assert cov.shortest_interval(-growing, 0.9) == (-(91.0**2), -1.0)


def test_a_seed_gives_the_same_result_twice() -> None:
    """Randomness comes from the Generator that is passed in, and from nowhere else."""
    first, again = (cov.monte_carlo(total, {"a": cov.Normal(0, 1)}, 1000, np.random.default_rng(10)) for _ in range(2))
    assert first == again


def test_blocks_are_run_until_the_ends_stand_still() -> None:
    """A normal input settles on plus and minus 1.96 within the tolerance (JCGM 101:2008, 7.9.4, exact quantile)."""
    found = cov.monte_carlo_until(total, {"a": cov.Normal(0, 1)}, 0.02, np.random.default_rng(11))
    assert found.settled
    assert found.scatter < 0.02
    assert found.coverage.draws == found.blocks * 10_000
    assert (found.coverage.low, found.coverage.high) == pytest.approx((-1.959964, 1.959964), abs=0.03)


def test_blocks_grow_with_the_coverage_probability() -> None:
    """A block holds 100/(1 - p) draws and at least 10,000 (JCGM 101:2008, 7.9.4 a, from memory)."""
    for p, block in ((0.95, 10_000), (0.99, 10_000), (0.999, 100_000)):
        found = cov.monte_carlo_until(total, {"a": cov.Normal(0, 1)}, 10.0, np.random.default_rng(14), p)
        assert found.coverage.draws == found.blocks * block


def test_very_long_tails_settle_on_their_quantiles() -> None:
    """A t with 2 degrees of freedom has no variance, yet its interval settles (exact quantile 4.303)."""
    found = cov.monte_carlo_until(total, {"a": cov.ScaledT(0, 1, 2)}, 0.1, np.random.default_rng(12))
    assert found.settled
    assert found.coverage.high == pytest.approx(4.3027, abs=0.15)


def test_a_tolerance_out_of_reach_ends_at_the_cap_and_says_so() -> None:
    """The cap holds, and the result says that it did not settle."""
    found = cov.monte_carlo_until(total, {"a": cov.Normal(0, 1)}, 1e-9, np.random.default_rng(13), most=70_000)
    assert not found.settled
    assert found.coverage.draws == 70_000
    assert found.scatter > found.tolerance


@pytest.mark.parametrize(
    ("u", "digits", "delta"),
    [(0.35, 2, 0.005), (0.35, 1, 0.05), (0.0996, 2, 0.005), (0.0539, 1, 0.005), (32.0, 2, 0.5), (340.0, 1, 50.0)],
)
def test_the_numerical_tolerance_is_half_a_unit_of_the_last_figure(u: float, digits: int, delta: float) -> None:
    """JCGM 101:2008, 7.9.2 (first two examples from memory, the others by its rule)."""
    assert cov.numerical_tolerance(u, digits) == pytest.approx(delta)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: cov.Normal(0, -1),
        lambda: cov.Rectangular(2, 1),
        lambda: cov.Triangular(1, 1),
        lambda: cov.Arcsine(math.nan, 1),
        lambda: cov.ScaledT(0, 1, 0),
        lambda: cov.CurvilinearTrapezoid(0, 1, 0.6),
        lambda: cov.MultivariateNormal(("a",), (0.0,), ((1.0, 0.0), (0.0, 1.0))),
        lambda: cov.MultivariateNormal(("a", "b"), (0.0, 0.0), ((1.0, 2.0), (2.0, 1.0))),
        lambda: cov.summarise([1.0, math.inf, *[0.0] * 50]),
        lambda: cov.summarise([1.0, 2.0]),
        lambda: cov.summarise(np.arange(100.0), 95),
        lambda: cov.numerical_tolerance(0.0),
        lambda: cov.numerical_tolerance(1.0, 0),
        lambda: cov.monte_carlo(total, {"a": cov.Normal(0, 1)}, 0, np.random.default_rng(0)),
        lambda: cov.monte_carlo_until(total, {"a": cov.Normal(0, 1)}, 0.0, np.random.default_rng(0)),
    ],
)
def test_what_cannot_be_used_is_refused(wrong: Any) -> None:
    """Each gives one message with what was found and what is allowed."""
    with pytest.raises(BadRequest, match=r"found .*; allowed: "):
        wrong()
