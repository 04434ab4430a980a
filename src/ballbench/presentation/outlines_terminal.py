"""What outlines tell as terminal text: the answer, then photograph by photograph."""

from __future__ import annotations

from rich.console import Console

from ballbench.findings.tracing.results import OutlineFindings, PhotoOutline
from ballbench.findings.tracing.words import form_text, photo_sentences, value_text
from ballbench.presentation.numbers import number
from ballbench.presentation.terminal_page import TerminalPage

__all__ = ["diameter_text", "edge_text", "of_each", "print_outlines", "shared_notes"]

_MOST = 24
"""Photographs that are written out (own choice); the rest is in the report and the JSON."""


def print_outlines(found: OutlineFindings, console: Console) -> None:
    """Print what outlines tell.

    Parameters
    ----------
    found : OutlineFindings
        As found.
    console : rich.console.Console
        Where to; its width is kept from 60 columns up, and a console that knows only ASCII gets ASCII.
    """
    page = TerminalPage(console)
    page.opened(
        f"Form of outlines, crest to trough, filter {found.cutoff:g} to the turn (95 %)",
        invented=found.footing.invented,
    )
    for sentence in found.sentences:
        page.line(sentence)
    shared = shared_notes(found)
    for photo in found.read[:_MOST]:
        page.blank()
        _print_photo(page, photo, shared)
    if len(found.read) > _MOST:
        page.blank()
        page.line("With so many photographs the rest is in the report and in the JSON.")
    refused = [photo for photo in found.photos if photo.refused]
    if refused:
        page.blank()
        page.line("Not used", style="bold")
        for photo in refused:
            page.line(f"{photo.file}: {photo.refused}", 2)
    page.listed("Taken for granted", found.footing.assumptions)
    if found.separation is not None:
        page.listed("Ball and camera", found.separation.notes)
    page.listed("Notes", (*of_each(shared), *found.footing.notes))
    page.listed("Beware", found.footing.cautions)


def shared_notes(found: OutlineFindings) -> tuple[str, ...]:
    """Give what is said of every photograph alike, where there are several."""
    if len(found.read) < 2:
        return ()
    return tuple(note for note in found.read[0].notes if all(note in photo.notes for photo in found.read))


def of_each(shared: tuple[str, ...]) -> tuple[str, ...]:
    """Say that what is noted is so of each photograph, where it stands with none of them."""
    return tuple(f"Of each photograph: {note}" for note in shared)


def _print_photo(page: TerminalPage, photo: PhotoOutline, shared: tuple[str, ...]) -> None:
    page.line(f"{photo.file}: {photo.product}, ball {photo.ball}", style="bold")
    page.line(diameter_text(photo), 2)
    for form in photo.forms:
        told = "" if form.told else ", not told from round"
        page.line(f"{form.kind}: {form_text(form, photo.unit)}{told}", 2)
    for sentence in photo_sentences(photo):
        page.line(sentence, 2)
    page.line(edge_text(photo), 2, style="dim")
    for note in photo.notes:
        if note in shared:
            continue
        page.line(note, 2, style="dim")


def diameter_text(photo: PhotoOutline) -> str:
    """Say the diameter, or that it was given."""
    one = photo.diameter
    if one is None:
        return ""
    text = f"{value_text(one.value, one.u)} {photo.unit}"
    if photo.diameter_given:
        return f"Mean diameter {text}, as given."
    return f"Mean diameter {text} (standard uncertainty {value_text(one.u, one.u)} {photo.unit})."


def edge_text(photo: PhotoOutline) -> str:
    """Say how the edge was seen."""
    share = "" if photo.coverage >= 0.9995 else f", {100.0 * photo.coverage:.0f} % of the turn"
    return (
        f"Edge: radius {number(photo.radius_px, 1)} px, {photo.edge_count} independent points{share}, noise of one "
        f"{value_text(photo.edge_noise_px, photo.edge_noise_px)} px."
    )
