"""The decision rule, stated beforehand: met, not met, undecided.

Terms after JCGM 106:2012 and ISO 14253-1. The guarded rule says "met" when the chance that the clause is met reaches
1 - risk, "not met" when it is at most the risk. The simple rule holds the raw value against the limit.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ballbench.findings.results import Decision, ProductDecision
from ballbench.statistics.study import Floats

__all__ = ["Rule", "agree", "decide", "decide_product", "spent_risk", "violates"]

SAME = 1e-9
"""Relative difference below which a raw value counts as equal to a limit: floats of decimal text differ by less."""


@dataclass(frozen=True, slots=True)
class Rule:
    """The rule of a judgement.

    Parameters
    ----------
    name : str
        ``guarded`` or ``simple``.
    risk : float
        Total risk of a false "met" over all planned looks, 0 < risk < 0.5.
    look, planned_looks : int
        This look and how many were planned; the risk is shared among them.
    """

    name: str = "guarded"
    risk: float = 0.05
    look: int = 1
    planned_looks: int = 1

    @property
    def spent(self) -> float:
        """Risk of this look."""
        return spent_risk(self.risk, self.look, self.planned_looks)


def spent_risk(risk: float, look: int, planned: int) -> float:
    """Give the risk that look `look` of `planned` may spend.

    Alpha spending after Lan and DeMets (1983), Pocock-type function risk * ln(1 + (e - 1) t) at t = look / planned
    (form from memory); a look's own share is its increment, so that the shares sum to the risk whatever the
    dependence between looks.
    """

    def spent_by(t: float) -> float:
        return risk * math.log(1.0 + (math.e - 1.0) * t)

    return spent_by(look / planned) - spent_by((look - 1) / planned)


def decide(chance: float, risk: float, alone: Floats | None = None, allowed: int = 0) -> Decision:
    """Decide a clause from the chance that it is met.

    Parameters
    ----------
    chance : float
        0 to 1.
    risk : float
        Of this look.
    alone : (n,) float array, optional
        Chance that each ball, judged from its own readings alone, is inside: for each-ball clauses on max, min or
        range every ball (but `allowed`) must reach 1 - risk too, or its fellows talk a bad ball good.
    allowed : int
        Balls that may be outside.
    """
    if chance <= risk:
        return "not met"
    if chance < 1.0 - risk:
        return "undecided"
    if alone is not None and int((alone < 1.0 - risk).sum()) > allowed:
        return "undecided"
    return "met"


def agree(decisions: Sequence[Decision]) -> Decision:
    """Decide over several readings of a clause, or several assumptions: met or not met only if so under each."""
    return decisions[0] if len(set(decisions)) == 1 else "undecided"


def decide_product(
    decisions: Sequence[Decision], chances: Sequence[float | None], joint: float | None, risk: float
) -> ProductDecision:
    """Decide a product from its clauses.

    Met when the joint chance reaches 1 - risk and every tested clause is met; not met when some clause is not met
    with a chance of at most risk / c, c the number of clauses judged; else undecided.
    """
    judged = [(d, p) for d, p in zip(decisions, chances, strict=True) if d != "not tested" and p is not None]
    if not judged or joint is None:
        return "not tested"
    if any(d == "not met" and p <= risk / len(judged) for d, p in judged):
        return "not met"
    if joint >= 1.0 - risk and all(d == "met" for d, _ in judged):
        return "met" if len(judged) == len(decisions) else "met as far as tested"
    return "undecided"


def violates(value: Floats | float, lower: float | None, upper: float | None, strict: bool) -> Floats:
    """Say which raw values are outside, as 0 or 1, compared as decimals.

    Parameters
    ----------
    value : float array of any shape
        Raw statistics.
    lower, upper : float or None
        Limits in the same unit.
    strict : bool
        The limit itself is outside.
    """
    values = np.asarray(value, dtype=np.float64)
    out = np.zeros(values.shape, dtype=np.float64)
    for limit, sign in ((lower, -1.0), (upper, 1.0)):
        if limit is None:
            continue
        beyond = sign * (values - limit)
        near = SAME * max(abs(limit), 1e-6)
        out = np.maximum(out, (beyond > -near if strict else beyond > near).astype(np.float64))
    return out
