from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np
import pytest

from ballbench.errors import BadRequest
from ballbench.physics.air import (
    air_density,
    air_density_of,
    air_viscosity,
    inside_range,
    standard_pressure,
    weighed_in_air,
)
from ballbench.physics.local_gravity import ANYWHERE, local_gravity
from ballbench.quantities.uncertain import Uncertain

DATA = Path(__file__).resolve().parents[1] / "reference" / "air"


def test_published_densities() -> None:
    """Each within the relative difference that its certificate explains (book, NIST SOP 2, a library's pages)."""
    with (DATA / "densities.csv").open(encoding="utf-8") as lines:
        for row in csv.DictReader(lines):
            found = air_density(float(row["temperature_c"]), float(row["pressure_pa"]), float(row["humidity"]))
            assert float(found) == pytest.approx(float(row["density"]), rel=float(row["within"])), row


def test_the_simplified_formula_of_the_weights_agrees() -> None:
    """OIML R 111, E.3: (0.34848 p - 0.009 h exp(0.061 t))/(273.15 + t), said to hold to 2e-4 (from memory)."""
    t, p, h = np.meshgrid([15.0, 20.0, 25.0], [930.0, 1000.0, 1050.0], [20.0, 50.0, 75.0])
    simple = (0.34848 * p - 0.009 * h * np.exp(0.061 * t)) / (273.15 + t)
    assert air_density(t, 100.0 * p, h / 100.0) == pytest.approx(simple, rel=2.5e-4)


def test_dry_air_at_low_pressure_is_an_ideal_gas() -> None:
    """Its density is p M/(R T), M 28.96546 g/mol and R 8.314472 J/(mol K), to what compressibility is left."""
    ideal = 1000.0 * 28.96546e-3 / (8.314472 * 293.15)
    assert float(air_density(20.0, 1000.0, 0.0)) == pytest.approx(ideal, rel=1e-5)


def test_more_carbon_dioxide_makes_air_denser_as_its_molar_mass_says() -> None:
    """A thousandth of oxygen turned into carbon dioxide adds 0.012011 g/mol, 4.15e-4 (arithmetic)."""
    more = float(air_density(20.0, 1e5, 0.0, 1.4e-3) / air_density(20.0, 1e5, 0.0, 4e-4))
    assert more - 1.0 == pytest.approx(0.012011 / 28.96546, rel=1e-3)


def test_the_uncertainty_is_that_of_simulated_rooms() -> None:
    """400,000 drawn rooms have the stated mean and SD (simulation)."""
    rng = np.random.default_rng(1)
    known = (Uncertain(21.0, 2.0), Uncertain(1e5, 2e3), Uncertain(0.5, 0.1))
    drawn = air_density(*(one.value + one.u * rng.standard_normal(400_000) for one in known), 4.5e-4)
    found = air_density_of(*known).result
    assert found.value == pytest.approx(float(drawn.mean()), rel=1e-4)
    assert found.u == pytest.approx(float(drawn.std()), rel=0.01)


def test_air_that_no_bench_has_is_refused_with_every_fault() -> None:
    """Too hot, sea-level pressure given in bar, humidity in per cent: three faults at once."""
    with pytest.raises(BadRequest) as refused:
        air_density_of(Uncertain(70.0, 1.0), Uncertain(1.0, 0.1), Uncertain(50.0, 5.0))
    assert len(refused.value.faults) == 3


def test_where_the_equation_is_said_to_hold() -> None:
    """15 to 27 degC and 600 to 1100 hPa (read in public code that cites the paper)."""
    assert inside_range(15.0, 6e4)
    assert inside_range(27.0, 1.1e5)
    assert not inside_range(14.9, 1e5)
    assert not inside_range(20.0, 5.9e4)


def test_a_light_ball_weighs_less_than_it_is() -> None:
    """2.700 g on a balance are 2.7398 g for 40 mm in air of 1.2 kg/m3, as the usual formula has it (from memory)."""
    found = float(weighed_in_air(2.7e-3, 0.04, 1.2)) * 1e3
    assert found == pytest.approx(2.7398, abs=5e-5)
    volume = math.pi * 0.04**3 / 6.0
    usual = 2.7e-3 * (1.0 - 1.2 / 8000.0) / (1.0 - 1.2 * volume / (found * 1e-3))
    assert found == pytest.approx(usual * 1e3, rel=1e-12)


def test_toughness_pressure_and_gravity_of_a_place() -> None:
    """Viscosity 1.8133e-5 at 20 degC; 5 km: 54048 Pa to a thousandth; gravity at equator and pole (certificate)."""
    assert float(air_viscosity(20.0)) == pytest.approx(1.8133e-5, rel=1e-4)
    assert standard_pressure(0.0) == 101325.0
    assert standard_pressure(5000.0) == pytest.approx(54048.286, rel=1e-3)
    assert local_gravity(0.0).value == pytest.approx(9.7803267715, rel=1e-10)
    assert local_gravity(-90.0).value == pytest.approx(9.8321863685, rel=1e-9)
    assert local_gravity(45.0, 1000.0).value == pytest.approx(local_gravity(45.0).value - 3.086e-3, rel=1e-9)
    for latitude in (0.0, 30.0, 60.0):
        assert abs(local_gravity(latitude).value - ANYWHERE.value) < 2.0 * ANYWHERE.u
