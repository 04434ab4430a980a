"""What vees tell becomes a document: the sentences, a picture a product, ball by ball, and what it rests on."""

from __future__ import annotations

import math

import ballbench
from ballbench.findings.vee.results import SectionForm, VeeFindings, VeeProduct
from ballbench.findings.vee.words import lobes_words, section_sentence, span_text
from ballbench.presentation.charts.vee_picture import moved_text, shown_sections, vee_picture, vee_says
from ballbench.presentation.document import (
    Block,
    Caution,
    Document,
    Facts,
    Figure,
    Fold,
    Heading,
    Listing,
    Paragraph,
    Table,
)
from ballbench.presentation.report_tables import caption
from ballbench.presentation.wording import INVENTED, as_sentence, seen_words

__all__ = ["vee_blocks", "vee_document"]

_METHODS = (
    (
        "A ball that is turned in a vee touches at two places and is read at a third, so that odd lobes show. The "
        "range of the indicator over a turn is divided by the magnification of the vee for so many lobes; it depends "
        "on the angle and on the side of the indicator."
    ),
    (
        "Where nobody counted, there is a form for each number of lobes that is thought possible, and the band over "
        "them. With several vees the numbers of lobes whose forms do not go together are ruled out (chi-square, under"
        " 5 %)."
    ),
    (
        "The indicator's own noise moves it over a round ball too: as much as the range of twelve looks a turn, under"
        " which a round ball stays in nineteen cases of twenty."
    ),
)
_LIMITS = (
    "Sections that were not turned past the indicator.",
    "Several numbers of lobes at once: ranges do not tell them apart; the outline from a photograph does.",
    "An approval: the governing body's current text and its accredited laboratories decide.",
)


def vee_document(found: VeeFindings) -> Document:
    """Build the report of a vee.

    Parameters
    ----------
    found : VeeFindings
        As found.

    Returns
    -------
    Document
        Answer, pictures, ball by ball, what it rests on.
    """
    names = ", ".join(product.product for product in found.products)
    return Document(
        title="Form from a vee",
        subtitle=f"{names}. Form is crest to trough of the radius, 95 %.",
        banner=INVENTED if found.invented else "",
        blocks=(*vee_blocks(found), *_standing(found)),
        foot=f"ballbench {ballbench.__version__}, form from a vee, seed {found.seed}",
    )


def vee_blocks(found: VeeFindings) -> tuple[Block, ...]:
    """Give what is said of the balls: sentences, a picture with its table for each product, ball by ball."""
    told = len(found.sentences) - len(found.clauses)
    blocks: list[Block] = [
        Paragraph(sentence, "lead" if i == 0 else "body") for i, sentence in enumerate(found.sentences[:told])
    ]
    if found.clauses:
        blocks.append(Heading(f"Held against: {found.spec_title}", 2, "clauses"))
        blocks.append(Listing(found.sentences[told:]))
        seen = dict.fromkeys(f"Limit of {one.clause}: {seen_words(one.seen)}." for one in found.clauses)
        blocks += [Paragraph(text, "quiet") for text in seen]
    blocks += [_figure(product, invented=found.invented) for product in found.products]
    blocks += [_table(product) for product in found.products]
    return tuple(blocks)


def _figure(product: VeeProduct, *, invented: bool) -> Figure:
    chart = vee_picture(product)
    rows = tuple(
        (ball, section.section or "not named", str(item.lobes), _form(item.form), "yes" if item.agrees else "no")
        for ball, section in shown_sections(product)
        for item in section.by_lobes
    )
    heads = ("ball", "section", "lobes", "form (mm)", "fits the readings")
    table = Table(f"{product.product}: form if it has so many lobes", heads, rows, (2, 3))
    text = (
        "The ball whose form is largest at the lower end of its band, in its vee; lobes are drawn much too high. "
        "Below, each dot is a section of a ball: its form if it has so many lobes. Hollow: ruled out by a second vee."
    )
    return Figure(chart, caption(text, invented=invented), vee_says(product), table)


def _form(form: object) -> str:
    value = getattr(form, "value", math.nan)
    return "blind" if math.isnan(value) else f"{value:.4f}"


def _table(product: VeeProduct) -> Table:
    rows = tuple(
        (ball.ball, section.section or "not named", _moved(section), _band(section), _left(section),
         lobes_words(section.blind) if section.blind else "none", _floor(section))
        for ball in product.balls for section in ball.sections
    )  # fmt: skip
    heads = (
        "ball",
        "section",
        "indicator moved",
        "form (95 %)",
        "lobes left",
        "blind to",
        "form that noise alone shows",
    )
    return Table(f"{product.product}, ball by ball", heads, rows)


def _moved(section: SectionForm) -> str:
    return "; ".join(
        f"{moved_text(vee)} in {vee.angle:g}°{' (rider)' if vee.setting == 'rider' else ''}" for vee in section.vees
    )


def _band(section: SectionForm) -> str:
    return section_sentence(section).partition(", ")[0] if math.isfinite(section.high) else "nothing fits"


def _left(section: SectionForm) -> str:
    left = [item.lobes for item in section.by_lobes if item.agrees and item.form is not None]
    return lobes_words(left) + (" (counted)" if section.lobes_known else "")


def _floor(section: SectionForm) -> str:
    return "not known" if math.isnan(section.floor) else span_text(0.0, section.floor)


def _standing(found: VeeFindings) -> tuple[Block, ...]:
    blocks: list[Block] = [Heading("What the numbers rest on", 2, "standing")]
    for title, items in (
        ("How it was done", _METHODS),
        ("Assumptions", found.assumptions),
        ("How the file was read", found.notes),
        ("What this does not show", _LIMITS),
    ):
        if items:
            blocks += [Heading(title, 3), Listing(tuple(map(as_sentence, items)))]
    own = [
        (ball.ball, section, product.product) for product in found.products for ball in product.balls
        for section in ball.sections if section.notes
    ]  # fmt: skip
    if own:
        lines = tuple(f"{product}, ball {ball}: {' '.join(section.notes)}" for ball, section, product in own)
        blocks.append(Fold("Notes on single balls", (Listing(lines),)))
    blocks += [Caution(text) for text in found.cautions]
    command = "ballbench vee READINGS" + (f" --lobes {found.lobes}" if found.lobes else "")
    facts = (
        ("Command", command + (f" --spec {found.spec_id}" if found.spec_id else "")),
        ("Readings file", found.readings_digest),
        *((("Requirement file", found.spec_digest),) if found.spec_id else ()),
        ("Version", f"ballbench {ballbench.__version__}"),
    )
    return (*blocks, Heading("How to rebuild this", 3), Facts(facts))
