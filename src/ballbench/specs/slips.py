"""Slips that one clause shows by itself: empty limits, prints that disagree, words without a value."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations

from ballbench.quantities.kinds import KINDS
from ballbench.quantities.units import factor
from ballbench.specs.faults import nearest
from ballbench.specs.model import Clause, Limit, Reading
from ballbench.specs.remarks import Remark, amount, which

__all__ = ["slips", "substance"]


def slips(clause: Clause) -> Iterator[Remark]:
    """Give a remark for everything that is odd about a clause taken alone.

    Parameters
    ----------
    clause : Clause
        As loaded.

    Yields
    ------
    Remark
        One for each oddity.
    """
    for check in (
        _empty_limits,
        _empty_count,
        _disagreeing_prints,
        _no_decision,
        _empty_conditions,
        _unbelievable,
        _nearly_known,
        _same_variant,
    ):
        yield from check(clause)


def substance(reading: Reading) -> Reading:
    """Give a reading without its words and with its limits by value: two that are equal decide alike."""
    lower, upper = (None if limit is None else Limit("", "", limit.value) for limit in (reading.lower, reading.upper))
    return replace(reading, text="", lower=lower, upper=upper)


def _empty_limits(clause: Clause) -> Iterator[Remark]:
    for number, reading in enumerate(clause.readings):
        low, high = reading.lower, reading.upper
        if low is None or high is None:
            continue
        if low.value > high.value or (reading.strict and low.value == high.value):
            what = f"{which(number)}no value lies between {amount(low)} and {amount(high)}"
            yield Remark(clause.id, what, "exchange or correct the limits")


def _empty_count(clause: Clause) -> Iterator[Remark]:
    rule = clause.count
    if rule is None or rule.out_of is None:
        return
    least, most = rule.at_least or 0, rule.out_of if rule.at_most is None else rule.at_most
    if least > min(most, rule.out_of):
        what = f"no count is at least {least} and at most {most} out of {rule.out_of}"
        yield Remark(clause.id, what, "correct the counts")
    elif least == 0 and most >= rule.out_of:
        yield Remark(clause.id, f"every count out of {rule.out_of} meets the clause", "correct the counts")


def _disagreeing_prints(clause: Clause) -> Iterator[Remark]:
    """Compare limits that two readings print in two units: they agree within the coarser print's last digit."""
    for first, second in combinations(clause.readings, 2):
        if (first.ball, first.sample) != (second.ball, second.sample):
            continue
        for a, b in ((first.lower, second.lower), (first.upper, second.upper)):
            if a is None or b is None or a.unit == b.unit:
                continue
            if abs(a.value - b.value) > max(_last_digit(a, clause), _last_digit(b, clause)):
                there = b.value / factor(a.unit, clause.base_unit)
                what = (
                    f"{amount(a)} and {amount(b)} are not one limit printed in two units: "
                    f"{amount(b)} is {there:.6g} {a.unit}"
                )
                yield Remark(clause.id, what, "check both prints in the text itself")


def _no_decision(clause: Clause) -> Iterator[Remark]:
    if clause.nominal is not None and not clause.decides:
        what = f"{amount(clause.nominal)} is a nominal value without a tolerance and gives no decision"
        yield Remark(clause.id, what, "leave it so if the text has none, or add the limits that it has")


def _empty_conditions(clause: Clause) -> Iterator[Remark]:
    for name, value in clause.conditions.items():
        if not value.strip():
            yield Remark(clause.id, f"the condition {name} has no value", "give its value, or remove it")


def _unbelievable(clause: Clause) -> Iterator[Remark]:
    """Look for limits of size, not of spread, outside the believable range of a known quantity."""
    kind = KINDS.get(clause.quantity)
    for number, reading in enumerate(clause.readings):
        if kind is None or reading.ball == "range" or reading.sample in {"sd", "range"}:
            continue
        for limit in (reading.lower, reading.upper):
            if limit is not None and not kind.lowest <= limit.value <= kind.highest:
                what = f"{which(number)}{amount(limit)} is no believable {kind.words} of a ball"
                yield Remark(clause.id, what, "check the decimal point and the unit of the limit")


def _nearly_known(clause: Clause) -> Iterator[Remark]:
    guess = nearest(clause.quantity, KINDS, cutoff=0.85)
    if guess is not None and guess != clause.quantity:
        what = f'the quantity "{clause.quantity}" is a further one, and nearly "{guess}"'
        yield Remark(clause.id, what, f'write "{guess}" if that is meant')


def _same_variant(clause: Clause) -> Iterator[Remark]:
    seen: dict[Reading, int] = {}
    for number, reading in enumerate(clause.readings):
        earlier = seen.setdefault(substance(reading), number)
        if earlier != number:
            other = "the clause itself" if earlier == 0 else f"variant {earlier}"
            yield Remark(clause.id, f"variant {number} says the same as {other}", "change its limits, or remove it")


def _last_digit(limit: Limit, clause: Clause) -> float:
    """Give one unit of the last digit that the limit is printed with, in the unit of computation."""
    decimals = len(limit.text.partition(".")[2])
    return float(10.0**-decimals * factor(limit.unit, clause.base_unit))
