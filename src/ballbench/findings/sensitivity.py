"""What the chances of a quantity's clauses would be under other assumptions; a decision that flips is undecided."""

from __future__ import annotations

import numpy as np

from ballbench.errors import NotConverged
from ballbench.findings.evidence import Evidence
from ballbench.records import Bench
from ballbench.statistics.preparation import EXTREMES, prepare

__all__ = ["FORM_REDUCTIONS", "other_chances"]

DRAWS = 4096
FORM_REDUCTIONS = ("range", "max", "min", "midrange")


def other_chances(item: Evidence, bench: Bench) -> dict[str, list[float]]:
    """Give the chance of every track of a quantity under other assumptions.

    Parameters
    ----------
    item : Evidence
        After drawing.
    bench : Bench
        As it was prepared with.

    Returns
    -------
    dict of str to list of float
        From the assumption, as a sentence part, to one chance a track; NaN where it plays no part.
        The prior scale is varied for every clause (by weighing the same draws), an assumed repeatability and the
        number of looks for clauses in which form plays a part (by drawing anew).
    """
    out: dict[str, list[float]] = {}
    for words, weight in zip(
        ("a third of the prior scale", "three times the prior scale"), item.prior_weights(), strict=True
    ):
        out[words] = [float(weight @ track.tally.met) for track in item.tracks]
    sample = item.prepared.sample
    assumed = item.prepared.instrument.assumed and item.prepared.study.sse_dof == 0 and item.has_form
    if assumed:
        out["half the assumed repeatability"] = _drawn_anew(item, bench, noise_factor=0.5)
        out["twice the assumed repeatability"] = _drawn_anew(item, bench, noise_factor=2.0)
    if any(axis in EXTREMES for axis in sample.axes):
        out["half as many looks"] = _drawn_anew(item, bench, looks_factor=0.5)
        out["twice as many looks"] = _drawn_anew(item, bench, looks_factor=2.0)
    return out


def _drawn_anew(item: Evidence, bench: Bench, noise_factor: float = 1.0, looks_factor: float = 1.0) -> list[float]:
    """Chances from a fresh posterior; NaN for clauses on the ball's mean, which form hardly moves.

    Where every clause is on the mean nothing is drawn, for nothing of it would be kept; the seed is taken all the same,
    so that what is drawn after it stays as it was.
    """
    rng = np.random.Generator(np.random.PCG64(item.rng.integers(2**63)))
    if not any(track.reading.ball in FORM_REDUCTIONS for track in item.tracks):
        return [float("nan")] * len(item.tracks)
    prepared = prepare(item.prepared.sample, bench, noise_factor=noise_factor, looks_factor=looks_factor)
    unread = {track.clause.id: track.extra for track in item.tracks if track.extra}
    other = Evidence(prepared, item.clauses, rng, item.seed, 0, unread)
    try:
        other.draw(DRAWS, 0)
    except NotConverged:
        return [float("nan")] * len(item.tracks)
    return [
        float(track.tally.met.mean()) if track.reading.ball in FORM_REDUCTIONS else float("nan")
        for track in other.tracks
    ]
