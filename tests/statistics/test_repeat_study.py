from __future__ import annotations

import csv
import math
from dataclasses import replace

import numpy as np
import pytest
from scipy import stats
from tests.statistics.simulated_repeat_studies import CELLS, NAMES, Design, coverage, readings
from tests.statistics.test_anova import PUBLISHED, printed, published

from ballbench.errors import BadRequest
from ballbench.statistics.distinguishable import tells_apart
from ballbench.statistics.repeat_readings import RepeatCells
from ballbench.statistics.repeat_study import RepeatStudy, repeat_study
from ballbench.statistics.spread import sd_interval

STUDIES, MANY = 150, 2000


def limits(study: RepeatStudy) -> np.ndarray:
    """Ends of every interval that the study has, in order."""
    found = [getattr(study, name) for name in NAMES]
    return np.array([(x.low, x.high) for x in found if x is not None])


def test_the_components_of_a_published_study_come_out() -> None:
    """10 x 3 x 3 with the interaction counted as repeats: the printed SDs (one unit for the total, see SOURCE.md)."""
    study = repeat_study(*published(), pool_interaction=True)
    assert (study.method, study.pooled, study.interaction) == ("ANOVA", True, None)
    with (PUBLISHED / "pooled.csv").open(encoding="utf-8") as lines:
        for row in csv.DictReader(lines):
            slack = printed(row["sd"]) * (3.0 if row["component"] == "total" else 1.0)
            assert getattr(study, row["component"]).sd == pytest.approx(float(row["sd"]), abs=slack), row


def test_without_pooling_a_negative_interaction_is_said() -> None:
    """(0.01994 - 0.04598)/3 is negative: SD 0, the raw variance kept, and an upper limit above 0 (published table)."""
    study = repeat_study(*published())
    found = study.interaction
    assert found is not None
    assert (found.sd, found.low, found.negative) == (0.0, 0.0, True)
    assert found.raw == pytest.approx((0.01994 - 0.04598) / 3, abs=1e-5)
    assert math.isnan(found.dof)
    assert 0.05 < found.high < study.repeatability.sd
    assert study.person is not None
    assert study.person.raw == pytest.approx((1.58363 - 0.01994) / 30, abs=1e-6)


def test_repeatability_has_the_exact_interval_and_person_satterthwaite_s_degrees_of_freedom() -> None:
    """Chi-square with 60 degrees of freedom; (P - I)^2 / (P^2/2 + I^2/18) for people (published mean squares P, I)."""
    study = repeat_study(*published())
    exact = sd_interval(math.sqrt(0.0459822), 60)
    assert (study.repeatability.low, study.repeatability.high) == pytest.approx((exact.low, exact.high), rel=1e-5)
    assert study.person is not None
    expected = (1.58363 - 0.01994) ** 2 / (1.58363**2 / 2 + 0.01994**2 / 18)
    assert study.person.dof == pytest.approx(expected, rel=1e-4)


def test_intervals_of_a_balanced_study_are_those_of_random_chi_squares() -> None:
    """400,000 random draws of the sums of mean squares of the published table give the same ends within 2 %."""
    study, rng = repeat_study(*published()), np.random.default_rng(1)
    ss = {"balls": (88.36193, 9), "people": (3.167262, 2), "pair": (0.358982, 18), "noise": (2.758933, 60)}
    theta = {name: value / rng.chisquare(dof, 400_000) for name, (value, dof) in ss.items()}
    draws = {
        "person": (theta["people"] - theta["pair"]) / 30,
        "ball": (theta["balls"] - theta["pair"]) / 9,
        "total": theta["people"] / 30 + theta["pair"] * (1 / 3 - 1 / 30) + theta["noise"] * 2 / 3,
    }
    for name in ("person", "ball"):
        found = getattr(study, name)
        expected = np.sqrt(np.quantile(draws[name], [0.025, 0.975]))
        assert (found.low, found.high) == pytest.approx(expected, rel=0.02), name
    assert study.total.low == pytest.approx(math.sqrt(np.quantile(draws["total"], 0.025)), rel=0.02)


