"""From indications in vees to the form of each ball, and to what a clause on form can be told."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from ballbench.findings.form_clauses import FormClause
from ballbench.findings.vee.noise import Floors, Noise, floors_by, looks_of, noise_in
from ballbench.findings.vee.results import BallForm, SectionForm, VeeProduct, VeeUsed
from ballbench.form.vee_block import PLAUSIBLE, LobeForm, VeeForm, VeeReading, forms_together
from ballbench.quantities.uncertain import Uncertain
from ballbench.records.vee_readings import VeeRow
from ballbench.specs import Clause
from ballbench.statistics.normal_range import d2

__all__ = ["ANGLE_U", "clauses_of", "products_of"]

ANGLE_U = 0.5
"""Standard uncertainty of an angle where none is stated, degrees: a protractor's (own choice); a flat table has 0."""


def products_of(rows: Sequence[VeeRow], noise: Noise, lobes: int, rng: np.random.Generator) -> tuple[VeeProduct, ...]:
    """Give the forms of all balls, product by product.

    Parameters
    ----------
    rows : sequence of VeeRow
        As read.
    noise : Noise
        From `noise_of`.
    lobes : int
        Crests that hold for every ball; 0: those of the rows, else those thought possible.
    rng : numpy.random.Generator
        Seeded by the caller.

    Returns
    -------
    tuple of VeeProduct
        In the order of the rows.

    Raises
    ------
    BadRequest
        A number of lobes that cannot be.
    """
    floors = floors_by(rng)
    names = dict.fromkeys(row.product for row in rows)
    return tuple(_product(name, [row for row in rows if row.product == name], noise, lobes, floors) for name in names)


def _product(name: str, rows: Sequence[VeeRow], noise: Noise, lobes: int, floors: Floors) -> VeeProduct:
    balls = tuple(
        _ball(ball, [row for row in rows if row.ball == ball], noise, lobes, floors)
        for ball in dict.fromkeys(row.ball for row in rows)
    )
    ends = np.array([(ball.low, ball.high) for ball in balls if math.isfinite(ball.high)]).reshape(-1, 2)
    unknown = (math.nan, math.nan)
    median_low, median_high = np.median(ends, axis=0).tolist() if len(ends) else unknown
    largest_low, largest_high = np.max(ends, axis=0).tolist() if len(ends) else unknown
    sections = [(ball.ball, section) for ball in balls for section in ball.sections]
    return VeeProduct(
        name, balls, len(ends), median_low, median_high, largest_low, largest_high,
        sum(all(section.lobes for section in ball.sections) for ball in balls),
        tuple(dict.fromkeys(ball for ball, section in sections if section.lobes % 2 and section.told_from_round)),
        tuple(sorted({n for _, section in sections for n in section.blind})),
    )  # fmt: skip


def _ball(name: str, rows: Sequence[VeeRow], noise: Noise, lobes: int, floors: Floors) -> BallForm:
    sections = tuple(
        _section(section, [row for row in rows if row.section == section], noise, lobes, floors)
        for section in dict.fromkeys(row.section for row in rows)
    )
    known = [section for section in sections if math.isfinite(section.high)]
    low = max((section.low for section in known), default=math.nan)
    return BallForm(name, sections, low, max((section.high for section in known), default=math.nan))


def _section(name: str, rows: Sequence[VeeRow], noise: Noise, lobes: int, floors: Floors) -> SectionForm:
    used, readings = [], []
    keys = sorted({(row.angle, row.setting) for row in rows})
    for angle, setting in keys:
        vee, reading = _vee(
            [row for row in rows if (row.angle, row.setting) == (angle, setting)], noise, len(keys), floors
        )
        used.append(vee)
        readings.append(reading)
    known = lobes or max(row.lobes for row in rows)
    found = forms_together(readings, (known,) if known else PLAUSIBLE)
    told = any(vee.range > vee.floor for vee in used)
    left = [item for item in found.by_lobes if item.agrees and item.form is not None]
    one = left[0] if len(left) == 1 and not found.blind else None
    form = one.form if one is not None and one.form is not None else None
    notes = _notes(found, told=told, one=one is not None)
    return SectionForm(
        name, tuple(used), known, found.by_lobes, found.low if told else _none_of(found.low), found.high,
        _beyond_noise(left, used), math.nan if form is None else form.value, math.nan if form is None else form.u,
        0 if one is None else one.lobes, found.blind, _form_floor(left, used), told, notes,
    )  # fmt: skip


def _none_of(low: float) -> float:
    """Give 0, and NaN where nothing fits."""
    return 0.0 if math.isfinite(low) else low


