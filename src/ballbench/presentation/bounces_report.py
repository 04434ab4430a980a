"""What recordings of drops tell becomes a document: the sentences, the pictures, drop by drop, what it rests on."""

from __future__ import annotations

import math

from ballbench.findings.bouncing.results import BounceClause, BounceFindings
from ballbench.findings.bouncing.words import clause_sentence, recording_sentence, spread_text
from ballbench.presentation.charts.bounce_picture import (
    clause_picture,
    clause_says,
    drops_picture,
    drops_says,
    products_of,
    speed_picture,
    speed_says,
)
from ballbench.presentation.document import Block, DecisionBlock, Document, Facts, Figure, Heading, Table
from ballbench.presentation.numbers import number
from ballbench.presentation.report_frame import (
    NO_APPROVAL,
    answer_blocks,
    framed,
    held_against,
    rebuilt,
    refused_blocks,
    standing_blocks,
)
from ballbench.presentation.report_tables import caption
from ballbench.presentation.wording import as_sentence, seen_words

__all__ = ["bounces_blocks", "bounces_document"]

_METHODS = (
    (
        "Impacts are found by their onsets in the sound, each with its own uncertainty. A flight is the time from "
        "onset to onset, less the time that the ball touches the plate."
    ),
    (
        "From the time of a flight follows the speed with which the ball left the plate and came back, with drag, the "
        "lift of the air and the air that the ball carries along. Restitution is the speed after an impact over the "
        "speed before it; before the first impact it is that of a fall from the drop height."
    ),
    (
        "The rebound is the height to which the ball's underside rises after a fall from the drop height as it was "
        "said, with the same air both ways."
    ),
    (
        "The uncertainty is simulated: the errors of times for each impact, those of ball, air, gravity, drag, contact "
        "and drop height once for all drops. What differs from drop to drop is that between the drops themselves, by "
        "the t distribution."
    ),
)
_LIMITS = (
    "What the ball does from another height, on another surface or at another temperature.",
    "Spin and a ball that does not fall straight: its flights look shorter than its speed.",
    NO_APPROVAL,
)


def bounces_document(found: BounceFindings) -> Document:
    """Build the report of some recordings.

    Parameters
    ----------
    found : BounceFindings
        As found.

    Returns
    -------
    Document
        Answer, pictures, drop by drop, what it rests on.
    """
    names = ", ".join(products_of(found)) or "nothing heard"
    return framed(
        "How the balls bounce", f"{names}. By the sound of their drops, 95 %.",
        (*bounces_blocks(found), *_standing(found)), f"by the sound of drops, seed {found.seed}",
        invented=found.footing.invented,
    )  # fmt: skip


def bounces_blocks(found: BounceFindings) -> tuple[Block, ...]:
    """Give what is said of the balls: sentences, clauses, pictures with their tables, what was not used."""
    refused = [recording_sentence(one) for one in found.recordings if one.refused]
    told = len(found.sentences) - len(found.clauses) - len(refused)
    blocks = answer_blocks(found.sentences[:told], len(found.balls))
    blocks += held_against(found.requirement, [_clause(one, invented=found.footing.invented) for one in found.clauses])
    for product in products_of(found):
        blocks += _figures(found, product)
    if found.balls:
        blocks += [_balls_table(found), _drops_table(found)]
    return (*blocks, *refused_blocks(refused))


def _clause(one: BounceClause, *, invented: bool) -> DecisionBlock:
    facts = (("Balls", str(one.balls)), ("Limit", seen_words(one.seen)))
    chart = clause_picture(one)
    figure = None
    if chart is not None:
        rows = tuple((row.label, row.note, row.bars[0].text) for row in chart.rows)
        table = Table(f"{one.product}: every ball", ("ball", f"mean ({chart.axis.unit})", "95 %"), rows, (1, 2))
        text = "Each row is a ball, the mean of its drops with its 95 % interval; the band is what the clause allows."
        figure = Figure(chart, caption(text, invented=invented), clause_says(one, chart), table)
    return DecisionBlock(
        one.decision, f"{one.product}, {one.clause}", one.decision, one.text, (clause_sentence(one),), figure=figure,
        fold=(Facts(facts),),
    )  # fmt: skip


