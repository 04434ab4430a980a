from __future__ import annotations

import math

import numpy as np
import pytest

from ballbench.form.harmonics import harmonics_of
from ballbench.form.predicted_diameters import predicted_diameters
from ballbench.form.two_point import two_point_diameters

N = 1440
THETA = np.arange(N) * 2 * math.pi / N
LOBES = {2: (0.03, 0.4), 3: (0.05, 1.0), 4: (0.01, 2.0), 7: (0.01, 0.1)}


def outline(lobes: dict[int, tuple[float, float]]) -> np.ndarray:
    return 20.0 + sum(a * np.cos(n * THETA + p) for n, (a, p) in lobes.items())


def test_variation_is_that_of_radii_laid_against_each_other() -> None:
    """Diameters of the outline itself, radius plus the one opposite, with 1,440 points (independent way), to 1e-4."""
    r = outline(LOBES)
    found = predicted_diameters(harmonics_of(THETA, r, u=1e-7), np.random.default_rng(1))
    read = two_point_diameters(r)
    assert found.variation == pytest.approx(np.ptp(read), rel=1e-4)
    assert found.largest_at == pytest.approx(math.degrees(THETA[int(np.argmax(read))]), abs=0.5)
    assert found.smallest_at == pytest.approx(math.degrees(THETA[int(np.argmin(read))]), abs=0.5)
    assert found.even == (2, 4)
    assert found.odd == (3, 7)


def test_k_axes_show_what_a_caliper_would() -> None:
    """Ranges of k diameters at even angles, the first anywhere, taken from the outline point by point."""
    read = two_point_diameters(outline(LOBES))
    found = predicted_diameters(harmonics_of(THETA, outline(LOBES), u=1e-7), np.random.default_rng(1))
    half = len(read)
    for by in found.by_axes:
        places = (np.arange(half)[:, None] + np.arange(by.axes) * half // by.axes) % half
        ranges = np.ptp(read[places], axis=1)
        assert by.mean == pytest.approx(ranges.mean(), rel=0.02)
        assert by.low == pytest.approx(np.quantile(ranges, 0.025), abs=0.003)
        assert by.high == pytest.approx(np.quantile(ranges, 0.975), rel=0.02)


def test_a_shape_of_constant_width_shows_nothing_and_has_all_its_form_in_odd_lobes() -> None:
    """A Reuleaux triangle between jaws (exact geometry): no variation, form 0.1547 of the width, odd lobes alone.

    Its distance to a jaw is c cos(angle from a corner) within 30 degrees of one, else 1 less that from the far side. To
    2 %: harmonics above 50 are left out, which rounds what bends sharply.
    """
    corner, sixth = 1 / math.sqrt(3), math.pi / 6
    near, far = ((THETA + turn) % (4 * sixth) - 2 * sixth for turn in (2 * sixth, 8 * sixth))
    r = np.where(np.abs(near) <= sixth, corner * np.cos(near), 1 - corner * np.cos(far))
    found = predicted_diameters(harmonics_of(THETA, r, u=1e-7), np.random.default_rng(1))
    assert found.even == ()
    assert found.variation == 0.0
    assert found.odd_form == pytest.approx(0.154700538, rel=0.02)


def test_uncertainty_of_the_variation_holds_in_simulation() -> None:
    """40 noisy outlines: the SD of variations is the uncertainty that each states, to a third (SD of 40: 11 %)."""
    rng = np.random.default_rng(3)
    true = outline({2: (0.03, 0.4), 3: (0.05, 1.0)})
    found = [
        predicted_diameters(harmonics_of(THETA[::4], true[::4] + rng.normal(0, 0.01, N // 4), u=0.01), rng)
        for _ in range(40)
    ]
    assert np.std([one.variation for one in found]) == pytest.approx(np.mean([one.u for one in found]), rel=0.35)
    assert np.mean([one.variation for one in found]) == pytest.approx(0.12, abs=0.002)
