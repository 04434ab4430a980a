"""Files in: readings, bench, corrections, ball facts, with the plausibility gate between them and any result."""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from ballbench.errors import BadReadings, Fault
from ballbench.findings.cautions import cautions_for
from ballbench.records import (
    CORRECTION_COLUMNS,
    Amended,
    Amendment,
    BallFact,
    Bench,
    Query,
    Readings,
    amend,
    bench_for,
    plausibility_queries,
    read_balls,
    read_bench,
    read_corrections,
    read_readings,
    unanswered,
)
from ballbench.specs import Requirement

__all__ = ["CONDITIONS", "TakenIn", "take_in"]

CONDITIONS = {
    "conditioned_h": ("conditioned", "h"),
    "pressure_kpa": ("pressure", "kPa"),
    "temperature_c": ("temperature", "degC"),
    "impacts": ("impacts", ""),
}
"""From a fact of a ball to the name of the condition that a clause asks for, and its unit."""


@dataclass(frozen=True, slots=True)
class TakenIn:
    """Everything that was read in, ready for judging.

    Parameters
    ----------
    readings : Readings
        After corrections and exclusions.
    first_written : Readings
        Before them.
    bench : Bench
        Complete for every instrument that the readings name.
    facts : mapping of str to mapping of str to str
        For each product the facts that all of its balls share, by condition name.
    excluded, corrected, spoiled : mapping of str to int
        Counts by product.
    questions : tuple of str
        What the plausibility gate asks and nobody answered.
    queried : mapping of str to tuple of str
        For each product the readings asked about, in few words.
    amendments : tuple of str
        Corrections and exclusions in words, each with its reason.
    """

    readings: Readings
    first_written: Readings
    bench: Bench
    facts: Mapping[str, Mapping[str, str]]
    excluded: Mapping[str, int]
    corrected: Mapping[str, int]
    spoiled: Mapping[str, int]
    questions: tuple[str, ...]
    queried: Mapping[str, tuple[str, ...]]
    amendments: tuple[str, ...]

    def cautions(self, requirement: Requirement | None) -> tuple[str, ...]:
        """Safety first, then the standing of such a result."""
        quantities = self.readings.table["quantity"].unique(maintain_order=True).to_list()
        return cautions_for(requirement, quantities)


def take_in(
    readings: Path,
    bench: Path | None,
    corrections: Path | None,
    balls: Path | None,
    requirement: Requirement | None,
) -> TakenIn:
    """Read all files, put the corrections in, and ask about what looks mistyped.

    Raises
    ------
    BadInput
        A file cannot be used, or a reading is so far off (lost decimal point, wrong unit, entered twice) that no
        result can stand before it is answered.
    """
    declared = {c.quantity: c.base_unit for c in requirement.clauses} if requirement is not None else {}
    first = read_readings(readings, declared)
    queries = plausibility_queries(first)
    amended = Amended(first, (), (), ())
    if corrections is not None:
        lines = read_corrections(corrections)
        amended = amend(first, lines)
        queries = unanswered(queries, lines)
    gross = [query for query in queries if query.gross]
    if gross:
        raise BadReadings([_as_fault(readings, query) for query in gross])
    return TakenIn(
        amended.readings, first,
        bench_for(amended.readings, read_bench(bench, declared) if bench is not None else None),
        _shared_facts(balls, amended.readings),
        Counter(a.product for a in amended.excluded), Counter(a.product for a in amended.corrected),
        _spoiled(first),
        tuple(_question(query) for query in queries),
        _queried(queries),
        (
            *_amended("corrected", amended.corrected), *_amended("excluded", amended.excluded),
            *_amended("kept as read", amended.kept),
        ),
    )  # fmt: skip


def _as_fault(file: Path, query: Query) -> Fault:
    return Fault(
        f"{file.name}, line {query.line}",
        f"{query.product} ball {query.ball} {query.quantity} {query.value:g} ({query.why})",
        "a reading that can be true of this ball",
        f"answer it in a corrections file (--corrections) with the line {_signed(query.suggestion)}",
    )


def _signed(suggestion: str) -> str:
    """Put words where the person has to write: the reason, and who says so."""
    cells = next(csv.reader([suggestion]))
    places = {name: i for i, name in enumerate(CORRECTION_COLUMNS)}
    cells[places["reason"]], cells[places["by"]] = "REASON", "NAME"
    line = io.StringIO()
    csv.writer(line, lineterminator="").writerow(cells)
    return line.getvalue()


def _queried(queries: Sequence[Query]) -> dict[str, tuple[str, ...]]:
    """Name the queried readings of each product in few words."""
    out: dict[str, tuple[str, ...]] = {}
    for q in queries:
        place = f" {q.axis}" if q.axis else ""
        words = f"ball {q.ball}{place} {q.quantity} {q.value:g}, line {q.line}"
        out[q.product] = (*out.get(q.product, ()), words)
    return out


def _question(query: Query) -> str:
    place = f" {query.axis}" if query.axis else ""
    return (
        f"line {query.line}: {query.product} ball {query.ball}{place} {query.quantity} {query.value:g}: {query.why}; "
        f"kept as read unless answered by a corrections line such as {_signed(query.suggestion)}"
    )


def _amended(kind: str, rows: Sequence[Amendment]) -> list[str]:
    """Corrections, exclusions or kept readings in words, each with its reason."""
    out = []
    for a in rows:
        place = f" {a.axis}" if a.axis else ""
        done = f"corrected from {_written(a.before)} to {_written(a.after)}" if kind == "corrected" else kind
        by = f" ({a.by})" if a.by else ""
        out.append(f"{a.product} ball {a.ball}{place} {a.quantity}: {done}; reason: {a.reason}{by}")
    return out


def _written(value: float | bool | None) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "nothing" if value is None else f"{value:g}"


def _spoiled(readings: Readings) -> Counter[str]:
    count: Counter[str] = Counter()
    for row in readings.spoiled:
        count[row.product] += row.count
    return count


def _shared_facts(balls: Path | None, readings: Readings) -> dict[str, dict[str, str]]:
    """Facts on which all balls of a product agree."""
    if balls is None:
        return {}
    facts = read_balls(balls)
    pairs = readings.table.select("product", "box", "ball").unique(maintain_order=True).rows()
    known: dict[str, list[BallFact]] = {}
    for product, box, ball in pairs:
        known.setdefault(product, []).append(facts.facts_of(product, box, ball))
    return {product: _agreed(rows) for product, rows in known.items()}


def _agreed(known: Sequence[BallFact]) -> dict[str, str]:
    """Give facts that every ball has with one value, as conditions with units."""
    agreed: dict[str, str] = {}
    for attribute, (condition, unit) in CONDITIONS.items():
        values = {getattr(fact, attribute) for fact in known}
        if len(values) == 1 and None not in values:
            agreed[condition] = f"{values.pop():g} {unit}".strip()
    return agreed
