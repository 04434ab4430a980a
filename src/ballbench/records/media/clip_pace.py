"""Films that a phone stored slowed down, and that say how fast they were taken."""

from __future__ import annotations

from typing import Any

import numpy as np

__all__ = ["slowed_by"]

_SAYS = "capture.fps"
"""How the key ends under which a recorder writes the pictures a second that it took (common practice, no source)."""
_LEAST = 1.5
"""Below it the two rates are one rate, counted twice (own choice)."""
_MOST = 64.0


def slowed_by(container: Any, stream: Any) -> tuple[float, float]:
    """Give by what factor a film is stored slower than it was taken.

    Parameters
    ----------
    container, stream : av.container.InputContainer, av.VideoStream
        Opened. Where the two rates differ, its packets are read through, none is decoded, and it stands at its end.

    Returns
    -------
    factor, taken : float
        Factor, and pictures a second as it was taken; 1 and 0 where the file does not say, or where both rates agree.
    """
    said = [value for name, value in container.metadata.items() if name.endswith(_SAYS)]
    try:
        taken = float(said[0]) if said else 0.0
    except ValueError:
        return 1.0, 0.0
    stored = float(stream.average_rate or 0)
    if not 1.0 < taken < 1e5 or (stored and taken < _LEAST * stored):
        return 1.0, 0.0
    stamps = np.sort([float(one.pts * one.time_base) for one in container.demux(stream) if one.pts is not None])
    steps = np.diff(stamps)
    steps = steps[steps > 0.0]
    if not steps.size:
        return 1.0, 0.0
    pictures = float(np.round(steps / np.median(steps)).sum())  # those counted that were dropped
    factor = taken * float(steps.sum()) / pictures
    return (factor, taken) if _LEAST < factor < _MOST else (1.0, 0.0)
