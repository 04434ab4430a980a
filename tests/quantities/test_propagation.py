from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from ballbench.errors import BadRequest, NotConverged
from ballbench.quantities.coverage import Rectangular, Triangular
from ballbench.quantities.propagation import Budget, effective_dof, output_correlation, propagate
from ballbench.quantities.uncertain import Uncertain

DATA = Path(__file__).resolve().parents[1] / "reference" / "gum"


def end_gauge() -> dict[str, Uncertain]:
    """Read the inputs of JCGM 100:2008, H.1."""
    with (DATA / "end_gauge.csv").open(encoding="utf-8") as lines:
        return {
            row["input"]: Uncertain(float(row["estimate"]), float(row["u"]), float(row["dof"]), row["unit"])
            for row in csv.DictReader(lines)
        }


def end_gauge_length(*, lS: float, d: float, alphaS: float, theta: float, dalpha: float, dtheta: float) -> float:
    """Equation of JCGM 100:2008, H.1."""
    return lS + d - lS * (dalpha * theta + alphaS * dtheta)


def end_gauge_budget(*, second_order: bool = False) -> Budget:
    """Budget of JCGM 100:2008, H.1."""
    inputs = {name: known for name, known in end_gauge().items() if not name.startswith("d_comp")}
    return propagate(end_gauge_length, inputs, unit="nm", second_order=second_order)


def test_the_end_gauge_budget_is_that_of_the_guide() -> None:
    """Contributions, u, degrees of freedom and U99 of JCGM 100:2008, H.1 (seen second-hand) come out as printed."""
    budget = end_gauge_budget()
    assert budget.result.value == pytest.approx(50_000_838.0, abs=1e-6)
    contributions = [abs(line.contribution) for line in budget.lines]
    assert contributions[:4] == pytest.approx([25.0, 9.7, 0.0, 0.0], abs=1e-5)
    assert contributions[4] == pytest.approx(2.9, abs=0.05)
    assert contributions[5] == pytest.approx(16.6, abs=0.1)  # 16.68 unrounded, printed 16.6
    assert budget.result.u == pytest.approx(32.0, abs=0.5)
    assert budget.result.u**2 == pytest.approx(1002.0, rel=0.005)  # unrounded 1005.7: 16.68 nm is printed as 16.6
    assert math.floor(budget.result.dof) == 16
    assert budget.expanded(0.99) == pytest.approx(93.0, abs=0.5)
    assert budget.expanded(0.95) == pytest.approx(68.0, abs=1.0)


def test_the_second_order_of_the_end_gauge_is_that_of_the_guide() -> None:
    """With the terms of second order u is 34 nm, 33.91115 in public code (JCGM 100:2008, H.1.7)."""
    second = end_gauge_budget(second_order=True).second_order
    assert second is not None
    assert second.u == pytest.approx(33.91115, abs=1e-4)
    assert second.u == pytest.approx(34.0, abs=0.5)
    # The source prints the two terms as 11.7 nm and 1.7 nm (from memory); its own inputs give 11.9 and 1.74.
    added = math.sqrt(second.u**2 - end_gauge_budget().result.u ** 2)
    assert added == pytest.approx(math.hypot(50_000_623e-6 * 0.58 * 0.41, 50_000_623e-6 * 1.2 * 0.029), rel=1e-3)
    assert added == pytest.approx(math.hypot(11.7, 1.7), abs=0.3)


def test_the_comparison_reading_of_the_end_gauge_is_made_of_three_parts() -> None:
    """u(d) = 9.7 nm with 25.6 degrees of freedom (JCGM 100:2008, H.1.3 and H.1.6; 25.6 comes from the rounded 9.7)."""
    parts = {name: known for name, known in end_gauge().items() if name.startswith("d_comp")}
    budget = propagate(lambda **parts: sum(parts.values()), parts)
    assert budget.result.u == pytest.approx(9.7, abs=0.05)
    assert budget.result.dof * (9.7 / budget.result.u) ** 4 == pytest.approx(25.6, abs=0.05)


