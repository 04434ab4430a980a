"""What is planned and what it may meet: a design, the true balls, and the terms on which a test is judged."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from ballbench.errors import BadRequest, Fault
from ballbench.findings.deciding import Rule
from ballbench.findings.settling import MINUTES_A_READING
from ballbench.findings.testable import why_not_tested
from ballbench.records import Bench, Instrument, Sample, instrument_of
from ballbench.specs import Clause, Requirement

__all__ = ["Design", "Kit", "Terms", "TruthAt", "balls_in_question", "testable_clauses"]

NAME = "planned"
"""Product of a simulated test; a squeeze of the bench is that of the product of this name, unless terms say another."""


@dataclass(frozen=True, slots=True)
class Design:
    """How a test is laid out.

    Parameters
    ----------
    balls, axes, repeats : int
        Balls of a make, places read on each, readings of each place.
    named : bool
        The places carry names (seam, across, ...), so that what is common to a place is estimated and taken out.

    Raises
    ------
    BadRequest
        A count below 1; all of them at once.
    """

    balls: int
    axes: int
    repeats: int = 1
    named: bool = True

    def __post_init__(self) -> None:
        """Refuse counts below 1."""
        faults = [
            Fault(f"design, {name}", str(value), "a whole number from 1", f"give the {name} that you mean to read")
            for name, value in (("balls", self.balls), ("axes", self.axes), ("repeats", self.repeats))
            if value < 1
        ]
        if faults:
            raise BadRequest(faults)

    @property
    def readings(self) -> int:
        """Readings in all."""
        return self.balls * self.axes * self.repeats

    @property
    def minutes(self) -> float:
        """Minutes at the bench, a quarter of a minute a reading."""
        return self.readings * MINUTES_A_READING


@dataclass(frozen=True, slots=True)
class TruthAt:
    """The make that a test meets, in the base unit of the quantity, at the requirement's reference conditions.

    Parameters
    ----------
    mean : float
        Of the make.
    sd : float
        Between the balls' levels; 0 or more.
    form_sd : float
        Between the places of a ball, median over the balls; 0 or more.
    form_spread : float
        SD of the natural logarithm of the balls' form SDs; 0: all balls are alike.

    Raises
    ------
    BadRequest
        A number that is not finite, or a negative SD; all of them at once.
    """

    mean: float
    sd: float
    form_sd: float = 0.0
    form_spread: float = 0.0

    def __post_init__(self) -> None:
        """Refuse what no balls can have."""
        faults = []
        if not math.isfinite(self.mean):
            faults.append(Fault("true mean", str(self.mean), "a finite number", "give the mean of the make"))
        for name, value in (("sd", self.sd), ("form sd", self.form_sd), ("form spread", self.form_spread)):
            if not (math.isfinite(value) and value >= 0.0):
                faults.append(Fault(f"true {name}", str(value), "a finite number from 0", "give 0 for none"))
        if faults:
            raise BadRequest(faults)


@dataclass(frozen=True, slots=True)
class Kit:
    """What a quantity is read with.

    Parameters
    ----------
    quantity : str
        What is read.
    bench : Bench
        Complete for the quantity.
    instrument : str
        Which instrument of the bench; empty: the only one for the quantity.
    """

    quantity: str
    bench: Bench
    instrument: str = ""

    @property
    def tool(self) -> Instrument:
        """The instrument of the planned readings."""
        return instrument_of(self.bench, self.quantity, self.instrument)

    def with_tool(self, **changes: Any) -> Kit:
        """The same kit with the instrument changed."""
        tool = self.tool
        changed = {
            name: replace(old, **changes) if old is tool else old for name, old in self.bench.instruments.items()
        }
        return replace(self, bench=replace(self.bench, instruments=changed))


@dataclass(frozen=True, slots=True)
class Terms:
    """On what terms a planned test is judged.

    Parameters
    ----------
    requirement : Requirement
        Its clauses on the kit's quantity are judged; conditions that the bench does not state are taken to hold.
    kit : Kit
        What the balls are read with.
    rule : Rule
        The decision rule.
    product : str
        The make's name where the bench states its squeeze.
    accept_unverified : bool
        Limits seen only in memory may decide.
    in_question : int
        Balls that a right answer is about, the same for all designs of a plan, where the requirement names no number;
        0: those that the design reads.
    """

    requirement: Requirement
    kit: Kit
    rule: Rule = field(default_factory=Rule)
    product: str = NAME
    accept_unverified: bool = False
    in_question: int = 0


def balls_in_question(terms: Terms, design: Design) -> int:
    """Say how many balls a right answer is about: the requirement's sample, else those of the plan or the design."""
    return terms.requirement.sample_size or terms.in_question or design.balls


def testable_clauses(terms: Terms, design: Design, example: Sample) -> tuple[Requirement, dict[str, str]]:
    """Cut the requirement down to what the design can test, and say why its other clauses on the quantity cannot be.

    Parameters
    ----------
    terms, design
        What is planned.
    example : Sample
        A sample of the design, all readings at the true mean.

    Returns
    -------
    requirement, left_out
        Conditions that the bench does not state are removed from the clauses. `left_out` maps clause to reason.

    Raises
    ------
    BadRequest
        No clause on the quantity can be tested; every reason is given.
    """
    kept: list[Clause] = []
    left_out: dict[str, str] = {}
    for clause in terms.requirement.clauses:
        if clause.quantity != terms.kit.quantity:
            continue
        stated = {k: v for k, v in clause.conditions.items() if k in terms.kit.bench.conditions}
        clause = replace(clause, conditions=stated)  # noqa: PLW2901 - the clause as it is judged here
        reason = why_not_tested(
            clause, example, terms.kit.bench, {},
            accept_unverified=terms.accept_unverified, answered=0, sample_size=terms.requirement.sample_size,
        )  # fmt: skip
        if reason is None:
            kept.append(clause)
        else:
            left_out[clause.id] = reason
    if not kept:
        raise BadRequest(_nothing(terms, left_out, design))
    return replace(terms.requirement, clauses=tuple(kept)), left_out


def _nothing(terms: Terms, left_out: dict[str, str], design: Design) -> list[Fault]:
    """Say why a plan has nothing to judge."""
    where = f"{terms.requirement.id}, {terms.kit.quantity}"
    if not left_out:
        quantities = sorted({clause.quantity for clause in terms.requirement.clauses})
        return [
            Fault(where, "no clause on this quantity", f"one of {', '.join(quantities)}", "choose another quantity")
        ]
    found = f"{design.balls} balls, {design.axes} axes"
    return [Fault(f"{where}, {name}", found, "a design that the clause can be tested with", reason)
            for name, reason in left_out.items()]  # fmt: skip


def example_values(truth: TruthAt, design: Design) -> np.ndarray:
    """Readings that all equal the true mean, (n, k, r)."""
    return np.full((design.balls, design.axes, design.repeats), truth.mean)