def _figures(found: BounceFindings, product: str) -> list[Block]:
    drops = drops_picture(found, product)
    rows = tuple(
        (row.label, str(k + 1), number(time, 5), number(u * 1e3, 3), row.texts[k] or "none")
        for row in drops.rows
        for k, (time, u) in enumerate(zip(row.impacts, row.u, strict=True))
    )
    heads = ("drop", "impact", "time (s)", "u of the time (ms)", "restitution")
    table = Table(f"{product}: impacts of the drops shown", heads, rows, (1, 2, 3, 4))
    text = (
        f"{product}: each row is a drop. A ball marks each impact, and the number below it is its restitution; hollow: "
        "picked by hand."
    )
    blocks: list[Block] = [
        Heading(product, 2),
        Figure(drops, caption(text, invented=found.footing.invented), drops_says(drops), table),
    ]
    speeds = speed_picture(found, product)
    if speeds is not None:
        dots = tuple((number(dot.speed, 2), number(dot.value, 4), number(dot.low, 4), number(dot.high, 4),
                      "drop height" if dot.first else "flight before") for dot in speeds.dots)  # fmt: skip
        heads = ("impact speed (m/s)", "restitution", "from", "to", "speed from")
        table = Table(f"{product}: restitution of every impact, 95 %", heads, dots, (0, 1, 2, 3))
        text = (
            f"{product}: every impact is a dot with its 95 % interval. Most of an interval is shared by all impacts: "
            "air, drag, contact time."
        )
        blocks.append(Figure(speeds, caption(text, invented=found.footing.invented), speed_says(speeds), table))
    return blocks


def _balls_table(found: BounceFindings) -> Table:
    rows = tuple(
        (
            one.product, one.ball, str(one.drops), str(one.left_out),
            "not known" if one.first is None else spread_text(one.first),
            "none" if one.later is None else spread_text(one.later),
            "not known" if one.rebound is None else spread_text(one.rebound),
            "one drop" if math.isnan(one.scatter) else number(one.scatter, 2),
        )
        for one in found.balls
    )  # fmt: skip
    heads = (
        "product", "ball", "drops", "left out", "first restitution", "later", "rebound (mm)",
        "SD from drop to drop (mm)",
    )  # fmt: skip
    return Table("Ball by ball, 95 %", heads, rows, (2, 3, 7))


def _drops_table(found: BounceFindings) -> Table:
    rows = tuple(
        (
            one.file, one.product, one.ball, str(drop.number), str(len(drop.impacts)),
            spread_text(drop.bounces[0].restitution) if drop.bounces else "none",
            "not known" if drop.rebound is None else spread_text(drop.rebound),
            " ".join(map(as_sentence, drop.notes)) or ("" if drop.counted else "Left out."),
        )
        for one in found.recordings if not one.refused
        for drop in one.drops
    )  # fmt: skip
    heads = ("file", "product", "ball", "drop", "impacts", "first restitution", "rebound (mm)", "note")
    return Table("Drop by drop, 95 %, what differs from drop to drop left out", heads, rows, (3, 4))


def _standing(found: BounceFindings) -> list[Block]:
    heard = tuple(f"{one.file}: {note}" for one in found.recordings for note in one.notes if note not in one.refused)
    picks = (("Picks file", found.picks_digest),) if found.picks_digest else ()
    files = tuple((one.file, one.digest) for one in found.recordings if one.digest)
    rebuild = rebuilt(found.command, files, found.requirement, own=picks)
    notes = ("Notes", (*found.footing.notes, *heard))
    return standing_blocks(found.footing, rebuild, methods=_METHODS, limits=_LIMITS, notes=notes)
