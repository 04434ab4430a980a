"""From the log of a press to means with intervals, and to differences between products on the same rig."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from ballbench.errors import BadReadings, Fault
from ballbench.findings.pressing.results import PressGroupFound, PressPair, PressProduct, ReturnFound
from ballbench.physics.deformation import PressGroup, PressReading, PressReturn, press_readings, press_study
from ballbench.quantities.uncertain import coverage_factor
from ballbench.records.fault_list import FaultList
from ballbench.records.press_log import PressLog, PressRow
from ballbench.statistics.two_samples import holm, welch

__all__ = ["Pressed", "pairs_of", "press_products", "pressed"]

_TOLD = 0.05  # two-sided, all pairs together
_UNEVEN = 1.5
"""Longest over shortest time under load from which two products are not compared, for creep (own choice)."""
_COLUMNS = {"load_n": "load", "preload_n": "preload", "deformation_mm": "deformation"}
_UNITS = {"load_n": " N", "preload_n": " N", "deformation_mm": " mm", "seconds": " s"}
_PLACE = re.compile(r"^log, row (\d+)(?:, (\w+))?$")


@dataclass(frozen=True, slots=True)
class Pressed:
    """Readings of one product and quantity: the rows, and what they became, in the same order."""

    product: str
    quantity: str
    rows: tuple[PressRow, ...]
    readings: tuple[PressReading, ...]


def pressed(log: PressLog, faults: FaultList) -> tuple[Pressed, ...]:
    """Check the rows of a log, product by product and quantity by quantity.

    Parameters
    ----------
    log : PressLog
        As read.
    faults : FaultList
        What was found wrong with it so far.

    Returns
    -------
    tuple of Pressed
        In the order of the file.

    Raises
    ------
    BadReadings
        Every fault of the file, each at its line and column.
    """
    found = []
    known = {fault.where for _, fault in faults.found}
    for product, quantity in dict.fromkeys((row.product, row.quantity) for row in log.rows):
        rows = tuple(row for row in log.rows if (row.product, row.quantity) == (product, quantity))
        try:
            found.append(Pressed(product, quantity, rows, press_readings([row.fields for row in rows], "log")))
        except BadReadings as error:
            for fault in error.faults:
                line, placed = _placed(fault, log.where, rows)
                if placed.where not in known:
                    faults.add(placed, 0, line)
    faults.raise_if_any(BadReadings)
    return tuple(found)


def _placed(fault: Fault, where: str, rows: Sequence[PressRow]) -> tuple[int, Fault]:
    """Give a fault of the numbered rows its line and column in the file, and its unit."""
    match = _PLACE.match(fault.where)
    if match is None:
        return 0, fault
    line, field = rows[int(match[1]) - 1].line, match[2] or ""
    found = re.sub(r"in row (\d+)", lambda seen: f"in line {rows[int(seen[1]) - 1].line}", fault.found)
    place = f"{where}, line {line}" if not field else f"{where}, line {line}, column {_COLUMNS.get(field, field)}"
    rule = fault.allowed + (_UNITS.get(field, "") if re.search(r"to [\d.]+$", fault.allowed) else "")
    return line, replace(fault, where=place, found=found, allowed=rule)


def press_products(several: Sequence[Pressed]) -> tuple[tuple[PressProduct, ...], tuple[str, ...]]:
    """Give means, intervals and returns of each product.

    Parameters
    ----------
    several : sequence of Pressed
        From `pressed`.

    Returns
    -------
    tuple of PressProduct, tuple of str
        In the order of the file; notes on creep and uneven times.
    """
    products, notes = [], []
    for name in dict.fromkeys(one.product for one in several):
        groups: list[PressGroupFound] = []
        returns: list[ReturnFound] = []
        own = [one for one in several if one.product == name]
        for one in own:
            study = press_study(one.readings)
            first, *uneven = study.notes
            notes += [first, *(f"{name}: {note}" for note in uneven)]
            groups += [_group(one, group) for group in study.groups]
            returns += [ReturnFound(one.quantity, back, *_interval(back)) for back in study.returns]
        balls = {reading.ball for one in own for reading in one.readings}
        count = sum(len(one.readings) for one in own)
        products.append(PressProduct(name, len(balls), count, tuple(groups), tuple(returns)))
    return tuple(products), tuple(dict.fromkeys(notes))


def _group(one: Pressed, group: PressGroup) -> PressGroupFound:
    key = (group.orientation, group.direction, group.load_n, group.preload_n)
    inside = [item for item in one.readings if (item.orientation, item.direction, item.load_n, item.preload_n) == key]
    balls = tuple(
        (ball, float(np.mean([item.deformation_mm for item in inside if item.ball == ball])))
        for ball in dict.fromkeys(item.ball for item in inside)
    )
    return PressGroupFound(one.quantity, group, *_interval(group), balls)


def _interval(one: PressGroup | PressReturn) -> tuple[float, float]:
    """Give mean less and plus t times its standard uncertainty; NaN for one ball."""
    if one.balls < 2:
        return math.nan, math.nan
    half = coverage_factor(one.balls - 1) * one.u
    return one.mean - half, one.mean + half


def pairs_of(products: Sequence[PressProduct]) -> tuple[PressPair, ...]:
    """Hold products against each other, pair by pair, wherever both were read in the same way.

    Parameters
    ----------
    products : sequence of PressProduct
        Read on one rig.

    Returns
    -------
    tuple of PressPair
        Told apart after Holm's adjustment over all of them.
    """
    pairs = [pair for a, b in combinations(products, 2) for pair in _pairs(a, b)]
    adjusted = holm([pair.p for pair in pairs]).tolist() if pairs else []
    return tuple(
        replace(pair, p_adjusted=p, told_apart=bool(p < _TOLD)) for pair, p in zip(pairs, adjusted, strict=True)
    )


def _pairs(a: PressProduct, b: PressProduct) -> Iterator[PressPair]:
    others = {_way(group): group for group in b.groups}
    for group in a.groups:
        other = others.get(_way(group))
        if other is None:
            continue
        reason = _why_not(group, other)
        one = group.group
        empty = PressPair(
            a.product, b.product, group.quantity, one.orientation, one.direction, one.load_n, one.preload_n,
            len(group.balls), len(other.balls), math.nan, math.nan, math.nan, math.nan, math.nan, False, reason,
        )  # fmt: skip
        if reason:
            yield empty
            continue
        test = welch([mean for _, mean in group.balls], [mean for _, mean in other.balls])
        yield replace(empty, difference=test.difference, low=test.low, high=test.high, p=test.p)


def _way(found: PressGroupFound) -> tuple[str, str, str, float, float]:
    one = found.group
    return found.quantity, one.orientation, one.direction, one.load_n, one.preload_n


def _why_not(a: PressGroupFound, b: PressGroupFound) -> str:
    """Say why two groups are not compared; empty where they are."""
    if min(len(a.balls), len(b.balls)) < 2:
        return "one ball of a product says nothing of its scatter; read two at least"
    times = (*a.group.seconds, *b.group.seconds)
    if max(times) > _UNEVEN * min(times):
        return f"they were read {min(times):g} to {max(times):g} s after loading, so creep would be compared"
    return ""
