"""Listing, showing and checking requirements."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from ballbench.presentation.requirement_view import Checked, ClauseLine, RequirementPage
from ballbench.specs import Reading, Requirement, catalogue_ids, find_requirement
from ballbench.specs.checking import check_requirement_files

__all__ = ["check", "overview", "show", "shown"]


def overview() -> tuple[RequirementPage, ...]:
    """Give every requirement of the catalogue."""
    return tuple(show(identity) for identity in catalogue_ids())


def show(spec: str) -> RequirementPage:
    """Give one requirement, by id or path.

    Raises
    ------
    BadInput
        There is none of that name, or its file cannot be used.
    """
    return shown(find_requirement(spec))


def shown(requirement: Requirement) -> RequirementPage:
    """Put a requirement in words."""
    return RequirementPage(
        requirement.id, requirement.sport, requirement.title, requirement.edition, _source(requirement),
        requirement.sample_size, tuple(_line(requirement, i) for i in range(len(requirement.clauses))),
        requirement.notes, requirement.cautions,
    )  # fmt: skip


def check(path: Path) -> tuple[Checked, ...]:
    """Load and lint one file, or every file of a folder.

    Raises
    ------
    BadRequest
        There is nothing to check.
    """
    out = []
    for name, result, remarks in check_requirement_files(path):
        faults = tuple(str(f) for f in result.faults) if not isinstance(result, Requirement) else ()
        out.append(Checked(name, faults, tuple(f"{r.clause}: {r.what}; {r.todo}" for r in remarks)))
    return tuple(out)


def _source(requirement: Requirement) -> str:
    return f"{requirement.source.place} ({requirement.source.seen})"


def _line(requirement: Requirement, index: int) -> ClauseLine:
    clause = requirement.clauses[index]
    if clause.count is not None:
        held = _counted(clause.count.answer, clause.count.at_least, clause.count.at_most, clause.count.out_of)
    elif clause.decides:
        held = _held(clause.quantity, clause.readings[0])
    else:
        nominal = clause.nominal
        held = f"names {nominal.text} {nominal.unit} without a tolerance" if nominal else "no limit"
    return ClauseLine(
        clause.id, clause.text, held, clause.source.seen,
        ", ".join(p for p in (clause.source.document, clause.source.clause, clause.source.note) if p),
        _conditions(clause.conditions.items()), tuple(_held(clause.quantity, r) for r in clause.readings[1:]),
    )  # fmt: skip


def _conditions(pairs: Iterable[tuple[str, str]]) -> str:
    return ", ".join(f"{name.replace('_', ' ')} {value}" for name, value in pairs)


def _counted(answer: bool, at_least: int | None, at_most: int | None, out_of: int | None) -> str:
    word = "yes" if answer else "no"
    if out_of is None:
        return f"every ball: {word}"
    parts = [
        f"at least {at_least}" if at_least is not None else "",
        f"at most {at_most}" if at_most is not None else "",
    ]
    return f"{word} {' and '.join(p for p in parts if p)} times in {out_of}"


def _held(quantity: str, reading: Reading) -> str:
    """What is held against which limits, in words."""
    who = {"each": "each ball", "sd": "standard deviation over the balls"}.get(
        reading.sample, f"{reading.sample} over the balls"
    )
    limits = []
    if reading.lower is not None:
        limits.append(f"{'more than' if reading.strict else 'at least'} {reading.lower.text} {reading.lower.unit}")
    if reading.upper is not None:
        limits.append(f"{'less than' if reading.strict else 'at most'} {reading.upper.text} {reading.upper.unit}")
    allowed = f"; {reading.allowed_outside} may be outside" if reading.allowed_outside else ""
    return f"{reading.ball} {quantity.replace('_', ' ')} of a ball, {who}: {' and '.join(limits)}{allowed}"
