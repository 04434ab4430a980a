from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from made_tables import readings_of

from ballbench.errors import BadBench
from ballbench.records import (
    Bench,
    Expansion,
    Instrument,
    Squeeze,
    Temperature,
    bench_for,
    default_instrument,
    instrument_of,
    read_bench,
)

FULL = """
[instrument.caliper]
quantity = "diameter"
unit = "mm"
resolution = 0.01
repeatability = { sd = 0.008, dof = 20, includes_rounding = true }
calibration = { offset = 0.005, offset_sd = 0.01, scale_sd = 1e-5 }
zeroed = "each sitting"
display = "truncates"
looks = 8
[instrument.scale]
quantity = "mass"
unit = "oz"
resolution = 0.001
repeatability = { sd = 0.0, dof = 9, includes_rounding = false }
calibration = { offset_sd = 0.002 }
[conditions]
drop_height = "305 mm"
surface = "steel block"
humidity = 45
temperature = { value = 70.7, sd = 1.8, reference = 73.4, unit = "degF" }
[sitting.2]
temperature = { value = 21.0, sd = 0.5 }
[material]
expansion = { value = 9e-5, relative_sd = 0.2 }
[squeeze."Curlew"]
value = 20
sd = 5
unit = "um"
"""


def _bench(tmp_path: Path, text: str) -> Bench:
    path = tmp_path / "bench.toml"
    path.write_text(text, encoding="utf-8")
    return read_bench(path)


def test_a_full_bench_file(tmp_path: Path) -> None:
    """Every line of a bench file arrives in base units: 70.7 degF is 21.5 degC, 0.001 oz is 0.028349523125 g."""
    bench = _bench(tmp_path, FULL)
    assert bench.instruments["caliper"] == Instrument(
        "caliper", "diameter", "mm", 0.01, 0.008, 20.0, 0.005, 0.01, 1e-5, "each sitting", "truncates", 8
    )
    scale, ounce = bench.instruments["scale"], 28.349523125
    assert (scale.unit, scale.resolution, scale.offset_sd) == (
        "g",
        pytest.approx(0.001 * ounce),
        pytest.approx(0.002 * ounce),
    )
    # JCGM 100:2008, F.2.2.1: a display of step s that hides everything else has the standard uncertainty 0.29 s.
    assert scale.sd / scale.resolution == pytest.approx(0.29, abs=0.002)
    assert bench.temperature is not None
    assert bench.temperature.value == pytest.approx(21.5)
    assert (bench.temperature.sd, bench.temperature.reference) == (pytest.approx(1.0), pytest.approx(23.0))
    assert bench.sitting_temperatures == {"2": Temperature(21.0, 0.5, bench.temperature.reference)}
    assert bench.expansion == Expansion(9e-5, 0.2)
    assert bench.squeeze["Curlew"] == Squeeze(pytest.approx(0.02), pytest.approx(0.005))
    assert bench.conditions == {"drop_height": "305 mm", "surface": "steel block", "humidity": "45"}
    assert bench.assumptions == ()


def test_rounding_is_added_only_where_it_is_not_in(tmp_path: Path) -> None:
    """With includes_rounding = false the SD of displayed readings is that of simulated rounded readings."""
    text = FULL.replace(
        "sd = 0.008, dof = 20, includes_rounding = true", "sd = 0.02, dof = 20, includes_rounding = false"
    )
    rng = np.random.default_rng(7)
    shown = np.round(rng.normal(0.0, 0.02, 400_000) / 0.01) * 0.01
    assert _bench(tmp_path, text).instruments["caliper"].sd == pytest.approx(shown.std(), rel=0.005)


_INSTRUMENT = '[instrument.caliper]\nquantity = "diameter"\nunit = "mm"\nresolution = 0.01\n'


