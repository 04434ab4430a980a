"""A shuffled order in which no make and no box gathers early or late.

What drifts while a test goes on (the zero, the room, the hand) then falls on all makes and boxes alike.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

__all__ = ["balanced_order"]

_SHARES = 3


def balanced_order(boxes: Sequence[tuple[str, str]], rng: np.random.Generator) -> npt.NDArray[np.int64]:
    """Shuffle balls so that each third of the order holds each make and each box equally often.

    Parameters
    ----------
    boxes : sequence of (str, str)
        Make and box of every ball.
    rng : numpy.random.Generator
        Of the shuffle.

    Returns
    -------
    (n,) int64
        Every ball once, by its position in `boxes`. The thirds are as long as those of `numpy.array_split`; in any two
        of them a make, and a box, comes equally often or once more.

    Notes
    -----
    Balls are laid in a row, makes and boxes in runs whose order is drawn, and dealt like cards to three hands; a run
    of m cards gives each hand m / 3, rounded down or up. Each hand is then shuffled. Balls of makes and boxes of equal
    size are as likely at every position. Randomisation within blocks is common practice, no source.
    """
    runs = {part: rng.random() for part in dict.fromkeys(box[:deep] for box in boxes for deep in (1, 2))}
    own = rng.random(len(boxes))
    row = sorted(range(len(boxes)), key=lambda ball: (runs[boxes[ball][:1]], runs[boxes[ball]], own[ball]))
    dealt = np.array(row, dtype=np.int64)
    return np.concatenate([rng.permutation(dealt[hand::_SHARES]) for hand in range(_SHARES)])
