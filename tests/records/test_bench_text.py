from __future__ import annotations

import math
import tomllib
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from ballbench.records import read_bench
from ballbench.records.bench_text import (
    WrittenInstrument,
    instruments_toml,
    sittings_toml,
    surroundings_toml,
    toml_text,
)

PRINTABLE = st.characters(codec="utf-8", exclude_categories=("Cs", "Cc", "Cf", "Cn", "Co", "Zl", "Zp"))
NAMES = st.text(alphabet=PRINTABLE).map(str.strip).filter(bool)
ABOVE_0 = st.floats(1e-9, 1e6, allow_nan=False)
QUIET = settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=80)


@given(st.text(alphabet=st.characters(codec="utf-8")))
def test_any_text_is_one_toml_string(text: str) -> None:
    """Quotes, backslashes, control characters and every letter come back (TOML 1.0.0, read by Python's own reader)."""
    written = toml_text(text)
    assert "\n" not in written
    assert tomllib.loads(f"a = {written}") == {"a": text}
    assert tomllib.loads(f"[instrument.{written}]") == {"instrument": {text: {}}}


INSTRUMENTS = st.builds(
    WrittenInstrument,
    name=NAMES,
    quantity=st.just("diameter"),
    unit=st.just("mm"),
    resolution=ABOVE_0,
    sd=st.none() | ABOVE_0,
    dof=st.none() | ABOVE_0,
    offset=st.floats(-1e6, 1e6),
    offset_sd=st.none() | st.just(0.0) | ABOVE_0,
    scale_sd=st.just(0.0) | ABOVE_0,
    zeroed=st.sampled_from(["each reading", "each sitting"]),
    display=st.sampled_from(["rounds", "truncates"]),
)


@QUIET
@given(instruments=st.lists(INSTRUMENTS, min_size=1, max_size=4, unique_by=lambda one: one.name))
def test_instruments_are_read_as_they_were_known(tmp_path: Path, instruments: list[WrittenInstrument]) -> None:
    """Every number comes back to the last bit, under its name; what is not known is assumed and said."""
    path = tmp_path / "bench.toml"
    path.write_text(instruments_toml(instruments), encoding="utf-8", newline="")
    bench = read_bench(path)
    assert list(bench.instruments) == [one.name for one in instruments]
    for one in instruments:
        read = bench.instruments[one.name]
        assert (read.quantity, read.unit, read.resolution) == ("diameter", "mm", one.resolution)
        assert (read.offset, read.scale_sd, read.zeroed, read.display) == (
            one.offset, one.scale_sd, one.zeroed, one.display,
        )  # fmt: skip
        assert read.assumed == (one.sd is None)
        assert one.sd is None or read.sd == one.sd
        assert one.sd is None or one.dof is None or read.dof == one.dof
        assert one.offset_sd is None or read.offset_sd == one.offset_sd
        assert one.offset_sd is not None or any(f"no offset_sd for {one.name}:" in said for said in bench.assumptions)


@QUIET
@given(
    conditions=st.dictionaries(NAMES.filter(lambda name: "e" not in name.casefold()), NAMES, max_size=4),
    reference=st.none() | st.floats(-50.0, 100.0),
    felt=st.dictionaries(NAMES, st.floats(-20.0, 80.0), max_size=3),
)
def test_surroundings_are_read_as_they_were_noted(
    tmp_path: Path, conditions: dict[str, str], reference: float | None, felt: dict[str, float]
) -> None:
    """Conditions, the reference temperature with the material, and the balls' temperature in each sitting."""
    text = surroundings_toml(conditions, reference, (9e-5, 0.2))
    text += sittings_toml(felt, reference) if reference is not None else ""
    path = tmp_path / "bench.toml"
    path.write_text(text or "# nothing is known\n", encoding="utf-8", newline="")
    bench = read_bench(path)
    assert bench.conditions == {name: value.strip() for name, value in conditions.items()}
    if reference is None:
        assert (bench.temperature, bench.expansion, dict(bench.sitting_temperatures)) == (None, None, {})
        return
    assert bench.temperature is not None
    assert bench.expansion is not None
    assert (bench.temperature.value, bench.temperature.reference) == (reference, reference)
    assert bench.temperature.sd > 0.0
    assert (bench.expansion.value, bench.expansion.relative_sd) == (9e-5, 0.2)
    read = {name: (one.value, one.reference) for name, one in bench.sitting_temperatures.items()}
    assert read == {name: (value, reference) for name, value in felt.items()}
    assert all(one.sd < bench.temperature.sd for one in bench.sitting_temperatures.values())


@pytest.mark.parametrize("value", [0.1, 1e-05, 1e22, math.pi, 5e-324, 1.7976931348623157e308])
def test_numbers_are_written_so_that_toml_reads_them(value: float) -> None:
    """Exponents of any size, whole numbers as floats (TOML 1.0.0, "Float")."""
    one = WrittenInstrument("caliper", "diameter", "mm", value)
    assert tomllib.loads(instruments_toml([one]))["instrument"]["caliper"]["resolution"] == value


def test_nothing_known_is_nothing_written() -> None:
    """Without conditions, material and temperatures the text is empty, and a temperature needs the material's own."""
    assert surroundings_toml({}, None, None) == surroundings_toml({}, 23.0, None) == sittings_toml({}, 23.0) == ""
