from __future__ import annotations

import math
from pathlib import Path

import pytest

from ballbench.errors import BadRequest, Fault
from ballbench.quantities.uncertain import Uncertain
from ballbench.records import Bench, Temperature
from ballbench.workflows.flight_settings import settings_of
from ballbench.workflows.flight_words import FlightWords
from ballbench.workflows.recording_files import names_notes, whose
from ballbench.workflows.stated_quantities import decimals_u, stated_ball, stated_quantity, stated_temperature

ROOT3 = math.sqrt(3.0)


@pytest.mark.parametrize(
    ("text", "value", "u"),
    [
        ("305 mm", 305.0, 0.5 / ROOT3),
        ("30.5 cm", 305.0, 0.5 / ROOT3),
        ("305 ± 1 mm", 305.0, 1.0 / ROOT3),
        ("305 mm ± 0.1 cm", 305.0, 1.0 / ROOT3),
        ("305mm +- 1", 305.0, 1.0 / ROOT3),
        ("12.0 in +/- 0.1 in", 304.8, 2.54 / ROOT3),
        ("2 m", 2000.0, 500.0 / ROOT3),
    ],
)
def test_a_height_is_read_with_its_limits(text: str, value: float, u: float) -> None:
    """Limits a make u = a/sqrt(3); without them half a unit of the last decimal is a (JCGM 100:2008, 4.3.7)."""
    found = stated_quantity("option", text, "mm", "a height")
    assert isinstance(found, Uncertain)
    assert found.value == pytest.approx(value, rel=1e-12)
    assert found.u == pytest.approx(u, rel=1e-9)


@pytest.mark.parametrize("text", ["305", "305,5 mm", "mm", "", "305 g", "305 mm 1 mm", "± 3 mm", "305 ± x mm"])
def test_what_is_no_height_says_so(text: str) -> None:
    """No unit, a decimal comma, another quantity, half a sentence."""
    found = stated_quantity("option --drop-height", text, "mm", "a height such as 305 mm")
    assert isinstance(found, Fault)
    assert found.where == "option --drop-height"
    if "," in text:
        assert "decimal" in found.todo


def test_decimals_say_how_well_a_number_is_known() -> None:
    """Half a unit of the last decimal over the root of 3, with an exponent too (JCGM 100:2008, F.2.2.1)."""
    assert decimals_u("2.70") == pytest.approx(0.005 / ROOT3)
    assert decimals_u("40") == pytest.approx(0.5 / ROOT3)
    assert decimals_u("2.7e-3") == pytest.approx(0.05e-3 / ROOT3)


@pytest.mark.parametrize("text", ["40.0 mm, 2.70 g", "2.70 g; 40.0 mm", "4.00 cm, 2700 mg"])
def test_a_ball_is_a_length_and_a_mass_in_either_order(text: str) -> None:
    """40 mm and 2.7 g however they are written."""
    found = stated_ball("option --ball", text)
    assert not isinstance(found, Fault)
    assert found[0].value == pytest.approx(40.0)
    assert found[1].value == pytest.approx(2.7)


@pytest.mark.parametrize(
    "text", ["40 mm", "40 mm, 41 mm", "40, 2.7", "40 mm, 2,7 g", "2 mm, 2.7 g", "40 mm, 9 kg", "", "40 mm, 2 g"]
)
def test_half_a_ball_is_none(text: str) -> None:
    """One of the two, two of one kind, no units, decimal commas, sizes that no ball has, a mass to the gram."""
    assert isinstance(stated_ball("option --ball", text), Fault)


@pytest.mark.parametrize(
    ("text", "celsius"), [("21 degC", 21.0), ("70 degF", 190.0 / 9.0), ("294.15 K", 21.0), ("21", 21.0)]
)
def test_temperatures(text: str, celsius: float) -> None:
    """By the definitions of degree Celsius and Fahrenheit."""
    found = stated_temperature("option", text, 1.0)
    assert isinstance(found, Uncertain)
    assert found.value == pytest.approx(celsius)
    assert isinstance(stated_temperature("option", f"{text} ±", 1.0), Fault)


