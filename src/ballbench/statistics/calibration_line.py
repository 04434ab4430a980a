"""An instrument against pieces of known size or mass: its error as a straight line, and what is left unknown of it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

from ballbench.errors import BadRequest, Fault

__all__ = ["CalibrationEntry", "CalibrationLine", "LineValue", "calibration_entry", "calibration_line"]

Array = NDArray[np.float64]

BEYOND = 0.1
"""How far outside the pieces the line is used, as a part of the span between them. Own choice."""
NEAR = 0.02
"""As far at least, as a part of the size: sizes so near behave alike, however near the pieces are. Own choice."""
COARSE = 0.5
"""Noise in display steps under which the rounding of repeats is one and the same and no mean takes it away."""


@dataclass(frozen=True, slots=True)
class LineValue:
    """The instrument's error at one size, in its unit.

    Parameters
    ----------
    error, u : float
        What it reads too much, and the standard uncertainty of that.
    low, high : float
        Interval of the error at the confidence of the line.
    dof : float
        Effective degrees of freedom of `u`; infinite where no noise was estimated.
    """

    error: float
    u: float
    low: float
    high: float
    dof: float

    @property
    def correction(self) -> float:
        """What is added to a reading."""
        return -self.error


@dataclass(frozen=True, slots=True)
class CalibrationLine:
    """Error of an instrument at x: ``a + b (x - about)``.

    Parameters
    ----------
    about : float
        The size at which `offset` stands, in the instrument's unit.
    offset, slope : float
        a and b; `slope` is 0 with one size or an offset alone, where nothing is known of it.
    covariance : (2, 2) float array
        Of a and b; NaN for the slope where it is not known.
    dof : float
        Degrees of freedom of the noise; infinite where the rounding of the display is all of it.
    noise : float
        SD of single readings that was used.
    chi2, chi2_dof, p_fit : float
        Weighted sum of squares about the line, its degrees of freedom, and the chance of one as large if the line
        holds; NaN with fewer than three pieces, or where the noise itself was taken from the scatter about the line.
    residuals : (P,) float array
        Mean error of each piece less the line, in the order of the pieces.
    low, high : float
        Where the line may be used.
    confidence : float
        Of intervals.
    notes : tuple of str
        What else has to be said.
    of_pieces : (2, 2) float array
        The part of the covariance that comes from the pieces, not from noise.
    """

    about: float
    offset: float
    slope: float
    covariance: Array
    dof: float
    noise: float
    chi2: float
    chi2_dof: int
    p_fit: float
    residuals: Array
    low: float
    high: float
    confidence: float
    notes: tuple[str, ...]
    of_pieces: Array

    def at(self, x: float) -> LineValue:
        """Give the error at a size.

        Parameters
        ----------
        x : float
            In the instrument's unit.

        Returns
        -------
        LineValue
            With degrees of freedom after JCGM 100:2008, G.4.1, equation G.2b.

        Raises
        ------
        BadRequest
            `x` is not within the limits of use.
        """
        if not self.low <= x <= self.high:
            allowed = f"{self.low:.6g} to {self.high:.6g}, what the pieces cover and a little more"
            raise BadRequest(Fault("calibration line", f"{x:.6g}", allowed, "read a piece of about that size"))
        lever = np.array([1.0, x - self.about if self.slope_known else 0.0])
        used = np.nan_to_num(self.covariance)
        variance = float(lever @ used @ lever)
        from_noise = max(variance - float(lever @ np.nan_to_num(self.of_pieces) @ lever), 0.0)
        error = self.offset + self.slope * (x - self.about)
        dof = self.dof * (variance / from_noise) ** 2 if from_noise > 1e-12 * variance else math.inf
        half = float(stats.t.isf((1.0 - self.confidence) / 2.0, dof)) * math.sqrt(variance)
        return LineValue(error, math.sqrt(variance), error - half, error + half, dof)

    @property
    def slope_known(self) -> bool:
        """Whether a slope was fitted, through pieces of different size."""
        return bool(np.isfinite(self.covariance[1, 1]))


@dataclass(frozen=True, slots=True)
class CalibrationEntry:
    """What a bench file says under ``calibration``: `offset`, `offset_sd`, `scale_sd`."""

    offset: float
    offset_sd: float
    scale_sd: float


def calibration_line(
    values: ArrayLike,
    pieces: ArrayLike,
    references: ArrayLike,
    u_references: ArrayLike,
    *,
    u_common: ArrayLike = 0.0,
    noise: tuple[float, float] | None = None,
    resolution: float = 0.0,
    about: float | None = None,
    offset_alone: bool = False,
    beyond: float = BEYOND,
    confidence: float = 0.95,
) -> CalibrationLine:
    """Fit the error of an instrument to pieces of known size.

    Parameters
    ----------
    values : (N,) array_like of float
        Readings, in the instrument's unit.
    pieces : (N,) array_like of int
        Which piece each reading is of, from 0.
    references, u_references : (P,) array_like of float
        What each piece is, and the standard uncertainty of that which belongs to this piece alone.
    u_common : float or (P,) array_like of float
        Standard uncertainty that all pieces share, as from one certificate: fully correlated.
    noise : (float, float), optional
        SD of single readings and its degrees of freedom. Left out, it is pooled from repeated readings; with none and
        pieces known exactly, it is the scatter about the line.
    resolution : float
        Step of the display: the noise is at least its rounding, step over the square root of 12, and so is that of a
        mean where single readings scatter by less than half a step.
    about : float, optional
        Size at which the offset is stated; left out: the mean of the pieces.
    offset_alone : bool
        Fit no slope although the pieces differ: for sizes far off beside the span of the pieces.
    beyond : float
        How far outside the pieces the line may be used, as a part of their span, but 2 % of the size at least (not more
        than this part of it); of the size of a single piece.
    confidence : float
        Of intervals, between 0 and 1.

    Returns
    -------
    CalibrationLine
        With pieces of one size an offset alone.

    Raises
    ------
    BadRequest
        Arrays that do not fit or arguments out of range; no noise to go by.

    Notes
    -----
    Generalised least squares of the mean errors of the pieces with covariance ``diag(u^2 + s^2/n) + c c'``; for s below
    half a step ``max(s^2/n, step^2/12)`` in place of ``s^2/n``, the rounding of all being one (own choice). Source:
    JCGM 100:2008, H.3 (the line, its covariance and its use) and F.2.2.1 (rounding). The pieces' uncertainty enters the
    error alone, not the abscissa: right where the slope is far below 1. p of the fit by F with Satterthwaite degrees of
    freedom: exact where the pieces are exact and evenly read, or where the noise is known.
    """
    data = _Calibration(values, pieces, references, u_references, u_common)
    data.check(noise, resolution, beyond, confidence)
    x0 = float(data.sizes.mean()) if about is None else float(about)
    design = np.column_stack((np.ones(data.sizes.size), data.sizes - x0))
    if np.ptp(data.sizes) == 0.0 or offset_alone:
        design = design[:, :1]
    sd, dof, by_scatter = data.noise(noise, resolution, design)
    piece_part = np.diag(data.u**2) + np.outer(data.common, data.common)
    noise_part, dof = _of_means(sd, dof, data.counts, resolution)
    inverse = np.linalg.inv(piece_part + np.diag(noise_part))
    bread = np.linalg.inv(design.T @ inverse @ design)
    gain = bread @ design.T @ inverse
    found = gain @ data.errors
    residuals = data.errors - design @ found
    chi2, chi2_dof = float(residuals @ inverse @ residuals), data.sizes.size - design.shape[1]
    if by_scatter or chi2_dof == 0:
        chi2 = p_fit = math.nan
    else:
        share = float(np.mean(noise_part / np.diag(piece_part + np.diag(noise_part))))
        p_fit = float(stats.f.sf(chi2 / chi2_dof, chi2_dof, min(dof / max(share, 1e-9) ** 2, 1e9)))
    covariance, fixed = np.full((2, 2), math.nan), np.full((2, 2), math.nan)
    k = design.shape[1]
    covariance[:k, :k], fixed[:k, :k] = bread, gain @ piece_part @ gain.T
    smallest, largest = float(data.sizes.min()), float(data.sizes.max())
    margin = beyond * abs(largest)
    if largest > smallest:
        margin = max(beyond * (largest - smallest), min(beyond, NEAR) * abs(largest))
    return CalibrationLine(
        about=x0,
        offset=float(found[0]),
        slope=float(found[1]) if k == 2 else 0.0,
        covariance=covariance,
        dof=dof,
        noise=sd,
        chi2=chi2,
        chi2_dof=chi2_dof,
        p_fit=p_fit,
        residuals=residuals,
        low=smallest - margin,
        high=largest + margin,
        confidence=confidence,
        notes=_notes(k, largest > smallest, p_fit, 1.0 - confidence, by_scatter),
        of_pieces=fixed,
    )


def calibration_entry(line: CalibrationLine, size: float, reach: float = 0.0) -> CalibrationEntry:
    """Give what a bench file needs of a line for balls of one size.

    Parameters
    ----------
    line : CalibrationLine
        Of the instrument.
    size : float
        The balls' size, in the unit of the line.
    reach : float
        How far single balls may be from it, not negative: the slope, which a bench file cannot correct for, is added as
        spread evenly over that.

    Returns
    -------
    CalibrationEntry
        `scale_sd` is 0: a bench file's scale turns about 0, and `offset_sd` holds all that the line leaves unknown at
        this size; a scale beside it would count the slope twice. Where `offset_sd` rests on few degrees of freedom it
        is widened by Student's t at 95 % over the normal 1.96, for the bench takes it as known (own choice).

    Raises
    ------
    BadRequest
        A size outside the limits of use, or a negative `reach`.
    """
    if not 0.0 <= reach < math.inf:
        raise BadRequest(Fault("calibration entry, reach", f"{reach:g}", "0 or more", "give half the balls' range"))
    here = line.at(size)
    widest = max(
        (line.at(x) for x in (size - reach, size, size + reach)),
        key=lambda value: value.u * float(stats.t.isf(0.025, value.dof)),
    )
    wide = widest.u * float(stats.t.isf(0.025, widest.dof)) / float(stats.norm.isf(0.025))
    return CalibrationEntry(here.error, math.hypot(wide, line.slope * reach / math.sqrt(3.0)), 0.0)


def _of_means(sd: float, dof: float, counts: NDArray[np.int64], step: float) -> tuple[Array, float]:
    """Variances of the pieces' means, (P,), and degrees of freedom: under a coarse display the rounding stays."""
    variances: Array = sd**2 / counts
    if sd >= COARSE * step:
        return variances, dof
    rounding = step**2 / 12.0
    return np.maximum(variances, rounding), math.inf if np.all(variances <= rounding) else dof


