"""What the bench was: instruments with their noise and shared errors, conditions, material, squeeze."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

__all__ = ["Bench", "Expansion", "Instrument", "Squeeze", "Temperature"]


@dataclass(frozen=True, slots=True)
class Instrument:
    """One instrument, all lengths and masses in the base unit of its quantity.

    Parameters
    ----------
    name, quantity, unit : str
        As in the bench file; `unit` is the base unit that the numbers here are in.
    resolution : float
        Display step.
    sd : float
        SD of displayed readings of one ball at one place, jaws reset (the display's rounding is in it).
    dof : float
        Degrees of freedom behind `sd`; never 0.
    offset, offset_sd : float
        Reading minus truth, shared by every reading of the instrument, and its standard uncertainty.
    scale_sd : float
        Relative standard uncertainty of the scale, shared likewise.
    zeroed : str
        ``each reading``: the zero's rounding is part of `sd`; ``each sitting``: shared by a sitting.
    display : str
        ``rounds`` to the nearest step, or ``truncates``.
    looks : int
        How many directions a "largest found" was picked from, when balls were turned in the jaws.
    assumed : bool
        True: defaults by instrument class, no bench file; said in every output.
    """

    name: str
    quantity: str
    unit: str
    resolution: float
    sd: float
    dof: float
    offset: float = 0.0
    offset_sd: float = 0.0
    scale_sd: float = 0.0
    zeroed: Literal["each reading", "each sitting"] = "each reading"
    display: Literal["rounds", "truncates"] = "rounds"
    looks: int = 12
    assumed: bool = False


@dataclass(frozen=True, slots=True)
class Temperature:
    """Ball temperature at the bench, degC, and the reference at which the requirement holds."""

    value: float
    sd: float
    reference: float


@dataclass(frozen=True, slots=True)
class Expansion:
    """Linear expansion of the ball's material, 1/K, and its relative standard uncertainty."""

    value: float
    relative_sd: float


@dataclass(frozen=True, slots=True)
class Squeeze:
    """How much smaller the jaws make a ball of one make, mm, and its standard uncertainty."""

    value: float
    sd: float


@dataclass(frozen=True, slots=True)
class Bench:
    """Everything that is known of the bench.

    Parameters
    ----------
    instruments : mapping of str to Instrument
        By name.
    temperature : Temperature or None
        Applies to lengths; None: no correction and, said so, no uncertainty for it.
    sitting_temperatures : mapping of str to Temperature
        Temperatures of single sittings; they take the place of `temperature` there.
    expansion : Expansion or None
        Needed when a temperature is given.
    squeeze : mapping of str to Squeeze
        By product name.
    conditions : mapping of str to str
        What held at the bench, such as ``{"drop_height": "305 mm", "surface": "steel block"}``.
    assumptions : tuple of str
        What was taken for granted because the file does not say it.
    """

    instruments: Mapping[str, Instrument] = field(default_factory=dict)
    temperature: Temperature | None = None
    sitting_temperatures: Mapping[str, Temperature] = field(default_factory=dict)
    expansion: Expansion | None = None
    squeeze: Mapping[str, Squeeze] = field(default_factory=dict)
    conditions: Mapping[str, str] = field(default_factory=dict)
    assumptions: tuple[str, ...] = ()