def test_degrees_of_freedom_follow_from_the_printed_contributions() -> None:
    """Equation (G.2b) gives 16.7 for the printed contributions (JCGM 100:2008, H.1.6)."""
    assert effective_dof([25.0, 9.7, 2.9, 16.6], [18, 25.6, 50, 2]) == pytest.approx(16.7, abs=0.1)
    assert effective_dof([1.0, 2.0], [math.inf, math.inf]) == math.inf
    assert effective_dof([0.0, 2.0], [3, math.inf]) == math.inf
    assert math.isnan(effective_dof([1.0, 2.0], [3, math.nan]))


def impedance(readings: NDArray[np.float64], *, correlated: bool) -> dict[str, Budget]:
    """Budgets of R, X and Z of JCGM 100:2008, H.2."""
    means, spreads = readings.mean(axis=0), readings.std(axis=0, ddof=1) / math.sqrt(len(readings))
    inputs = {name: Uncertain(m, u) for name, m, u in zip(("V", "I", "phi"), means, spreads, strict=True)}
    correlation = np.corrcoef(readings.T) if correlated else None
    equations = {
        "R": lambda V, I, phi: V / I * math.cos(phi),  # noqa: E741 - the letters of the source
        "X": lambda V, I, phi: V / I * math.sin(phi),  # noqa: E741 - the letters of the source
        "Z": lambda V, I, phi: V / I,  # noqa: ARG005, E741 - every input is passed
    }
    return {name: propagate(equation, inputs, correlation, unit="ohm") for name, equation in equations.items()}


@pytest.fixture(scope="module")
def readings() -> NDArray[np.float64]:
    """Read the five simultaneous readings of JCGM 100:2008, Table H.2."""
    return np.loadtxt(DATA / "impedance.csv", delimiter=",", skiprows=1)


def test_the_readings_of_the_impedance_have_the_table_of_the_guide(readings: NDArray[np.float64]) -> None:
    """Means, their uncertainties and correlations agree with JCGM 100:2008, Table H.2 (from memory, recomputed)."""
    means, spreads = readings.mean(axis=0), readings.std(axis=0, ddof=1) / math.sqrt(len(readings))
    assert means == pytest.approx([4.9990, 19.6610e-3, 1.04446], rel=5e-6)
    for u, printed, half_a_digit in zip(spreads, (0.0032, 0.0095e-3, 0.00075), (5e-5, 5e-8, 5e-6), strict=True):
        assert u == pytest.approx(printed, abs=half_a_digit)
    r = np.corrcoef(readings.T)
    assert [r[0, 1], r[0, 2], r[1, 2]] == pytest.approx([-0.36, 0.86, -0.65], abs=5.1e-3)


def test_correlated_inputs_give_the_impedance_of_the_guide(readings: NDArray[np.float64]) -> None:
    """R, X, Z and their uncertainties agree with JCGM 100:2008, Table H.3 (from memory, recomputed)."""
    budgets = impedance(readings, correlated=True)
    values = [budgets[name].result.value for name in "RXZ"]
    spreads = [budgets[name].result.u for name in "RXZ"]
    assert values == pytest.approx([127.732, 219.847, 254.260], abs=6e-4)
    assert spreads == pytest.approx([0.071, 0.295, 0.236], abs=6e-4)  # X is 0.2956 unrounded


def test_results_from_the_same_inputs_are_correlated_as_in_the_guide(readings: NDArray[np.float64]) -> None:
    """r(R, X), r(R, Z), r(X, Z) agree with JCGM 100:2008, Table H.3 (from memory, recomputed)."""
    budgets = impedance(readings, correlated=True)
    found = [output_correlation(budgets[a], budgets[b]) for a, b in ("RX", "RZ", "XZ")]
    assert found == pytest.approx([-0.588, -0.485, 0.993], abs=6e-4)
    assert output_correlation(budgets["R"], budgets["R"]) == pytest.approx(1.0)


