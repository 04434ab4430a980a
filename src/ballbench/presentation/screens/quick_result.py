"""What a quick check says, and the slip that is printed of it."""

from __future__ import annotations

from dataclasses import dataclass, replace

from ballbench.findings.results import ClauseFinding, Findings, ProductFinding
from ballbench.presentation.document import Figure
from ballbench.presentation.numbers import measured, percent, with_unit
from ballbench.presentation.report_tables import caption, strip_figure
from ballbench.presentation.screens.frame import page
from ballbench.presentation.screens.writing import write
from ballbench.presentation.wording import (
    INVENTED,
    as_read_text,
    as_sentence,
    clause_title,
    decision_rule_sentences,
    decision_word,
    edition_words,
    limits_words,
    quantity_words,
    seen_words,
    settle_sentence,
    thresholds,
)

__all__ = ["QuickReading", "QuickResult", "quick_result_html"]

_STANDING = (
    "This slip says what was read at the table and how sure that is. It is neither a ruling nor an approval: the "
    "competition's referee decides here, and beyond that the governing body's current text and the laboratories that "
    "it accredits."
)


@dataclass(frozen=True, slots=True)
class QuickReading:
    """One reading: where on the ball (may be empty), and the number as it was typed, with a decimal point."""

    axis: str
    text: str


@dataclass(frozen=True, slots=True)
class QuickResult:
    """A quick check and what it says. Filled by ``workflows/quick_check.py``.

    Parameters
    ----------
    id : int
        In the notebook; the slip's number.
    at, by : str
        When (ISO 8601 with zone) and by whom.
    ball : str
        Its name.
    quantity, unit : str
        Canonical name, and the unit of the display.
    readings : tuple of QuickReading
        In the order in which they were typed.
    instrument : str
        What it was read with and what was known or taken for granted of it, in words.
    conditions : tuple of (str, str)
        Names and values of what is known of the room and the ball; may be empty.
    note : str
        As typed; may be empty.
    findings : Findings
        The judgement of this one ball by the guarded rule: one product, with the clauses of this quantity on a single
        ball.
    """

    id: int
    at: str
    by: str
    ball: str
    quantity: str
    unit: str
    readings: tuple[QuickReading, ...]
    instrument: str
    conditions: tuple[tuple[str, str], ...]
    note: str
    findings: Findings


def quick_result_html(data: QuickResult) -> str:
    """Write the result of a quick check; printed, it is a slip of A5."""
    findings = data.findings
    product = findings.products[0]
    asked = [clause for clause in product.clauses if clause.quantity == data.quantity]
    tested = [clause for clause in asked if clause.decision != "not tested"]
    body = write(
        "quick_result.html.j2",
        data=data,
        findings=findings,
        edition=edition_words(findings.requirement.edition, start=True),
        decision=product.decision,
        certainty=_certainty(product, findings.deciding_risk),
        clauses=[_clause(clause, findings) for clause in tested],
        untested=[
            f"{clause.text} {' '.join(map(as_sentence, clause.notes))}" for clause in asked if clause not in tested
        ],
        quantity=quantity_words(data.quantity),
        rule=decision_rule_sentences(findings)[0],
        standing=_STANDING,
    )
    banner = INVENTED if findings.footing.invented else ""
    return page(
        f"Quick check of {data.ball}", body, here="quick-result", banner=banner, script="slip.js", style="slip.css"
    )


def _certainty(product: ProductFinding, risk: float) -> str:
    """How sure the decision is; empty where nothing could be tested, or by the simple rule."""
    if product.probability_met is None:
        return ""
    every = "every tested clause" if product.tested > 1 else "the tested clause"
    return f"This ball meets {every} with a chance of {percent(product.probability_met, thresholds(risk))}."


def _value(clause: ClauseFinding, risk: float) -> str:
    """What this ball is; `value_sentence` speaks of several."""
    if clause.truth is None:
        return ""
    said = f"This ball: {measured(clause.truth, clause.unit, (clause.lower, clause.upper))}"
    if clause.probability_met is None:
        return f"{said}."
    return f"{said}; inside with {percent(clause.probability_met, thresholds(risk))}."


def _strip(clause: ClauseFinding, findings: Findings) -> Figure | None:
    figure = strip_figure(clause, 1, findings.deciding_risk, invented=findings.footing.invented)
    if figure is None:
        return None
    return replace(
        figure, caption=caption("Band: allowed. Bar and ball: this ball, 95 %.", invented=findings.footing.invented)
    )


def _clause(clause: ClauseFinding, findings: Findings) -> dict[str, object]:
    risk = findings.deciding_risk
    return {
        "decision": clause.decision,
        "title": clause_title(clause),
        "word": decision_word(clause),
        "text": clause.text,
        "allowed": limits_words(clause),
        "value": _value(clause, risk),
        "as_read": f"As read {with_unit(as_read_text(clause), clause.unit)}, noise included." if clause.truth else "",
        "source": f"{clause.source or 'no source'} ({seen_words(clause.seen)})",
        "settle": settle_sentence(clause.settle),
        "figure": _strip(clause, findings),
    }
