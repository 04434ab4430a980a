"""One value with its standard uncertainty, degrees of freedom and unit, and the interval they give."""

from __future__ import annotations

import math
from dataclasses import dataclass

from scipy import stats

from ballbench.errors import BadRequest, Fault

__all__ = ["Uncertain", "coverage_factor"]


@dataclass(frozen=True, slots=True)
class Uncertain:
    """A value that is not known exactly.

    Parameters
    ----------
    value : float
        The estimate, in `unit`.
    u : float
        Its standard uncertainty, in `unit`; 0 means that the value is taken as exact.
    dof : float
        Degrees of freedom behind `u`; ``math.inf`` where `u` is taken as known, NaN where they are not defined.
    unit : str
        Unit symbol; ``"1"`` for a pure number.

    Raises
    ------
    BadRequest
        The value or `u` is not finite, `u` is negative, or `dof` is not above 0.

    Notes
    -----
    Terms after JCGM 100:2008, 2.3.1 (standard uncertainty), 2.3.5 (expanded uncertainty) and G.3 (degrees of freedom).
    """

    value: float
    u: float
    dof: float = math.inf
    unit: str = "1"

    def __post_init__(self) -> None:
        faults = []
        if not math.isfinite(self.value):
            faults.append(Fault("Uncertain, value", str(self.value), "a finite number", "give the estimate"))
        if not (math.isfinite(self.u) and self.u >= 0.0):
            faults.append(Fault("Uncertain, u", str(self.u), "a finite number from 0", "give one standard uncertainty"))
        if self.dof <= 0.0:
            faults.append(Fault("Uncertain, dof", str(self.dof), "a number above 0", "give inf where u is known"))
        if faults:
            raise BadRequest(faults)

    def expanded(self, confidence: float = 0.95) -> float:
        """Give the expanded uncertainty U = k u.

        Parameters
        ----------
        confidence : float
            Coverage probability, between 0 and 1.

        Returns
        -------
        float
            In `unit`, at least 0; NaN where `dof` is NaN.

        Raises
        ------
        BadRequest
            `confidence` is not between 0 and 1.

        Notes
        -----
        JCGM 100:2008, 6.2.1 and G.3.2 with `coverage_factor`.
        """
        return coverage_factor(self.dof, confidence) * self.u

    def interval(self, confidence: float = 0.95) -> tuple[float, float]:
        """Give value - U and value + U, in `unit`; NaN where `dof` is NaN (JCGM 100:2008, 6.2.1)."""
        half = self.expanded(confidence)
        return self.value - half, self.value + half


def coverage_factor(dof: float, confidence: float = 0.95) -> float:
    """Give the factor k that turns a standard into an expanded uncertainty.

    Parameters
    ----------
    dof : float
        Degrees of freedom, above 0. From 1 up a broken number is cut to the next lower whole one, as the source
        advises; below 1 it is used as it is (own choice: the source does not treat it).
    confidence : float
        Coverage probability, between 0 and 1.

    Returns
    -------
    float
        Two-sided quantile of the t distribution, of the normal one for ``dof = inf``; NaN where `dof` is NaN.

    Raises
    ------
    BadRequest
        `confidence` is not between 0 and 1, or `dof` is not above 0.

    Notes
    -----
    JCGM 100:2008, G.3.2 and Table G.2; the cut is the note to G.4.1.
    """
    faults = []
    if not 0.0 < confidence < 1.0:
        faults.append(Fault("confidence", str(confidence), "a number between 0 and 1", "give 0.95 for 95 %"))
    if dof <= 0.0:
        faults.append(Fault("dof", str(dof), "a number above 0", "give inf where the uncertainty is known"))
    if faults:
        raise BadRequest(faults)
    whole = math.floor(dof) if math.isfinite(dof) and dof >= 1.0 else dof
    return float(stats.t.ppf((1.0 + confidence) / 2.0, whole))