def test_both_ways_of_averaging_the_impedance_agree(readings: NDArray[np.float64]) -> None:
    """Propagating means and averaging results give one uncertainty (JCGM 100:2008, Table H.4, from memory)."""
    V, I, phi = readings.T  # noqa: E741 - the letters of the source
    for name, each in (("R", V / I * np.cos(phi)), ("X", V / I * np.sin(phi)), ("Z", V / I)):
        budget = impedance(readings, correlated=True)[name]
        assert budget.result.u == pytest.approx(each.std(ddof=1) / math.sqrt(5), rel=0.005)
        assert budget.result.value == pytest.approx(each.mean(), abs=1e-3)
        value, u = {"R": (127.732, 0.071), "X": (219.847, 0.295), "Z": (254.260, 0.236)}[name]
        assert each.mean() == pytest.approx(value, abs=6e-4)
        assert each.std(ddof=1) / math.sqrt(5) == pytest.approx(u, abs=6e-4)


def test_leaving_the_correlation_out_gives_what_the_guide_warns_of(readings: NDArray[np.float64]) -> None:
    """Without correlations u is 0.195, 0.201, 0.204 (JCGM 100:2008, Table H.5, from memory, recomputed)."""
    budgets = impedance(readings, correlated=False)
    assert [budgets[name].result.u for name in "RXZ"] == pytest.approx([0.195, 0.201, 0.204], abs=6e-4)


def test_the_thermometer_line_carries_its_covariance() -> None:
    """The correction at 30 degC is -0.1494 with u 0.0041 (JCGM 100:2008, H.3, from memory, recomputed)."""
    t, b = np.loadtxt(DATA / "thermometer.csv", delimiter=",", skiprows=1, unpack=True)
    (slope, start), covariance = np.polyfit(t - 20.0, b, 1, cov=True)
    u_slope, u_start = np.sqrt(np.diag(covariance))
    r = covariance[0, 1] / (u_slope * u_start)
    s = math.sqrt(float(np.sum((b - start - slope * (t - 20.0)) ** 2)) / (len(t) - 2))
    assert s == pytest.approx(0.0035, abs=5e-5)
    assert [start, u_start] == pytest.approx([-0.1712, 0.0029], abs=6e-5)
    assert [slope, u_slope] == pytest.approx([0.00218, 0.00067], abs=6e-6)
    assert r == pytest.approx(-0.930, abs=6e-4)
    inputs = {"y1": Uncertain(start, u_start, 9), "y2": Uncertain(slope, u_slope, 9)}
    budget = propagate(lambda y1, y2: y1 + y2 * (30.0 - 20.0), inputs, [[1.0, r], [r, 1.0]], unit="degC")
    assert budget.result.value == pytest.approx(-0.1494, abs=6e-5)
    assert budget.result.u == pytest.approx(0.0041, abs=6e-5)
    assert math.isnan(budget.result.dof)


def test_twenty_temperatures_give_the_mean_of_the_guide() -> None:
    """Mean 100.14, s 1.49, u(mean) 0.33 degC (JCGM 100:2008, 4.4.3, from memory, recomputed), by propagation."""
    readings = np.loadtxt(DATA / "temperatures.csv", skiprows=1)
    s = float(np.std(readings, ddof=1))
    assert s == pytest.approx(1.49, abs=0.005)
    inputs = {f"t{i}": Uncertain(reading, s, 19, "degC") for i, reading in enumerate(readings)}
    budget = propagate(lambda **each: sum(each.values()) / len(each), inputs, unit="degC")
    assert budget.result.value == pytest.approx(100.145, abs=5e-4)
    assert budget.result.u == pytest.approx(0.33, abs=0.005)


def test_limits_alone_give_the_uncertainties_of_the_guide() -> None:
    """96 to 104 degC is u = 2.3 as a rectangle and 1.6 as a triangle (JCGM 100:2008, 4.4.5 and 4.4.6, from memory)."""
    assert Rectangular(96.0, 104.0).uncertain().u == pytest.approx(2.3, abs=0.05)
    assert Triangular(96.0, 104.0).uncertain().u == pytest.approx(1.6, abs=0.05)
    # Half a display step, JCGM 100:2008, F.2.2.1: 0.29 of the step (from memory, exact algebra).
    assert Rectangular(-0.005, 0.005).uncertain().u == pytest.approx(0.0029, abs=5e-5)


