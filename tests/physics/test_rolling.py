"""Veer of a ball with its mass off centre: a rigid ball integrated in three dimensions, and a bowl as published."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np
import pytest
from rigid_roller import G, Rigid, veer
from scipy.integrate import solve_ivp

from ballbench.physics.rolling import Ramp, lean_gain, turning_radius, veer_gain, veer_gain_u

DATA = Path(__file__).resolve().parents[1] / "reference" / "bowl"
R = 0.020


@pytest.mark.parametrize("inertia", [2 / 3, 2 / 5])
@pytest.mark.parametrize("pivots", [True, False])
@pytest.mark.parametrize(("angle", "offset"), [(14.0, 0.1e-3), (5.0, 0.2e-3), (2.0, 0.05e-3)])
def test_on_the_slope_the_veer_is_exact_for_shells_and_solid_balls(
    inertia: float, pivots: bool, angle: float, offset: float
) -> None:
    """Straight at tan psi = d/(R tan a), whatever the inertia and the friction against pivoting.

    To 1e-6 for a ball that pivots freely; one that is kept from it turns its marks a little, (d/R)^2 (1 + 1/b).
    """
    a = math.radians(angle)
    found = veer(Rigid((0.0, -offset, 0.0), R, inertia, pivots), 1.0, a)
    assert found == pytest.approx(offset * veer_gain(Ramp(1.0, a), R), rel=1e-6 if pivots else 5e-4)


@pytest.mark.parametrize("inertia", [2 / 3, 2 / 5])
@pytest.mark.parametrize(("angle", "run_out"), [(5.0, 1.0), (10.0, 0.5), (5.0, 3.0)])
def test_with_a_run_out_the_veer_is_so_within_a_hundredth(inertia: float, angle: float, run_out: float) -> None:
    """The rounded foot and the finite angle of the path add up to 0.7 % here (integration), which grows with both.

    A formula without its last term would be 11 % off at 5 degrees and a run-out as long as the slope.
    """
    a = math.radians(angle)
    found = veer(Rigid((0.0, -1e-4, 0.0), R, inertia), 1.0, a, run_out)
    assert found == pytest.approx(1e-4 * veer_gain(Ramp(1.0, a, run_out), R), rel=0.01)


def test_the_lean_goes_as_stated_on_slope_and_flat() -> None:
    """A ball without offset on a board that leans by 1 mrad: exact on the slope, within 0.1 % with a run-out."""
    a = math.radians(5.0)
    ball = Rigid((0.0, 0.0, 0.0), R)
    assert veer(ball, 1.0, a, lean=1e-3) == pytest.approx(1e-3 * lean_gain(Ramp(1.0, a)), rel=1e-5)
    assert veer(ball, 1.0, a, 1.0, lean=1e-3) == pytest.approx(1e-3 * lean_gain(Ramp(1.0, a, 1.0)), rel=1e-3)


@pytest.mark.parametrize("offset", [0.05e-3, 0.4e-3])
def test_turning_the_ball_takes_the_lean_out(offset: float) -> None:
    """Half the difference of a ball and the same ball turned is its own veer, half the sum the ramp's, to 1e-5."""
    a, lean = math.radians(5.0), 2e-3
    placed, turned = (veer(Rigid((0.0, -way * offset, 0.0), R), 1.0, a, lean=lean) for way in (1.0, -1.0))
    assert (placed - turned) / 2 == pytest.approx(offset * veer_gain(Ramp(1.0, a), R), rel=1e-4)
    assert (placed + turned) / 2 == pytest.approx(lean * lean_gain(Ramp(1.0, a)), rel=1e-4)


def test_only_the_part_along_the_spin_axis_steers() -> None:
    """An offset 60 degrees off the axis, in four positions at the start: on average its part along the axis, to 1 %.

    Single runs differ by 5 %, by where the heavy spot starts; across the axis there is no veer at all.
    """
    a, c, off = math.radians(5.0), 1e-4, math.radians(60.0)
    runs = [
        veer(Rigid((c * math.sin(off) * math.cos(p), -c * math.cos(off), c * math.sin(off) * math.sin(p)), R), 1.0, a)
        for p in np.radians([0.0, 90.0, 180.0, 270.0])
    ]
    along = c * math.cos(off) * veer_gain(Ramp(1.0, a), R)
    assert np.mean(runs) == pytest.approx(along, rel=0.01)
    assert np.max(np.abs(np.array(runs) / along - 1.0)) < 0.06
    assert veer(Rigid((c, 0.0, 0.0), R), 1.0, a) == pytest.approx(0.0, abs=1e-9)


def test_the_table_of_computed_veers_is_met() -> None:
    """The numbers of an earlier, separate integration: 14 degrees and 0.1 mm, 5 and 0.2, 2 and 0.05; a slope of 1 m."""
    for angle, offset, expected in (
        (14.0, 0.1e-3, 0.020053904667679), (5.0, 0.2e-3, 0.114300523027613), (2.0, 0.05e-3, 0.071590633207289)
    ):  # fmt: skip
        assert offset * veer_gain(Ramp(1.0, math.radians(angle)), R) == pytest.approx(expected, rel=1e-12)


def test_a_bowl_turns_as_published() -> None:
    """Aim of a bowl from offset, speed and distance against the published one, within 25 % (`tests/reference/bowl`).

    It slows down evenly, v^2 = v0^2 (1 - s/L), and turns on the program's radius; the path is integrated here.
    """
    rows = {row["name"]: row for row in csv.DictReader((DATA / "bowl.csv").read_text(encoding="utf-8").splitlines())}
    value = {name: (float(row["low"]) + float(row["high"])) / 2 for name, row in rows.items()}
    offset, radius = value["offset"] / 1000, value["diameter"] / 2000
    length, speed = value["distance"], value["launch_speed"]

    def change(s: float, y: np.ndarray) -> list[float]:
        slowed = speed * math.sqrt(1.0 - s / length)
        return [math.sin(y[1]), 1.0 / turning_radius(offset, radius, 2 / 5, slowed, G)]

    path = solve_ivp(change, (0.0, 0.9999 * length), [0.0, 0.0], rtol=1e-8, atol=1e-10)
    aim = math.degrees(math.atan(path.y[0, -1] / length))
    assert aim == pytest.approx(value["aim"], rel=0.25)


@pytest.mark.parametrize("run_out", [0.0, 800.0])
def test_the_uncertainty_of_the_gain_is_that_of_a_simulation(run_out: float) -> None:
    """SD of 20,000 gains with every input drawn (JCGM 101:2008, 7), to 3 %, six times the error of that SD."""
    rng = np.random.default_rng(6)
    u = {"slope_u": 2.0, "angle_u": math.radians(0.1), "run_out_u": 1.5, "radius_u": 0.05}
    draws = rng.standard_normal((20_000, 4))
    s, a, x, r = (m + e * z for m, e, z in zip((1000, math.radians(5), run_out, 20), u.values(), draws.T, strict=True))
    x = x if run_out else np.zeros_like(s)
    gains = [veer_gain(Ramp(*one[:3]), one[3]) for one in zip(s, a, x, r, strict=True)]
    stated = u if run_out else {**u, "run_out_u": 0.0}
    relative = veer_gain_u(Ramp(1000, math.radians(5), run_out), 20, **stated)
    assert relative == pytest.approx(np.std(gains) / np.mean(gains), rel=0.03)
