from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np
import pytest

from ballbench.errors import BadRequest
from ballbench.physics.jaw_contact import (
    STEEL_JAW,
    Jaw,
    contact_modulus,
    hertz_contact,
    shell_squeeze,
    shell_stiffness,
    solid_squeeze,
    squeeze_in_line,
    wall_thickness,
)  # fmt: skip
from ballbench.quantities.coverage import Rectangular
from ballbench.quantities.uncertain import Uncertain

DATA = Path(__file__).resolve().parents[1] / "reference" / "jaw_contact"
RIGID = Jaw(math.inf, 0.3)


def rows(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8") as lines:
        return [*csv.DictReader(lines)]


def as_printed(found: float, printed: str) -> bool:
    """Say whether a number rounds to what is printed."""
    figures = len(printed.replace(".", "").lstrip("0"))
    return float(f"{found:.{figures - 1}e}") == pytest.approx(float(printed), rel=1e-12)


@pytest.mark.parametrize("row", rows("shell.csv"), ids=lambda row: f"{row['modulus_gpa']} GPa {row['wall_mm']} mm")
def test_shells_are_as_stiff_as_a_separate_calculation_says(row: dict[str, str]) -> None:
    """Stiffness of a pole and of both, and micrometres a newton, to the printed digits (computed, Reissner)."""
    names = ("modulus_gpa", "wall_mm", "radius_mm", "poisson")
    pole = float(shell_stiffness(*(float(row[name]) for name in names)))
    assert as_printed(pole, row["pole"])
    if row["both"]:
        assert as_printed(pole / 2.0, row["both"])
        assert as_printed(2000.0 / pole, row["um_per_newton"])


def test_both_forms_of_the_shell_formula_agree() -> None:
    """K = 8 D/l^2 with D = E t^3/(12 (1 - nu^2)) and l^4 = D R^2/(E t) (exact algebra)."""
    e, t, r, nu = 2200.0, np.array([0.3, 0.4, 0.5]), 20.0, 0.37
    bending = e * t**3 / (12 * (1 - nu**2))
    length = (bending * r**2 / (e * t)) ** 0.25
    assert shell_stiffness(2.2, t, r, nu) == pytest.approx(8 * bending / length**2, rel=1e-13)


@pytest.mark.parametrize("row", rows("solid.csv"), ids=lambda row: row["case"])
def test_solid_balls_give_way_as_a_separate_calculation_says(row: dict[str, str]) -> None:
    """Patch, approach and pressure of a contact to the printed digits (computed, Hertz)."""
    force, diameter, modulus, poisson = (
        float(row[name]) for name in ("force_n", "diameter_mm", "modulus_gpa", "poisson")
    )
    jaw = Jaw(float(row["jaw_gpa"]), float(row["jaw_poisson"]))
    found = hertz_contact(force, diameter / 2, contact_modulus(modulus, poisson, jaw))
    for value, name in ((found.radius, "patch_mm"), (found.approach, "approach_mm"), (found.pressure, "pressure_mpa")):
        if row[name]:
            assert as_printed(value, row[name]), name


def test_the_patch_of_a_printed_benchmark() -> None:
    """A sphere of 8 mm, 1000 MPa, 0.3 on a rigid flat under 60 pi N: 1.010 mm (printed; seen), to half a per mille."""
    found = hertz_contact(60 * math.pi, 8.0, contact_modulus(1.0, 0.3, RIGID))
    assert found.radius == pytest.approx(1.010, abs=5e-4)


def test_two_equal_spheres_at_a_printed_approach() -> None:
    """p0 = E/(pi (1 - nu^2)) sqrt(2 h/R), a = sqrt(R h/2) (formula seen): 2798.3 MPa and 10 mm for R 50, h 4 mm."""
    force = 2798.32867 * 2 * math.pi * 10.0**2 / 3
    found = hertz_contact(force, 25.0, contact_modulus(20.0, 0.3, Jaw(20.0, 0.3)))
    assert (found.radius, found.approach, found.pressure) == pytest.approx((10.0, 4.0, 2798.32867), rel=1e-7)


def test_steel_on_steel() -> None:
    """Two steel balls of 50 mm under 500 N: 0.34940 mm, 1955.49 MPa (computed)."""
    found = hertz_contact(500.0, 12.5, contact_modulus(200.0, 0.3, Jaw(200.0, 0.3)))
    assert as_printed(found.radius, "0.34940")
    assert as_printed(found.pressure, "1955.49")


def test_the_factors_of_the_handbook() -> None:
    """Roark, table 14.1 (seen): a = 0.721 (P K C)^(1/3), p = 0.918 (P/(K^2 C^2))^(1/3), y = 1.040 (P^2 C^2/K)^(1/3)."""
    force, diameter, modulus = 7.0, 42.0, 3.1
    k, c = diameter, 1 / (1000 * modulus)
    found = hertz_contact(force, diameter / 2, modulus)
    assert found.radius / (force * k * c) ** (1 / 3) == pytest.approx(0.721, abs=5e-4)
    assert found.pressure / (force / (k * c) ** 2) ** (1 / 3) == pytest.approx(0.918, abs=5e-4)
    assert found.approach / (force**2 * c**2 / k) ** (1 / 3) == pytest.approx(1.040, abs=5e-4)


RUBBER = (Rectangular(60.0, 60.0001), Rectangular(0.004, 0.00400001), Rectangular(0.4999, 0.5))


def test_both_jaws_count() -> None:
    """A rubber ball of 60 mm loses 0.80791 mm under 10 N between rigid jaws (computed); its patch is over R/10."""
    found = solid_squeeze(10.0, *RUBBER, RIGID)
    assert found.squeeze.value == pytest.approx(0.80791, rel=1e-4)
    assert "few per cent" in found.notes[0]
    assert solid_squeeze(1.0, *RUBBER, RIGID).notes == ()


def test_the_shell_uses_the_middle_of_its_wall() -> None:
    """40.4 mm outside and 0.4 mm wall make a middle radius of 20 mm: 46.094 micrometres a newton (computed)."""
    ranges = [Rectangular(value, value * (1 + 1e-9)) for value in (40.4, 0.4, 2.2, 0.35)]
    assert shell_squeeze(1.0, *ranges).squeeze.value == pytest.approx(46.094e-3, abs=6e-7)


SHELL = {
    "diameter": Rectangular(39.9, 40.1), "wall": Rectangular(0.36, 0.44), "modulus": Rectangular(1.8, 2.6),
    "poisson": Rectangular(0.3, 0.4),
}  # fmt: skip


def test_the_range_of_a_shell_holds_every_ball_in_it() -> None:
    """20,000 shells drawn inside the ranges stay between low and high, come near both, with the stated SD to 10 %."""
    rng = np.random.default_rng(3)
    drawn = {name: rng.uniform(item.low, item.high, 20_000) for name, item in SHELL.items()}
    lost = 2 * 3.0 / shell_stiffness(
        drawn["modulus"], drawn["wall"], (drawn["diameter"] - drawn["wall"]) / 2, drawn["poisson"]
    )  # fmt: skip
    found = shell_squeeze(3.0, **SHELL)
    assert found.low <= lost.min() < found.low * 1.06
    assert found.high * 0.94 < lost.max() <= found.high
    assert found.squeeze.u == pytest.approx(lost.std(), rel=0.1)
    worst = max(found.budget.lines, key=lambda line: abs(line.contribution))
    assert worst.name in {"wall", "modulus"}


def test_the_range_of_a_solid_ball_holds_every_ball_in_it() -> None:
    """20,000 solid balls drawn inside the ranges stay between low and high and come near both (simulation)."""
    rng = np.random.default_rng(4)
    ranges = (Rectangular(42.0, 43.0), Rectangular(0.05, 0.15), Rectangular(0.4, 0.5))
    d, e, nu = (rng.uniform(item.low, item.high, 20_000) for item in ranges)
    flat = (1 - STEEL_JAW.poisson**2) / STEEL_JAW.modulus
    lost = 2 * (9 * 5.0**2 / (16 * (d / 2) * (1000 / ((1 - nu**2) / e + flat)) ** 2)) ** (1 / 3)
    found = solid_squeeze(5.0, *ranges)
    assert found.low <= lost.min() < found.low * 1.04
    assert found.high * 0.96 < lost.max() <= found.high


def test_a_pole_is_not_pressed_past_half_a_wall() -> None:
    """Half a wall of 0.4 mm is 0.2 mm a pole: 8.68 N at 43.39 N/mm; 8.6 N is taken with a note, 8.8 N is refused."""
    exact = {"diameter": Rectangular(40.4, 40.4001), "modulus": Rectangular(2.2, 2.2001),
             "poisson": Rectangular(0.35, 0.3501)}  # fmt: skip
    thin = Rectangular(0.38, 0.42)
    assert "press less" in shell_squeeze(8.6, wall=thin, **exact).notes[0]
    assert shell_squeeze(5.0, wall=thin, **exact).notes == ()
    with pytest.raises(BadRequest, match="press less"):
        shell_squeeze(8.8, wall=thin, **exact)
    with pytest.raises(BadRequest, match=r"Hertz.*press less"):
        solid_squeeze(300.0, *RUBBER, RIGID)


def test_a_measured_squeeze_is_held_against_the_model() -> None:
    """0.046 mm/N measured is in line with a shell of these ranges, 0.010 mm/N is not, and a wide interval is."""
    model = shell_squeeze(1.0, **SHELL)
    assert squeeze_in_line(Uncertain(0.046, 0.002, unit="mm"), model).in_line
    off = squeeze_in_line(Uncertain(0.010, 0.002, unit="mm"), model)
    assert not off.in_line
    assert "check force" in off.note
    assert off.ratio == pytest.approx(0.010 / model.squeeze.value)
    assert squeeze_in_line(Uncertain(0.010, 0.02, unit="mm"), model).in_line
    assert not squeeze_in_line(Uncertain(0.046, 0.002, math.nan, "mm"), model).in_line


@pytest.mark.parametrize(("wall", "density"), [(0.4, 1.4), (2.0, 0.9), (19.0, 1.15)])
def test_the_wall_follows_from_the_mass(wall: float, density: float) -> None:
    """The mass of a shell of known wall, by the volumes of two spheres, gives the wall back (exact algebra)."""
    mass = density * math.pi / 6 * (40.0**3 - (40.0 - 2 * wall) ** 3) / 1000
    found = wall_thickness(*(Uncertain(value, 0.0) for value in (mass, 40.0, density))).result
    assert found.value == pytest.approx(wall, rel=1e-9)


def test_the_wall_of_a_light_ball() -> None:
    """For thin walls u(t)/t is near the root of the squares of relative u(m), u(density), 2 u(D)/D (exact algebra)."""
    found = wall_thickness(Uncertain(2.70, 0.01), Uncertain(40.0, 0.05), Uncertain(1.4, 0.04)).result
    assert found.value == pytest.approx(2700 / 1.4 / (math.pi * (40.0 - found.value) ** 2), rel=1e-4)
    assert found.u / found.value == pytest.approx(math.hypot(0.01 / 2.7, 0.04 / 1.4, 0.1 / 40.0), rel=0.03)


def test_what_no_ball_has_is_refused_with_every_fault() -> None:
    """All faults at once; a ball heavier than solid, a wall beyond the middle, MPa for GPa the other way round."""
    with pytest.raises(BadRequest) as caught:
        shell_squeeze(-1.0, Rectangular(-2, 40), Rectangular(-1, 0.4), Rectangular(-1, 2.2), Rectangular(0.3, 0.6))
    assert len(caught.value.faults) == 5
    with pytest.raises(BadRequest, match="half the diameter"):
        shell_squeeze(1.0, Rectangular(1, 2), Rectangular(0.4, 0.6), Rectangular(1, 2), Rectangular(0.3, 0.4))
    with pytest.raises(BadRequest, match="solid ball of this density"):
        wall_thickness(Uncertain(60.0, 0.1), Uncertain(40.0, 0.1), Uncertain(1.4, 0.1))
    with pytest.raises(BadRequest) as caught:
        wall_thickness(Uncertain(0.0, 0.1), Uncertain(-40.0, 0.1), Uncertain(0.0, 0.1))
    assert len(caught.value.faults) == 3
    with pytest.raises(BadRequest, match="above 0"):
        hertz_contact(1.0, 0.0, 1.0)
    assert hertz_contact(0.0, 20.0, 1.0).approach == 0.0
