from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy import stats
from tests.findings.made_samples import bench_of, clause_of, reading_of, sample_of

from ballbench.findings.budget_omissions import left_out
from ballbench.findings.budgets import Sampling, assembled, budgets_of, described
from ballbench.findings.evidence import Evidence
from ballbench.findings.results import BudgetFinding, BudgetLine
from ballbench.records import Bench, Expansion, Squeeze, Temperature
from ballbench.statistics.preparation import prepare
from ballbench.statistics.study import Floats

DRAWS = 20_000
WARM = {"temperature": Temperature(21.5, 1.0, 23.0), "expansion": Expansion(9e-5, 0.2)}


def balls(rng: np.random.Generator, shape: tuple[int, ...], *, sb: float = 0.03, sf: float = 0.02) -> Floats:
    """True diameters (n, k), and as many readings of each as the shape's third number asks for, noise 0.008 mm."""
    truth = 40 + sb * rng.standard_normal((shape[0], 1)) + sf * rng.standard_normal(shape[:2])
    return np.asarray(truth.reshape(*shape[:2], *(1,) * (len(shape) - 2)) + 0.008 * rng.standard_normal(shape))


def of_engine(y: Floats, bench: Bench, **sample: object) -> dict[str, BudgetFinding]:
    """Budgets of a simulated product with the engine's own draws beside them."""
    prepared = prepare(sample_of(y, **sample), bench)  # type: ignore[arg-type]
    item = Evidence(prepared, [clause_of(reading_of("mean", "mean", upper=41.0))], np.random.default_rng(1), 1, 0, {})
    item.draw(DRAWS, 0)
    (found,) = described({"diameter": item}, bench, check=True)
    return {budget.of: budget for budget in found.budgets}


def quickly(y: Floats, bench: Bench, **sample: object) -> dict[str, BudgetFinding]:
    """Budgets without any draws."""
    prepared = prepare(sample_of(y, **sample), bench)  # type: ignore[arg-type]
    return {one.of: one for one in budgets_of(prepared, bench, None, {}, unit="mm", seed=None)}


SHARED: dict[str, object] = {"offset_sd": 0.006, "squeeze": {"A": Squeeze(0.01, 0.003)}, **WARM}
CASES: dict[str, tuple[tuple[int, ...], dict[str, object]]] = {
    "12 balls, 3 places": ((12, 3), {}),
    "12 balls, 3 places, shared errors": ((12, 3), SHARED),
    "24 balls, one place": ((24, 1), {"offset_sd": 0.001}),
    "10 balls, 2 places, 3 repeats": ((10, 2, 3), {"offset_sd": 0.001}),
    "16 balls, 4 places, a scale in doubt": ((16, 4), {"scale_sd": 1e-4}),
}


@pytest.mark.parametrize(("shape", "bench"), CASES.values(), ids=CASES)
def test_the_budget_of_these_balls_is_what_the_engine_draws(shape: tuple[int, ...], bench: dict[str, object]) -> None:
    """Its u and U against SD and 95 % half width of the draws of that mean: both within 4 %, 20,000 draws (0.5 %)."""
    found = of_engine(balls(np.random.default_rng(3), shape), bench_of(sd=0.008, dof=200, **bench))  # type: ignore[arg-type]
    budget = found["mean of these balls"]
    assert budget.drawn_u == pytest.approx(budget.u, rel=0.04)
    assert budget.drawn_expanded == pytest.approx(budget.expanded, rel=0.04)
    assert budget.notes == ()


def test_the_budget_holds_with_places_that_were_not_read() -> None:
    """A quarter of the readings missing: each ball's mean weighs by its own places; within 8 % of the draws.

    The draws borrow strength from the fellows for a ball read once, so that they may lie below the budget.
    """
    rng = np.random.default_rng(4)
    y = balls(rng, (14, 3), sf=0.004)
    y[rng.permutation(14)[:10], rng.integers(0, 3, 10)] = np.nan
    budget = of_engine(y, bench_of(sd=0.008, dof=200))["mean of these balls"]
    assert budget.drawn_u == pytest.approx(budget.u, rel=0.08)


def test_the_budget_of_balls_like_these_is_near_what_the_engine_draws() -> None:
    """U of balls like these against the draws' half width: within 10 %, the draws weighing sb and form together."""
    budget = of_engine(balls(np.random.default_rng(5), (20, 3)), bench_of(sd=0.008, dof=200))[
        "mean of balls like these"
    ]
    assert budget.drawn_expanded == pytest.approx(budget.expanded, rel=0.1)
    classical = 40 + balls(np.random.default_rng(5), (20, 3)).mean(axis=1)  # s / root n holds noise, form and balls
    assert budget.u == pytest.approx(float(classical.std(ddof=1)) / math.sqrt(20), rel=0.08)


