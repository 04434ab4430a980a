"""From the shape of a requirement file to its meaning: units, inherited limits and sources, count rules."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

from ballbench.errors import Fault
from ballbench.quantities.kinds import KINDS
from ballbench.specs.amounts import AmountError, is_plain_unit, parse_limit, unit_of
from ballbench.specs.faults import quoted
from ballbench.specs.model import Clause, CountRule, Limit, Reading, Source
from ballbench.specs.shape import ClauseShape, CountShape, QuantityShape, RequirementShape, SourceShape

__all__ = ["assemble_clauses", "assemble_source", "unused_quantities"]

_NEEDS_A_DOCUMENT = ("official", "quoted", "paraphrased")
_ONLY_WITH_LIMITS = ("ball", "sample", "lower", "upper", "nominal", "strict", "allowed_outside", "variant")


def assemble_source(shape: SourceShape, where: str, faults: list[Fault]) -> Source:
    """Give the requirement's source; a grade that claims a document without naming one is a fault."""
    source = Source(shape.document, shape.clause, shape.seen, shape.note)
    _check_source(source, where, faults)
    return source


def assemble_clauses(
    shapes: Sequence[tuple[str, ClauseShape]],
    declared: Mapping[str, QuantityShape],
    source: Source,
    where: str,
    faults: list[Fault],
) -> tuple[Clause, ...]:
    """Give the clauses, and add everything that is wrong with them to `faults`.

    Parameters
    ----------
    shapes : sequence of (str, ClauseShape)
        The clauses whose shape is right, each with its place in words.
    declared : mapping of str to QuantityShape
        The file's further quantities.
    source : Source
        The requirement's.
    where : str
        The file's name.
    faults : list of Fault
        Grows.

    Returns
    -------
    tuple of Clause
        Complete only when no fault was added.
    """
    units = _base_units(shapes, declared, where, faults)
    counts = Counter(shape.id for _, shape in shapes)
    for name, times in counts.items():
        if times > 1:
            found = f'{times} clauses with the id "{name}"'
            faults.append(Fault(f"{where}, clause {name}, key id", found, "each id once", "rename all but one"))
    return tuple(_clause(place, shape, units[shape.quantity], source, faults) for place, shape in shapes)


def unused_quantities(shape: RequirementShape, where: str) -> list[Fault]:
    """Give a fault for every declared quantity that no clause uses: one of the two names is misspelt."""
    used = {clause.quantity for clause in shape.clause}
    return [
        Fault(
            f"{where}, key quantity.{name}",
            f'a quantity "{name}" that no clause uses',
            "quantities that a clause names",
            "remove it, or correct a clause's quantity",
        )
        for name in shape.quantity
        if name not in used
    ]


def _base_units(
    shapes: Sequence[tuple[str, ClauseShape]], declared: Mapping[str, QuantityShape], where: str, faults: list[Fault]
) -> dict[str, str]:
    """Give the unit of computation of every quantity: the trade's, the declared one, or the first limit's."""
    units = {name: kind.unit for name, kind in KINDS.items()}
    for name, quantity in declared.items():
        place = f"{where}, key quantity.{name}"
        if name in KINDS:
            allowed = f"{name} is known already, in {KINDS[name].unit}"
            faults.append(Fault(place, f'a declaration of "{name}"', allowed, "remove it, or choose another name"))
        elif not is_plain_unit(quantity.unit):
            allowed = 'a known unit, such as "kPa" or "%", or "1" for a pure number'
            faults.append(Fault(f"{place}.unit", quoted(quantity.unit), allowed, "correct the unit"))
        units.setdefault(name, quantity.unit)
    for _, shape in shapes:
        units.setdefault(shape.quantity, _first_unit(shape) or "1")
    return units


def _amounts(shape: ClauseShape) -> list[str]:
    """Give all amounts of a clause as written, the clause's own limits first."""
    own = [shape.lower, shape.upper, shape.nominal]
    return [text for text in [*own, *(t for v in shape.variant for t in (v.lower, v.upper))] if text]


def _first_unit(shape: ClauseShape) -> str | None:
    """Give the unit of the first amount that can be read."""
    return next((unit for unit in map(unit_of, _amounts(shape)) if unit is not None), None)


def _clause(place: str, shape: ClauseShape, base_unit: str, source: Source, faults: list[Fault]) -> Clause:
    own = _clause_source(place, shape, source, faults)
    unit = _first_unit(shape) or base_unit
    if shape.count is not None:
        readings: tuple[Reading, ...] = (Reading(shape.text, "mean", "each", None, None),)
        _check_count_alone(place, shape, faults)
    else:
        readings = _readings(place, shape, base_unit, faults)
    return Clause(
        id=shape.id,
        quantity=shape.quantity,
        unit=unit,
        base_unit=base_unit,
        readings=readings,
        source=own,
        count=None if shape.count is None else _count(place, shape.count, faults),
        nominal=_limit(f"{place}, key nominal", shape.nominal, base_unit, faults),
        conditions=dict(shape.conditions),
    )


