"""What a page states beside a recording: all that a command takes of a flight, and what is taken where it is empty."""

from __future__ import annotations

from dataclasses import fields, replace

import pytest

from ballbench.errors import BadRequest
from ballbench.physics.local_gravity import ANYWHERE
from ballbench.records import Bench
from ballbench.workflows.flight_settings import settings_of
from ballbench.workflows.flight_words import FlightWords
from ballbench.workflows.recorded.asked import RecordedAsk
from ballbench.workflows.recorded.reading import read_recorded
from ballbench.workflows.recorded.stated_fields import METHODS, flight_said

BALL = "40 mm, 2.7 g"


def hint(name: str, method: str = "listen") -> str:
    """What stands beside a field."""
    return next(one.hint for one in METHODS[method] if one.name == name)


@pytest.mark.parametrize("method", ["listen", "watch"])
def test_a_page_states_all_that_its_command_takes_of_a_flight(method: str) -> None:
    """Every field of what is said, once; beside it only the size of a pixel, of a film."""
    names = [one.name for one in METHODS[method]]
    assert sorted(names) == sorted([*(one.name for one in fields(FlightWords)), *(["ruler"] * (method == "watch"))])


@pytest.mark.parametrize("name", [one.name for one in fields(FlightWords)])
def test_what_is_stated_is_said_under_its_own_name(name: str) -> None:
    """One statement alone reaches one field, the one of its name, and no other."""
    text = "yes" if name == "true_mass" else "12.3"
    expected = replace(FlightWords(""), **{name: True if name == "true_mass" else text})
    assert flight_said({name: text}) == expected


@pytest.mark.parametrize(
    ("name", "taken", "of"),
    [("temperature", "21 degC", "air_density"), ("pressure", "1000 hPa", "air_density"),
     ("humidity", "50 %", "air_density"), ("contact_time", "1 ms", "contact")],
)  # fmt: skip
def test_a_hint_names_the_value_that_is_taken_where_nothing_is_stated(name: str, taken: str, of: str) -> None:
    """Stated as its hint has it, a value moves nothing: it was taken before."""
    assert taken in hint(name)
    said, empty = (settings_of(replace(FlightWords(BALL), **more), Bench()).settings for more in ({name: taken}, {}))
    assert getattr(said, of).value == pytest.approx(getattr(empty, of).value, rel=1e-12)


def test_hints_name_the_contact_of_larger_balls_and_gravity_and_the_sea() -> None:
    """5 ms above 50 mm and 12 ms above 100 mm; the gravity of no place; with a latitude alone that of the sea there."""
    for diameter, text in (("50.1 mm, 60 g", "above 50 mm of diameter 5 ms"), ("101 mm, 300 g", "above 100 mm 12 ms")):
        assert text in hint("contact_time")
        contact = settings_of(FlightWords(diameter), Bench()).settings.contact.value
        assert f" {1e3 * contact:g} ms" in text
    assert f"gravity of {ANYWHERE.value:.3f} m/s2, known to {ANYWHERE.u:g}" in hint("latitude")
    sea, unsaid = (settings_of(FlightWords(BALL, latitude="47", altitude=high), Bench()) for high in ("0 m", ""))
    assert "sea level for gravity" in hint("altitude")
    assert unsaid.settings.gravity.value == sea.settings.gravity.value
    assert any("Gravity is that of the latitude at sea level" in text for text in unsaid.assumptions)
    assert not any("sea level" in text for text in sea.assumptions)
    less = (
        3.086e-6 * 500.0
    )  # what gravity loses in 500 m (free air, from memory): it is not as sure as where both are said
    assert unsaid.settings.gravity.u > less > sea.settings.gravity.u


def test_a_hint_names_what_the_air_lifts() -> None:
    """A ball of 40 mm displaces 33.5 cm3 of air of 1.2 kg/m3 (from memory), 0.04 g."""
    assert "0.04 g" in hint("true_mass")
    found = settings_of(FlightWords(BALL), Bench()).settings
    assert found.weighed is not None
    assert round(found.mass.value - found.weighed.value, 2) == 0.04


@pytest.mark.parametrize("south", ["-45", "45 S", "\N{MINUS SIGN}45.0°", "45 deg s"])
def test_a_place_in_the_south_is_written_in_several_ways(south: str) -> None:
    """Gravity is 9.8061992 m/s2 (GRS 1980 at 45 degrees, from memory), in the south as in the north."""
    found = settings_of(FlightWords(BALL, latitude=south, altitude="0"), Bench()).settings.gravity
    assert found == settings_of(FlightWords(BALL, latitude="45", altitude="0 m"), Bench()).settings.gravity
    assert found.value == pytest.approx(9.8061992, abs=1e-6)


@pytest.mark.parametrize(
    ("words", "option", "todo"),
    [
        ({"latitude": "54,3"}, "latitude", "decimal point"), ({"latitude": "-33.5 S"}, "latitude", "write it so"),
        ({"latitude": "north"}, "latitude", "write it so"), ({"latitude": "nan"}, "latitude", "write it so"),
        ({"latitude": "95"}, "latitude", "correct it"), ({"latitude": "95 S"}, "latitude", "correct it"),
        ({"altitude": "high"}, "altitude", "write it so"), ({"altitude": "12,5 m"}, "altitude", "decimal point"),
        ({"altitude": "52 hPa"}, "altitude", "give it in m"), ({"altitude": "60 km"}, "altitude", "correct it"),
    ],
)  # fmt: skip
def test_a_place_that_is_none_is_refused_as_any_other_number(words: dict[str, str], option: str, todo: str) -> None:
    """One fault, at its option, with what to do; of a command and of a page alike, for both read it here."""
    with pytest.raises(BadRequest) as refused:
        settings_of(FlightWords(BALL, **words), Bench())  # type: ignore[arg-type]
    (fault,) = refused.value.faults
    assert (fault.where, todo in fault.todo) == (f"option --{option}", True), fault


def test_a_choice_that_is_none_is_refused() -> None:
    """A program that says "no" of the true mass does not have it taken as a yes."""
    ask = RecordedAsk("listen", (("ball", BALL), ("true_mass", "no")))
    with pytest.raises(BadRequest) as refused:
        read_recorded(ask, "none.wav")
    assert [(fault.where, fault.allowed) for fault in refused.value.faults] == [
        ("option --true-mass", "yes, or nothing")
    ]