def test_few_degrees_of_freedom_part_the_standard_uncertainties_but_not_the_intervals() -> None:
    """With dof 5 the SD of a t is root(5/3) times its scale (exact); U, which knows t, agrees with the draws' 95 %.

    One place a ball, and balls that spread 25 times the noise, so that the readings themselves say nothing of it.
    """
    y = balls(np.random.default_rng(6), (12, 1), sb=0.5)
    budget = of_engine(y, bench_of(sd=0.02, dof=5))["mean of these balls"]
    assert budget.u == pytest.approx(0.02 / math.sqrt(12))
    assert budget.expanded == pytest.approx(stats.t(5).ppf(0.975) * 0.02 / math.sqrt(12))
    assert budget.drawn_u is not None
    assert budget.drawn_u > 1.12 * budget.u
    assert budget.drawn_expanded == pytest.approx(budget.expanded, rel=0.08)


def test_a_coarse_display_parts_budget_and_draws_and_says_so() -> None:
    """At a step of 0.1 mm and no other noise the readings are intervals; one reading is not known better than 0.029."""
    y = np.round(40 + 0.02 * np.random.default_rng(7).standard_normal((8, 2)), 1)
    found = of_engine(y, bench_of(sd=0.005, resolution=0.1, dof=20), step=0.1)
    assert found["one reading"].u >= 0.1 / math.sqrt(12)  # JCGM 100:2008, F.2.2.1
    budget = found["mean of these balls"]
    assert budget.drawn_expanded is not None
    apart = abs(budget.drawn_expanded / budget.expanded - 1.0) > 0.1
    assert bool(budget.notes) == apart
    assert not apart or "interval of the display" in budget.notes[0]


def test_the_interval_of_the_budget_covers_as_it_says() -> None:
    """In 200 simulated benches with shared errors and dof 8 the truth lies within U in 95 % (binomial, 4 SD: 89 on)."""
    rng = np.random.default_rng(8)
    inside = 0
    for _ in range(200):
        truth = 40 + 0.03 * rng.standard_normal((6, 1)) + 0.02 * rng.standard_normal((6, 2))
        sd = 0.02 * math.sqrt(rng.chisquare(8) / 8)  # what the repeat study found, 0.02 being true
        y = truth + 0.005 * rng.standard_normal() + 0.02 * rng.standard_normal((6, 2))
        budget = quickly(y, bench_of(sd=sd, dof=8, offset_sd=0.005))["mean of these balls"]
        inside += abs(budget.value - truth.mean()) <= budget.expanded
    assert inside >= 200 * 0.95 - 4 * math.sqrt(200 * 0.95 * 0.05)
    assert inside < 200


def test_scatter_averages_and_shared_errors_do_not() -> None:
    """0.012 shared and 0.006 scatter: one reading, 4 places, 9 balls of 4: root(144 + 36 / m) um (exact algebra)."""
    y = np.full((9, 4), 40.0) + 0.05 * np.random.default_rng(9).standard_normal((9, 1))
    found = quickly(y, bench_of(sd=0.006, offset_sd=0.012))
    for of, readings in (("one reading", 1), ("mean of one ball", 4), ("mean of these balls", 36)):
        assert found[of].u == pytest.approx(1e-3 * math.sqrt(144 + 36 / readings), rel=1e-6)
        shares = {line.name: line.share for line in found[of].lines}
        assert shares["offset"] == pytest.approx(144 / (144 + 36 / readings), rel=1e-6)
        assert sum(shares.values()) == pytest.approx(1.0)
        assert list(shares.values()) == sorted(shares.values(), reverse=True)


def test_welch_and_satterthwaite_give_the_degrees_of_freedom_of_the_guide() -> None:
    """Contributions 25, 9.7, 2.9, 16.6 nm with 18, 25.6, 50, 2: 16, U95 68 nm (JCGM 100:2008, H.1, second-hand)."""
    known = ((25.0, 18.0), (9.7, 25.6), (2.9, 50.0), (16.6, 2.0))
    names = ("offset", "reading", "zero", "squeeze")
    lines = [
        BudgetLine(name, name, "B", u, "nm", 1.0, u, dof, 0.0) for name, (u, dof) in zip(names, known, strict=True)
    ]
    budget = assembled("one reading", "nm", 838.0, lines, np.empty(0), "gauge")
    assert budget.u == pytest.approx(32, abs=0.5)
    assert math.floor(budget.dof) == 16
    assert (budget.factor, budget.expanded) == (pytest.approx(2.12, abs=5e-3), pytest.approx(68, abs=1))
    assert budget.dominant == "offset"  # 625 of 1003 nm2
    assert budget.lines[1].name == "squeeze"


LINES = {
    "offset": "What the caliper's own error adds outweighs everything else: calibrate it before reading more balls.",
    "reading": "The scatter of the readings outweighs everything else: more readings make this more certain.",
    "balls": "The spread between the balls outweighs everything else: more balls make this more certain, a better "
    "instrument does not.",
    "squeeze": "How far the jaws press the balls in outweighs everything else: find it from readings at two forces "
    "before reading more balls.",
}


