"""What is said of a drop whose flights are timed or filmed, in words: ball, drop, surface, air and place."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["FlightWords"]


@dataclass(frozen=True, slots=True)
class FlightWords:
    """What a person says of ball, drop and place, as text; empty: not said, and then that of the bench file.

    `ballbench.workflows.stated_quantities` reads the texts, with limits behind ± where wanted.

    Parameters
    ----------
    ball : str
        Diameter and mass, ``"40 mm, 2.7 g"``; no bench file has it.
    drop_height : str
        From the ball's underside to the plate, ``"305 mm"`` or ``"305 ± 1 mm"``.
    surface : str
        What the balls fell on, such as ``"steel block"``; it decides which clauses are looked at, and flies no ball.
    contact_time : str
        How long a ball touches the plate, ``"1.0 ± 0.3 ms"``.
    drag : str
        Drag coefficient, ``"0.50 ± 0.05"``; empty: that of a smooth sphere.
    temperature, pressure, humidity : str
        Of the air at the place, ``"21 degC"``, ``"1008 hPa"``, ``"50 %"``.
    latitude, altitude : str
        Of the place: degrees, ``"54.3"``, south of the equator ``"-33.5"`` or ``"33.5 S"``; ``"120 m"``.
    true_mass : bool
        The mass is without the air's buoyancy, not what a balance shows.
    """

    ball: str
    drop_height: str = ""
    surface: str = ""
    contact_time: str = ""
    drag: str = ""
    temperature: str = ""
    pressure: str = ""
    humidity: str = ""
    latitude: str = ""
    altitude: str = ""
    true_mass: bool = False