def test_an_upper_limit_does_not_vanish_with_the_sum_of_squares() -> None:
    """Means of cells that fit people and balls far too well: the limit is that of six studies in 100 (scipy).

    6 x 3 x 2, no interaction at all in the means (exact algebra): SS = 0 counts as the 6 % point of chi-square with 10
    degrees of freedom times the noise, so that v = s2 (c6/c - 1)/2 over draws of noise and c (400,000 random ones).
    """
    balls, people, repeats = (x.ravel() for x in np.indices((6, 3, 2)))
    values = 40.0 + 0.1 * balls + 0.03 * people + 0.01 * (2 * repeats - 1)
    found = repeat_study(values, balls, people).interaction
    assert found is not None
    rng = np.random.default_rng(3)
    noise = 36 * 0.01**2 / rng.chisquare(18, 400_000)
    variance = noise * (stats.chi2.ppf(0.06, 10) / rng.chisquare(10, 400_000) - 1.0) / 2.0
    assert (found.sd, found.low) == (0.0, 0.0)
    assert found.high == pytest.approx(math.sqrt(np.quantile(variance, 0.975)), rel=0.02)


def test_the_general_way_and_the_balanced_one_agree(monkeypatch: pytest.MonkeyPatch) -> None:
    """A balanced study taken as any design, by eigenvalues and restricted likelihood, has the same intervals."""
    data = readings(np.random.default_rng(4), Design(6, 3, 2, 1.0, 0.5, 0.4, 0.3))
    plain = repeat_study(*data)
    monkeypatch.setattr(RepeatCells, "balanced", property(lambda _: False))
    general = repeat_study(*data)
    assert (plain.method, general.method) == ("ANOVA", "REML")
    assert limits(general) == pytest.approx(limits(plain), rel=1e-6)
    for name in NAMES:
        assert getattr(general, name).sd == pytest.approx(getattr(plain, name).sd, rel=1e-5), name


def test_order_names_and_a_constant_do_not_matter() -> None:
    """Shuffled, renamed, and with 40 mm added, a study says the same (exact algebra)."""
    rng = np.random.default_rng(5)
    values, balls, people = readings(rng, CELLS["a quarter missing"])
    order = rng.permutation(values.size)
    names = np.array([f"ball {9 - k}" for k in balls])
    moved = repeat_study(values[order] + 40.0, names[order], (7 - people)[order])
    assert limits(moved) == pytest.approx(limits(repeat_study(values, balls, people)), rel=1e-6, abs=1e-9)


def test_scale_goes_through() -> None:
    """In micrometres every SD is 1,000 times that in millimetres (exact algebra)."""
    values, balls, people = readings(np.random.default_rng(6), CELLS["a quarter missing"])
    big, small = repeat_study(1000 * values, balls, people), repeat_study(values, balls, people)
    assert limits(big) == pytest.approx(1000 * limits(small), rel=1e-6)


def _check(name: str, studies: int, seed: int, errors: float) -> None:
    """Every component covers 92 to 98 %, give or take so many standard errors of so many studies.

    A component that is truly 0 is missed only by a lower limit above 0, nominally in 2.5 %: 96 to 99 % are asked of it.
    """
    truth = CELLS[name].truth(rounded=False)
    for part, (share, above, below, total) in coverage(CELLS[name], studies, seed).items():
        least, most = (0.92, 0.98) if truth[part] > 0.0 else (0.96, 0.99)
        low, high = (errors * math.sqrt(end * (1.0 - end) / total) for end in (least, most))
        words = f"{name}: {part} covers {100 * share:.1f} % ({100 * above:.1f} above, {100 * below:.1f} below)"
        assert least - low <= share <= min(most + high, 1.0), words


@pytest.mark.parametrize("name", list(CELLS))
def test_intervals_cover_the_truth(name: str) -> None:
    """95 % intervals of every component cover 92 to 98 %, 96 to 99 % where it is 0 (simulation with known truth)."""
    _check(name, STUDIES if CELLS[name].missing == 0.0 else 40, list(CELLS).index(name), errors=3.0)


@pytest.mark.slow
@pytest.mark.parametrize("name", list(CELLS))
def test_intervals_cover_the_truth_in_many_studies(name: str) -> None:
    """The same with 2,000 studies a cell, held to one standard error: 0.6 % at 92 %, 0.3 % at 98 % (simulation)."""
    _check(name, MANY, 100 + list(CELLS).index(name), errors=1.0)


COARSE = {
    "a tenth of a step": Design(10, 1, 3, 5.0, 0.0, 0.0, 0.1, step=1.0),
    "a third of a step": Design(10, 1, 3, 5.0, 0.0, 0.0, 0.33, step=1.0),
    "two people, a fifth of a step": Design(10, 2, 2, 5.0, 0.3, 0.2, 0.2, step=1.0),
    "readings missing": Design(8, 2, 3, 5.0, 0.5, 0.0, 0.15, missing=0.2, step=1.0),
}


