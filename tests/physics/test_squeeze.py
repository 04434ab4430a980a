from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest

from ballbench.errors import BadRequest
from ballbench.findings.qualifying.squeezing import squeeze_found
from ballbench.physics.jaw_contact import STEEL_JAW as STEEL
from ballbench.physics.jaw_contact import contact_modulus, hertz_contact
from ballbench.physics.jaw_forces import JawForces, hung_forces, separate_forces
from ballbench.physics.squeeze import APART, LEAST_RATIO, Repeatability, ZeroForce, squeeze_of_make, to_zero_force
from ballbench.quantities.propagation import propagate
from ballbench.quantities.uncertain import Uncertain
from ballbench.records import Instrument
from ballbench.records.force_readings import ForceReading

FINE = 1e-6  # a display without steps, mm


def exact(*forces: float) -> JawForces:
    return separate_forces([Uncertain(force, 0.0) for force in forces])


def test_a_shell_is_drawn_out_in_a_straight_line() -> None:
    """D = (F2 y1 - F1 y2)/(F2 - F1) and u^2 = (F2^2 u1^2 + F1^2 u2^2)/(F2 - F1)^2 (exact algebra)."""
    noise = Repeatability(0.01)
    found = to_zero_force([[40.20], [40.08]], exact(1.0, 3.0), "shell", step=FINE, repeatability=noise)
    assert found.diameter.value == pytest.approx((3 * 40.20 - 40.08) / 2, rel=1e-13)
    assert found.diameter.u == pytest.approx(math.sqrt(9 + 1) * 0.01 / 2, rel=1e-9)
    assert found.slope.value == pytest.approx(0.06, rel=1e-10)
    assert (found.slope.unit, found.force) == ("mm/N", 1.0)
    assert found.squeeze.value == pytest.approx(0.06, rel=1e-10)
    assert found.squeeze.u == pytest.approx(math.sqrt(2) * 0.01 / 2, rel=1e-9)
    assert math.isnan(found.p_fit)


def test_a_solid_ball_is_drawn_out_in_the_power_of_two_thirds() -> None:
    """Readings made by Hertz's formula for 1 and 4 N come back to the diameter without force (exact)."""
    forces = (1.0, 4.0)
    modulus = contact_modulus(0.1, 0.45, STEEL)
    read = [[42.7 - 2 * hertz_contact(force, 42.7 / 2, modulus).approach] for force in forces]
    found = to_zero_force(read, exact(*forces), "solid", step=FINE, repeatability=Repeatability(0.001))
    assert found.diameter.value == pytest.approx(42.7, rel=1e-12)
    assert found.slope.unit == "mm/N^(2/3)"
    straight = to_zero_force(read, exact(*forces), "shell", step=FINE, repeatability=Repeatability(0.001), wall=9.0)
    assert straight.diameter.value < 42.7 - 0.01  # the wrong law does not give it


def hand_made(readings: tuple[float, float], forces: tuple[float, float], us: tuple[float, ...], r: float) -> Uncertain:
    """The two-force formula through the general propagation, forces correlated by r."""
    given = {
        "y1": Uncertain(readings[0], us[0]), "y2": Uncertain(readings[1], us[0]),
        "f1": Uncertain(forces[0], us[1]), "f2": Uncertain(forces[1], us[2]),
    }  # fmt: skip
    matrix = np.eye(4)
    matrix[2, 3] = matrix[3, 2] = r
    return propagate(lambda y1, y2, f1, f2: (f2 * y1 - f1 * y2) / (f2 - f1), given, matrix).result


@pytest.mark.parametrize("r", [-0.5, 0.0, 0.7, 1.0])
def test_uncertain_forces_count(r: float) -> None:
    """Uncertainty with uncertain, correlated forces as the general propagation gives it (JCGM 100:2008, 5.2.2)."""
    u1, u2 = 0.1, 0.2
    forces = JawForces((1.0, 3.0), ((u1**2, r * u1 * u2), (r * u1 * u2, u2**2)))
    found = to_zero_force([[40.20], [40.08]], forces, "shell", step=FINE, repeatability=Repeatability(0.01))
    assert found.diameter.u == pytest.approx(hand_made((40.20, 40.08), (1.0, 3.0), (0.01, u1, u2), r).u, rel=1e-6)


