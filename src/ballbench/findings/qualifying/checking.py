"""The log of checks: every reading against its piece, the instrument's line of error, and whether it drifted."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import UTC, datetime

import numpy as np

from ballbench.findings.qualification import CalibrationFound, CheckFound, DriftFound
from ballbench.records.bench import Instrument
from ballbench.records.check_log import CheckReading
from ballbench.records.reference_check import check_reading
from ballbench.statistics.calibration_line import CalibrationLine, calibration_entry, calibration_line
from ballbench.statistics.drift import drift

__all__ = ["calibration_of", "checks_of", "drifts_of"]

MANY_CHECKS = 3
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
        By time where every row has one, else in the order of the file.
    """
    out = []
    for row in _in_time(log):
        u = math.hypot(row.u, tool.offset_sd)
        allowed, passed = check_reading(row.value - tool.offset, row.known, u, tool.resolution, tool.sd, tool.dof)
        out.append(
            CheckFound(
                row.piece,
                row.known,
                row.u,
                row.value,
                row.value - row.known,
                allowed,
                passed,
                row.time,
                row.place,
                expected=tool.offset,
            )
        )
    return tuple(out)


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
        Of the balls; None: the mean of the pieces.
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
    """
    if not log:
        return None
    names = list(dict.fromkeys(row.piece for row in log))
    known = {row.piece: row for row in log}
    line = calibration_line(
        [row.value for row in log], [names.index(row.piece) for row in log],
        [known[name].known for name in names], [known[name].u for name in names],
        u_common=u_common, noise=(tool.sd, tool.dof), resolution=tool.resolution, about=size,
    )  # fmt: skip
    at = line.about if size is None else size
    entry = calibration_entry(line, at, reach)
    return _found(line, at, names, len(log)), entry.offset, entry.offset_sd


def _found(line: CalibrationLine, at: float, names: Sequence[str], readings: int) -> CalibrationFound:
    here = line.at(at)
    slope = slope_sd = correlation = math.nan
    if line.slope_known:
        slope, slope_sd = line.slope, math.sqrt(float(line.covariance[1, 1]))
        correlation = float(line.covariance[0, 1] / math.sqrt(line.covariance[0, 0] * line.covariance[1, 1]))
    return CalibrationFound(
        pieces=len(names), readings=readings, at=at, offset=here.error, offset_sd=here.u, dof=here.dof, slope=slope,
        slope_sd=slope_sd, correlation=correlation, low=line.low, high=line.high, fit_p=line.p_fit, notes=line.notes,
    )  # fmt: skip


def drifts_of(log: Sequence[CheckReading], tool: Instrument) -> tuple[DriftFound, ...]:
    """Say of every piece that was read three times or more whether the instrument moved between its checks."""
    out = []
    for piece in dict.fromkeys(row.piece for row in log):
        rows = [row for row in _in_time(log) if row.piece == piece]
        moments = [_moment(row.time) for row in rows]
        timed = all(moment is not None for moment in moments) and len(set(moments)) > 1
        at = [float(moment or 0.0) - float(moments[0] or 0.0) for moment in moments] if timed else _counted(rows)
        if len(rows) < MANY_CHECKS:
            continue
        out.append(_drift(piece, np.asarray(at), np.array([row.value for row in rows]), tool, timed=timed))
    return tuple(out)


def _counted(rows: Sequence[CheckReading]) -> list[float]:
    return [float(number) for number in range(len(rows))]


def _drift(piece: str, at: np.ndarray, values: np.ndarray, tool: Instrument, *, timed: bool) -> DriftFound:
    found = drift(at, values, noise=(tool.sd, tool.dof), resolution=tool.resolution)
    largest = float(values[np.argmax(np.abs(values - values.mean()))] - values.mean())
    return DriftFound(
        piece=piece, checks=found.checks, hours=float(np.ptp(at)) if timed else math.nan, rate=found.rate,
        low=found.low, high=found.high, largest=largest, carried=found.carried_sd, beyond_noise=found.beyond_noise,
    )  # fmt: skip
