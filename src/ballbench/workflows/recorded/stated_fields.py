"""What is stated beside a recording on a page, by the command that reads it, and what that comes to for its request.

The pages state all that the commands do of ball, drop, air and place; what few people need is folded away. Each hint
says what is taken where a field stays empty, as `ballbench.workflows.flight_settings` has it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from ballbench.errors import Fault
from ballbench.presentation.screens.recorded import StatedField
from ballbench.workflows.flight_words import FlightWords

__all__ = ["METHODS", "SAID_YES", "flight_said", "stated_faults"]

SAID_YES = "yes"
"""What a statement holds that a command takes as an option without a value."""

_BALL = StatedField("ball", "The ball", "Diameter and mass, such as 40 mm, 2.7 g")
_DROP_HEIGHT = StatedField("drop_height", "Drop height", "From its underside, such as 305 ± 1 mm; may stay empty")
_SURFACE = StatedField("surface", "What it falls on", "As the requirement says it, such as steel block; may stay empty")
_IN_DETAIL = (
    StatedField(
        "drag", "Drag coefficient", "Such as 0.50 ± 0.05 with felt; empty: that of a smooth sphere, known to 10 %",
        detail=True,
    ),
    StatedField(
        "contact_time", "How long it touches the plate",
        "Such as 1.0 ± 0.3 ms; empty: 1 ms, above 50 mm of diameter 5 ms, above 100 mm 12 ms", detail=True,
    ),
    StatedField(
        "true_mass", "What the mass is",
        "In air a balance shows some 0.04 g less than the mass of a ball of 40 mm",
        choices=(("", "What a balance shows in air"), (SAID_YES, "The true mass")),
        detail=True,
    ),
    StatedField(
        "temperature", "Air temperature", "Such as 23 degC, or 73 degF; empty: 21 degC, known to 3", detail=True
    ),
    StatedField(
        "pressure", "Air pressure",
        "At the place, not brought down to sea level, such as 955 hPa; empty: by the altitude, else 1000 hPa",
        detail=True,
    ),
    StatedField("humidity", "Humidity of the air", "Such as 40 %; empty: 50 %, known to 20", detail=True),
    StatedField(
        "latitude", "Latitude of the place",
        "Degrees, such as 54.3, or 33.5 S; empty: gravity of 9.807 m/s2, known to 0.015", detail=True,
    ),
    StatedField(
        "altitude", "Altitude of the place", "Such as 520 m; empty: sea level for gravity, and 1000 hPa of air",
        detail=True,
    ),
)  # fmt: skip
"""Of ball, air and place, in this order. A film is fitted with all of it, with the contact time too: a flight begins by
so much after its impact, and a millisecond more is a millimetre less of a rebound of 231 mm."""

METHODS: dict[str, tuple[StatedField, ...]] = {
    "listen": (
        _BALL,
        _DROP_HEIGHT,
        _SURFACE,
        *_IN_DETAIL,
    ),
    "watch": (
        _BALL,
        _DROP_HEIGHT,
        _SURFACE,
        StatedField("ruler", "Size of a pixel", "Such as 0.85 mm/px, or 300 mm/412 px; a check, may stay empty"),
        *_IN_DETAIL,
    ),
    "trace": (
        StatedField("diameter", "Mean diameter", "As a caliper reads the ball, such as 40.12 mm; or give the scale"),
        StatedField("scale", "Scale in the plane of the ball", "Such as 0.0125 mm/px; empty: from the diameter"),
        StatedField("distance", "Distance of the camera", "To the ball, such as 1.2 m, where its lens is unknown"),
    ),
}  # fmt: skip
"""What is stated beside a recording, by the command that reads it; names are those of its request."""


def stated_faults(method: str, stated: Mapping[str, str]) -> Iterator[Fault]:
    """Say what no page sends: a statement that the command does not know, or a choice that is none."""
    known = {field.name: field for field in METHODS[method]}
    for name, text in stated.items():
        if name not in known:
            yield Fault(name, ascii(text[:40]), f"one of {', '.join(sorted(known))}", "leave it out")
        elif known[name].choices and text not in dict(known[name].choices):
            option = name.replace("_", "-")
            yield Fault(f"option --{option}", ascii(text[:40]), f"{SAID_YES}, or nothing", "say one of them")


def flight_said(stated: Mapping[str, str]) -> FlightWords:
    """Give what is stated of ball, drop, air and place, as a command takes it."""
    said = {one.name: stated.get(one.name, "") for one in (_BALL, _DROP_HEIGHT, _SURFACE, *_IN_DETAIL)}
    truly = said.pop("true_mass") == SAID_YES
    return FlightWords(**said, true_mass=truly)
