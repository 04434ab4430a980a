"""Balls like these: the box or batch that the sample stands for, by predictive draws."""

from __future__ import annotations

import numpy as np

from ballbench.findings.evidence import Evidence, Track, truth_of
from ballbench.findings.results import Population
from ballbench.findings.tally import limits_of, margin_of
from ballbench.statistics.prediction import predict
from ballbench.statistics.reductions import BallValues
from ballbench.statistics.study import Floats

__all__ = ["population_of"]

DRAWS = 400
BALLS = 256
CONTENT = 0.95


def population_of(track: Track, item: Evidence, scale: float) -> Population:
    """Say what share of balls like these lies outside, and which interval holds 95 % of them.

    Each of 400 draws of the population's mean, spread and form gives 256 new balls; their share outside varies from
    draw to draw, which is the uncertainty of the share. The interval is centred on the balls' median and so wide that
    it holds 95 % of balls in 95 % of the draws (a tolerance interval in the sense of ISO 16269-6, freed of the noise).
    The bound by counting takes the count of bad balls anew in each draw and the exact binomial (beta) bound of it.
    """
    truths = item.some_truths(DRAWS)
    rng = np.random.Generator(np.random.PCG64(item.rng.integers(2**63)))
    values = BallValues(predict(truths, BALLS, rng))(track.reading.ball)
    lower, upper = limits_of(track.reading)
    share = (margin_of(values, lower, upper) <= 0).mean(axis=0)
    low, high = _interval(values, one_sided=track.reading.ball == "range")
    bad = (margin_of(track.tally.kept, lower, upper) <= 0).sum(axis=0)
    bound = np.quantile(rng.beta(bad + 1.0, np.maximum(item.n - bad, 1e-9)), 0.95)
    return Population(truth_of(share), float(bad.mean()), float(bound), low * scale, high * scale)


def _interval(values: Floats, *, one_sided: bool) -> tuple[float, float]:
    """Interval that holds 95 % of the balls, (balls, draws), in 95 % of the draws; from 0 up for a range."""
    if one_sided:
        return 0.0, float(np.quantile(np.quantile(values, CONTENT, axis=0), 0.95))
    centre = float(np.median(values))
    reach = float(np.quantile(np.quantile(abs(values - centre), CONTENT, axis=0), 0.95))
    return centre - reach, centre + reach