@pytest.mark.parametrize(
    ("text", "where", "found", "todo"),
    [
        ("[instrument.caliper\n", "line 1", "no TOML", "close every bracket"),
        ("a = [1", "at its end", "no TOML", "close every bracket"),
        (_INSTRUMENT.replace("quantity", "quantitty"), "caliper] quantitty", "an unknown key", 'write "quantity"'),
        ("[instruments.caliper]\n", "instruments", "an unknown key", 'write "instrument"'),
        (_INSTRUMENT.replace("0.01", "-0.01"), "resolution", "-0.01", "correct the number"),
        (_INSTRUMENT.replace("0.01", '"0.01"'), "resolution", '"0.01"', "without quotes"),
        (_INSTRUMENT.replace("0.01", "nan"), "resolution", '"nan"', "write the number"),
        (_INSTRUMENT.replace('"mm"', '"g"'), "unit", '"g"', "correct the unit or the quantity"),
        (_INSTRUMENT.replace('"diameter"', '"diametre"'), "quantity", '"diametre"', 'write "diameter"'),
        (_INSTRUMENT + "repeatability = { sd = -0.01, dof = 3 }\n", "repeatability sd", "-0.01", "correct the number"),
        (_INSTRUMENT + "repeatability = { sd = 0.01, dof = 0 }\n", "repeatability dof", "0", "correct the number"),
        (_INSTRUMENT + "repeatability = { sd = 0 }\n", "repeatability sd", "0", "includes_rounding = false"),
        (_INSTRUMENT + "repeatability = 0.01\n", "repeatability", '"0.01"', "write { name = value"),
        (_INSTRUMENT + 'zeroed = "each day"\n', "zeroed", '"each day"', 'write "each reading"'),
        (_INSTRUMENT + "looks = 2.5\n", "looks", "2.5", "number of directions"),
        ("[conditions]\ntemperature = { value = 21, sd = 1, reference = 23 }\n",
         "[material]", "without", "add expansion"),
        ("[conditions]\ntemperature = { value = 21 }\n[material]\nexpansion = { value = 1e-5, relative_sd = 0.1 }\n",
         "temperature sd", "nothing", "write sd"),
        ("[conditions]\ntemprature = { value = 21 }\n", "temprature", "an unknown key", 'write "temperature"'),
        ("[conditions]\nsurface = ['steel']\n", "surface", "steel", "write it as one text"),
        ('[squeeze."A"]\nvalue = 0.1\nsd = 0.01\nunit = "g"\n', "[squeeze.A] unit", '"g"', "correct the unit"),
        ("[sitting.1]\n", "[sitting.1] temperature", "nothing", "write temperature"),
    ],
)  # fmt: skip
def test_wrong_bench_files(tmp_path: Path, text: str, where: str, found: str, todo: str) -> None:
    """Every wrong line is told with its place, what stands there and what to write."""
    with pytest.raises(BadBench) as caught:
        _bench(tmp_path, text)
    assert any(where in fault.where and found in fault.found and todo in fault.todo for fault in caught.value.faults), (
        str(caught.value)
    )


def test_all_faults_of_a_bench_file_are_told_at_once(tmp_path: Path) -> None:
    """Three wrong lines give three faults."""
    text = _INSTRUMENT.replace("0.01", "0") + 'display = "rounding"\nrepeatability = { sd = 0.01, dof = -1 }\n'
    with pytest.raises(BadBench) as caught:
        _bench(tmp_path, text)
    assert len(caught.value.faults) == 3


@pytest.mark.parametrize(
    ("quantity", "unit", "resolution", "name", "sd", "offset_sd"),
    [
        ("diameter", "mm", 0.01, "caliper", 0.010, 0.012),
        ("diameter", "mm", 0.001, "caliper", 0.003, 0.003),
        ("diameter", "in", 0.0005, "caliper", 0.0127, 0.01524),
        ("circumference", "mm", 1.0, "tape", 0.5, 0.5),
        ("diameter", "mm", 1.0, "tape", 0.5, 0.5),
        ("mass", "g", 0.01, "scale", 0.006, 0.01),
        ("rebound", "mm", 1.0, "instrument", 1.0, 1.2),
    ],
)
def test_default_instruments(
    quantity: str, unit: str, resolution: float, name: str, sd: float, offset_sd: float
) -> None:
    """An assumed instrument has the class and SDs of its quantity and step, in base units, with dof 4."""
    tool = default_instrument(quantity, unit, resolution)
    assert (tool.name, tool.dof, tool.assumed) == (name, 4.0, True)
    assert (tool.sd, tool.offset_sd) == (pytest.approx(sd), pytest.approx(offset_sd))
    # The SD of displayed readings holds the display's rounding, which alone is 0.29 steps (JCGM 100:2008, F.2.2.1).
    assert tool.sd > tool.resolution / math.sqrt(12)