def _clause_source(place: str, shape: ClauseShape, source: Source, faults: list[Fault]) -> Source:
    """Give the clause's source: document and grade of the requirement unless given, place and note its own."""
    if shape.source is None:
        return source
    own = shape.source
    document = source.document if own.document is None else own.document
    result = Source(document, own.clause, own.seen or source.seen, own.note)
    _check_source(result, place, faults)
    return result


def _check_source(source: Source, place: str, faults: list[Fault]) -> None:
    if source.seen in _NEEDS_A_DOCUMENT and not source.document.strip():
        found = f'seen = "{source.seen}" and no document'
        todo = "name the document, or grade it memory, practice or own"
        faults.append(Fault(f"{place}, key source.document", found, "a document for that grade", todo))


def _check_count_alone(place: str, shape: ClauseShape, faults: list[Fault]) -> None:
    """Refuse limits, reductions or variants in a clause on yes/no results."""
    given = [key for key in _ONLY_WITH_LIMITS if key in shape.model_fields_set]
    if given:
        found = "count together with " + ", ".join(given)
        todo = "keep count, or keep the limits"
        faults.append(Fault(f"{place}, key count", found, "count alone, or limits without count", todo))


def _count(place: str, shape: CountShape, faults: list[Fault]) -> CountRule:
    answer = shape.answer in {"yes", "passed"}
    limited = shape.at_least is not None or shape.at_most is not None
    if limited != (shape.out_of is not None):
        found = "at_least or at_most without out_of" if limited else "out_of without at_least or at_most"
        allowed = "answer alone (every ball must give it), or out_of with at_least, at_most or both"
        faults.append(Fault(f"{place}, key count", found, allowed, "add what is missing, or keep answer alone"))
    return CountRule(answer, shape.at_least, shape.at_most, shape.out_of)


def _readings(place: str, shape: ClauseShape, base_unit: str, faults: list[Fault]) -> tuple[Reading, ...]:
    """Give the clause as it stands, then its variants; a variant has from the clause what it does not set."""
    for key in ("ball", "sample"):
        if getattr(shape, key) is None:
            allowed = "how readings become one number, such as " + ("max" if key == "ball" else "each")
            faults.append(Fault(f"{place}, key {key}", f'no key "{key}"', allowed, f"add {key} = ..."))
    limits: dict[tuple[str, str | None], Limit | None] = {}
    readings = []
    for number, variant in enumerate((None, *shape.variant)):
        spot = place if variant is None else f"{place}, variant {number}"
        merged = shape if variant is None else shape.model_copy(update=variant.model_dump(exclude_unset=True))
        for key, text in (("lower", merged.lower), ("upper", merged.upper)):
            if (key, text) not in limits:  # an inherited limit is read, and its fault reported, once
                limits[key, text] = _limit(f"{spot}, key {key}", text, base_unit, faults)
        _check_reading(spot, merged, faults)
        readings.append(_reading(merged, limits["lower", merged.lower], limits["upper", merged.upper]))
    return tuple(readings)


def _reading(shape: ClauseShape, lower: Limit | None, upper: Limit | None) -> Reading:
    return Reading(
        text=shape.text,
        ball=shape.ball or "mean",
        sample=shape.sample or "each",
        lower=lower,
        upper=upper,
        strict=bool(shape.strict),
        allowed_outside=shape.allowed_outside or 0,
    )


def _check_reading(place: str, shape: ClauseShape, faults: list[Fault]) -> None:
    """Refuse a reading without limit or nominal value, and balls outside where no single ball is judged."""
    if not (shape.lower or shape.upper or shape.nominal):
        allowed = "at least one of lower, upper, nominal or count"
        faults.append(Fault(place, "no limit at all", allowed, "add the limit that the text gives"))
    if shape.allowed_outside and shape.sample != "each":
        found = f'allowed_outside = {shape.allowed_outside} with sample = "{shape.sample}"'
        todo = "remove allowed_outside, or judge each ball"
        faults.append(Fault(f"{place}, key allowed_outside", found, 'balls outside only with sample = "each"', todo))


def _limit(place: str, text: str | None, base_unit: str, faults: list[Fault]) -> Limit | None:
    """Give a limit; None where there is none or, with a fault added, where it cannot be read."""
    if not text:
        return None
    try:
        return parse_limit(text, base_unit)
    except AmountError as error:
        faults.append(Fault(place, quoted(text), error.allowed, error.todo))
        return None
