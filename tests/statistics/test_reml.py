from __future__ import annotations

import itertools
import warnings

import numpy as np
import pytest
from tests.statistics.simulated_repeat_studies import CELLS, Design, readings
from tests.statistics.test_anova import published

from ballbench.statistics.anova import crossed_anova
from ballbench.statistics.reml import RemlFit, reml
from ballbench.statistics.repeat_readings import RepeatCells, repeat_cells
from ballbench.statistics.repeat_study import repeat_study

START = (1.0, 1.0, 1.0, 1.0)
STRONG = Design(10, 3, 3, 1.0, 0.5, 0.3, 0.3, missing=0.25)


def four(fit: RemlFit) -> tuple[float, float, float, float]:
    """The variances in order."""
    return fit.repeatability, fit.interaction, fit.person, fit.ball


def dense_deviance(cells: RepeatCells, variances: tuple[float, float, float, float]) -> float:
    """Minus twice the log restricted likelihood from the covariance of all single readings, constants left out."""
    values = np.concatenate(cells.readings)
    part, person = np.repeat(cells.parts, cells.counts), np.repeat(cells.people, cells.counts)
    same_part, same_person = part[:, None] == part, person[:, None] == person
    noise, spread, between, ball = variances
    v = noise * np.eye(values.size) + spread * (same_part & same_person) + between * same_person + ball * same_part
    inverse, ones = np.linalg.inv(v), np.ones(values.size)
    mean = (ones @ inverse @ values) / (ones @ inverse @ ones)
    left = values - mean
    weight = np.log(ones @ inverse @ ones / values.size)
    return float(np.linalg.slogdet(v)[1] + weight + left @ inverse @ left)


@pytest.mark.parametrize("seed", range(3))
def test_unbalanced_studies_agree_with_another_library(seed: int) -> None:
    """Crossed random effects with a quarter of the readings missing: statsmodels' REML variances, to 2 in 10,000."""
    import pandas as pd  # noqa: PLC0415 - a heavy library that this test alone needs
    from statsmodels.regression.mixed_linear_model import MixedLM  # noqa: PLC0415 - the same

    values, balls, people = readings(np.random.default_rng(seed), STRONG)
    table = pd.DataFrame({"y": values, "ball": balls, "person": people, "all": 1})
    parts = {"a_ball": "0 + C(ball)", "b_person": "0 + C(person)", "c_pair": "0 + C(ball):C(person)"}
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # it warns about its own starting values and about one group
        model = MixedLM.from_formula("y ~ 1", groups="all", re_formula="0", vc_formula=parts, data=table)
        other = model.fit(reml=True, method="bfgs", gtol=1e-9, maxiter=2000)
    cells = repeat_cells(values, balls, people)
    fit = reml(cells, START)
    assert fit.at_zero == ()
    ball, person, pair = (float(x) for x in other.vcomp)
    theirs = (float(other.scale), pair, person, ball)
    assert dense_deviance(cells, four(fit)) <= dense_deviance(cells, theirs) + 1e-7
    assert four(fit) == pytest.approx(theirs, rel=2e-4)


@pytest.mark.parametrize("seed", range(3))
def test_a_balanced_study_gives_what_mean_squares_give(seed: int) -> None:
    """Where no estimate is negative, restricted likelihood and expected mean squares agree (exact algebra)."""
    values, balls, people = readings(np.random.default_rng(10 + seed), Design(8, 3, 2, 1.0, 0.6, 0.5, 0.3))
    table = crossed_anova(repeat_cells(values, balls, people))
    noise, pair, person, ball = (table.row(name).ms for name in ("repeats", "people x balls", "people", "balls"))
    expected = (noise, (pair - noise) / 2, (person - pair) / 16, (ball - pair) / 6)
    assert min(expected) > 0.0
    assert four(reml(repeat_cells(values, balls, people), START)) == pytest.approx(expected, rel=1e-6)


def test_an_interaction_that_wants_to_be_negative_stays_at_zero() -> None:
    """The published study then gives the pooled mean squares: 0.0399733, 0.0514553, 1.0864466 (exact algebra)."""
    fit = reml(repeat_cells(*published()), START)
    assert fit.at_zero == ("interaction",)
    assert four(fit) == pytest.approx((0.0399733, 0.0, 0.0514553, 1.0864466), rel=2e-6)


@pytest.mark.parametrize("name", ["a fifth missing, two repeats", "people alike, a quarter missing"])
def test_no_neighbour_has_a_larger_likelihood(name: str) -> None:
    """The likelihood of single readings, written out in full, falls away from the fit in every allowed direction."""
    for seed in range(5):
        cells = repeat_cells(*readings(np.random.default_rng([20, seed]), CELLS[name]))
        best = four(reml(cells, START))
        lowest = dense_deviance(cells, best)
        for step in itertools.product((-1.0, 0.0, 1.0), repeat=4):
            moved = tuple(max(v * (1.0 + 0.02 * s) + 1e-4 * s, 0.0) for v, s in zip(best, step, strict=True))
            noise, pair, person, ball = moved
            assert dense_deviance(cells, (noise, pair, person, ball)) >= lowest - 1e-8, (name, seed, step)


def test_the_start_does_not_matter() -> None:
    """Starts a thousand times too small or too large lead to the same variances."""
    cells = repeat_cells(*readings(np.random.default_rng(3), STRONG))
    small, large = (reml(cells, (factor, factor, factor, factor)) for factor in (1e-3, 1e3))
    assert four(small) == pytest.approx(four(large), rel=1e-5)


def test_uncertainty_of_variances_is_that_of_mean_squares_in_a_balanced_study() -> None:
    """Expected information gives 2 MS^2/dof for the noise, and its sum over mean squares for people (exact algebra)."""
    values, balls, people = readings(np.random.default_rng(10), Design(8, 3, 2, 1.0, 0.6, 0.5, 0.3))
    cells = repeat_cells(values, balls, people)
    table, fit = crossed_anova(cells), reml(cells, START)
    noise, pair, person = table.row("repeats"), table.row("people x balls"), table.row("people")
    assert fit.covariance[0, 0] == pytest.approx(2 * noise.ms**2 / noise.dof, rel=1e-5)
    expected = (2 * person.ms**2 / person.dof + 2 * pair.ms**2 / pair.dof) / 16**2
    assert fit.covariance[2, 2] == pytest.approx(expected, rel=1e-5)


def test_dozens_of_small_studies_all_end() -> None:
    """No fit of 40 small studies with missing readings and hardly any noise fails to converge."""
    for seed in range(40):
        rng = np.random.default_rng([30, seed])
        noise = float(rng.choice([0.001, 0.1, 1.0]))
        design = Design(5, int(rng.integers(1, 4)), 2, float(rng.choice([0.0, 1.0])), 0.1, 0.0, noise, missing=0.25)
        study = repeat_study(*readings(rng, design))
        assert study.fit is None or np.isfinite(study.fit.deviance)
