"""How many balls of a box to look at: none bad by counting, or fewer by reading values."""

from __future__ import annotations

import math

from ballbench.errors import BadRequest
from ballbench.findings.plans import BoxPlan
from ballbench.statistics.acceptance_plans import code_letter, value_plan, zero_bad_of_lot
from ballbench.statistics.counts import zero_bad_sample

__all__ = ["box_plan"]

GOOD = 0.1
"""A batch is called good with a tenth of the share of bad balls that is to be noticed (own choice)."""


def box_plan(lot: int | None, share: float, confidence: float = 0.95) -> BoxPlan:
    """Plan how many balls of a box or a consignment to look at.

    Parameters
    ----------
    lot : int or None
        Balls in it; None: very many.
    share : float
        Share of bad balls that is to be noticed, between 0 and 1.
    confidence : float
        Chance of noticing it.

    Returns
    -------
    BoxPlan
        By counting (none bad) with the size of the lot counted in, and by values for a large batch.
    """
    bad = None if lot is None else max(math.ceil(share * lot - 1e-9), 1)
    balls = zero_bad_sample(share, confidence) if lot is None or bad is None else zero_bad_of_lot(lot, bad, confidence)
    good = GOOD * share
    try:
        by_values = value_plan(good, share, 0.05, 1.0 - confidence)
    except BadRequest:
        by_values = None
    letter = ""
    if lot is not None and lot >= 2:
        name, number = code_letter(lot)
        letter = f"{name}, {number} balls"
    return BoxPlan(
        lot, share, confidence, balls, bad, good,
        None if by_values is None else by_values.n, math.nan if by_values is None else by_values.k, letter,
    )  # fmt: skip