def test_names_of_files_say_whose_drops_they_hold() -> None:
    """PRODUCT_BALL by itself, or by a pattern; the note gives the first as the example."""
    files = [Path("x/Curlew_07_second.wav"), Path("Dunlin_01.m4a"), Path("drop.wav")]
    assert whose(files) == (("Curlew", "07"), ("Dunlin", "01"), ("drop", "1"))
    (note,) = names_notes("whose drops a file holds", files, whose(files), [True] * 3, "")
    assert "Curlew_07_second.wav is Curlew, ball 07" in note
    (note,) = names_notes("whose drops a file holds", files, whose(files), [False, True, True], "")
    assert "Dunlin_01.m4a is Dunlin, ball 01" in note, "the example is of a file that counts"
    assert names_notes("whose drops a file holds", files, whose(files), [False] * 3, "") == []
    assert whose([Path("07 Curlew.wav")], "{ball} {product}") == (("Curlew", "07"),)
    assert whose([Path("B7.wav")], "B{ball}") == (("balls", "7"),)


@pytest.mark.parametrize(
    ("name", "camera"),
    [
        ("IMG_2041.MOV", True), ("VID_20261128_101500.mp4", True), ("20261128_101500.jpg", True),
        ("PXL_20261128_101500123.jpg", True), ("DSC01234.JPG", True), ("IMG_2042 (2).HEIC", True),
        ("Curlew_07.m4a", False), ("Dunlin_03_turn130.jpg", False), ("Voice 001.m4a", False), ("A_12.wav", False),
        ("IMG_07.wav", False),
    ],
)  # fmt: skip
def test_a_name_that_a_camera_gave_is_said_to_tell_no_ball(name: str, camera: bool) -> None:
    """Two films of one day, VID_20261128_101500 and VID_20261128_102000, would else be one ball's without a word."""
    files = [Path(name)]
    notes = names_notes("whose drops a file holds", files, whose(files), [True], "")
    assert [note for note in notes if "the camera gave" in note] == notes[1:] == notes[1 : 1 + camera]
    assert len(notes) == 1 + camera
    assert len(names_notes("whose drops a file holds", files, [("", "1")], [True], "{ball}")) == 1


@pytest.mark.parametrize("pattern", ["{product}", "{ball}{ball}", "{bal}", "no fields"])
def test_a_pattern_without_a_ball_is_none(pattern: str) -> None:
    """It must have {ball}, each field once, and none of another name."""
    with pytest.raises(BadRequest, match="pattern with"):
        whose([Path("a.wav")], pattern)


def test_every_name_that_does_not_fit_is_told() -> None:
    """Two of three files are named."""
    with pytest.raises(BadRequest) as refused:
        whose([Path("a.wav"), Path("b-1.wav"), Path("c.wav")], "{product}-{ball}")
    assert [fault.where for fault in refused.value.faults] == ["a.wav", "c.wav"]


BALL = "40.0 mm, 2.70 g"


def test_a_balance_s_mass_is_turned_into_the_true_one() -> None:
    """2.70 g weighed is 2.739 g in air of 1.18 kg/m3; with true_mass it stays (buoyancy: a V = 0.0395 g)."""
    weighed = settings_of(FlightWords(BALL), Bench()).settings
    true = settings_of(FlightWords(BALL, true_mass=True), Bench()).settings
    lifted = weighed.air_density.value * math.pi * 0.04**3 / 6.0 * 1e3
    assert weighed.mass.value == pytest.approx(2.70 * (1 - weighed.air_density.value / 8000) + lifted, rel=1e-9)
    assert (true.mass.value, true.weighed) == (2.70, None)
    assert weighed.effective_gravity == pytest.approx(9.80665 * 2.70 / (weighed.mass.value + lifted / 2), rel=2e-4)


def test_the_bench_file_speaks_where_nothing_was_said() -> None:
    """Drop height, temperature, pressure, humidity, latitude and altitude of the bench; options come first."""
    bench = Bench(
        temperature=Temperature(24.0, 1.0, 23.0),
        conditions={
            "drop_height": "305 ± 1 mm", "air_pressure": "950 hPa", "humidity": "40 %", "latitude": "47",
            "altitude": "520 m",
        },
    )  # fmt: skip
    found = settings_of(FlightWords(BALL), bench).settings
    assert found.drop_height is not None
    assert found.drop_height.value == 305.0
    assert found.air_density.value == pytest.approx(1.109, abs=2e-3)  # 0.34848 p/T less vapour, as in OIML R 111
    assert found.gravity.value == pytest.approx(9.8064, abs=5e-4)  # Geodetic Reference System 1980 at 47 degrees
    said = settings_of(FlightWords(BALL, drop_height="1 m", pressure="1000 hPa"), bench).settings
    assert said.drop_height is not None
    assert said.drop_height.value == 1000.0
    assert said.air_density.value > found.air_density.value