def test_a_wrong_scale_of_the_forces_does_no_harm() -> None:
    """Forces that are all off by one factor leave diameter and squeeze where they are, with no uncertainty from it."""
    scale = np.outer([1.0, 3.0], [1.0, 3.0]) * 0.1**2
    forces = JawForces((1.0, 3.0), tuple(map(tuple, scale.tolist())))
    known, wrong = (
        to_zero_force([[40.20], [40.08]], at, "shell", step=FINE, repeatability=Repeatability(0.01))
        for at in (forces, exact(1.3, 3.9))
    )
    for shares in (known.diameter_shares, known.squeeze_shares):
        assert shares.forces == pytest.approx(0.0, abs=1e-9)  # the root of a difference that rounding leaves
    assert wrong.diameter.value == pytest.approx(known.diameter.value, rel=1e-13)
    assert wrong.squeeze.value == pytest.approx(known.squeeze.value, rel=1e-10)


def test_what_all_readings_share_is_in_the_diameter_and_cancels_in_the_squeeze() -> None:
    """An offset of 0.02 mm moves the diameter by 0.02 mm and the squeeze by nothing; so do their uncertainties."""
    plain, moved = (
        to_zero_force(
            [[40.20 + offset], [40.08 + offset]], exact(1, 3), "shell", step=FINE, repeatability=Repeatability(0.01),
            shared_u=0.02,
        )
        for offset in (0.0, 0.02)
    )  # fmt: skip
    assert moved.diameter.value - plain.diameter.value == pytest.approx(0.02)
    assert moved.squeeze.value == pytest.approx(plain.squeeze.value, abs=1e-12)
    assert plain.diameter.u == pytest.approx(math.hypot(0.02, math.sqrt(10) * 0.005), rel=1e-9)
    assert plain.squeeze_shares.shared == 0.0


@pytest.mark.parametrize("law", ["shell", "solid"])
def test_stated_uncertainties_hold_in_simulation(law: str) -> None:
    """2,000 benches with hung weights, friction and noise: the 95 % intervals hold the truth in 92 to 98 %."""
    rng = np.random.default_rng(11)
    masses, slide, friction, slope, power = (
        np.array([100.0, 200.0, 350.0]),
        50.0,
        0.3,
        0.04,
        {"shell": 1.0}.get(law, 2 / 3),
    )
    forces = hung_forces(masses.tolist(), Uncertain(slide, 4.0), friction)
    hits = np.zeros(2)
    for _ in range(2000):
        true = (masses + slide + rng.normal(0, 4.0)) / 1000 * rng.normal(9.80665, 0.015) - rng.uniform(0, friction)
        read = 40.3 - slope * true**power
        shown = read[:, None] + 0.008 * rng.standard_normal((3, 4))
        found = to_zero_force(np.round(shown, 2).tolist(), forces, law, step=0.01)  # type: ignore[arg-type]
        low, high = found.diameter.interval()
        squeeze = found.squeeze.interval()
        hits += [low <= 40.3 <= high, squeeze[0] <= 40.3 - read[0] <= squeeze[1]]
    assert np.all((hits / 2000 > 0.92) & (hits / 2000 < 0.98)), hits / 2000


def test_several_forces_give_the_line_of_least_squares() -> None:
    """With equal weights the line is numpy's own of first degree, and chi2 its residuals over the variance."""
    forces = np.array([1.0, 2.0, 3.0, 4.0])
    read = np.array([40.21, 40.14, 40.11, 40.03])
    found = to_zero_force(
        [[value] for value in read], exact(*forces), "shell", step=FINE, repeatability=Repeatability(0.01)
    )  # fmt: skip
    slope, end = np.polyfit(forces, read, 1)
    assert (found.diameter.value, found.slope.value) == pytest.approx((end, -slope), rel=1e-10)
    assert found.chi2 == pytest.approx(float(np.sum((read - end - slope * forces) ** 2)) / 1e-4, rel=1e-8)
    assert found.fit_dof == 2


def test_the_wrong_law_shows_where_there_are_enough_forces() -> None:
    """A solid ball read at five forces lies on its own line and not on that of a shell."""
    forces = (0.5, 1.0, 2.0, 4.0, 8.0)
    rng = np.random.default_rng(5)
    read = [(42.7 - 0.05 * force ** (2 / 3) + 0.002 * rng.standard_normal(5)).tolist() for force in forces]
    own, other = (to_zero_force(read, exact(*forces), law, step=0.001, wall=9.0) for law in ("solid", "shell"))  # type: ignore[arg-type]
    assert own.p_fit > 0.05
    assert other.p_fit < 1e-3
    assert any("another law" in note for note in other.notes)


