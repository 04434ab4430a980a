from __future__ import annotations

import math

import numpy as np
import pytest
from tests.statistics.simulated_repeat_studies import Design, readings
from tests.statistics.test_anova import published

from ballbench.errors import BadRequest
from ballbench.statistics.distinguishable import distinguishable, tells_apart
from ballbench.statistics.repeat_study import repeat_study


def test_equal_balls_are_told_apart_one_time_in_twenty() -> None:
    """An SD estimated with 8 degrees of freedom, two readings a ball: 5 % of equal pairs exceed it (20,000 pairs)."""
    rng, factor = np.random.default_rng(1), distinguishable(1.0, 8, 2).difference
    estimated = np.sqrt(rng.chisquare(8, 20_000) / 8)
    apart = np.abs(rng.normal(size=(20_000, 2, 2)).mean(axis=2) @ [1.0, -1.0])
    assert np.mean(apart > factor * estimated) == pytest.approx(0.05, abs=0.005)


def test_known_noise_gives_the_textbook_factor() -> None:
    """Repeatability limit of ISO 5725-6, 4.1.4: 2.77 SD, here 1.96 sqrt(2) (from memory); four readings halve it."""
    one, four = distinguishable(0.01, math.inf), distinguishable(0.01, math.inf, 4)
    assert one.difference == pytest.approx(0.0277, abs=5e-5)
    assert (one.low, one.high, one.typical) == pytest.approx((one.difference,) * 3)
    assert four.difference == pytest.approx(one.difference / 2)


def test_an_estimated_noise_widens_it_and_has_an_interval() -> None:
    """t(0.975; 20) = 2.086 in place of 1.960; the interval is that of an SD with 20 degrees of freedom (tables)."""
    found = distinguishable(0.01, 20)
    assert found.difference == pytest.approx(2.086 * math.sqrt(2) * 0.01, rel=2e-4)
    assert found.low / found.typical == pytest.approx(math.sqrt(20 / 34.170), rel=1e-4)
    assert found.high / found.typical == pytest.approx(math.sqrt(20 / 9.591), rel=1e-4)


def test_what_lasts_is_not_averaged_out() -> None:
    """With a lasting part, many readings lead to 1.96 sqrt(2) times that part and no further (exact algebra)."""
    found = distinguishable(0.01, math.inf, 10**9, lasting=(0.02, math.inf))
    assert found.difference == pytest.approx(1.959964 * math.sqrt(2) * 0.02, rel=1e-6)
    mixed = distinguishable(0.01, 20, lasting=(0.02, 4))
    assert mixed.dof == pytest.approx((1e-4 + 4e-4) ** 2 / (1e-8 / 20 + 16e-8 / 4))


def test_one_person_tells_balls_apart_better_than_two() -> None:
    """In the published study people differ: the same person sees 0.6, two people need more (JCGM 100, G.2b)."""
    study = repeat_study(*published())
    same, two = tells_apart(study), tells_apart(study, same_person=False)
    assert same.difference == pytest.approx(2.0003 * math.sqrt(2) * 0.214435, rel=1e-4)
    assert two.sd == pytest.approx(math.sqrt(2) * study.total.sd)
    assert two.dof == pytest.approx(study.total.dof, rel=1e-6)
    assert two.difference > same.difference


def test_a_person_who_reads_both_balls_cancels() -> None:
    """People far apart, no interaction: the same person tells balls apart as well as if people were alike."""
    values, balls, people = readings(np.random.default_rng(2), Design(10, 3, 3, 1.0, 0.0, 0.0, 0.1))
    alike, apart = repeat_study(values, balls, people), repeat_study(values + 5.0 * people, balls, people)
    assert tells_apart(apart).difference == pytest.approx(tells_apart(alike).difference, rel=1e-9)
    assert tells_apart(apart, same_person=False).difference > 5.0


def test_different_people_need_a_study_with_people() -> None:
    """A study by one person answers for that person alone."""
    study = repeat_study([1.0, 1.1, 2.0, 2.2], [0, 0, 1, 1])
    with pytest.raises(BadRequest, match="second person"):
        tells_apart(study, same_person=False)
    assert tells_apart(study).dof == 2


@pytest.mark.parametrize(
    ("sd", "dof", "count", "words"),
    [(-1.0, 5.0, 1, "not negative"), (0.0, 5.0, 1, "one above 0"), (1.0, 0.0, 1, "dof"), (1.0, 5.0, 0, "readings")],
)
def test_arguments_out_of_range_are_refused(sd: float, dof: float, count: int, words: str) -> None:
    """The refusal names the argument and what is allowed (rule of this project)."""
    with pytest.raises(BadRequest, match=words):
        distinguishable(sd, dof, count)


@pytest.mark.parametrize("noise", [0.1, 0.2, 0.4])
def test_a_coarse_display_does_not_tell_equal_balls_apart(noise: float) -> None:
    """Equal balls anywhere in a step, noise in steps, pass the limit in 5 % at most; it is a step or more (simulated).

    Two displayed readings that differ do so by one step at least.
    """
    rng, shares = np.random.default_rng(11), []
    for _ in range(40):
        balls, parts = rng.normal(0.0, 5.0, 5), np.repeat(np.arange(5), 3)
        study = repeat_study(np.rint(balls[parts] + rng.normal(0.0, noise, 15)), parts, resolution=1.0)
        if not study.coarse:
            continue
        one, three = tells_apart(study), tells_apart(study, 3)
        assert min(one.difference, one.low, three.difference, three.low) >= 1.0
        read = np.rint(rng.uniform(0.0, 1.0, (500, 1, 1)) + noise * rng.standard_normal((500, 2, 3)))
        single = np.abs(read[:, 0, 0] - read[:, 1, 0]) > one.difference
        mean = np.abs(read[:, 0].mean(axis=1) - read[:, 1].mean(axis=1)) > three.difference
        shares.append((single.mean(), mean.mean()))
    assert len(shares) >= 15
    assert np.max(np.mean(shares, axis=0)) <= 0.05


def test_the_rounding_of_a_coarse_display_counts_once() -> None:
    """SD of a difference of means of m: sqrt(2 (s^2/m + step^2/12)), s before rounding (JCGM 100:2008, F.2.2.1)."""
    study = repeat_study([5.0, 5.0, 5.0, 9.0, 9.0, 10.0, 3.0, 3.0, 3.0], [0, 0, 0, 1, 1, 1, 2, 2, 2], resolution=1.0)
    assert study.coarse
    for m in (1, 3):
        expected = math.sqrt(2.0 * (study.repeatability.sd**2 / m + 1.0 / 12.0))
        assert tells_apart(study, m).sd == pytest.approx(expected, rel=1e-12)
