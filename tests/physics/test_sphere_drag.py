from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np
import pytest
from fluids.drag import drag_sphere
from scipy.integrate import solve_ivp

from ballbench.physics.sphere_drag import flight_drag, sphere_drag
from ballbench.physics.vertical_flight import Faller, impact_speed_of, launch_speed_of

DATA = Path(__file__).resolve().parents[1] / "reference" / "sphere_drag"


def test_the_curve_lies_on_measured_points() -> None:
    """Within 6.5 % of every measured point from Re 1000 to 1e5 (certificate)."""
    with (DATA / "measured.csv").open(encoding="utf-8") as lines:
        for row in csv.DictReader(lines):
            assert float(sphere_drag(float(row["reynolds"]))) == pytest.approx(float(row["drag"]), rel=0.065), row


@pytest.mark.parametrize("reynolds", [100.0, 1e3, 5e3, 2e4, 8e4])
def test_another_correlation_agrees(reynolds: float) -> None:
    """Clift and Gauvin's, of a public library, within 8 % (`fluids`)."""
    other = drag_sphere(reynolds, Method="Clift_Gauvin")
    assert float(sphere_drag(reynolds)) == pytest.approx(other, rel=0.08)


def test_slow_flow_and_the_end_of_the_curve() -> None:
    """Stokes' 24/Re at Re 1e-4; NaN at 0 and above 2e5."""
    assert float(sphere_drag(1e-4)) == pytest.approx(2.4e5, rel=1e-3)
    assert np.isnan(sphere_drag([0.0, -1.0, 2.1e5, math.nan])).all()
    end = float(sphere_drag(2e5))
    assert flight_drag([70.0, 500.0], 0.04, 1e-5) == pytest.approx([end, end])
    assert float(flight_drag(0.0, 0.04, 1.5e-5)) == pytest.approx(float(sphere_drag(1.0)))


@pytest.mark.parametrize(
    ("mass", "diameter", "v0"),
    [(2.74e-3, 0.04, 0.7), (2.74e-3, 0.04, 2.2), (2.74e-3, 0.04, 5.0), (0.058, 0.066, 5.5), (0.44, 0.22, 5.0)],
)
def test_one_constant_stands_for_a_flight(mass: float, diameter: float, v0: float) -> None:
    """Launch and return speed from the time of a flight whose drag follows the curve, to 3e-4 (scipy solve_ivp)."""
    rho, nu = 1.2, 1.51e-5
    air = rho * math.pi * diameter**3 / 6.0
    moved, pull = mass + air / 2.0, rho * math.pi * diameter**2 / 8.0

    def motion(_: float, y: list[float]) -> list[float]:
        drag = float(sphere_drag(max(abs(y[1]) * diameter / nu, 1e-3)))
        return [y[1], (-(mass - air) * 9.81 - pull * drag * abs(y[1]) * y[1]) / moved]

    def floor(_: float, y: list[float]) -> float:
        return y[0]

    floor.terminal, floor.direction = True, -1  # type: ignore[attr-defined]
    done = solve_ivp(motion, (0.0, 5.0), (0.0, v0), events=floor, rtol=1e-9, atol=1e-11, max_step=0.02)
    faller = Faller(mass, diameter, float(flight_drag(v0, diameter, nu)), rho, 9.81)
    launch = launch_speed_of(done.t_events[0][0], faller)
    assert float(launch) == pytest.approx(v0, rel=3e-4)
    assert float(impact_speed_of(launch, faller)) == pytest.approx(-float(done.y_events[0][0][1]), rel=3e-4)
