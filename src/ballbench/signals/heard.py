"""What was heard in a recording: impacts, the drops that they make up, and why there is none where there is none."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

__all__ = ["DropHeard", "Heard", "Impact", "Picked"]

Picked = Literal["found", "by hand"]


@dataclass(frozen=True, slots=True)
class Impact:
    """The moment at which a ball begins to touch the ground, as the microphone hears it.

    Parameters
    ----------
    time : float
        Onset, s from the first sample; the way of the sound is in it, the same for every impact of a drop.
    u : float
        Standard uncertainty of the onset, s.
    above : float
        Level of the impact over what was heard just before it, dB; NaN where that cannot be told.
    picked : str
        ``"found"``, or ``"by hand"`` where a person said it; those are never moved.
    """

    time: float
    u: float
    above: float
    picked: Picked = "found"


@dataclass(frozen=True, slots=True)
class DropHeard:
    """One drop of a ball.

    Parameters
    ----------
    impacts : tuple of Impact
        Impacts that follow each other with none missing between them, from the first of the drop on, in time order.
    beyond : tuple of Impact
        Impacts of the same drop that were heard after one that was not: no flight may be taken across the gap.
    notes : tuple of str
        What a person should know of this drop.
    quieter : bool
        The impacts get quieter as a ball's do; False: they do not, by a recorder's gain, or since no ball makes them.
    """

    impacts: tuple[Impact, ...]
    beyond: tuple[Impact, ...] = ()
    notes: tuple[str, ...] = ()
    quieter: bool = True


@dataclass(frozen=True, slots=True)
class Heard:
    """A recording, listened to.

    Parameters
    ----------
    drops : tuple of DropHeard
        In time order; empty where the recording was refused.
    refused : str
        Why nothing is said, and what to do; empty where drops were found.
    seconds : float
        Length of the recording.
    rate : int
        Samples a second.
    notes : tuple of str
        What a person should know of the recording.
    level_times : array (k,)
        Middles of k <= 4000 equal pieces of the recording, s.
    levels : array (k, 2)
        Smallest and largest sample of each piece, for drawing.
    """

    drops: tuple[DropHeard, ...]
    refused: str
    seconds: float
    rate: int
    notes: tuple[str, ...]
    level_times: NDArray[np.float64]
    levels: NDArray[np.float64]