@pytest.mark.parametrize("name", list(COARSE))
def test_a_coarse_display_does_not_hide_the_noise(name: str) -> None:
    """Noise under half a step is covered in 92 % of studies or more, and so are the rest (simulation)."""
    for part, (share, *_, total) in coverage(COARSE[name], 150 if not COARSE[name].missing else 40, 3).items():
        assert share >= 0.92 - 3.0 * math.sqrt(0.95 * 0.05 / total), (name, part, share)


@pytest.mark.slow
@pytest.mark.parametrize("name", list(COARSE))
def test_a_coarse_display_does_not_hide_the_noise_in_many_studies(name: str) -> None:
    """The same in 1,000 studies a cell (simulation)."""
    for part, (share, *_) in coverage(COARSE[name], 1000, 4).items():
        assert share >= 0.92 - 0.021, (name, part, share)


@pytest.mark.parametrize(("balls", "repeats"), [(10, 2), (7, 3), (20, 3), (4, 2)])
def test_repeats_that_are_all_equal_bound_the_noise(balls: int, repeats: int) -> None:
    """At the upper limit one study in 40 shows no difference at all (simulation of 40,000), and the SD is not 0."""
    where = np.repeat(np.arange(balls), repeats)
    study = repeat_study(40.0 + 0.01 * where, where, resolution=0.01)
    found = study.repeatability
    assert study.coarse
    assert (found.low, found.raw) == (0.0, pytest.approx(0.0, abs=1e-20))
    assert 0.0 < found.sd < found.high < 0.01
    assert found.dof < balls
    rng = np.random.default_rng(2)
    true = rng.uniform(0.0, 1.0, (40_000, balls, 1))
    shown = np.round(true + rng.normal(0.0, found.high / 0.01, (40_000, balls, repeats)))
    assert np.mean(np.ptp(shown, axis=2).max(axis=1) == 0.0) == pytest.approx(0.025, abs=0.0025)


def test_all_readings_equal_still_give_upper_limits() -> None:
    """Nothing moved the display: every SD is bounded above, none is said to be known as 0."""
    balls, people, _ = (x.ravel() for x in np.indices((5, 2, 2)))
    study = repeat_study(np.full(20, 40.0), balls, people, resolution=0.01)
    for name in NAMES:
        found = getattr(study, name)
        assert found.low == 0.0, name
        assert 0.001 < found.high < 0.1, name


def test_a_fine_display_changes_nothing() -> None:
    """A step under twice the SD of repeats leaves the study as it is without one."""
    plain, stepped = repeat_study(*published()), repeat_study(*published(), resolution=0.01)
    assert not stepped.coarse
    assert limits(stepped) == pytest.approx(limits(plain), rel=1e-12)


def test_one_person_says_nothing_about_people() -> None:
    """One person: balls and noise alone, the total is the noise, and a note."""
    values, parts, people = published()
    mine = np.array(people) == "A"
    study = repeat_study(np.array(values)[mine], np.array(parts)[mine])
    assert (study.person, study.interaction, study.reproducibility) == (None, None, None)
    assert study.total.sd == pytest.approx(study.repeatability.sd, rel=1e-12)
    assert study.repeatability.dof == 20
    assert "one person" in study.notes[0]


def test_one_ball_read_again_and_again_gives_the_noise() -> None:
    """Ten readings of one ball: the sample SD with 9 degrees of freedom and its chi-square interval."""
    values = np.random.default_rng(7).normal(40.0, 0.01, 10)
    study = repeat_study(values, np.zeros(10))
    assert (study.repeatability.sd, study.repeatability.dof) == (pytest.approx(np.std(values, ddof=1)), 9)
    assert study.ball is None
    assert study.repeatability.high == pytest.approx(study.repeatability.sd * math.sqrt(9 / stats.chi2.ppf(0.025, 9)))


def test_people_who_share_no_ball_are_not_compared() -> None:
    """Each person read balls of their own: people stay unknown, and that is said."""
    balls, people = np.repeat([0, 1, 2, 3], 2), np.repeat([0, 0, 1, 1], 2)
    study = repeat_study(np.random.default_rng(8).normal(size=8), balls, people)
    assert (study.person, study.reproducibility) == (None, None)
    assert study.ball is not None
    assert "no two people" in study.notes[0]


