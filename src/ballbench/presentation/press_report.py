"""What a press tells becomes a document: the sentences, a picture, group by group, and what it rests on."""

from __future__ import annotations

import math

import ballbench
from ballbench.findings.pressing.results import PressClause, PressFindings, PressGroupFound
from ballbench.findings.pressing.words import clause_sentence, return_sentence, way_words
from ballbench.presentation.charts.press_picture import mean_text, press_picture, quantities_of
from ballbench.presentation.document import (
    Block,
    Caution,
    DecisionBlock,
    Document,
    Facts,
    Figure,
    Heading,
    Listing,
    Paragraph,
    Table,
)
from ballbench.presentation.numbers import number
from ballbench.presentation.report_tables import caption
from ballbench.presentation.wording import INVENTED, as_sentence, quantity_words, seen_words

__all__ = ["press_blocks", "press_document"]

_METHODS = (
    (
        "Readings of one orientation, direction, load and preload stand together; each ball counts once, with the "
        "mean of its repeats. The interval of a mean comes from the scatter between balls (t distribution, 95 %)."
    ),
    (
        "Two products are compared where both were read in the same way on the same rig: Welch's t on the balls' "
        "means, adjusted for the number of comparisons (Holm). Those read after different times are not compared, for"
        " creep."
    ),
    "The way back is paired by ball.",
    (
        "A clause is held against readings only where the requirement says load, preload and time under load and the "
        "readings were taken so, to half a per cent; a value counts as inside or outside when it is so with its "
        "expanded uncertainty."
    ),
)
_LIMITS = (
    (
        "What another rig would read: plates, speed and timing differ. Numbers of two rigs compare only through balls"
        " that both have read."
    ),
    "Other batches: the balls of one box are one batch, and another box may differ.",
    "An approval: the governing body's current text and its accredited laboratories decide.",
)


def press_document(found: PressFindings) -> Document:
    """Build the report of a press.

    Parameters
    ----------
    found : PressFindings
        As found.

    Returns
    -------
    Document
        Answer, picture, group by group, what it rests on.
    """
    names = ", ".join(product.product for product in found.products)
    return Document(
        title=f"Read on a press: {found.label}",
        subtitle=f"{names}.",
        banner=INVENTED if found.invented else "",
        blocks=(*press_blocks(found), *_standing(found)),
        foot=f"ballbench {ballbench.__version__}, press, {found.label}",
    )


def press_blocks(found: PressFindings) -> tuple[Block, ...]:
    """Give what is said of the balls: sentences, pictures with their tables, returns, clauses."""
    told = len(found.sentences) - len(found.clauses)
    blocks: list[Block] = [
        Paragraph(sentence, "lead" if i == 0 else "body") for i, sentence in enumerate(found.sentences[:told])
    ]
    blocks += [_figure(found, quantity) for quantity in quantities_of(found)]
    blocks += [_table(found, quantity) for quantity in quantities_of(found)]
    back = tuple(f"{product.product}: {return_sentence(one)}" for product in found.products for one in product.returns)
    if back:
        blocks += [Heading("The way back", 3), Listing(back)]
    if found.clauses:
        blocks.append(Heading(f"Held against: {found.spec_title}", 2, "clauses"))
        blocks += [
            DecisionBlock(
                one.decision, f"{one.product}, {one.clause}", one.decision, one.text, (clause_sentence(one),),
                (f"Limit: {seen_words(one.seen)}.",), fold=(_counts(one),),
            )
            for one in found.clauses
        ]  # fmt: skip
    return tuple(blocks)


def _counts(one: PressClause) -> Facts:
    return Facts(
        (
            ("Balls read in that direction", str(one.read)),
            ("Of them as the clause asks", str(one.balls)),
            ("Outside as read", str(one.outside) if one.decision != "not tested" else "not tested"),
        )
    )


def _figure(found: PressFindings, quantity: str) -> Figure:
    chart = press_picture(found, quantity)
    says = "; ".join(f"{row.label}: {row.bars[0].text if row.bars else 'one ball'}, {row.note}" for row in chart.rows)
    text = f"Every ball is a dot. Bar and ball below: the mean of balls like these, 95 %. {chart.n_text}."
    rows = tuple(
        (f"{product}, {_way(one)}", ball, number(mean, 3)) for product, one in _groups(found, quantity)
        for ball, mean in one.balls
    )  # fmt: skip
    table = Table(f"Every ball, {found.label}", ("how", "ball", "mean (mm)"), rows, (2,))
    return Figure(chart, caption(text, invented=found.invented), f"{says}; {found.label}.", table)


def _groups(found: PressFindings, quantity: str) -> list[tuple[str, PressGroupFound]]:
    return [(product.product, one) for product in found.products for one in product.groups if one.quantity == quantity]


def _way(one: PressGroupFound) -> str:
    group = one.group
    return way_words("deformation", group.orientation, group.direction, group.load_n)


def _table(found: PressFindings, quantity: str) -> Table:
    rows = []
    for product, one in _groups(found, quantity):
        group = one.group
        times = sorted(set(group.seconds))
        rows.append(
            (product, _way(one), f"{group.preload_n:.4g}", " to ".join(f"{time:g}" for time in times),
             str(group.balls), str(group.readings), mean_text(one),
             "one ball" if math.isnan(group.sd) else number(group.sd, 3),
             "not known" if math.isnan(group.creep) else number(group.creep, 3))
        )  # fmt: skip
    heads = (
        "product", "way", "preload (N)", "time (s)", "balls", "readings", "mean (95 %)", "SD between balls (mm)",
        "creep a decade (mm)",
    )  # fmt: skip
    words = quantity_words(quantity)
    return Table(f"{words.capitalize()}, {found.label}", heads, tuple(rows), (2, 3, 4, 5, 7, 8))


def _standing(found: PressFindings) -> tuple[Block, ...]:
    blocks: list[Block] = [Heading("What the numbers rest on", 2, "standing")]
    for title, items in (
        ("How it was done", _METHODS),
        ("Assumptions", found.assumptions),
        ("Notes", found.notes),
        ("What this does not show", _LIMITS),
    ):
        if items:
            blocks += [Heading(title, 3), Listing(tuple(map(as_sentence, items)))]
    blocks += [Caution(text) for text in found.cautions]
    facts = (
        ("Command", "ballbench press READINGS" + (f" --spec {found.spec_id}" if found.spec_id else "")),
        ("Readings file", found.readings_digest),
        *((("Requirement file", found.spec_digest),) if found.spec_id else ()),
        ("Version", f"ballbench {ballbench.__version__}"),
    )
    return (*blocks, Heading("How to rebuild this", 3), Facts(facts))
