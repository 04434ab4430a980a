from __future__ import annotations

import math

import numpy as np
import pytest

from ballbench.errors import BadRequest
from ballbench.form.harmonics import crests_of, harmonics_of, noise_of_spectrum

N = 720
THETA = np.arange(N) * 2 * math.pi / N


def outline(theta: np.ndarray) -> np.ndarray:
    return 20.0 + 0.04 * np.cos(3 * theta + 1.0) + 0.01 * np.cos(8 * theta - 2.0) + 0.002 * np.cos(41 * theta)


@pytest.mark.parametrize("start", [0.0, 1.234])
def test_even_angles_give_amplitudes_and_phases_back(start: float) -> None:
    """An outline made of three harmonics, by its definition; the angles may begin anywhere."""
    found = harmonics_of(THETA + start, outline(THETA + start))
    assert found.radius == pytest.approx(20.0, abs=1e-12)
    assert found.amplitude[[2, 7, 40]] == pytest.approx([0.04, 0.01, 0.002], abs=1e-12)
    assert found.phase[[2, 7]] == pytest.approx([1.0, -2.0], abs=1e-9)
    assert np.delete(found.amplitude, [2, 7, 40]) == pytest.approx(np.zeros(47), abs=1e-12)
    assert found.at(THETA) == pytest.approx(outline(THETA) - 20.0, abs=1e-11)
    assert found.at(THETA, [8]) == pytest.approx(0.01 * np.cos(8 * THETA - 2.0), abs=1e-11)


def test_uneven_angles_are_least_squares() -> None:
    """Coefficients and their uncertainty as numpy's normal equations have them, noise and gaps included."""
    rng = np.random.default_rng(4)
    theta = np.sort(rng.uniform(0, 5.8, 900))
    r = outline(theta) + rng.normal(0, 0.003, 900)
    found = harmonics_of(theta, r, u=0.003, most=10)
    n = np.arange(1, 11)
    rows = np.hstack([np.ones((900, 1)), np.cos(np.outer(theta, n)), np.sin(np.outer(theta, n))])
    normal = np.linalg.inv(rows.T @ rows)
    a, b = np.split((normal @ rows.T @ r)[1:], 2)
    assert found.amplitude == pytest.approx(np.hypot(a, b), abs=1e-9)
    assert found.amplitude * np.cos(found.phase) == pytest.approx(a, abs=1e-9)
    spread = 0.003**2 * np.diag(normal)[1:]
    assert found.u == pytest.approx(np.sqrt((spread[:10] + spread[10:]) / 2), rel=1e-6)


def test_uncertainty_and_what_noise_adds_hold_in_simulation() -> None:
    """4,000 outlines with known harmonics: SD of coefficients, mean square of amplitudes, and the floor of nothing.

    To 4 standard errors of so many draws.
    """
    rng = np.random.default_rng(5)
    many = 4000
    r = outline(THETA[::4]) + rng.normal(0, 0.01, (many, N // 4))
    found = [harmonics_of(THETA[::4], one, u=0.01, most=50) for one in r]
    u = found[0].u[2]
    assert u == pytest.approx(0.01 * math.sqrt(2 / 180))
    parts = np.array([one.amplitude[2] * np.cos(one.phase[2]) for one in found])
    assert parts.std() == pytest.approx(u, rel=4 / math.sqrt(2 * many))
    freed = np.array([one.amplitude[7] ** 2 - 2 * one.u[7] ** 2 for one in found])
    assert freed.mean() == pytest.approx(0.01**2, abs=4 * freed.std() / math.sqrt(many))
    nothing = rng.normal(0, 0.01, (many, N // 4))
    told = np.mean([harmonics_of(THETA[::4], one, u=0.01, most=50).told.any() for one in nothing])
    assert told == pytest.approx(0.05, abs=4 * math.sqrt(0.05 * 0.95 / many))


def test_noise_is_read_from_undulations_that_no_ball_has() -> None:
    """Independent noise of 0.01 beside lobes: found to 5 % (simulation; 200 undulations give 7 % each, 20 outlines)."""
    rng = np.random.default_rng(6)
    seen = [noise_of_spectrum(outline(THETA) + rng.normal(0, 0.01, N), 75, 275) for _ in range(20)]
    assert np.mean(seen) == pytest.approx(0.01, rel=0.05)


def test_crests_stand_where_the_wave_is_highest() -> None:
    """At each crest the cosine is 1, and there are as many as lobes (definition)."""
    for n, phase in ((1, 0.3), (3, -2.0), (12, 3.1)):
        crests = crests_of(n, phase)
        assert len(crests) == n
        assert np.cos(n * crests + phase) == pytest.approx(np.ones(n))
        assert np.all((crests >= 0) & (crests < 2 * math.pi))
        assert np.all(np.diff(crests) > 0)


def test_unknown_noise_tells_nothing() -> None:
    """Without an uncertainty nothing is told, and what noise adds is not known (NaN, own rule)."""
    found = harmonics_of(THETA, outline(THETA))
    assert np.isnan(found.freed).all()
    assert not found.told.any()


@pytest.mark.parametrize(
    ("theta", "r", "most", "words"),
    [
        (THETA[:20], outline(THETA[:20]), 50, "20 points"),
        (THETA, outline(THETA)[:-1], 50, "one angle a radius"),
        (THETA, outline(THETA) * np.nan, 50, "finite"),
        (np.linspace(0, 1.0, 400), np.ones(400), 20, "gaps"),
    ],
)
def test_what_gives_no_harmonics_is_refused(theta: np.ndarray, r: np.ndarray, most: int, words: str) -> None:
    """Too few points, shapes that differ, no numbers, an arc (own rules)."""
    with pytest.raises(BadRequest, match=words):
        harmonics_of(theta, r, most=most)