def test_one_reading_a_cell_leaves_the_interaction_in_the_noise() -> None:
    """Two people read each ball once: the noise is the additive model's residual with (5-1)(2-1) degrees of freedom."""
    balls, people = (x.ravel() for x in np.indices((5, 2)))
    values = np.random.default_rng(9).normal(size=10)
    study = repeat_study(values, balls, people)
    table = values.reshape(5, 2)
    rest = table - table.mean(axis=1, keepdims=True) - table.mean(axis=0) + table.mean()
    assert study.repeatability.sd == pytest.approx(math.sqrt(np.sum(rest**2) / 4))
    assert study.repeatability.dof == 4
    assert study.interaction is None
    assert "nobody read a part twice" in study.notes[0]


@pytest.mark.parametrize(
    ("values", "parts", "options", "words"),
    [
        ([1.0, 2.0, 3.0], [0, 1], {}, "one part and one person a value"),
        ([1.0, math.inf], [0, 0], {}, "finite"),
        ([1.0], [0], {}, "two at least"),
        ([1.0, 2.0], [0, 1], {}, "read each part twice"),
        ([1.0, 1.0, 2.0, 2.0], [0, 0, 1, 1], {}, "resolution"),
        ([1.0, 1.1, 2.0, 2.0], [0, 0, 1, 1], {"resolution": -1.0}, "above 0"),
        ([1.0, 1.0, 2.003, 2.003], [0, 0, 1, 1], {"resolution": 0.01}, "whole steps"),
        ([1.0, 1.1, 2.0, 2.1], [0, 0, 1, 1], {"confidence": 95.0}, "between 0 and 1"),
        (np.arange(400.0), np.repeat(np.arange(200), 2), {}, "up to 180"),
    ],
)
def test_studies_that_cannot_be_taken_apart_are_refused(
    values: list[float], parts: list[int], options: dict[str, float], words: str
) -> None:
    """The refusal says what was found, what is allowed and what to do (rule of this project)."""
    with pytest.raises(BadRequest, match=words):
        repeat_study(values, parts, **options)


def test_any_design_gets_an_answer_or_a_refusal() -> None:
    """120 designs of up to 8 balls, spreads from 0 to 100, displays coarse or fine: low <= SD <= high, all finite."""
    answered = 0
    for seed in range(120):
        rng = np.random.default_rng([40, seed])
        sizes = (int(rng.integers(1, 9)), int(rng.integers(1, 4)), int(rng.integers(1, 4)))
        spreads = (float(rng.choice([0.0, 1e-4, 1.0, 100.0])) for _ in range(4))
        step = None if rng.random() < 0.3 else float(rng.choice([1.0, 0.01]))
        design = Design(*sizes, *spreads, missing=float(rng.choice([0.0, 0.3, 0.6])), step=step)
        try:
            study = repeat_study(*readings(rng, design), resolution=step)
        except BadRequest:
            continue
        answered += 1
        for name in NAMES:
            found = getattr(study, name)
            if found is not None:
                assert 0.0 <= found.low <= found.sd * (1 + 1e-9) <= found.high * (1 + 2e-9) < math.inf, (seed, name)
    assert answered > 60


def test_results_are_frozen() -> None:
    """A result cannot be changed, only copied with a change (rule of this project)."""
    study = repeat_study(*published())
    with pytest.raises(AttributeError):
        study.method = "guess"  # type: ignore[misc]
    assert replace(study, method="copy").method == "copy"


@pytest.mark.parametrize("seed", range(6))
def test_people_who_all_read_the_same_do_not_differ(seed: int) -> None:
    """Two people, 5 balls, 3 repeats, every ball one value: no variance between people, exactly (by hand).

    The error of arithmetic, about 1e-35 mm^2, is no variance, and the study answers.
    """
    balls = np.round(40.0 + np.random.default_rng(seed).normal(0.0, 0.05, 5), 2)
    parts, people = np.repeat(np.arange(5), 6), np.tile(np.repeat([0, 1], 3), 5)
    study = repeat_study(balls[parts], parts, people, resolution=0.01)
    for found in (study.interaction, study.person, study.reproducibility):
        assert found is not None
        assert (found.sd, found.low, found.raw) == (0.0, 0.0, 0.0)
        assert found.high <= 0.01
    assert tells_apart(study).difference >= 0.01
    assert tells_apart(study, same_person=False).difference >= 0.01