@pytest.mark.parametrize(("unit", "resolution"), [("g", 0.01), ("mm", 0.0), ("mm", math.nan), ("mm", -1.0)])
def test_default_instruments_refuse_nonsense(unit: str, resolution: float) -> None:
    """A display step that is not positive, or in a unit of another kind, is refused."""
    with pytest.raises(BadBench):
        default_instrument("diameter", unit, resolution)


def test_without_a_bench_file_everything_is_assumed_aloud() -> None:
    """Without a bench file there is an assumed instrument for each quantity, and a sentence for each assumption."""
    readings = readings_of({"quantity": ["diameter", "diameter", "mass"], "value": [40.12, 40.13, 2.71]})
    bench = bench_for(readings, None)
    assert instrument_of(bench, "diameter", "").sd == pytest.approx(0.01)
    assert instrument_of(bench, "mass", "").unit == "g"
    assert (
        "No bench file: the caliper is taken as having 0.01 mm steps, repeatability 0.01 mm (4 degrees of freedom), "
        "shared offset uncertainty 0.012 mm; common practice, no source." in bench.assumptions
    )
    assert any("No temperature" in said for said in bench.assumptions)


def test_instruments_that_the_bench_file_does_not_know(tmp_path: Path) -> None:
    """A name that is not in the bench file is assumed aloud, with the near name; capitals do not matter."""
    bench = _bench(tmp_path, FULL)
    readings = readings_of(
        {"value": [40.12, 40.13, 40.1], "instrument": ["Caliper", "calliper", "micrometer"], "product": ["Curlew"] * 3}
    )
    filled = bench_for(readings, bench)
    assert instrument_of(filled, "diameter", "Caliper") == bench.instruments["caliper"]
    assert instrument_of(filled, "diameter", "calliper").assumed
    assert instrument_of(filled, "diameter", "micrometer").name == "micrometer"
    said = " | ".join(filled.assumptions)
    assert "no instrument calliper for diameter (caliper is near)" in said
    assert "temperature for sitting 2, which has no reading" in said


def test_one_instrument_serves_readings_that_name_none(tmp_path: Path) -> None:
    """Readings without an instrument's name are the only instrument's; with two of them the name is asked for."""
    one = _bench(tmp_path, _INSTRUMENT + "repeatability = { sd = 0.02, dof = 5, includes_rounding = true }\n")
    readings = readings_of({"value": [40.123, 40.131], "decimals": [3, 3]})
    filled = bench_for(readings, one)
    assert instrument_of(filled, "diameter", "") == one.instruments["caliper"]
    assert any("finer than its display step of 0.01 mm" in said for said in filled.assumptions)
    two = _bench(tmp_path, _INSTRUMENT + _INSTRUMENT.replace("caliper", "micrometer"))
    with pytest.raises(BadBench, match="fill in the column instrument"):
        bench_for(readings, two)
    with pytest.raises(BadBench, match="name the instrument"):
        instrument_of(two, "diameter", "")


def test_what_the_bench_file_leaves_out_is_said(tmp_path: Path) -> None:
    """An instrument without repeatability and calibration gets the defaults of its class, one sentence each."""
    bench = _bench(tmp_path, _INSTRUMENT)
    tool = bench.instruments["caliper"]
    usual = default_instrument("diameter", "mm", 0.01)
    assert (tool.sd, tool.dof, tool.offset_sd, tool.assumed) == (usual.sd, usual.dof, usual.offset_sd, True)
    assert len(bench.assumptions) == 2