def test_pressure_follows_the_altitude() -> None:
    """At 1500 m the air is 16 to 17 % thinner than at the sea (standard atmosphere, from memory)."""
    high, low = (
        settings_of(FlightWords(BALL, altitude=a), Bench()).settings.air_density.value for a in ("1.5 km", "0")
    )
    assert high / low == pytest.approx(0.8345, abs=2e-3)


def test_a_large_ball_touches_longer() -> None:
    """1 ms up to 50 mm of diameter, 5 ms up to 100 mm, 12 ms above, said to be taken for granted (from memory)."""
    small, large = settings_of(FlightWords(BALL), Bench()), settings_of(FlightWords("66 mm, 58 g"), Bench())
    inflated = settings_of(FlightWords("220 mm, 430 g"), Bench())
    found = [one.settings.contact.value for one in (small, large, inflated)]
    assert found == [1e-3, 5e-3, 12e-3]
    assert any("touches the plate for 5 ms" in text for text in large.assumptions)
    stated = settings_of(FlightWords(BALL, contact_time="0.9 ± 0.1 ms"), Bench())
    assert stated.settings.contact.u == pytest.approx(0.1e-3 / ROOT3)
    assert not any("touches" in text for text in stated.assumptions)


def test_all_faults_of_a_request_come_at_once() -> None:
    """Eight slips, eight faults, each naming its option."""
    words = FlightWords(
        "40 mm", "high", contact_time="1 s", drag="rough", temperature="warm", pressure="1 m", latitude="95",
        altitude="100 km",
    )  # fmt: skip
    with pytest.raises(BadRequest) as refused:
        settings_of(words, Bench())
    named = {fault.where for fault in refused.value.faults}
    options = ("ball", "drop-height", "contact-time", "drag", "temperature", "pressure", "latitude", "altitude")
    assert named == {f"option --{name}" for name in options}


@pytest.mark.parametrize(
    ("changes", "option"),
    [({"drop_height": "305 ± 400 mm"}, "drop-height"), ({"contact_time": "1 ± 3 ms"}, "contact-time"),
     ({"drag": "0.5 ± 0.4"}, "drag")],
)  # fmt: skip
def test_what_is_hardly_known_is_no_input(changes: dict[str, str], option: str) -> None:
    """Limits as wide as the thing itself are refused."""
    with pytest.raises(BadRequest, match=option):
        settings_of(FlightWords(BALL, **changes), Bench())  # type: ignore[arg-type]


def test_a_ball_that_floats_is_refused() -> None:
    """A 300 mm balloon of 5 g displaces 17 g of air."""
    with pytest.raises(BadRequest, match="a ball that falls"):
        settings_of(FlightWords("300 mm, 5 g"), Bench())


@pytest.mark.parametrize(
    ("ball", "refused"), [("40 mm, 2.7 kg", True), ("40 mm, 750 g", False), ("25 mm, 64 g", False)]
)
def test_a_ball_denser_than_any_metal_is_a_slip_of_the_unit(ball: str, refused: bool) -> None:
    """Osmium, the densest, has 22.6 g/cm3 (from memory): 2.7 kg in 40 mm are 81, a ball of tungsten is let through."""
    if not refused:
        settings_of(FlightWords(ball), Bench())
        return
    with pytest.raises(BadRequest, match="denser than any metal"):
        settings_of(FlightWords(ball), Bench())


def test_a_humidity_without_its_unit_is_shown_as_it_was_written() -> None:
    """50 is 50 times saturated: the fault names the option and what was typed, not 5000 %."""
    with pytest.raises(BadRequest) as refused:
        settings_of(FlightWords(BALL, humidity="50"), Bench())
    (fault,) = refused.value.faults
    assert (fault.where, fault.found) == ("option --humidity", "'50'")