@settings(deadline=None, derandomize=True)
@given(
    factors=st.lists(st.floats(-100, 100), min_size=3, max_size=3),
    values=st.lists(st.floats(-1e4, 1e4), min_size=3, max_size=3),
    spreads=st.lists(st.floats(1e-3, 10), min_size=3, max_size=3),
)
@example(factors=[0.0, 0.001, 17.0], values=[0.0, 0.0, 4161.0], spreads=[1.0, 1.0, 0.00390625])
def test_a_sum_with_factors_propagates_exactly(factors: list[float], values: list[float], spreads: list[float]) -> None:
    """For a linear equation u^2 is the sum of (c u)^2 (exact algebra), whatever the sizes of the inputs."""
    inputs = {name: Uncertain(v, u) for name, v, u in zip("abc", values, spreads, strict=True)}
    budget = propagate(lambda a, b, c: factors[0] * a + factors[1] * b + factors[2] * c, inputs)
    assert budget.result.u == pytest.approx(math.hypot(*np.multiply(factors, spreads)), rel=1e-5, abs=1e-8)


def test_fully_correlated_inputs_add_without_squares() -> None:
    """Two inputs with correlation 1 add their uncertainties, with -1 they cancel (exact algebra)."""
    inputs = {"a": Uncertain(1.0, 0.3), "b": Uncertain(2.0, 0.4)}
    together, against = (propagate(lambda a, b: a + b, inputs, [[1, r], [r, 1]]) for r in (1.0, -1.0))
    assert together.result.u == pytest.approx(0.7)
    assert against.result.u == pytest.approx(0.1)


def test_second_order_moments_of_an_exponential_are_those_of_the_series() -> None:
    """exp(X), X normal about 0 with SD s: mean 1 + s^2/2 and variance s^2 + 3 s^4/2 to that order (exact algebra)."""
    budget = propagate(lambda x: float(np.exp(x)), {"x": Uncertain(0.0, 0.1)}, second_order=True)
    assert budget.second_order is not None
    assert budget.second_order.value == pytest.approx(1.0 + 0.01 / 2.0, rel=1e-9)
    assert budget.second_order.u**2 == pytest.approx(0.01 + 1.5 * 0.01**2, rel=1e-6)


def test_an_exact_input_has_no_sensitivity_and_no_contribution() -> None:
    """An input with u = 0 contributes nothing; its sensitivity is not known and is said to be NaN."""
    budget = propagate(lambda a, b: a * b, {"a": Uncertain(2.0, 0.0), "b": Uncertain(3.0, 0.1)})
    assert math.isnan(budget.lines[0].sensitivity)
    assert budget.lines[0].contribution == 0.0
    assert budget.result.u == pytest.approx(0.2)


@pytest.mark.parametrize(
    ("correlation", "words"),
    [
        ([[1.0]], "2 rows and columns"),
        ([[1.0, 0.5], [0.4, 1.0]], "symmetric"),
        ([[1.0, 1.5], [1.5, 1.0]], "occur together"),
        ([[2.0, 0.5], [0.5, 1.0]], "1 on the diagonal"),
        ([[1.0, math.nan], [math.nan, 1.0]], "symmetric"),
    ],
)
def test_a_matrix_that_is_no_correlation_is_refused(correlation: list[list[float]], words: str) -> None:
    """What is wrong with the matrix is said."""
    with pytest.raises(BadRequest, match=words):
        propagate(lambda a, b: a + b, {"a": Uncertain(1.0, 0.1), "b": Uncertain(1.0, 0.1)}, correlation)


def test_an_equation_without_an_answer_is_refused() -> None:
    """NaN at the estimates, no inputs, two lists of inputs and a derivative that does not exist are said."""
    with pytest.raises(BadRequest, match="finite result"):
        propagate(lambda a: a * math.nan, {"a": Uncertain(1.0, 0.1)})
    with pytest.raises(BadRequest, match="at least one input"):
        propagate(lambda: 1.0, {})
    one, other = (propagate(lambda **x: sum(x.values()), {name: Uncertain(1.0, 0.1)}) for name in "ab")
    with pytest.raises(BadRequest, match="one list"):
        output_correlation(one, other)
    with pytest.raises(NotConverged, match="sensitivity to a"):
        propagate(lambda a: math.floor(1e3 * math.sin(1e4 * a)), {"a": Uncertain(1.0, 0.1)})
