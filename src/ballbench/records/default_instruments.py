"""What an instrument is taken to be when nothing is known of it but its display step. Always said as an assumption."""

from __future__ import annotations

from dataclasses import dataclass

from ballbench.errors import BadBench, Fault
from ballbench.quantities.kinds import KINDS
from ballbench.quantities.units import UnitError
from ballbench.records.bench import Instrument
from ballbench.records.written_units import exact_factor

__all__ = ["ASSUMED_DOF", "InstrumentClass", "class_of", "default_instrument"]

ASSUMED_DOF = 4.0
"""Degrees of freedom of an assumed repeatability (common practice, no source): it is known to about a third."""


@dataclass(frozen=True, slots=True)
class InstrumentClass:
    """A sort of instrument.

    Parameters
    ----------
    word : str
        What a sentence calls it.
    sd_steps, offset_steps : float
        Repeatability SD and standard uncertainty of the shared offset, in display steps.
    least_sd, least_offset : float
        The same at a display that is finer than the instrument can use, in the quantity's base unit.
    """

    word: str
    sd_steps: float
    offset_steps: float
    least_sd: float
    least_offset: float


_TAPE_STEP = 0.4  # mm; from this display step on a length is taken as read with a tape or a rule (own choice)

_CALIPER = InstrumentClass("caliper", sd_steps=1.0, offset_steps=1.2, least_sd=0.003, least_offset=0.003)
# common practice, no source: a 0.01 mm display repeats to about its step on a ball, and is right to about 0.02 mm,
# taken as the half-width of a uniform distribution (JCGM 100:2008, 4.3.7): 0.02 mm / sqrt(3) = 0.012 mm;
# the least values are those of a micrometer (common practice, no source).
_TAPE = InstrumentClass("tape", sd_steps=0.5, offset_steps=0.5, least_sd=0.5, least_offset=0.5)
# common practice, no source: half a millimetre for laying on a tape and reading it, and as much for the tape itself.
_SCALE = InstrumentClass("scale", sd_steps=0.6, offset_steps=1.0, least_sd=0.0, least_offset=0.0)
# common practice, no source: plus or minus one last digit, as a uniform distribution 1 / sqrt(3) = 0.6 steps, and a
# step for its adjustment.
_OTHER = InstrumentClass("instrument", sd_steps=1.0, offset_steps=1.2, least_sd=0.0, least_offset=0.0)
# common practice, no source: as a caliper, for want of anything better.


def class_of(quantity: str, resolution: float) -> InstrumentClass:
    """Tell the sort of instrument by what it reads and its display step.

    Parameters
    ----------
    quantity : str
        Canonical name.
    resolution : float
        Display step in the quantity's base unit.

    Returns
    -------
    InstrumentClass
        Caliper for diameters up to a step of 0.4 mm, tape for coarser ones and for circumferences, scale for masses.
    """
    if quantity == "mass":
        return _SCALE
    if quantity == "circumference" or (quantity == "diameter" and resolution >= _TAPE_STEP):
        return _TAPE
    return _CALIPER if quantity == "diameter" else _OTHER


def default_instrument(quantity: str, unit: str, resolution: float) -> Instrument:
    """Give an assumed instrument.

    Parameters
    ----------
    quantity : str
        Canonical name.
    unit : str
        Unit of `resolution`.
    resolution : float
        Display step, positive.

    Returns
    -------
    Instrument
        In the quantity's base unit, with `assumed` set and 4 degrees of freedom. Common practice, no source.

    Raises
    ------
    BadBench
        The step is not positive, or the unit does not fit the quantity.
    """
    base = KINDS[quantity].unit if quantity in KINDS else unit
    where = f"display step of {quantity}"
    try:
        step = resolution * exact_factor(unit, base)
    except UnitError as error:
        raise BadBench(
            Fault(where, f'the unit "{unit}"', f"a unit that can be turned into {base}", "correct it")
        ) from error
    if not 0.0 < step < float("inf"):
        raise BadBench(Fault(where, f"{resolution:g}", "a positive number", "give the step of the display"))
    sort = class_of(quantity, step)
    return Instrument(
        name=sort.word,
        quantity=quantity,
        unit=base,
        resolution=step,
        sd=max(sort.sd_steps * step, sort.least_sd),
        dof=ASSUMED_DOF,
        offset_sd=max(sort.offset_steps * step, sort.least_offset),
        assumed=True,
    )
