"""A plan becomes a document: the answer and its trays first, then what changes it, and what it rests on."""

from __future__ import annotations

import ballbench
from ballbench.findings.plan_form_words import form_sentences
from ballbench.findings.planning.axes_of_form import PLACINGS
from ballbench.findings.plans import Plan
from ballbench.presentation.document import (
    Block,
    Document,
    Facts,
    Figure,
    Fold,
    Heading,
    Listing,
    Paragraph,
)
from ballbench.presentation.numbers import with_unit
from ballbench.presentation.plan_figures import (
    box_figure,
    box_table,
    caught_table,
    change_figure,
    clause_table,
    ending_figure,
    grid_figure,
    telling_figure,
    tray_figure,
)
from ballbench.presentation.plan_wording import limits_of_plan, make_words
from ballbench.presentation.qualification_wording import two_figures
from ballbench.presentation.report_frame import rebuilt, standing_blocks
from ballbench.presentation.wording import edition_words, quantity_words

__all__ = ["FORM_TITLE", "plan_document", "right_answer_words"]

FORM_TITLE = "What these axes show of a ball's form"


def plan_document(plan: Plan) -> Document:
    """Build the report of a plan.

    Parameters
    ----------
    plan : Plan
        The plan.

    Returns
    -------
    Document
        Answer and trays, how tests end, what changes would buy, comparison and boxes, what it rests on.
    """
    words = quantity_words(plan.quantity)
    blocks: list[Block] = [Paragraph(plan.sentence, "lead"), tray_figure(plan), ending_figure(plan)]
    if plan.sentences:
        blocks.append(Listing(plan.sentences))
    blocks += [Facts(_facts(plan)), Paragraph(right_answer_words(plan), "quiet")]
    blocks.append(Fold("Clause by clause", (clause_table(plan),)))
    blocks += _form(plan)
    for title, anchor, figure in (
        ("What a change would buy", "changes", change_figure(plan)),
        ("Around the limit", "surface", grid_figure(plan)),
        ("Two makes against each other", "comparison", telling_figure(plan)),
    ):
        blocks += _part(title, anchor, figure)
    if plan.boxes:
        figure = box_figure(plan)
        blocks += [Heading("How many of a box", 2, "boxes"), *([figure] if figure else [box_table(plan)])]
    blocks += _standing(plan)
    return Document(
        title=f"How many balls: {words}",
        subtitle=f"{plan.requirement.title}, {edition_words(plan.requirement.edition)}.",
        banner="",
        blocks=tuple(blocks),
        foot=f"ballbench {ballbench.__version__}, {plan.requirement.id} {plan.requirement.edition}, seed {plan.seed}",
    )


def _form(plan: Plan) -> list[Block]:
    """What the axes catch of a diameter variation; nothing where the plan is not about diameters."""
    table = caught_table(plan)
    if table is None:
        return []
    return [Heading(FORM_TITLE, 2, "form"), Listing(tuple(form_sentences(plan))), Fold("Shape by shape", (table,))]


def _part(title: str, anchor: str, figure: Figure | None) -> list[Block]:
    return [] if figure is None else [Heading(title, 2, anchor), figure]


def right_answer_words(plan: Plan) -> str:
    """Say what counts as a right answer."""
    number = plan.chosen.in_question
    balls = f"the same {number} balls for every design, read or not," if number > 1 else "the one ball in question"
    text = f"A right answer is “met” where the true values of {balls} meet every clause on the "
    text += f"{quantity_words(plan.quantity)}, and “not met” where they do not. “Undecided” is never counted as right."
    return text


def _facts(plan: Plan) -> tuple[tuple[str, str], ...]:
    tool, unit = plan.instrument, plan.unit
    noise, shared = (with_unit(two_figures(value), unit) for value in (tool.sd, tool.offset_sd))
    pairs = [
        ("Requirement", f"{plan.requirement.title} ({plan.requirement.id}), {edition_words(plan.requirement.edition)}"),
        ("A single ball", limits_of_plan(plan)),
        ("The make that it may meet", make_words(plan)),
        ("Instrument", f"{tool.name}: noise SD {noise}, what all its readings share {shared}"),
        ("Decision rule", f"{plan.rule}, risk {100.0 * plan.risk:.3g} %"),
        ("Enough", f"a right answer in {100.0 * plan.how_many.wanted:.3g} % of the tests"),
    ]
    return tuple((name, value) for name, value in pairs if value)


def _methods(plan: Plan) -> tuple[str, ...]:
    drawn = "For each design balls of such a make were drawn, read with such an instrument, and judged as real ones are"
    shared = "The error that all readings of the instrument share was drawn anew for each test; no number of balls "
    form = (
        f"What axes catch was simulated without noise, each shape lying anyhow {PLACINGS:,} times; a round ball's "
        "variation follows from the instrument's noise and display."
    )
    return (
        f"{drawn}, {plan.tests} times.",
        f"{shared}takes it away.",
        "A chance from so many tests is known only so well; its 95 % interval stands beside it.",
        *((form,) if plan.caught else ()),
    )


def _standing(plan: Plan) -> list[Block]:
    limits = (
        "A make that differs from the one assumed: plan again with the mean and spread that your first balls show.",
        "Quantities other than this one: each is planned by itself, and a product is met only if all are.",
    )
    truth = plan.truth
    command = f"ballbench plan --spec {plan.requirement.id} --quantity {plan.quantity} --true-mean {truth.mean:.6g} "
    command += f"--true-sd {truth.sd:g} --true-form-sd {truth.form_sd:g} --tests {plan.tests} --seed {plan.seed}"
    rebuild = rebuilt(f"{command}, with the same bench file and designs", (), plan.requirement)
    notes = ("What must be known", plan.footing.notes)
    return standing_blocks(plan.footing, rebuild, methods=_methods(plan), limits=limits, notes=notes)
