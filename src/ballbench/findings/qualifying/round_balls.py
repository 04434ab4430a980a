"""What a perfectly round ball shows of diameter variation through an instrument: the noise behind its display."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

import numpy as np
from scipy import special

from ballbench.findings.qualification import RoundBallFound
from ballbench.form.display_floor import display_floor, displayed_sd
from ballbench.records.bench import Instrument

__all__ = ["LOOKED_AT", "SHARE", "SHOWN_AXES", "mean_texts", "round_ball_words", "round_balls", "steps_text"]

LOOKED_AT = (2, 3, 4, 5, 6)
"""Axes that a qualification answers for (own choice: what is read on a ball by hand)."""
SHOWN_AXES = 3
"""Axes of the round ball in the sentence of a qualification (own choice: as many as many requirements read)."""
SHARE = 0.95
"""Share of round balls that stay at `high` or below."""
COARSE = 0.5
"""Of a step: under it the SD of displayed readings says little, and balls are simulated (as for every result)."""
REACH, PLACES = 8.0, 64
"""Standard deviations, and places of the ball between two steps, that are summed over."""
FINE = 20.0
"""Steps of noise from which a step is too fine to matter (own choice)."""
LEAST = 0.1
"""Of a step: noise hidden by the display is not taken to be less (as for every result)."""


def round_balls(tool: Instrument, axes: Sequence[int], seed: int) -> tuple[RoundBallFound, ...]:
    """Give what round balls show, read once on each axis.

    Parameters
    ----------
    tool : Instrument
        Its noise, what people do differently from ball to ball in it, and its display.
    axes : sequence of int
        Numbers of axes, each at least 2.
    seed : int
        Of the simulation; used where the display is coarse beside the noise.

    Returns
    -------
    tuple of RoundBallFound
        One for each of `axes`, in their order; empty where the noise is not known.

    Notes
    -----
    Noise before the display as judgements take it: sd^2 - step^2/12 (JCGM 100:2008, F.2.2.1), a tenth of a step at
    least. `mean` by `form.display_floor`; `high` is the least number of whole steps with that chance: by the sum in
    `_chance` up to a noise of `FINE` steps, beyond that the quantile of `form.display_floor` raised to the next step.
    """
    step = tool.resolution
    if not (math.isfinite(tool.sd) and tool.sd > 0.0):
        return ()
    hidden = math.sqrt(max(tool.sd**2 - step**2 / 12.0, (LEAST * step) ** 2))
    sd = displayed_sd(hidden, step) if tool.sd < COARSE * step else tool.sd
    out = []
    for k in axes:
        floor = display_floor(k, sd, step, np.random.default_rng([seed, k]), p=SHARE)
        steps = math.ceil(floor.high / step)
        if hidden < FINE * step:
            steps = next(m for m in itertools.count() if _chance(k, hidden / step, m) >= SHARE)
        out.append(RoundBallFound(k, floor.mean, steps * step))
    return tuple(out)


def _chance(k: int, noise: float, steps: int) -> float:
    """Give the chance that k displayed readings of a round ball lie within so many steps; `noise` in steps.

    The lowest of them at step j: (F(j + m) - F(j - 1))^k - (F(j + m) - F(j))^k, with F the chance of a reading up to
    there; summed over j, and averaged over places of the ball between two steps. Exact for normal noise.
    """
    reach = math.ceil(REACH * noise) + 1
    lowest = np.arange(-reach, reach + 1)
    place = (np.arange(PLACES) + 0.5)[:, np.newaxis] / PLACES - 0.5
    below, at, top = (special.ndtr((lowest + edge - place) / noise) for edge in (-0.5, 0.5, steps + 0.5))
    return float(np.sum((top - below) ** k - (top - at) ** k) / PLACES)


def round_ball_words(found: Sequence[RoundBallFound], tool: Instrument) -> str:
    """Say what a round ball shows: ``"A perfectly round ball read once on 3 axes through this caliper shows ..."``.

    Parameters
    ----------
    found : sequence of RoundBallFound
        One at least; those after the first are told in few words.
    tool : Instrument
        Name, unit and display step.
    """
    first, *others = zip(found, mean_texts(found), strict=True)
    one, mean = first
    text = (
        f"A perfectly round ball read once on {one.axes} axes through this {tool.name} shows {mean} {tool.unit} of "
        f"diameter variation on average, and 95 % of round balls show {steps_text(one.high)} {tool.unit} or less"
    )
    more = [f"on {one.axes} axes {mean} and {steps_text(one.high)} {tool.unit}" for one, mean in others]
    return "; ".join((text, *more)) + "."


def mean_texts(found: Sequence[RoundBallFound]) -> list[str]:
    """Write means, all with the decimals that give that of three axes, else the first, two significant figures."""
    leading = next((one.mean for one in found if one.axes == SHOWN_AXES), found[0].mean)
    decimals = max(1 - math.floor(math.log10(leading)), 0)
    return [f"{one.mean:.{decimals}f}" for one in found]


def steps_text(value: float) -> str:
    """Write a whole number of steps as the display would."""
    decimals = next((d for d in range(6) if math.isclose(round(value, d), value, rel_tol=1e-9)), 4)
    return f"{value:.{decimals}f}"
