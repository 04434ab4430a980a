"""The fit of a drop against flights without air, which are parabolas, and against what is known beforehand."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from ballbench.physics.drop_fit import DropFit, fit_drop
from ballbench.physics.drop_model import CAUSES, CONTACT, GRAVITY, DropPriors
from ballbench.physics.vertical_flight import Faller

G, DROP, E, CONTACT_TIME, SCALE, FLOOR = 9.81, 0.5, 0.85, 0.002, 1.25e-3, 430.0
BARE = Faller(0.1, 0.05, 0.0, 0.0, G)
TIGHT = DropPriors(BARE, 1e-3, 1e-6, CONTACT_TIME, 1e-7, 1e-6, 1e-12, 1e-9, 0.0, 1e-9, 1e-9)


def parabolas(rate: float = 200.0) -> tuple[np.ndarray, np.ndarray, np.ndarray, list[float]]:
    """Times, places (px), flights, impacts of a drop in a vacuum: h = v t - g t^2/2, exact."""
    hit, speed = 0.2 + math.sqrt(2 * DROP / G), math.sqrt(2 * G * DROP)
    t = np.arange(0.0, 1.6, 1 / rate)
    heights, flight, impacts = np.full(t.size, math.nan), np.full(t.size, -1), [hit]
    fall = (t > 0.25) & (t < hit - 0.006)
    heights[fall], flight[fall] = DROP - G * (t[fall] - 0.2) ** 2 / 2, 0
    begin = hit + CONTACT_TIME
    for k in (1, 2):
        speed *= E
        end = begin + 2 * speed / G
        rows = (t > begin + 0.006) & (t < end - 0.006)
        since = t[rows] - begin
        heights[rows], flight[rows] = speed * since - G * since**2 / 2, k
        impacts.append(end)
        begin = end + CONTACT_TIME
    kept = flight >= 0
    return t[kept], FLOOR - heights[kept] / SCALE, flight[kept], impacts[:2]


def fitted(priors: DropPriors, noise: float = 0.0, shift: float = 0.0) -> DropFit:
    t, y, flight, impacts = parabolas()
    y = y + noise * np.random.default_rng(2).standard_normal(y.size) + shift
    return fit_drop(t, y, flight, priors, impacts=impacts, floor=FLOOR, curvature=G / SCALE, axis=240.0, half=240.0)


def test_a_drop_in_a_vacuum_comes_back_exactly() -> None:
    """Rebounds are e^2 and e^4 of the drop, speeds sqrt(2 g h), to seven digits (algebra)."""
    fit = fitted(TIGHT)
    assert fit.drop.value == pytest.approx(DROP, rel=1e-7)
    assert [one.value for one in fit.rebounds] == pytest.approx([DROP * E**2, DROP * E**4], rel=1e-6)
    assert [one.value for one in fit.restitution] == pytest.approx([E, E], rel=1e-6)
    assert fit.speeds[0].value == pytest.approx(math.sqrt(2 * G * DROP), rel=1e-6)
    assert fit.scale.value == pytest.approx(1e3 * SCALE, rel=1e-6)
    assert fit.impacts[0].value == pytest.approx(0.2 + math.sqrt(2 * DROP / G), abs=1e-6)
    assert fit.ratio.value == pytest.approx(E**2, rel=1e-6)
    assert np.abs(fit.residuals).max() < 1e-3


def test_gravity_goes_into_heights_in_proportion() -> None:
    """Without a ruler a height is g T^2/8: one per cent of g is one per cent of the rebound, and none of the ratio."""
    priors = replace(TIGHT, faller=replace(BARE, gravity=1.01 * G))
    fit, before = fitted(priors), fitted(TIGHT)
    assert fit.rebounds[0].value / before.rebounds[0].value == pytest.approx(1.01, abs=2e-4)
    assert fit.ratio.value == pytest.approx(before.ratio.value, rel=1e-4)


def test_what_is_not_known_beforehand_is_in_the_uncertainty() -> None:
    """0.1 % of gravity brings 0.1 % of the rebound (h = g T^2/8), and squares of parts add up to that of u."""
    fit = fitted(replace(TIGHT, gravity_u=1e-3 * G), noise=0.05)
    parts = dict(fit.rebounds[0].parts)
    assert abs(parts[CAUSES[GRAVITY]]) == pytest.approx(1e-3 * DROP * E**2, rel=0.02)
    assert math.sqrt(sum(part**2 for part in parts.values())) == pytest.approx(fit.rebounds[0].u, rel=1e-9)


def test_a_contact_that_lasts_otherwise_than_said_is_found_within_what_was_allowed() -> None:
    """Said 1 ms with 1 ms of uncertainty, truly 2 ms: the rebound is right to 0.3 mm all the same."""
    fit = fitted(replace(TIGHT, contact=0.001, contact_u=0.001), noise=0.02)
    assert fit.rebounds[0].value == pytest.approx(DROP * E**2, abs=3e-4)
    assert abs(dict(fit.rebounds[0].parts)[CAUSES[CONTACT]]) > 0.0


def test_noise_is_found_and_its_uncertainty_is_that_of_repeats() -> None:
    """Places off by 0.3 px: the noise to 20 %; over 20 repeats the rebound scatters as it says (chi, 99.9 %).

    sqrt(scipy.stats.chi2.ppf((0.0005, 0.9995), 20) / 20) is 0.52 to 1.53.
    """
    t, y, flight, impacts = parabolas(100.0)
    errors, us, noises = [], [], []
    for k in range(20):
        noisy = y + 0.3 * np.random.default_rng([3, k]).standard_normal(y.size)
        fit = fit_drop(
            t, noisy, flight, TIGHT, impacts=impacts, floor=FLOOR, curvature=G / SCALE, axis=240.0, half=240.0
        )
        errors.append(fit.rebounds[0].value - DROP * E**2)
        us.append(fit.rebounds[0].u)
        noises.append(fit.noise)
    assert np.mean(noises) == pytest.approx(0.3, rel=0.2)
    assert 0.5 < np.sqrt(np.mean((np.array(errors) / np.array(us)) ** 2)) < 1.53


def test_a_few_wild_places_are_left_out() -> None:
    """Three places 15 px off: left out, and the rebound to 0.5 mm."""
    t, y, flight, impacts = parabolas()
    y = y + 0.05 * np.random.default_rng(2).standard_normal(y.size)
    wild = [10, 60, 120]
    y[wild] += 15.0
    fit = fit_drop(t, y, flight, TIGHT, impacts=impacts, floor=FLOOR, curvature=G / SCALE, axis=240.0, half=240.0)
    assert not fit.used[wild].any()
    assert fit.rebounds[0].value == pytest.approx(DROP * E**2, abs=5e-4)


def test_a_flight_that_runs_by_another_clock_asks_for_another_scale() -> None:
    """The first rebound runs 10 % slower: its own scale differs from the fall's by about 1.1^2."""
    t, y, flight, impacts = parabolas()
    slow = np.where(flight >= 1, impacts[0] + 1.1 * (t - impacts[0]), t)
    kept = flight <= 1
    loose = replace(TIGHT, tilt_u=0.1, contact_u=1e-3)
    fit = fit_drop(
        slow[kept], y[kept], flight[kept], loose, impacts=impacts[:1], floor=FLOOR, curvature=G / SCALE, axis=240.0,
        half=240.0,
    )  # fmt: skip
    assert abs(math.log(fit.own_scales[1].value / fit.own_scales[0].value)) > 0.05
