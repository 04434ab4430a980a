"""What single sections of a ball can say to a clause on form, and the limits of clauses in words."""

from __future__ import annotations

import pytest

from ballbench.findings.form_clauses import FormClause, form_clause_sentence, form_clauses
from ballbench.findings.limit_words import allowed_words
from ballbench.specs import Limit, find_requirement


def said(outcome: str, *beyond: str, reasons: tuple[str, ...] = ()) -> str:
    """Say a clause of at most 0.05 mm to two balls."""
    limit = Limit("0.05", "mm", 0.05)
    clause = FormClause("Plover", "form", "Text.", limit, "official", outcome, beyond, 2, 2, reasons)  # type: ignore[arg-type]
    return form_clause_sentence(clause, "sections that were read", beyond=", as it is", within=", if so")


def test_no_section_alone_is_a_pass() -> None:
    """Balls within are told for what was read and never called a pass; those beyond are named."""
    within = said("told")
    assert within.startswith("Plover, at most 0.05 mm: told for the sections that were read: 2 balls within it, if so.")
    assert within.endswith("this is no pass.")
    assert said("told", "03") == "Plover, at most 0.05 mm: told: ball 03 is beyond it, as it is."
    assert said("told", "03", "07") == "Plover, at most 0.05 mm: told: balls 03, 07 are beyond it, as it is."
    assert said("cannot be told", reasons=("one", "two")) == "Plover, at most 0.05 mm: cannot be told: one; two."


@pytest.mark.parametrize(("requirement", "count"), [("bearing-g100", 1), ("golf", 0)])
def test_clauses_on_form_are_picked_out(requirement: str, count: int) -> None:
    """A grade of bearing balls limits the form of a ball (ISO 3290-1); the rules of golf do not."""
    assert len(form_clauses(find_requirement(requirement).clauses)) == count


def test_limits_are_said_side_by_side() -> None:
    """Both sides, one, none; a pure number has no unit, and a minus is a true one."""
    low, high, pure = Limit("-5", "mm", -5.0), Limit("5", "mm", 5.0), Limit("0.90", "1", 0.9)
    assert allowed_words(low, high) == "at least \u22125 mm and at most 5 mm"
    assert allowed_words(None, pure) == "at most 0.90"
    assert allowed_words(None, None) == ""
