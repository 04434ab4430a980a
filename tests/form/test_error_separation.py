from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from ballbench.errors import BadRequest
from ballbench.form.error_separation import blind_harmonics, separate, steps_factor
from ballbench.form.harmonics import Harmonics, harmonics_of

N = 360
THETA = np.arange(N) * 2 * math.pi / N
BALL = {2: (0.03, 0.4), 3: (0.05, 1.0), 6: (0.004, 2.0)}
CAMERA = {2: (0.02, -1.0), 4: (0.01, 0.5)}
TURNS = (0.0, 50.0, 130.0, 210.0)


def waves(lobes: dict[int, tuple[float, float]], theta: np.ndarray) -> np.ndarray:
    return sum((a * np.cos(n * theta + p) for n, (a, p) in lobes.items()), np.zeros_like(theta))


def photographs(
    turns: tuple[float, ...],
    rng: np.random.Generator,
    sd: float,
    off: float = 0.0,
    ball: dict[int, tuple[float, float]] = BALL,
) -> list[Harmonics]:
    """Outlines as they would be seen: the ball turned counter-clockwise, the camera where it is, noise, centring."""
    found = []
    for turn in turns:
        turned = THETA - math.radians(turn + rng.normal(0, off))
        r = 20.0 + waves(ball, turned) + waves(CAMERA, THETA) + rng.normal(0, 0.1) * np.cos(THETA - rng.uniform(0, 6))
        found.append(harmonics_of(THETA, r + rng.normal(0, sd, N), u=sd))
    return found


def test_ball_and_camera_come_apart_exactly_without_noise() -> None:
    """Known ball and known camera, the outline turned by its own definition: amplitudes and phases of both."""
    found = separate(photographs(TURNS, np.random.default_rng(1), 1e-12), TURNS, turn_u=0.0)
    for part, known in ((found.ball, BALL), (found.camera, CAMERA)):
        for n, (amplitude, phase) in known.items():
            assert part.amplitude[n - 1] == pytest.approx(amplitude, abs=1e-9)
            assert part.phase[n - 1] == pytest.approx(phase, abs=1e-6)
    assert found.camera.amplitude[2] == pytest.approx(0.0, abs=1e-9)
    assert math.isnan(found.ball.amplitude[0])


def test_uncertainty_and_closure_hold_in_simulation() -> None:
    """800 sets of four photographs: coefficients scatter as they say (5 %), closure is chi-square (KS, p > 0.001)."""
    rng = np.random.default_rng(2)
    sets = [separate(photographs(TURNS, rng, 0.01), TURNS, turn_u=0.0) for _ in range(800)]
    for part in ("ball", "camera"):
        for n in (2, 5, 9):
            held = [getattr(one, part) for one in sets]
            parts = np.array([one.amplitude[n - 1] * math.cos(one.phase[n - 1]) for one in held])
            assert parts.std() == pytest.approx(held[0].u[n - 1], rel=0.12)
    assert stats.kstest([one.p for one in sets], "uniform").pvalue > 0.001


def test_turns_that_are_off_as_much_as_said_are_seldom_accused() -> None:
    """400 sets with turns off by 1 degree, as is said: 1 % do not go together, 3 % with 4 SD of a binomial.

    The errors of one turn move all harmonics at once; taken for independent, 15 % of such sets were accused.
    """
    rng = np.random.default_rng(12)
    dented = {n: (0.02 / n, 0.3 * n) for n in range(2, 40)}
    sets = [separate(photographs(TURNS, rng, 0.002, 1.0, dented), TURNS, turn_u=1.0) for _ in range(400)]
    assert np.mean([not one.agrees for one in sets]) <= 0.03


def test_turns_that_are_not_what_they_are_said_to_be() -> None:
    """Turns off by 1 degree are within what is said; one that is off by 20 does not go together, and is named."""
    rng = np.random.default_rng(3)
    fits = [separate(photographs(TURNS, rng, 0.003, off=1.0), TURNS).agrees for _ in range(60)]
    assert np.mean(fits) > 0.9
    wrong = (0.0, 50.0, 150.0, 210.0, 290.0)
    found = separate(photographs(wrong, rng, 0.003), (0.0, 50.0, 130.0, 210.0, 290.0))
    assert not found.agrees
    assert found.worst == 2
    assert any("turn was not" in note for note in found.notes)


@pytest.mark.parametrize("m", [2, 3, 6, 8])
def test_equal_steps_are_blind_to_multiples_of_their_number(m: int) -> None:
    """|mean of exp(i n phi)| is 1 for multiples of m and 0 else (sum of roots of unity)."""
    turns = np.arange(m) * 360.0 / m
    n = np.arange(2, 51)
    assert steps_factor(turns, n) == pytest.approx(np.where(n % m == 0, 1.0, 0.0), abs=1e-9)
    assert blind_harmonics(turns) == tuple(int(k) for k in n if k % m == 0)


def test_blind_lobes_are_named_and_left_out() -> None:
    """Three equal steps: 3, 6, 9 and so on are not told apart; what is left is right."""
    turns = (0.0, 120.0, 240.0)
    found = separate(photographs(turns, np.random.default_rng(4), 1e-6), turns, turn_u=0.0)
    assert found.blind == tuple(range(3, 51, 3))
    assert np.isnan(found.ball.amplitude[2])
    assert found.ball.amplitude[1] == pytest.approx(0.03, abs=1e-5)
    assert any("3, 6, 9" in note for note in found.notes)


def test_two_photographs_cannot_be_checked() -> None:
    """No degree of freedom is left: closure is NaN, and a third is asked for (counting)."""
    found = separate(photographs((0.0, 90.0), np.random.default_rng(5), 0.01), (0.0, 90.0))
    assert found.dof == 0
    assert math.isnan(found.p)
    assert found.agrees
    assert any("third" in note for note in found.notes)


def test_a_first_position_that_is_taken_again_closes() -> None:
    """0 and 360 degrees are one position: a ball that changed meanwhile is found out by the closure (simulation)."""
    rng = np.random.default_rng(6)
    turns = (0.0, 50.0, 130.0, 360.0)
    good = photographs(turns, rng, 0.003)
    assert separate(good, turns).p > 1e-4
    moved = replace(good[3], amplitude=good[3].amplitude + np.where(good[3].n == 5, 0.03, 0.0))
    assert not separate([*good[:3], moved], turns).agrees


@pytest.mark.parametrize(
    ("turns", "words"),
    [
        ((0.0,), "a turn for each"),
        ((0.0, 90.0, 180.0), "a turn for each"),
        ((0.0, math.nan), "degrees"),
        ((10.0, 370.0), "alike"),
    ],
)
def test_turns_that_cannot_be_used_are_refused(turns: tuple[float, ...], words: str) -> None:
    """One turn a photograph, finite and different (own rules)."""
    two = photographs((0.0, 90.0), np.random.default_rng(7), 0.01)
    with pytest.raises(BadRequest, match=words):
        separate(two, turns)
