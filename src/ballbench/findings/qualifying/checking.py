"""The log of checks: every reading against its piece, the instrument's line of error, and whether it drifted."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
from scipy import stats

from ballbench.findings.qualification import CalibrationFound, CheckFound, DriftFound
from ballbench.quantities.propagation import effective_dof
from ballbench.quantities.uncertain import coverage_factor
from ballbench.records.bench import Instrument
from ballbench.records.check_log import CheckReading
from ballbench.records.reference_check import check_reading
from ballbench.statistics.calibration_line import CalibrationLine, calibration_entry, calibration_line
from ballbench.statistics.drift import drift

__all__ = ["calibration_of", "checks_of", "drifts_of"]

MANY_CHECKS = 3
MANY_DOF = 1e9
"""Stands for a noise that is known, where a distribution wants a number."""
SCATTER_RISK = 0.01
NO_SCALE = (
    "the balls are not of the pieces' size and nothing is stated of the scale (scale_sd), so no growth of the error "
    "with size is allowed for"
)
NO_TIMES = "times are missing, so the order of the file is taken"
HOUR = 3600.0


def checks_of(log: Sequence[CheckReading], tool: Instrument) -> tuple[CheckFound, ...]:
    """Hold every reading of a piece against what it is.

    Parameters
    ----------
    log : sequence of CheckReading
        In the order of the file.
    tool : Instrument
        With the repeatability and the offset that are stated for it.

    Returns
    -------
    tuple of CheckFound
        By time where every row has one, else in the order of the file. To a reading that was cut off half a step is
        added before it is compared, as to every other reading.
    """
    out, half = [], _cut_off(tool)
    for row in _in_time(log):
        u = math.hypot(row.u, tool.offset_sd)
        read = row.value + half
        allowed, passed = check_reading(read - tool.offset, row.known, u, tool.resolution, tool.sd, tool.dof)
        out.append(
            CheckFound(
                row.piece,
                row.known,
                row.u,
                row.value,
                read - row.known,
                allowed,
                passed,
                row.time,
                row.place,
                expected=tool.offset,
            )
        )
    return tuple(out)


def _cut_off(tool: Instrument) -> float:
    """What a display takes from a reading on average: `offset` is that of readings before they are cut off."""
    return tool.resolution / 2.0 if tool.display == "truncates" else 0.0


def _in_time(log: Sequence[CheckReading]) -> list[CheckReading]:
    moments = [_moment(row.time) for row in log]
    if any(moment is None for moment in moments):
        return list(log)
    return [row for _, row in sorted(zip(moments, log, strict=True), key=lambda pair: pair[0] or 0.0)]


def _moment(text: str) -> float | None:
    """Give a time as hours; None where it is not said. A time without a zone counts as UTC."""
    if not text:
        return None
    moment = datetime.fromisoformat(text)
    if moment.tzinfo is None:
        moment = moment.replace(tzinfo=UTC)
    return moment.timestamp() / HOUR


def calibration_of(
    log: Sequence[CheckReading], tool: Instrument, size: float | None, reach: float, u_common: float = 0.0
) -> tuple[CalibrationFound, float, float] | None:
    """Find the instrument's error from its pieces.

    Parameters
    ----------
    log : sequence of CheckReading
        All of one instrument.
    tool : Instrument
        Its repeatability stands for the noise of single readings.
    size : float or None
        Of the balls; None: the middle of the pieces, with half their span as `reach`.
    reach : float
        How far single balls may be from it.
    u_common : float
        Standard uncertainty that all pieces share.

    Returns
    -------
    (CalibrationFound, float, float) or None
        The line, and the offset with its standard uncertainty for the bench entry; None without readings.

    Raises
    ------
    BadRequest
        The balls are outside of what the pieces cover.

    Notes
    -----
    Balls further from the pieces than these span get an offset alone, and so do balls where one size was read: then a
    scale that is stated for the instrument adds its ``scale_sd`` times the distance (own choice).
    """
    if not log:
        return None
    names = list(dict.fromkeys(row.piece for row in log))
    known = {row.piece: row for row in log}
    sizes = np.array([known[name].known for name in names])
    smallest, largest = float(sizes.min()), float(sizes.max())
    span = largest - smallest
    at, reach = ((smallest + largest) / 2.0, span / 2.0) if size is None else (size, reach)
    values = [row.value + _cut_off(tool) for row in log]
    of = [names.index(row.piece) for row in log]
    *noise, notes = _noise(values, of, tool)
    outside = max(smallest - (at - reach), at + reach - largest, 0.0)
    line = calibration_line(
        values, of, sizes, [known[name].u for name in names], u_common=u_common, noise=(noise[0], noise[1]),
        resolution=tool.resolution, about=at, offset_alone=outside > span,
    )  # fmt: skip
    entry = calibration_entry(line, at, reach)
    away = 0.0 if line.slope_known else abs(at - float(sizes.mean())) + reach
    scale = tool.scale_sd * away
    if away > 0.0 and scale == 0.0:
        notes += (NO_SCALE,)
    return _found(line, at, scale, len(log), notes), entry.offset, math.hypot(entry.offset_sd, scale)


def _noise(values: Sequence[float], pieces: Sequence[int], tool: Instrument) -> tuple[float, float, tuple[str, ...]]:
    """SD of single readings and its degrees of freedom: as stated, or the checks' own scatter where that is larger.

    By F at 1 %, one-sided (own choice); with a note where it is so.
    """
    read, of = np.asarray(values, dtype=np.float64), np.asarray(pieces)
    counts = np.bincount(of)
    dof = read.size - counts.size
    stated = max(tool.sd, tool.resolution / math.sqrt(12.0))
    if dof == 0 or stated == 0.0:
        return tool.sd, tool.dof, ()
    away = read - read[0]
    sd = math.sqrt(float(np.sum((away - (np.bincount(of, away) / counts)[of]) ** 2)) / dof)
    if float(stats.f.sf((sd / stated) ** 2, dof, min(tool.dof, MANY_DOF))) >= SCATTER_RISK:
        return tool.sd, tool.dof, ()
    note = f"repeated checks scatter with an SD of {sd:.2g} {tool.unit}, more than the {stated:.2g} of the readings"
    return sd, float(dof), (f"{note}: the larger is used for the calibration",)


def _found(line: CalibrationLine, at: float, scale: float, readings: int, notes: tuple[str, ...]) -> CalibrationFound:
    here = line.at(at)
    slope = slope_sd = correlation = math.nan
    if line.slope_known:
        slope, slope_sd = line.slope, math.sqrt(float(line.covariance[1, 1]))
        correlation = float(line.covariance[0, 1] / math.sqrt(line.covariance[0, 0] * line.covariance[1, 1]))
    u = math.hypot(here.u, scale)
    dof = effective_dof([here.u, scale], [here.dof, math.inf])
    half = coverage_factor(dof, line.confidence) * u
    return CalibrationFound(
        pieces=line.residuals.size, readings=readings, at=at, offset=here.error, offset_sd=u, dof=dof, slope=slope,
        slope_sd=slope_sd, correlation=correlation, low=line.low, high=line.high, fit_p=line.p_fit,
        notes=(*line.notes, *notes), error_low=here.error - half, error_high=here.error + half,
    )  # fmt: skip


def drifts_of(log: Sequence[CheckReading], tool: Instrument) -> tuple[DriftFound, ...]:
    """Say of every piece that was read at three times or more whether the instrument moved between its checks.

    Parameters
    ----------
    log : sequence of CheckReading
        All of one instrument.
    tool : Instrument
        Its repeatability stands for the noise of single readings.

    Returns
    -------
    tuple of DriftFound
        Readings of one time are one check. Where a time is missing the order of the file is taken, and a note says so.
    """
    out = []
    for piece in dict.fromkeys(row.piece for row in log):
        rows = _in_time([row for row in log if row.piece == piece])
        moments = [_moment(row.time) for row in rows]
        times = [moment for moment in moments if moment is not None]
        timed = len(times) == len(rows)
        at = [moment - times[0] for moment in times] if timed else _counted(moments)
        if len(set(at)) < MANY_CHECKS:
            continue
        found = _drift(piece, np.asarray(at), np.array([row.value for row in rows]), tool, timed=timed)
        out.append(found if timed else replace(found, notes=(f"{piece}: {NO_TIMES}",)))
    return tuple(out)


def _counted(moments: Sequence[float | None]) -> list[float]:
    """Number the checks in the order of the file; neighbours of one stated time are one."""
    out: list[float] = []
    for index, moment in enumerate(moments):
        same = index > 0 and moment is not None and moment == moments[index - 1]
        out.append(0.0 if index == 0 else out[-1] + (0.0 if same else 1.0))
    return out


def _drift(piece: str, at: np.ndarray, values: np.ndarray, tool: Instrument, *, timed: bool) -> DriftFound:
    found = drift(at, values, noise=(tool.sd, tool.dof), resolution=tool.resolution)
    largest = float(values[np.argmax(np.abs(values - values.mean()))] - values.mean())
    return DriftFound(
        piece=piece, checks=found.checks, hours=float(np.ptp(at)) if timed else math.nan, rate=found.rate,
        low=found.low, high=found.high, largest=largest, carried=found.carried_sd, beyond_noise=found.beyond_noise,
        steady=found.steady, jump=found.largest,
    )  # fmt: skip
