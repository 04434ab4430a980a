"""Decoded pieces of a sound, each put where its time stamp says, in bounded memory."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ballbench.errors import BadRecording, Fault
from ballbench.records.media.recording_file import RecordingFile

__all__ = ["LONGEST", "LOWEST_RATE", "Pieces", "Samples", "as_float"]

Samples = NDArray[np.float32]

LONGEST = 15 * 60
"""Longest recording that is taken in, s (own choice)."""
LOWEST_RATE = 8000
"""Samples a second under which an impact cannot be timed (own choice)."""
_MOST_SAMPLES = 90_000_000  # of all channels together: 15 minutes of two channels at 48 000, 360 MB
_CHANNELS = 2  # kept
_JUMP = 5e-3  # s between where a piece stands and where its time stamp says, from which it is moved (own choice)
_FOLLOW = 2e-3
"""Share by which time stamps may run apart from the samples and still be one sound: two clocks that drift, not a piece
that is missing (own choice; clocks of crystals differ by a twentieth of it, common practice, no source)."""
_AGREE = 4  # pieces in a row that must stand elsewhere before one is moved: a single stamp may be uneven (own choice)
_BACK = 1.0  # s back from which time stamps begin anew: another recording behind the first (own choice)
_FULL_SCALE = {"u8": 2.0**7, "s16": 2.0**15, "s32": 2.0**31, "s64": 2.0**63}


@dataclass(slots=True)
class Pieces:
    """Decoded pieces, each at its time.

    Parameters
    ----------
    file : RecordingFile
        Where they come from, for messages.
    chosen : tuple of int
        Channels that are kept; empty: the first two.
    start_at, stop_at : float
        What lies wholly outside is left out, s on the clock of the time stamps.
    rate, channels : int
        Samples a second, and channels of the file; 0 before the first piece.
    start : float or None
        Time stamp of the first sample, s; None before a piece had one.
    count : int
        Samples so far.
    parts : list of array (channels, n)
        The sound so far.
    gaps : list of tuple of float
        Where a piece is missing, from and to, s from the first sample.
    drift : float
        How much later the time stamps have become than the samples say, s, missing pieces left aside.
    spoilt, begun_anew : int
        Pieces that did not decode or overlap; pieces whose time stamps begin anew.
    held : list of tuple of array and float
        Pieces that wait for those behind them to say where they stand, each with its time stamp, s from the first.
    tolerance : float
        How far a stamp may be off, s.
    """

    file: RecordingFile
    chosen: tuple[int, ...] = ()
    start_at: float = -math.inf
    stop_at: float = math.inf
    rate: int = 0
    channels: int = 0
    start: float | None = None
    count: int = 0
    parts: list[Samples] = field(default_factory=list)
    gaps: list[tuple[float, float]] = field(default_factory=list)
    drift: float = 0.0
    spoilt: int = 0
    begun_anew: int = 0
    held: list[tuple[Samples, float]] = field(default_factory=list)
    tolerance: float = _JUMP

    @property
    def kept(self) -> int:
        """How many channels are kept."""
        return len(self.chosen) or min(self.channels, _CHANNELS)

    def add(self, frame: Any) -> None:
        """Put a decoded piece where its time stamp says.

        Parameters
        ----------
        frame : av.AudioFrame
            The piece.

        Raises
        ------
        BadRecording
            Too few samples a second, a rate that changes, too long.
        """
        channels = len(frame.layout.channels)
        if not self.rate:
            self.rate, self.channels = frame.sample_rate, channels
            self._check_rate()
        if (frame.sample_rate, channels) != (self.rate, self.channels):
            found = "a rate or a number of channels that changes on the way"
            raise self._fault(found, "one recording in one piece", "record again, without joining files")
        at = math.nan
        if frame.pts is not None and frame.time_base is not None:
            at = float(frame.pts * frame.time_base)
            if at >= self.stop_at or at + frame.samples / self.rate <= self.start_at:
                return
        part = as_float(frame, channels)
        part = part[list(self.chosen)] if self.chosen else part[:_CHANNELS]
        if math.isnan(at):
            self._settle(final=True)
            self._keep(part)
            return
        if self.start is None:
            self.start = at - self.count / self.rate
            self.tolerance = max(_JUMP, 2.0 * float(frame.time_base))
        self.held.append((part, at - self.start))
        self._settle(final=False)

    def together(self) -> Samples:
        """Give the whole sound, and keep nothing of it; no samples where nothing was added."""
        self._settle(final=True)
        samples = np.concatenate(self.parts, axis=1) if self.parts else np.zeros((1, 0), np.float32)
        self.parts.clear()
        return samples

    def _settle(self, *, final: bool) -> None:
        """Place the pieces that are held: behind each other, or where several stamps in a row say that they stand."""
        while self.held:
            part, at = self.held[0]
            late = at - self.count / self.rate - self.drift
            if late < -_BACK:
                self.begun_anew += 1
            elif abs(late) <= self.tolerance:
                most = _FOLLOW * part.shape[1] / self.rate
                self.drift += min(max(late, -most), most)
                self._keep(part)
            elif len(self.held) < _AGREE and not final:
                return
            else:
                self._move(part, self._step())
            self.held.pop(0)

    def _step(self) -> float:
        """How much later than where they would stand all pieces that are held are, s; 0 where they do not agree."""
        count, lates = self.count, []
        for part, at in self.held[:_AGREE]:
            lates.append(at - count / self.rate - self.drift)
            count += part.shape[1]
        if min(lates) > self.tolerance:
            return min(lates)
        return max(lates) if max(lates) < -self.tolerance else 0.0

    def _move(self, part: Samples, step: float) -> None:
        """Fill up with silence before a piece that comes late; cut off what overlaps of one that comes early."""
        samples = round(step * self.rate)
        if step > 0.0:
            self._within(samples)
            self.gaps.append((self.count / self.rate, (self.count + samples) / self.rate))
            self._keep(np.zeros((part.shape[0], samples), np.float32))
        elif step < 0.0:
            self.spoilt += 1
            part = part[:, min(-samples, part.shape[1]) :]
        self._keep(part)

    def _keep(self, part: Samples) -> None:
        self._within(part.shape[1])
        self.parts.append(part)
        self.count += part.shape[1]

    def _within(self, more: int) -> None:
        """Refuse what is too long before room is made for it."""
        count = self.count + more
        if count > LONGEST * self.rate or count * self.kept > _MOST_SAMPLES:
            most = min(LONGEST, _MOST_SAMPLES / self.kept / self.rate) / 60.0
            found = f"more than {most:.3g} minutes of sound"
            raise self._fault(found, f"at most {most:.3g} minutes", "cut out the part with the ball")

    def _check_rate(self) -> None:
        if self.rate < LOWEST_RATE:
            allowed = f"at least {LOWEST_RATE}, to tell when an impact begins"
            raise self._fault(f"{self.rate} samples a second", allowed, "record again with 44 100 or 48 000")

    def _fault(self, found: str, allowed: str, todo: str) -> BadRecording:
        return BadRecording(Fault(self.file.name, found, allowed, todo))


def as_float(frame: Any, channels: int) -> Samples:
    """Give the samples of a piece, (channels, n) in [-1, 1]."""
    values = frame.to_ndarray()
    if frame.format.is_packed:
        values = values.reshape(-1, channels).T
    name = frame.format.name.removesuffix("p")
    if name not in _FULL_SCALE:
        return np.ascontiguousarray(values, dtype=np.float32)
    offset = 128.0 if name == "u8" else 0.0
    scaled: Samples = (values.astype(np.float32) - np.float32(offset)) / np.float32(_FULL_SCALE[name])
    return scaled