def test_forces_that_scatter_do_not_spoil_the_fit() -> None:
    """Four forces, each off by 0.1 N of its own: one bench in twenty fits badly, if that is known (1,000 benches)."""
    rng = np.random.default_rng(12)
    stated = np.array([1.0, 2.0, 3.0, 4.0])
    known = separate_forces([Uncertain(force, 0.1) for force in stated])
    bad = 0
    for _ in range(1000):
        read = 40.3 - 0.06 * (stated + 0.1 * rng.standard_normal(4)) + 0.002 * rng.standard_normal(4)
        found = to_zero_force([[y] for y in read], known, "shell", step=FINE, repeatability=Repeatability(0.002))
        bad += found.p_fit < 0.05
    assert 0.03 < bad / 1000 < 0.075


def test_repeats_give_the_noise_and_its_degrees_of_freedom() -> None:
    """Pooled over the forces: two and three readings leave one and two degrees of freedom."""
    read = [[40.20, 40.22], [40.08, 40.10, 40.12]]
    found = to_zero_force(read, exact(1, 3), "shell", step=0.01)
    variance = (2 * 0.01**2 + 2 * 0.02**2) / 3
    expected = math.sqrt((9 * variance / 2 + variance / 3) / 4)
    assert (found.diameter.u, found.diameter.dof) == pytest.approx((expected, 3.0), rel=1e-9)


def test_equal_readings_keep_the_rounding_of_the_display() -> None:
    """Ten equal readings at each force are no better known than step/sqrt(12) each."""
    found = to_zero_force([[40.20] * 10, [40.08] * 10], exact(1, 3), "shell", step=0.01)
    assert found.diameter.u == pytest.approx(math.sqrt(10) / 2 * 0.01 / math.sqrt(12), rel=1e-9)
    assert math.isinf(found.diameter.dof)


def test_the_squeeze_at_the_force_of_ordinary_readings() -> None:
    """At 2 N give or take 0.5 N the squeeze is twice that of 1 N, and 0.06 x 0.5 mm more uncertain (exact algebra)."""
    found = to_zero_force(
        [[40.20], [40.08]], exact(1, 3), "shell", step=FINE, repeatability=Repeatability(0.01),
        at_force=Uncertain(2.0, 0.5),
    )  # fmt: skip
    assert found.squeeze.value == pytest.approx(0.12, rel=1e-10)
    assert found.squeeze_shares.forces == pytest.approx(0.03, rel=1e-9)
    assert found.squeeze.u == pytest.approx(math.hypot(0.03, 2 * math.sqrt(2) * 0.005), rel=1e-9)


def test_a_pole_may_move_by_half_its_wall() -> None:
    """0.06 mm/N at 3 N are 0.09 mm a pole: half a wall of 0.19 mm is more, of 0.17 mm is less (exact algebra)."""
    read, noise = [[40.20], [40.08]], Repeatability(0.001)
    kept = to_zero_force(read, exact(1, 3), "shell", step=FINE, repeatability=noise, wall=0.19)
    assert kept.notes == ()
    with pytest.raises(BadRequest, match=r"0\.5 walls.*press less"):
        to_zero_force(read, exact(1, 3), "shell", step=FINE, repeatability=noise, wall=0.17)
    with pytest.raises(BadRequest, match=r"0\.5 walls.*press less"):
        to_zero_force(read, exact(1, 3), "shell", step=FINE, repeatability=noise, wall=0.19, at_force=Uncertain(4, 0))
    far = to_zero_force(read, exact(1, 3), "shell", step=FINE, repeatability=noise, wall=0.4, at_force=Uncertain(4, 0))
    assert "larger force than any" in far.notes[0]
    unknown = to_zero_force(read, exact(1, 3), "shell", step=FINE, repeatability=noise)
    assert "wall is not known" in unknown.notes[0]


def test_a_solid_ball_is_not_pressed_beyond_hertz() -> None:
    """A patch over 0.3 ball radii is an approach over 0.09 R a contact (a^2/R, exact algebra); from 0.1 on a note."""
    noise = Repeatability(0.01)
    with pytest.raises(BadRequest, match="Hertz"):
        to_zero_force([[39.0], [36.0]], exact(1, 8), "solid", step=FINE, repeatability=noise)
    noted = to_zero_force([[39.8], [39.2]], exact(1, 8), "solid", step=FINE, repeatability=noise)
    assert "few per cent" in noted.notes[0]


