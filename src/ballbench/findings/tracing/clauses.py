"""What outlines say to clauses on form: beyond, within as far as photographed, or why it cannot be told."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ballbench.findings.form_clauses import FormClause
from ballbench.findings.tracing.results import BallOutline, PhotoOutline
from ballbench.form.circle import KINDS, Kind
from ballbench.specs import Clause

__all__ = ["circle_named", "clauses_of"]

_NAMES: dict[Kind, tuple[str, ...]] = {
    "least squares": ("least squares", "least-squares", "mean circle"),
    "minimum zone": ("minimum zone",),
    "minimum circumscribed": ("circumscribed",),
    "maximum inscribed": ("inscribed",),
}


def circle_named(text: str) -> Kind | None:
    """Give the reference circle that a clause names; None where it names none, or several."""
    words = text.casefold()
    found = [kind for kind in KINDS if any(name in words for name in _NAMES[kind])]
    return found[0] if len(found) == 1 else None


def clauses_of(balls: Sequence[BallOutline], clauses: Sequence[Clause], *, in_mm: bool) -> Iterator[FormClause]:
    """Say of each product and clause what can be told: never that a clause is met, for an outline is one of many.

    Parameters
    ----------
    balls : sequence of BallOutline
        With an outline.
    clauses : sequence of Clause
        On the form of an outline; those without an upper limit are left out.
    in_mm : bool
        Whether the outlines have a size.

    Yields
    ------
    FormClause
        Product by product.
    """
    for product in dict.fromkeys(ball.product for ball in balls):
        own = [ball for ball in balls if ball.product == product]
        for clause in clauses:
            if clause.readings[0].upper is not None:
                yield _clause(product, own, clause, in_mm=in_mm)


def _clause(product: str, balls: Sequence[BallOutline], clause: Clause, *, in_mm: bool) -> FormClause:
    first = clause.readings[0]
    limit = first.upper
    if limit is None:
        raise ValueError("a clause on form needs an upper limit; leave out those without")
    kind = circle_named(clause.text)
    reasons = list(_unfit(clause, kind, in_mm=in_mm))
    beyond: list[str] = []
    within = 0
    if not reasons and kind is not None:
        beyond = [ball.ball for ball in balls if any(_form(photo, kind)[0] > limit.value for photo in ball.photos)]
        inside = [ball for ball in balls if all(_form(photo, kind)[1] <= limit.value for photo in ball.photos)]
        within = len(inside)
        if not beyond and within < len(balls):
            floors = [_floor(photo, kind) for ball in balls for photo in ball.photos]
            reasons.append(
                "the edge's own noise is more than the limit"
                if min(floors) > limit.value
                else "the limit lies inside the interval of some ball"
            )
    return FormClause(
        product, clause.id, clause.text, limit, clause.source.seen, "cannot be told" if reasons else "told",
        tuple(beyond), within, len(balls), tuple(reasons),
    )  # fmt: skip


def _unfit(clause: Clause, kind: Kind | None, *, in_mm: bool) -> Iterator[str]:
    first = clause.readings[0]
    if clause.source.seen == "memory":
        yield "its limit is from memory only; look it up in the rule book"
    if kind is None:
        yield "the clause does not say by which reference circle form is meant"
    if first.sample != "each" or first.ball not in ("max", "mean") or first.allowed_outside or len(clause.readings) > 1:
        yield "the clause asks for more than the form of every single ball, which is all that outlines show"
    if not in_mm:
        yield "the photographs have no scale; say --scale or --diameter"


def _form(photo: PhotoOutline, kind: Kind) -> tuple[float, float]:
    return next((form.low, form.high) for form in photo.forms if form.kind == kind)


def _floor(photo: PhotoOutline, kind: Kind) -> float:
    return next(form.floor for form in photo.forms if form.kind == kind)
