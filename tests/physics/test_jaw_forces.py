from __future__ import annotations

import numpy as np
import pytest

from ballbench.errors import BadRequest
from ballbench.physics.jaw_forces import GRAVITY, JawForces, forces_together, hung_forces, separate_forces
from ballbench.quantities.uncertain import Uncertain

EXACT = Uncertain(9.80665, 0.0, unit="m/s2")


def test_a_hundred_grams_pull_with_a_newton() -> None:
    """100 g at 9.80665 m/s2 are 0.980665 N (definition of standard acceleration); the slide adds its own mass."""
    found = hung_forces([100.0, 300.0], Uncertain(0.0, 0.0), 0.0, gravity=EXACT)
    assert found.values == pytest.approx((0.980665, 2.941995), rel=1e-12)
    assert np.array(found.covariance) == pytest.approx(np.zeros((2, 2)))
    assert hung_forces([100.0], Uncertain(50.0, 0.0), 0.0, gravity=EXACT).values[0] == pytest.approx(1.4709975)


def test_forces_have_their_errors_in_common() -> None:
    """Mean and covariance agree with 200,000 simulated benches: one slide, one friction, one gravity, own weights."""
    rng = np.random.default_rng(7)
    slide, friction, own = Uncertain(60.0, 5.0), 0.4, 0.5
    masses = np.array([100.0, 400.0])
    shape = (200_000, 1)
    pulling = masses + own * rng.standard_normal((200_000, 2)) + rng.normal(slide.value, slide.u, shape)
    forces = pulling / 1000 * rng.normal(GRAVITY.value, GRAVITY.u, shape) - rng.uniform(0, friction, shape)
    found = hung_forces(masses.tolist(), slide, friction, mass_u=own)
    assert found.values == pytest.approx(forces.mean(axis=0), abs=0.002)
    assert np.array(found.covariance) == pytest.approx(np.cov(forces.T), rel=0.02)


def test_separate_forces_share_nothing() -> None:
    """A diagonal covariance of the squares."""
    found = separate_forces([Uncertain(1.0, 0.1), Uncertain(3.0, 0.2)])
    assert np.array(found.covariance) == pytest.approx(np.diag([0.01, 0.04]))


def test_weights_that_do_not_close_the_jaws_are_refused() -> None:
    """A weight that friction holds presses no ball; numbers that cannot be are named all at once."""
    with pytest.raises(BadRequest, match="clean and oil"):
        hung_forces([20.0, 300.0], Uncertain(0.0, 0.0), 0.3)
    with pytest.raises(BadRequest) as caught:
        hung_forces([-1.0], Uncertain(-5.0, 0.0), -0.1, mass_u=-1.0, gravity=Uncertain(981.0, 0.1))
    assert len(caught.value.faults) == 5
    with pytest.raises(BadRequest, match="above 0"):
        JawForces((0.0, 1.0), ((0.0, 0.0), (0.0, 0.0)))
    with pytest.raises(BadRequest, match="a row and a column"):
        JawForces((1.0, 2.0), ((0.0,),))
    with pytest.raises(BadRequest, match="never negative"):
        JawForces((1.0, 2.0), ((1.0, 2.0), (2.0, 1.0)))


def test_groups_share_nothing_and_stay_as_they_are() -> None:
    """Side by side: the covariance is block diagonal (definition), the forces are in the order of the groups."""
    hung = hung_forces([100.0, 300.0], Uncertain(60.0, 2.0), 0.3)
    found = forces_together(separate_forces([Uncertain(2.0, 0.1)]), hung)
    assert found.values == (2.0, *hung.values)
    square = np.array(found.covariance)
    assert square[0].tolist() == [pytest.approx(0.01), 0.0, 0.0]
    assert square[1:, 1:].tolist() == [list(row) for row in hung.covariance]
