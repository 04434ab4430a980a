"""A qualification becomes a document: one sentence and the ruler first, then what it was found from."""

from __future__ import annotations

from dataclasses import replace

import ballbench
from ballbench.findings.qualification import Qualification
from ballbench.findings.qualifying.words import qualification_sentences, round_ball_sentences
from ballbench.form.two_point import ODD_LOBES
from ballbench.presentation.budget_tables import budget_table
from ballbench.presentation.document import Block, Document, Facts, Fold, Heading, Listing, Paragraph
from ballbench.presentation.numbers import with_unit
from ballbench.presentation.qualification_figures import (
    calibration_figure,
    check_figure,
    component_table,
    people_figure,
    reading_figure,
    round_ball_table,
    ruler_figure,
    squeeze_table,
)
from ballbench.presentation.qualification_wording import known_words, two_figures
from ballbench.presentation.report_frame import rebuilt, standing_blocks
from ballbench.presentation.wording import INVENTED, quantity_words

__all__ = ["ROUND_BALL_NOTES", "entry_pairs", "piece_sentences", "qualification_document", "qualification_methods"]


ROUND_BALL_NOTES = ("A ball that shows no more may be perfectly round: the noise of the readings does that.", ODD_LOBES)
"""Beside what a round ball shows."""

WRITE_IT = (
    "Put these numbers into the bench file, or let --write-bench write it; every later result then rests on them."
)
"""What is done with the entry after the command."""


def qualification_document(found: Qualification, how: str = WRITE_IT) -> Document:
    """Build the report of a qualification.

    Parameters
    ----------
    found : Qualification
        The qualification.
    how : str
        What is done with the instrument's entry.

    Returns
    -------
    Document
        The answer in one sentence, the ruler, the pictures behind it, the bench entry, what the numbers rest on.
    """
    tool = found.instrument
    blocks: list[Block] = [Paragraph(found.sentence, "lead")]
    first = [figure for figure in (ruler_figure(found), people_figure(found)) if figure is not None]
    blocks += first
    of_pieces = piece_sentences(found)
    elsewhere = {*of_pieces, *round_ball_sentences(found)}
    others = tuple(sentence for sentence in found.sentences if sentence not in elsewhere)
    if others:
        blocks.append(Listing(others))
    second = [figure for figure in (check_figure(found), calibration_figure(found)) if figure is not None]
    if second:
        own = tuple(sentence for sentence in of_pieces if sentence != found.sentence)
        blocks += [Heading("Against pieces of known size", 2, "pieces"), *([Listing(own)] if own else []), *second]
    blocks += _round_ball(found)
    squeeze = squeeze_table(found)
    if squeeze is not None:
        blocks += [Heading("The jaws' own squeeze", 2, "squeeze"), squeeze]
    blocks += _entry(found, how)
    blocks += _standing(found)
    return Document(
        title=f"What this {tool.name} can tell",
        subtitle=f"{quantity_words(found.quantity).capitalize()}, in the hands that were studied. "
        f"Found here: {known_words(found.known)}.",
        banner=INVENTED if found.footing.invented else "",
        blocks=tuple(blocks),
        foot=f"ballbench {ballbench.__version__}, {tool.name}, {found.quantity}, seed {found.seed}",
    )


def _round_ball(found: Qualification) -> list[Block]:
    """What the noise makes of a round ball, and what no diameter shows."""
    table = round_ball_table(found)
    if table is None:
        return []
    said = (*round_ball_sentences(found), *ROUND_BALL_NOTES)
    return [Heading("What a round ball shows", 2, "round"), Listing(said), table]


def piece_sentences(found: Qualification) -> tuple[str, ...]:
    """Give those sentences of a qualification that speak of reference pieces."""
    pieces = replace(found, repeats=None, squeeze=(), tolerance=(), budget=None)
    return tuple(qualification_sentences(pieces))


def entry_pairs(found: Qualification) -> tuple[tuple[str, str], ...]:
    """Give the numbers of the bench entry with their names in words, and which of them were found here."""
    tool, unit = found.instrument, found.unit
    here = {name: ", found here" if name in found.known else ", as given or usual" for name in
            ("repeatability", "calibration")}  # fmt: skip
    noise = f"SD {with_unit(two_figures(tool.sd), unit)}, {tool.dof:.0f} degrees of freedom"
    known = with_unit(two_figures(tool.offset_sd), unit)
    offset = f"{with_unit(_plain(tool.offset), unit)}, standard uncertainty {known}"
    return (
        ("Instrument", f"{tool.name}, display step {with_unit(f'{tool.resolution:g}', unit)}"),
        ("Noise of a reading", noise + here["repeatability"]),
        ("Reads too much", offset + here["calibration"]),
    )


def _plain(value: float) -> str:
    return "0" if abs(value) < 1e-12 else two_figures(value)


def _entry(found: Qualification, how: str) -> list[Block]:
    blocks: list[Block] = [Heading("Its entry for the bench", 2, "entry"), Facts(entry_pairs(found)), Paragraph(how)]
    components, figure = component_table(found), reading_figure(found)
    if components is not None:
        blocks.append(Fold("Where the spread of the readings comes from", (components,)))
    if figure is not None and found.budget is not None:
        inner = (Paragraph(found.budget.sentence), figure, budget_table(found.budget, quantity_words(found.quantity)))
        blocks.append(Fold("What the uncertainty of one reading is made of", inner))
    return blocks


def qualification_methods(found: Qualification) -> tuple[str, ...]:
    """Say in plain words how the numbers came about, as far as this qualification used it."""
    words: list[str] = []
    if found.repeats is not None:
        how = "by an analysis of variance" if found.repeats.method == "anova" else "by restricted maximum likelihood"
        words.append(
            f"Repeats, people and balls were told from each other {how}; intervals hold 95 %. Two balls are told apart "
            "where their readings differ by more than noise makes them differ in 95 of 100 cases."
        )
    if found.calibration is not None:
        words.append(
            "The error against the pieces was fitted as a line, each piece weighted by how well it is known and how "
            "often it was read; it is used at the size of the balls, and not beyond its ends."
        )
    if found.drift:
        line = "Drift is a straight line in time through the checks on one piece; "
        words.append(
            line + "it is told where the rate or the furthest check is too large for noise, both looks counted."
        )
    if found.round_ball:
        words.append(
            "What a round ball shows follows from the noise of a reading: d2 of the control charts on average, "
            "simulated where the noise is under half a step; for 95 % the chance that all readings lie within so many "
            "steps."
        )
    if found.squeeze:
        words.append("The squeeze is drawn out from the forces that were tried to the usual force of the jaws.")
    return (*words, "Nothing was rounded before this report.")


def _standing(found: Qualification) -> list[Block]:
    limits = (
        "Other hands, other balls or another day: repeat the study when any of them changes.",
        "Errors that all repeats share, such as jaws that are not flush: only pieces of known size show them.",
    )
    command = f"ballbench qualify READINGS --quantity {found.quantity} --seed {found.seed}"
    read = (("Readings file", found.readings_digest),) if found.readings_digest else ()
    rebuild = rebuilt(f"{command}, with the same checks, forces and bench file, if any", read)
    notes = ("What must be known", found.footing.notes)
    return standing_blocks(found.footing, rebuild, methods=qualification_methods(found), limits=limits, notes=notes)
