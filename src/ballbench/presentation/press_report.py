"""What a press tells becomes a document: the sentences, a picture, group by group, and what it rests on."""

from __future__ import annotations

import math

from ballbench.findings.pressing.results import PressClause, PressFindings, PressGroupFound
from ballbench.findings.pressing.words import clause_sentence, return_sentence, way_words
from ballbench.presentation.charts.press_picture import mean_text, press_picture, quantities_of
from ballbench.presentation.document import Block, Document, Facts, Figure, Heading, Listing, Table
from ballbench.presentation.numbers import number
from ballbench.presentation.report_frame import (
    NO_APPROVAL,
    OTHER_BATCHES,
    answer_blocks,
    clause_block,
    framed,
    held_against,
    rebuilt,
    standing_blocks,
)
from ballbench.presentation.report_tables import caption
from ballbench.presentation.wording import quantity_words

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
    OTHER_BATCHES,
    NO_APPROVAL,
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
    return framed(
        f"Read on a press: {found.label}", f"{names}.", (*press_blocks(found), *_standing(found)),
        f"press, {found.label}", invented=found.footing.invented,
    )  # fmt: skip


def press_blocks(found: PressFindings) -> tuple[Block, ...]:
    """Give what is said of the balls: sentences, pictures with their tables, returns, clauses."""
    told = len(found.sentences) - len(found.clauses)
    blocks = answer_blocks(found.sentences[:told], len(found.products))
    blocks += [_figure(found, quantity) for quantity in quantities_of(found)]
    blocks += [_table(found, quantity) for quantity in quantities_of(found)]
    back = tuple(f"{product.product}: {return_sentence(one)}" for product in found.products for one in product.returns)
    if back:
        blocks += [Heading("The way back", 3), Listing(back)]
    clauses = [clause_block(one, clause_sentence(one), fold=(_counts(one),)) for one in found.clauses]
    return (*blocks, *held_against(found.requirement, clauses))


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
    return Figure(chart, caption(text, invented=found.footing.invented), f"{says}; {found.label}.", table)


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


def _standing(found: PressFindings) -> list[Block]:
    command = "ballbench press READINGS" + ("" if found.requirement is None else f" --spec {found.requirement.id}")
    rebuild = rebuilt(command, (("Readings file", found.readings_digest),), found.requirement)
    return standing_blocks(found.footing, rebuild, methods=_METHODS, limits=_LIMITS)