def _vee(rows: Sequence[VeeRow], noise: Noise, vees: int, floors: Floors) -> tuple[VeeUsed, VeeReading]:
    """Put the turns of one section in one of so many vees together, what noise adds to a range reckoned in."""
    one, step = rows[0], max(row.step for row in rows)
    looks = looks_of(rows)
    seen = noise_in(rows, noise, looks)
    value = float(np.mean([row.high - row.low for row in rows]))
    added = min(d2(looks) * seen.largest, value)
    known = [row.angle_u for row in rows if math.isfinite(row.angle_u)]
    angle_u = max(known) if known else 0.0 if one.angle == 180.0 else ANGLE_U
    floor = floors(looks, seen, step, vees)
    cleared = Uncertain(value - added / 2.0, math.hypot(seen.u, added / math.sqrt(12.0)), seen.dof, "mm")
    reading = VeeReading(cleared, Uncertain(one.angle, angle_u, unit="deg"), one.setting)
    return VeeUsed(one.angle, angle_u, one.setting, value, added, cleared.u, len(rows), floor), reading


def _floor(item: LobeForm, used: Sequence[VeeUsed], beside: float = 0.0) -> float:
    """Give the form that noise makes of a round ball, at one number of lobes, by the vee that shows it best.

    `beside`: the share of what noise adds that was taken off the range already.
    """
    return min(
        (vee.floor - beside * vee.added) / factor
        for vee, factor in zip(used, item.factors, strict=True)
        if factor > 0.0
    )


def _form_floor(left: Sequence[LobeForm], used: Sequence[VeeUsed]) -> float:
    """Give the form that noise alone makes of a round ball, whichever of the lobes that are left it is."""
    return max((_floor(item, used) for item in left), default=math.nan)


def _beyond_noise(left: Sequence[LobeForm], used: Sequence[VeeUsed]) -> float:
    """Give the form that is there even if noise added as much as it may; half of what it adds is off already."""
    sure = [
        item.form.value - item.form.expanded() - _floor(item, used, beside=0.5)
        for item in left
        if item.form is not None
    ]
    return max(min(sure), 0.0) if sure else math.nan


def _notes(found: VeeForm, *, told: bool, one: bool) -> tuple[str, ...]:
    """Give what a reader must know; that the lobes are not known is no longer true where one number is left."""
    own = found.notes[1:] if one and len(found.by_lobes) > 1 else found.notes
    if told:
        return own
    return ("The indicator moved no more than its own noise may: it cannot be told from a round ball.", *own)


# Clauses --------------------------------------------------------------------------------------------------------------


def clauses_of(products: Sequence[VeeProduct], clauses: Sequence[Clause]) -> Iterator[FormClause]:
    """Say of each product and clause what can be told: never that a clause is met, of one vee least of all.

    Parameters
    ----------
    products : sequence of VeeProduct
        With their balls.
    clauses : sequence of Clause
        On form; one without an upper limit is left out, since it cannot be about how round a ball is.

    Yields
    ------
    FormClause
        Product by product.
    """
    for product in products:
        for clause in clauses:
            if clause.readings[0].upper is not None:
                yield _clause(product, clause)


def _clause(product: VeeProduct, clause: Clause) -> FormClause:
    first = clause.readings[0]
    if first.upper is None:
        raise ValueError("a clause on form needs an upper limit; leave out those without")
    limit = first.upper
    reasons = []
    if clause.source.seen == "memory":
        reasons.append("its limit is from memory only; look it up in the rule book")
    if first.sample != "each" or first.ball not in ("max", "mean") or first.allowed_outside or len(clause.readings) > 1:
        reasons.append("the clause asks for more than the form of every single ball, which is all that a vee bounds")
    beyond, within = [], 0
    if not reasons:
        beyond = [ball.ball for ball in product.balls if any(one.beyond_noise > limit.value for one in ball.sections)]
        inside = [ball for ball in product.balls if _within(ball, limit.value)]
        within = len(inside)
        if not beyond:
            left = [ball for ball in product.balls if ball not in inside]
            reasons += dict.fromkeys(reason for ball in left for reason in _why_not(ball, limit.value))
    return FormClause(
        product.product, clause.id, clause.text, limit, clause.source.seen,
        "cannot be told" if reasons else "told", tuple(beyond), within, len(product.balls), tuple(reasons),
    )  # fmt: skip


def _within(ball: BallForm, limit: float) -> bool:
    return ball.high <= limit and all(len(one.vees) > 1 and not one.blind and not _unfit(one) for one in ball.sections)


def _unfit(section: SectionForm) -> bool:
    return not any(item.agrees and item.form is not None for item in section.by_lobes)


def _why_not(ball: BallForm, limit: float) -> Iterator[str]:
    """Say why a ball can be called neither beyond nor within."""
    for one in ball.sections:
        if _unfit(one):
            yield "no single number of lobes explains the readings of some ball"
        elif one.floor > limit:
            yield "the indicator's own noise is more than the limit"
        elif one.high > limit:
            yield "the limit lies inside the band of some ball, noise reckoned in"
        if one.blind:
            yield f"the vee is blind to {', '.join(map(str, one.blind))} lobes"
        if len(one.vees) < 2:
            yield "one vee alone never shows that a ball is round enough"
