"""What vees tell becomes a document: the sentences, a picture a product, ball by ball, and what it rests on."""

from __future__ import annotations

import math

from ballbench.findings.vee.results import SectionForm, VeeFindings, VeeProduct
from ballbench.findings.vee.words import lobes_words, section_sentence, span_text
from ballbench.presentation.charts.vee_picture import moved_text, shown_sections, vee_picture, vee_says
from ballbench.presentation.document import Block, Document, Figure, Fold, Listing, Table
from ballbench.presentation.report_frame import (
    NO_APPROVAL,
    answer_blocks,
    framed,
    held_against,
    limits_listed,
    rebuilt,
    standing_blocks,
)
from ballbench.presentation.report_tables import caption

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
    NO_APPROVAL,
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
    return framed(
        "Form from a vee", f"{names}. Form is crest to trough of the radius, 95 %.",
        (*vee_blocks(found), *_standing(found)), f"form from a vee, seed {found.seed}", invented=found.footing.invented,
    )  # fmt: skip


def vee_blocks(found: VeeFindings) -> tuple[Block, ...]:
    """Give what is said of the balls: sentences, a picture with its table for each product, ball by ball."""
    told = len(found.sentences) - len(found.clauses)
    blocks = answer_blocks(found.sentences[:told], len(found.products))
    blocks += held_against(found.requirement, limits_listed(found.sentences[told:], found.clauses))
    blocks += [_figure(product, invented=found.footing.invented) for product in found.products]
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
        "ball", "section", "indicator moved", "form (95 %)", "lobes left", "blind to", "form that noise alone shows",
    )  # fmt: skip
    return Table(f"{product.product}, ball by ball", heads, rows)


def _moved(section: SectionForm) -> str:
    parts = (
        f"{moved_text(vee)} in {vee.angle:g}°{' (rider)' if vee.setting == 'rider' else ''}" for vee in section.vees
    )
    return "; ".join(part.replace(" ", "\N{NO-BREAK SPACE}") for part in parts)


def _band(section: SectionForm) -> str:
    return (
        section_sentence(section).partition(", ")[0].removeprefix("form ")
        if math.isfinite(section.high)
        else "nothing fits"
    )


def _left(section: SectionForm) -> str:
    left = [item.lobes for item in section.by_lobes if item.agrees and item.form is not None]
    return lobes_words(left) + (" (counted)" if section.lobes_known else "")


def _floor(section: SectionForm) -> str:
    return "not known" if math.isnan(section.floor) else span_text(0.0, section.floor)


def _standing(found: VeeFindings) -> list[Block]:
    own = tuple(
        f"{product.product}, ball {ball.ball}: {' '.join(section.notes)}" for product in found.products
        for ball in product.balls for section in ball.sections if section.notes
    )  # fmt: skip
    single = [Fold("Notes on single balls", (Listing(own),))] if own else []
    command = "ballbench vee READINGS" + (f" --lobes {found.lobes}" if found.lobes else "")
    command += "" if found.requirement is None else f" --spec {found.requirement.id}"
    rebuild = rebuilt(command, (("Readings file", found.readings_digest),), found.requirement)
    notes = ("How the file was read", found.footing.notes)
    return standing_blocks(found.footing, rebuild, methods=_METHODS, limits=_LIMITS, notes=notes, more=single)
