"""A sound as it is shown to be mended: all of it in coarse pieces, each impact with what lies right around it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ballbench.findings.bouncing.results import BounceRecording, HeardImpact

__all__ = ["sound_view"]

_AROUND_S = 0.010
"""How much of the sound is magnified on either side of an impact (own choice): the ring of a hard ball fits in."""
_PIECES, _COARSE = 400, 160
_MANY, _MOST_MAGNIFIED = 120, 400
"""Above so many impacts each is magnified into coarser pieces, and above so many the rest is not (own choice)."""
_SAME_S = 5e-7  # picks are kept to a microsecond


def sound_view(
    heard: BounceRecording, samples: NDArray[np.float32], rate: int, picks: Sequence[Sequence[float]] | None
) -> dict[str, Any]:
    """Give what the page draws.

    Parameters
    ----------
    heard : BounceRecording
        What was heard.
    samples : (channels, n) array
        The sound, -1 to 1.
    rate : int
        Samples a second.
    picks : sequence of sequence of float or None
        Moments that a person picked, s, drop by drop: they are shown whatever came of them. None: those found.

    Returns
    -------
    dict
        Plain values: ``seconds``, ``low`` and ``high`` of equal pieces, ``drops`` with their ``picks``, ``mended``.
    """
    one = _loudest(samples)
    drops = [[impact.time for impact in drop.impacts] for drop in heard.drops] if picks is None else picks
    known = [impact for drop in heard.drops for impact in drop.impacts]
    left = _MOST_MAGNIFIED
    pieces = _PIECES if sum(map(len, drops)) <= _MANY else _COARSE
    shown = []
    for drop in drops:
        picks_shown = [_pick(time, known, one if i < left else None, rate, pieces) for i, time in enumerate(drop)]
        shown.append({"picks": picks_shown})
        left = max(0, left - len(drop))
    return {
        "kind": "sound", "seconds": samples.shape[1] / rate, "low": _plain(heard.picture.lows),
        "high": _plain(heard.picture.highs), "drops": shown, "mended": picks is not None,
    }  # fmt: skip


def _loudest(samples: NDArray[np.float32]) -> NDArray[np.float32]:
    """Give the channel with the most in it."""
    power = [float(np.dot(channel, channel)) for channel in samples]
    loudest: NDArray[np.float32] = samples[int(np.argmax(power))]
    return loudest


def _pick(
    time: float, known: Sequence[HeardImpact], sound: NDArray[np.float32] | None, rate: int, pieces: int
) -> dict[str, Any]:
    """Give one pick: when, how sure, whether the program found it, and the sound around it."""
    near = next((one for one in known if abs(one.time - time) < _SAME_S), None)
    return {
        "time": round(float(time), 6),
        "u": None if near is None else float(near.u),
        "found": near is not None and near.picked == "found",
        "close": None if sound is None else _magnified(sound, rate, float(time), pieces),
    }


def _magnified(sound: NDArray[np.float32], rate: int, time: float, pieces: int) -> dict[str, Any] | None:
    """Give the lowest and the highest sample of small pieces around a moment."""
    first, last = max(0, round((time - _AROUND_S) * rate)), min(sound.size, round((time + _AROUND_S) * rate) + 1)
    piece = sound[first:last]
    if piece.size < 2:
        return None
    starts = np.unique(np.linspace(0, piece.size, min(pieces, piece.size), endpoint=False).astype(np.int64))
    return {
        "from": first / rate, "until": last / rate, "low": _plain(np.minimum.reduceat(piece, starts)),
        "high": _plain(np.maximum.reduceat(piece, starts)),
    }  # fmt: skip


def _plain(levels: Sequence[float] | NDArray[np.float32]) -> list[float]:
    """Give levels as plain numbers, no finer than a picture shows; what is no number is silence."""
    found = np.nan_to_num(np.asarray(levels, dtype=np.float64))
    return [float(level) for level in np.round(found, 4)]