def test_forces_too_much_alike_are_refused() -> None:
    """A ratio under 1.5, or forces whose difference is less than four of its standard uncertainties."""
    read = [[40.20], [40.15]]
    for forces, words in (
        (exact(2.0, 2.0 * LEAST_RATIO - 0.01), "twice or three times"),
        (separate_forces([Uncertain(1.0, 0.3), Uncertain(2.0, 0.3)]), "hang weights"),
    ):
        with pytest.raises(BadRequest, match=words):
            to_zero_force(read, forces, "shell", step=0.01, repeatability=Repeatability(0.01))
    assert 1.0 / math.hypot(0.3, 0.3) < APART
    shared = JawForces((1.0, 2.0), ((0.09, 0.09), (0.09, 0.09)))
    assert to_zero_force(read, shared, "shell", step=0.01, repeatability=Repeatability(0.01)).slope.value > 0


def test_a_ball_that_grows_under_force_is_refused_and_noise_is_not() -> None:
    """Growth by far more than the noise is a mix-up; a little of it is noise and is kept with a note."""
    noise = Repeatability(0.01)
    with pytest.raises(BadRequest, match="which readings belong to which force"):
        to_zero_force([[40.00], [40.20]], exact(1, 3), "shell", step=0.01, repeatability=noise)
    kept = to_zero_force([[40.00], [40.01]], exact(1, 3), "shell", step=0.01, repeatability=noise, wall=0.4)
    assert kept.squeeze.value < 0
    assert "No squeeze was found" in kept.notes[0]


def test_everything_wrong_is_said_at_once() -> None:
    """Seven faults in one message."""
    with pytest.raises(BadRequest) as caught:
        to_zero_force(
            [[40.2, math.nan]], exact(1.0, 1.1), "foam", step=0.0, shared_u=-1.0, wall=-0.4  # type: ignore[arg-type]
        )  # fmt: skip
    text = str(caught.value)
    for words in ("shell or solid", "a set for each force", "correct the reading", "step", "wall", "shared_u",
                  "two degrees of freedom", "twice or three times"):  # fmt: skip
        assert words in text
    with pytest.raises(BadRequest, match="an SD from 0"):
        to_zero_force([[40.2], [40.1]], exact(1, 3), "shell", step=0.01, repeatability=Repeatability(-1.0))


def balls_of(differences: list[float], forces: JawForces) -> list[ZeroForce]:
    return [
        to_zero_force([[40.20], [40.20 - lost]], forces, "shell", step=FINE, repeatability=Repeatability(0.001))
        for lost in differences
    ]


def test_the_squeeze_of_a_make_is_the_mean_of_its_balls() -> None:
    """Mean and SD over the root of the number (JCGM 100:2008, 4.2.3); friction that all share is not averaged away."""
    lost = [0.10, 0.12, 0.14]
    plain = squeeze_of_make(balls_of(lost, exact(1, 3)))
    assert (plain.value, plain.u, plain.dof) == pytest.approx((0.06, 0.01 / math.sqrt(3), 2.0), rel=1e-9)
    rubbing = JawForces((1.0, 3.0), ((0.01, 0.01), (0.01, 0.01)))
    shared = squeeze_of_make(balls_of(lost, rubbing))
    assert shared.u == pytest.approx(math.hypot(plain.u, 0.06 * 0.1), rel=1e-9)
    with pytest.raises(BadRequest, match="two or more"):
        squeeze_of_make(balls_of([0.1], exact(1, 3)))
    with pytest.raises(BadRequest, match="one force"):
        squeeze_of_make([*balls_of([0.1], exact(1, 3)), *balls_of([0.1], exact(2, 4))])


def test_places_of_a_ball_are_averaged_before_balls_are_counted() -> None:
    """Two balls, four places of one and one of the other: mean and scatter of two balls' means (exact algebra)."""
    lost = [0.10, 0.12, 0.12, 0.14, 0.20]
    found = squeeze_of_make(balls_of(lost, exact(1, 3)), ["a", "a", "a", "a", "b"])
    assert found.value == pytest.approx((0.06 + 0.10) / 2, rel=1e-9)
    assert (found.u, found.dof) == pytest.approx((0.04 / 2, 1.0), rel=1e-9)
    with pytest.raises(BadRequest, match="name each place's ball"):
        squeeze_of_make(balls_of(lost, exact(1, 3)), ["a"])


