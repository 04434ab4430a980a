"""What filmed drops tell becomes a document: the sentences, a picture a product, clip by clip, what it rests on."""

from __future__ import annotations

from ballbench.findings.bouncing.words import clause_sentence, spread_text
from ballbench.findings.watching.results import DropFindings, FilmedClip
from ballbench.findings.watching.words import budget_words, check_sentence, refused_sentence
from ballbench.presentation.charts.drop_picture import film_picture, film_says, filmed_products, shown_clips
from ballbench.presentation.document import Block, Document, Figure, Fold, Heading, Listing, Table
from ballbench.presentation.numbers import number
from ballbench.presentation.report_frame import (
    NO_APPROVAL,
    answer_blocks,
    clause_block,
    framed,
    held_against,
    rebuilt,
    refused_blocks,
    standing_blocks,
)
from ballbench.presentation.report_tables import caption
from ballbench.presentation.wording import plural

__all__ = ["drops_blocks", "drops_document"]

_METHODS = (
    (
        "The ball is what moves against the median of the clip's pictures; its centre is taken in each picture, at "
        "the picture's own time. Between impacts it must move as a ball that flies freely."
    ),
    (
        "Gravity is the ruler: one fit over the fall and the rebounds finds the scale of the picture, the plate, the "
        "impacts and the speeds, with drag, the lift of the air and the air that the ball carries along. A camera that "
        "looks up or down, rows that are read one after the other, a lens and a ball that comes nearer are unknowns "
        "of the fit."
    ),
    (
        "The scale must agree with the ball's own breadth, and fall and rebounds must run by one clock: else the "
        "clip's speed was changed, and it is refused."
    ),
    (
        "The uncertainty holds the scatter of the places, how alike neighbouring places are off, gravity of the place, "
        "drag, contact time, the camera's angle. What differs from drop to drop is that between the drops themselves."
    ),
)
_LIMITS = (
    "What the ball does from another height, on another surface or at another temperature.",
    "A camera that moves, a picture cropped off-centre, a lens that bends the picture by more than a per cent.",
    NO_APPROVAL,
)


def drops_document(found: DropFindings) -> Document:
    """Build the report of some clips.

    Parameters
    ----------
    found : DropFindings
        As found.

    Returns
    -------
    Document
        Answer, pictures, clip by clip, what it rests on.
    """
    names = ", ".join(filmed_products(found)) or "nothing seen"
    return framed(
        "How the balls rebound", f"{names}. By films of their drops, 95 %.",
        (*drops_blocks(found), *_standing(found)), f"by films of drops, seed {found.seed}",
        invented=found.footing.invented,
    )  # fmt: skip


def drops_blocks(found: DropFindings) -> tuple[Block, ...]:
    """Give what is said of the balls: sentences, clauses, pictures with their tables, what was not used."""
    refused = [refused_sentence(one) for one in found.clips if one.refused]
    told = len(found.sentences) - len(found.clauses) - len(refused)
    blocks = answer_blocks(found.sentences[:told], len(found.balls))
    blocks += held_against(found.requirement, [clause_block(one, clause_sentence(one)) for one in found.clauses])
    for product in filmed_products(found):
        blocks += [Heading(product, 2), _figure(found, product)]
    read = [one for one in found.clips if not one.refused]
    if read:
        blocks += [_table(read), Fold("Scale, uncertainty and notes, clip by clip", tuple(map(_details, read)))]
    return (*blocks, *refused_blocks(refused))


def _figure(found: DropFindings, product: str) -> Figure:
    chart = film_picture(found, product)
    rows = tuple(
        (one.file, str(hit.impact), number(hit.time, 4), number(hit.speed, 3), number(hit.restitution.value, 4),
         number(hit.restitution.u, 4), number(hit.rebound.value, 1), number(hit.rebound.u, 2))
        for one in shown_clips(found, product) for hit in one.impacts
    )  # fmt: skip
    heads = ("clip", "impact", "time (s)", "speed (m/s)", "restitution", "u", "rebound after it (mm)", "u (mm)")
    table = Table(f"{product}: impacts of the clips shown", heads, rows, (1, 2, 3, 4, 5, 6, 7))
    text = (
        f"{product}: each row is a clip. A dot is the ball in a picture, the line through them the flights that fit "
        "best; the number under an impact is its restitution, the level line the first rebound."
    )
    return Figure(chart, caption(text, invented=found.footing.invented), film_says(chart), table)


def _table(read: list[FilmedClip]) -> Table:
    rows = tuple(
        (
            one.file, one.product, one.ball, "" if one.rebound is None else spread_text(one.rebound),
            "" if one.fell is None else spread_text(one.fell),
            "not carried" if one.at_height is None else spread_text(one.at_height),
            "" if not one.impacts else spread_text(one.impacts[0].restitution),
        )
        for one in read
    )  # fmt: skip
    heads = (
        "clip", "product", "ball", "rebound (mm)", "fell from (mm)", "rebound from the drop height (mm)",
        "first restitution",
    )  # fmt: skip
    return Table("Clip by clip, 95 %, what differs from drop to drop left out", heads, rows)


def _details(one: FilmedClip) -> Listing:
    scale = "" if one.scale is None else f"a pixel is {spread_text(one.scale, 'mm')} by gravity"
    frames = (
        f"{one.in_flight} of {plural(one.frames, 'picture')} used, {one.rate:.0f} a second; places scatter by "
        f"{one.scatter:.2g} mm; the fall leans by {one.roll:.1f} degrees in the picture, and the scale changes by "
        f"{one.tilt:.1f} % along it"
    ).replace("-", "−")
    items = (scale, *map(check_sentence, one.checks), budget_words(one, 6), frames, *one.notes)
    return Listing(tuple(f"{one.file}: {item}." for item in items if item))


def _standing(found: DropFindings) -> list[Block]:
    marks = (("Marks file", found.marks_digest),) if found.marks_digest else ()
    files = tuple((one.file, one.digest) for one in found.clips if one.digest)
    rebuild = rebuilt(found.command, files, found.requirement, own=marks)
    return standing_blocks(found.footing, rebuild, methods=_METHODS, limits=_LIMITS)