class _Calibration:
    """Mean errors of the pieces, and what is known of them."""

    def __init__(
        self, values: ArrayLike, pieces: ArrayLike, references: ArrayLike, u: ArrayLike, common: ArrayLike
    ) -> None:
        self.values = np.asarray(values, dtype=np.float64).ravel()
        self.pieces = np.asarray(pieces).ravel()
        self.sizes = np.asarray(references, dtype=np.float64).ravel()
        self.u = np.asarray(u, dtype=np.float64).ravel()
        shared = np.asarray(common, dtype=np.float64).ravel()
        self.common = np.full(self.sizes.size, shared[0]) if shared.size == 1 else shared

    @property
    def counts(self) -> NDArray[np.int64]:
        """Readings of each piece, (P,)."""
        return np.bincount(self.pieces, minlength=self.sizes.size)

    @property
    def errors(self) -> Array:
        """Mean reading of each piece less what it is, (P,)."""
        off = self.values - self.sizes[self.pieces]
        found: Array = np.bincount(self.pieces, off, minlength=self.sizes.size) / self.counts
        return found

    def noise(self, given: tuple[float, float] | None, resolution: float, design: Array) -> tuple[float, float, bool]:
        """SD of single readings, its degrees of freedom, and whether it is the scatter about the line."""
        rounding = resolution / math.sqrt(12.0)
        off = self.values - self.sizes[self.pieces]
        within = float(np.sum((off - self.errors[self.pieces]) ** 2))
        dof = self.values.size - self.sizes.size
        scatter = given is None and dof == 0
        if given is not None:
            sd, free = given
        elif dof > 0:
            sd, free = math.sqrt(within / dof), float(dof)
        else:
            rest = self.errors - design @ np.linalg.lstsq(design, self.errors, rcond=None)[0]
            free = float(self.sizes.size - design.shape[1])
            sd = math.sqrt(float(rest @ rest) / free) if free > 0 else 0.0
        if sd < rounding or free <= 0:
            sd, free, scatter = max(sd, rounding), math.inf, False
        if sd == 0.0 and np.any(self.u == 0.0):
            found, allowed = "no noise: readings agree exactly, and pieces known exactly", "some uncertainty"
            todo = "give the step of the display as resolution"
            raise BadRequest(Fault("calibration line", found, allowed, todo))
        return sd, free, scatter

    def check(self, given: tuple[float, float] | None, resolution: float, beyond: float, confidence: float) -> None:
        """Say all that is wrong."""
        faults = []
        where = "calibration line"
        if not self.values.size == self.pieces.size > 0:
            found = f"{self.values.size} values and {self.pieces.size} pieces"
            faults.append(Fault(where, found, "one piece a value, and one value at least", "give arrays of one length"))
        if not self.sizes.size == self.u.size == self.common.size > 0:
            found = f"{self.sizes.size} references, {self.u.size} u, {self.common.size} common u"
            faults.append(Fault(where, found, "one of each a piece", "give arrays of one length"))
        if not all(np.all(np.isfinite(x)) for x in (self.values, self.sizes, self.u, self.common)):
            faults.append(Fault(where, "values that are not finite", "finite numbers", "leave them out"))
        if np.any(self.u < 0.0):
            faults.append(Fault(f"{where}, u_references", "a negative one", "0 or more", "give standard uncertainties"))
        known = set(range(self.sizes.size))
        if self.pieces.size and (self.pieces.dtype.kind not in "iu" or set(self.pieces.tolist()) != known):
            allowed = f"every number from 0 to {self.sizes.size - 1}"
            faults.append(Fault(f"{where}, pieces", "other pieces, or one never read", allowed, "name them by number"))
        if given is not None and not (0.0 <= given[0] < math.inf and given[1] > 0.0):
            allowed = "an SD of 0 or more and degrees of freedom above 0"
            faults.append(Fault(f"{where}, noise", str(given), allowed, "give both"))
        for name, number, good in (
            ("resolution", resolution, 0.0 <= resolution < math.inf),
            ("beyond", beyond, 0.0 <= beyond < math.inf),
            ("confidence", confidence, 0.0 < confidence < 1.0),
        ):
            if not good:
                allowed = "between 0 and 1" if name == "confidence" else "0 or more"
                faults.append(Fault(f"{where}, {name}", str(number), allowed, "correct it"))
        single = given is None and self.values.size == self.sizes.size
        if not faults and single and (np.any(self.u > 0.0) or np.any(self.common != 0.0) or self.sizes.size < 3):
            todo = "read each piece twice, or give the SD of repeats as noise"
            faults.append(Fault(where, "one reading a piece and no noise", "repeats, or a known noise", todo))
        if faults:
            raise BadRequest(faults)


def _notes(columns: int, sizes_differ: bool, p_fit: float, risk: float, by_scatter: bool) -> tuple[str, ...]:
    """What has to be said beside the line."""
    notes = []
    if columns == 1 and sizes_differ:
        notes.append("the sizes that were read are too near each other for a slope: an offset for all of them")
    elif columns == 1:
        notes.append("one size was read: an offset there, and nothing about other sizes")
    if p_fit < risk:
        notes.append(
            "the errors do not lie on a straight line within their uncertainties: use the piece of the balls' size"
        )
    if by_scatter:
        notes.append("the noise is the scatter about the line, so that nothing tests the line itself")
    return tuple(notes)
