"""The instrument's entry in the bench: what was found here put into what was known before."""

from __future__ import annotations

import math
from dataclasses import replace

from ballbench.findings.qualification import DriftFound, RepeatsFound
from ballbench.records.bench import Instrument

__all__ = ["with_calibration", "with_repeats"]


def with_repeats(tool: Instrument, found: RepeatsFound, *, several_people: bool) -> Instrument:
    """Put the noise of a repeat study into an instrument's entry.

    Parameters
    ----------
    tool : Instrument
        As it was stated or assumed.
    found : RepeatsFound
        The study.
    several_people : bool
        Later readings are taken by several people as they come: then their differences count as noise too.

    Returns
    -------
    Instrument
        With the SD of displayed readings: the noise before rounding of a coarse display gets its rounding back, step
        squared over 12 (JCGM 100:2008, F.2.2.1).
    """
    name = "measurement" if several_people else "repeatability"
    one = next(component for component in found.components if component.name == name)
    sd = math.sqrt(one.sd**2 + tool.resolution**2 / 12.0) if found.coarse else one.sd
    return replace(tool, sd=sd, dof=one.dof if math.isfinite(one.dof) else tool.dof, assumed=False)


def with_calibration(tool: Instrument, offset: float, offset_sd: float, drifts: tuple[DriftFound, ...]) -> Instrument:
    """Put offset and its uncertainty into the entry; an instrument that drifted carries that too.

    Parameters
    ----------
    tool : Instrument
        As it was.
    offset, offset_sd : float
        Of the calibration line at the balls' size.
    drifts : tuple of DriftFound
        Of its pieces; only one beyond noise is carried, the largest.
    """
    carried = max((one.carried for one in drifts if one.beyond_noise), default=0.0)
    return replace(tool, offset=offset, offset_sd=math.hypot(offset_sd, carried), scale_sd=0.0)