@pytest.mark.parametrize(("name", "sentence"), LINES.items(), ids=LINES)
def test_the_sentence_names_what_has_more_than_half_of_the_variance(name: str, sentence: str) -> None:
    """Variance 4 of 5 dominates; 4 of 9 does not, and then the two largest are named (exact algebra)."""
    base = BudgetLine("zero", "rounding of the zero", "B", 1.0, "mm", 1.0, 1.0, math.inf, 0.0)
    large = replace(base, name=name, words="the large one", u=2.0, contribution=2.0)
    budget = assembled("mean of these balls", "mm", 40.0, [base, large], np.empty(0), "caliper")
    assert (budget.dominant, budget.sentence) == (name, sentence)
    other = replace(base, name="expansion", words="another", contribution=2.0)
    level = assembled("mean of these balls", "mm", 40.0, [base, large, other], np.empty(0), "caliper")
    assert level.dominant == ""
    assert level.sentence == "Nothing outweighs all the rest; most comes from: the large one; then another."


def test_simulation_bears_out_a_normal_budget_and_refuses_a_rectangle() -> None:
    """A lone zero of +-5 um has the 95 % interval +-4.75 um (exact), not +-1.96 x 2.89; normal errors are borne out."""
    y = 40 + 0.05 * np.random.default_rng(10).standard_normal((30, 4))
    normal = of_engine(y, bench_of(sd=0.008, dof=200, offset_sd=0.01))["mean of these balls"].check
    assert normal is not None
    assert (normal.validated, normal.settled) == (True, True)
    found = of_engine(y, bench_of(sd=0.001, resolution=0.01, dof=200, zeroed="each sitting"), step=1e-4)
    budget = found["mean of these balls"]
    check = budget.check
    assert check is not None
    assert not check.validated
    assert (check.high - check.low) / 2 == pytest.approx(0.95 * 0.005, rel=0.03)
    assert check.d_high == pytest.approx(budget.value + budget.expanded - check.high)
    assert found["one reading"].check is None


def test_what_cannot_be_averaged_has_no_budget_of_a_mean() -> None:
    """Extremes found by turning are no sample of places; one ball has no mean of balls; one reading none at all."""
    turned = quickly(
        np.array([[40.2, 39.9], [40.1, 39.8], [40.3, 40.0], [40.2, 40.0]]), bench_of(sd=0.01),
        axes=("largest found", "smallest found"),
    )  # fmt: skip
    assert list(turned) == ["one reading"]
    assert list(quickly(np.array([[40.0, 40.1, 40.05]]), bench_of())) == ["one reading", "mean of one ball"]
    assert list(quickly(np.array([[40.0]]), bench_of())) == ["one reading"]
    assert list(quickly(np.array([[40.0], [40.1]]), bench_of())) == ["one reading", "mean of these balls"]


def test_a_budget_stands_in_the_unit_of_its_clauses() -> None:
    """In centimetres every length is a tenth, kelvins stay, and shares do not change (exact algebra)."""
    bench = bench_of(sd=0.008, offset_sd=0.01, **WARM)  # type: ignore[arg-type]
    prepared = prepare(sample_of(balls(np.random.default_rng(11), (6, 2))), bench)
    mm, cm = (budgets_of(prepared, bench, Sampling(0.03, 0.02), {}, unit=unit, seed=None) for unit in ("mm", "cm"))
    for one, other in zip(mm, cm, strict=True):
        assert other.expanded == pytest.approx(0.1 * one.expanded)
        for line, tenth in zip(one.lines, other.lines, strict=True):
            kelvin = line.u_unit in {"K", "1/K"}
            assert tenth.u == pytest.approx(line.u * (1.0 if kelvin else 0.1))
            assert abs(tenth.sensitivity) * tenth.u == pytest.approx(0.1 * line.contribution)
            assert tenth.u_unit == (line.u_unit if kelvin else "cm")
            assert tenth.share == pytest.approx(line.share)


def test_the_mass_says_what_the_air_carries_and_the_rebound_what_the_height_does() -> None:
    """1.2 kg/m3 on a 40 mm ball is 0.04 g (computed); 1 % of 305 mm moves a rebound of 250 mm by 2.5 mm (h = e^2 H)."""
    bench = Bench({}, conditions={"drop_height": "305 mm"})
    across = sample_of(np.full((3, 1), 40.0))
    weighed = replace(sample_of(np.full((3, 1), 2.7), quantity="mass"), unit="g")
    assert "carries 0.04 g more, which is not added" in left_out(weighed, across, bench)[0]
    assert left_out(weighed, None, bench) == ()
    dropped = sample_of(np.full((3, 1), 250.0), quantity="rebound")
    assert left_out(dropped, None, bench)[0].endswith("so is the rebound, by 2.5 mm")
    for text in ("", "about knee-high", "0 mm", "3 s"):
        assert left_out(dropped, None, Bench({}, conditions={"drop_height": text})) == ()
