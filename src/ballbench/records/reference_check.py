"""Is the instrument still right? A reading of a piece that is known, held against what it may be off by chance."""

from __future__ import annotations

import math

from ballbench.errors import BadRequest, Fault
from ballbench.quantities.propagation import effective_dof
from ballbench.quantities.uncertain import coverage_factor
from ballbench.records.default_instruments import ASSUMED_DOF

__all__ = ["check_reading"]

_CONFIDENCE = 0.95  # common practice, no source: one check in twenty of a sound instrument fails by chance
_EQUAL = 1e-9  # of a display step: decimals such as 40.02 - 40.01 are not exact


def check_reading(
    value: float, known: float, u_known: float, step: float, sd: float | None = None, dof: float = ASSUMED_DOF
) -> tuple[float, bool]:
    """Hold a reading of a reference piece against what the piece is known to be.

    Parameters
    ----------
    value, known : float
        As read, and what the piece is, in one unit.
    u_known : float
        Standard uncertainty of `known`.
    step : float
        Display step of the instrument, positive.
    sd : float or None
        Its repeatability SD, rounding of the display included; None where it is unknown: a display step, with
        `ASSUMED_DOF` (common practice, no source, as `default_instrument` takes a caliper).
    dof : float
        Degrees of freedom behind `sd`; not used where it is unknown.

    Returns
    -------
    tuple of (float, bool)
        How far the two may be apart: the expanded uncertainty of their difference at 95 %, at least one display
        step; and whether they are no further apart.

    Raises
    ------
    BadRequest
        A number is not finite, `step` or `dof` is not above 0, or an uncertainty is below 0.

    Notes
    -----
    JCGM 100:2008, G.4 (Welch-Satterthwaite, equation G.2b) and G.3.2 (Student's t) for the difference of the two; an
    `sd` smaller than the rounding of the display, step / sqrt(12), is taken as that (F.2.2.1). The least limit of
    one step is an own choice: a display cannot show less.
    """
    _refuse(value, known, u_known, step, sd, dof)
    repeatability, behind = (step, ASSUMED_DOF) if sd is None else (sd, dof)
    rounding = step / math.sqrt(12.0)
    if repeatability < rounding:
        repeatability, behind = rounding, math.inf
    u = math.hypot(u_known, repeatability)
    allowed = max(coverage_factor(effective_dof([u_known, repeatability], [math.inf, behind]), _CONFIDENCE) * u, step)
    return allowed, abs(value - known) <= allowed + _EQUAL * step


def _refuse(value: float, known: float, u_known: float, step: float, sd: float | None, dof: float) -> None:
    """Refuse what is no measurement, all faults at once."""
    noise = 0.0 if sd is None else sd
    checks = (
        ("value", value, math.isfinite(value), "a finite number"),
        ("known", known, math.isfinite(known), "a finite number"),
        ("u_known", u_known, 0.0 <= u_known < math.inf, "a number of 0 or more"),
        ("step", step, 0.0 < step < math.inf, "a number above 0"),
        ("sd", noise, 0.0 <= noise < math.inf, "a number of 0 or more"),
        ("dof", dof, dof > 0.0, "a number above 0"),
    )
    faults = [Fault(name, f"{given:g}", allowed, "correct it") for name, given, fits, allowed in checks if not fits]
    if faults:
        raise BadRequest(faults)