def test_balls_that_happen_to_agree_keep_the_noise_of_their_readings() -> None:
    """Two equal balls: sqrt(2) 0.001/2 each, that over sqrt(2) for their mean, with the noise's 7 dof (algebra)."""
    noise = Repeatability(0.001, 7.0)
    ball = to_zero_force([[40.20], [40.10]], exact(1, 3), "shell", step=FINE, repeatability=noise)
    found = squeeze_of_make([ball, ball])
    assert (found.u, found.dof) == pytest.approx((0.001 / 2, 7.0), rel=1e-9)
    one = squeeze_of_make([ball, ball], ["a", "a"])
    assert (one.u, one.dof) == pytest.approx((0.001 / 2, 7.0), rel=1e-9)


@pytest.mark.parametrize("balls", [1, 2, 3])
def test_the_squeeze_of_few_balls_is_covered(balls: int) -> None:
    """300 makes, noise 0.01 mm, forces known to 5 %: 1.96 of what goes into a bench file holds the truth in 92 % up."""
    rng = np.random.default_rng(5)
    tool = Instrument("caliper", "diameter", "mm", 0.01, 0.01, 20.0)
    hits = 0
    for _ in range(300):
        rows = []
        for ball in range(balls):
            size = 40.0 + rng.uniform(-0.05, 0.05)
            for force in (4.0, 12.0):
                at = force * (1.0 + 0.05 * rng.standard_normal())
                value = round(size - 0.004 * at + 0.0095 * rng.standard_normal(), 2)
                rows.append(ForceReading(1, "Curlew", str(ball), "pole", force, value))
        (found,) = squeeze_found(rows, tool, "shell", 4.0)
        hits += abs(found.value - 0.016) <= 1.96 * found.sd
    assert hits / 300 > 0.92


def test_a_widened_squeeze_says_so() -> None:
    """Two balls that differ: 12.706/1.960 = 6.5 times (t tables), with the make's name."""
    tool = Instrument("caliper", "diameter", "mm", 0.001, 0.001, 20.0)
    rows = [
        ForceReading(1, "Curlew", ball, "pole", force, 40.0 - slope * force)
        for ball, slope in (("1", 0.01), ("2", 0.05)) for force in (1.0, 6.0)
    ]  # fmt: skip
    (found,) = squeeze_found(rows, tool, "shell", force_u=0.0)
    assert found.sd == pytest.approx(12.7062 / 1.95996 * 0.02, rel=1e-4)
    assert any("squeeze of Curlew is 6.5 times" in note for note in found.notes)


def test_places_of_one_ball_are_one_ball_in_a_file() -> None:
    """Squeezes 0.01 and 0.01 of one ball and 0.05 of another: mean 0.03, u 0.02, widened 6.5 times (t tables)."""
    tool = Instrument("caliper", "diameter", "mm", 0.001, 0.001, 20.0)
    rows = [
        ForceReading(1, "Curlew", ball, axis, force, 40.0 - slope * force)
        for ball, axis, slope in (("1", "seam", 0.01), ("1", "pole", 0.01), ("2", "seam", 0.05)) for force in (1.0, 6.0)
    ]  # fmt: skip
    (found,) = squeeze_found(rows, tool, "shell", force_u=0.0)
    assert found.value == pytest.approx(0.03, rel=1e-9)
    assert found.sd == pytest.approx(12.7062 / 1.95996 * 0.02, rel=1e-4)
    (one,) = squeeze_found([row for row in rows if row.ball == "1"], tool, "shell", force_u=0.0)
    assert any("2 places of one ball of Curlew" in note for note in one.notes)


def test_more_force_between_the_readings_pays() -> None:
    """The uncertainty of a reading comes out 3.6, 2.2 and 1.6 times as large at ratios 1.5, 2 and 3 (exact algebra)."""
    found = [
        to_zero_force([[40.2], [40.1]], exact(1.0, r), "shell", step=FINE, repeatability=Repeatability(1.0)).diameter.u
        for r in (1.5, 2.0, 3.0)
    ]
    assert found == pytest.approx([3.6, 2.2, 1.6], abs=0.05)
    assert all(b < a for a, b in pairwise(found))
