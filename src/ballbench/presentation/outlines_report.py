"""What outlines tell becomes a document: the answer, each outline with its skin and edge, what it rests on."""

from __future__ import annotations

from ballbench.findings.tracing.results import Lobe, OutlineFindings, PhotoOutline, Separation
from ballbench.findings.tracing.words import angle_text, form_text, lobe_text, photo_sentences, value_text
from ballbench.form.form_interval import FormFound
from ballbench.presentation.charts.outline_picture import (
    edge_picture,
    edge_says,
    outline_picture,
    outline_says,
    separation_picture,
)
from ballbench.presentation.document import Block, Document, Figure, Fold, Heading, Listing, Paragraph, Table
from ballbench.presentation.outlines_terminal import diameter_text, edge_text, of_each, shared_notes
from ballbench.presentation.report_frame import (
    NO_APPROVAL,
    answer_blocks,
    framed,
    held_against,
    limits_listed,
    rebuilt,
    refused_blocks,
    standing_blocks,
)
from ballbench.presentation.report_tables import caption
from ballbench.presentation.wording import as_sentence, plural

__all__ = ["outlines_blocks", "outlines_document", "trace_line"]

_METHODS = (
    (
        "The edge of the ball is found along its whole limb, below a pixel, each point with its uncertainty; lens and "
        "perspective are taken out as far as they are known."
    ),
    (
        "Form is the largest less the smallest distance from the centre of a reference circle (ISO 12181-1), after a "
        "Gaussian filter (ISO 12181-2). The minimum zone is accepted with two outer and two inner contacts that "
        "alternate, the other circles with their own proof."
    ),
    (
        "Noise makes form larger, the more the rounder the ball. In a simulation shapes from flat to higher than the "
        "one seen get the noise of the edge: the interval is of the forms that would show as much as was seen, and the "
        "value is the one that would in every second case."
    ),
    (
        "Lobes are harmonics of the outline before the filter. One counts where noise alone would lift any of them "
        "so high in one case of twenty at most."
    ),
)
_SKIN = (
    "The outline after the filter, its skin drawn much too high; the numbers stand at the crests of the lobes. Dashed: "
    "the two circles of the minimum zone, with their contacts. Specks: edge points before the filter."
)
_LIMITS = (
    "Other sections of the ball: an outline is one view.",
    "Faults smaller than the filter passes, such as a narrow seam or a scratch.",
    NO_APPROVAL,
)


def outlines_document(found: OutlineFindings) -> Document:
    """Build the report of outlines.

    Parameters
    ----------
    found : OutlineFindings
        As found.

    Returns
    -------
    Document
        Answer, pictures, tables, what was not used, what it rests on.
    """
    names = ", ".join(dict.fromkeys(photo.product for photo in found.read)) or "No photograph could be used"
    return framed(
        "Form from photographs", f"{names}. Form is crest to trough of the radius after the filter, 95 %.",
        (*outlines_blocks(found), *_standing(found)), f"form from photographs, seed {found.seed}",
        invented=found.footing.invented,
    )  # fmt: skip


def outlines_blocks(found: OutlineFindings) -> tuple[Block, ...]:
    """Give what is said of the balls: sentences, pictures with their tables, and what was not used."""
    told = len(found.sentences) - len(found.clauses)
    blocks = answer_blocks(found.sentences[:told], len(() if found.separation else found.balls))
    blocks += held_against(found.requirement, limits_listed(found.sentences[told:], found.clauses))
    if found.separation is not None:
        blocks += _separation(found.separation, found)
    shared = shared_notes(found)
    for photo in found.read:
        blocks += _photo(photo, shared, invented=found.footing.invented)
    refused = [f"{photo.file}: {photo.refused}" for photo in found.photos if photo.refused]
    return (*blocks, *refused_blocks(refused, 2, "refused"))


def _photo(photo: PhotoOutline, shared: tuple[str, ...], *, invented: bool) -> list[Block]:
    name = f"{photo.product}, ball {photo.ball}"
    blocks: list[Block] = [Heading(f"{name}: {photo.file}", 2)]
    blocks += [Paragraph(text) for text in (diameter_text(photo), *photo_sentences(photo))]
    skin = Figure(
        outline_picture(photo),
        caption(_SKIN, invented=invented),
        outline_says(name, photo.lobes, photo.forms, photo.unit),
        _lobe_table(photo.lobes, photo.unit),
    )
    edge = Figure(
        edge_picture(photo),
        caption("Look whether the dots lie on the limb of the ball.", invented=invented),
        edge_says(photo),
        Table("The edge", ("what", "value"), _edge_rows(photo), (1,)),
    )
    blocks += [skin, edge, _form_table(photo.forms, photo.unit), *_diameter_table(photo)]
    own = tuple(as_sentence(note) for note in photo.notes if note not in shared)
    # A list, for a paragraph would be kept together with the next photograph's picture, on a page of its own.
    return [*blocks, Fold("How this photograph was read", (Listing((edge_text(photo), *own)),))]


def _form_table(forms: tuple[FormFound, ...], unit: str) -> Table:
    rows = tuple(
        (
            form.kind,
            form_text(form, unit),
            f"{value_text(form.seen, form.u)} {unit}",
            f"{value_text(form.floor, form.u)} {unit}",
            "yes" if form.told else "no",
        )
        for form in forms
    )
    return Table(
        "Form by reference circle",
        ("circle", "form (95 %)", "as seen", "a round ball, at most", "told from round"),
        rows,
    )


def _lobe_table(lobes: tuple[Lobe, ...], unit: str) -> Table:
    rows = tuple(
        (
            str(lobe.n),
            value_text(lobe.amplitude, lobe.u),
            value_text(lobe.u, lobe.u),
            f"{lobe.phase_deg:.0f}",
            angle_text(lobe.crests_deg[0]) if lobe.told else "",
            "yes" if lobe.told else "no",
        )
        for lobe in lobes
        if lobe.told or lobe.n <= 12
    )
    heads = ("lobes", f"amplitude ({unit})", f"u ({unit})", "phase (deg)", "first crest", "beyond noise")
    return Table("Lobes before the filter: 2 to 12, and those beyond noise", heads, rows, (1, 2, 3))


def _edge_rows(photo: PhotoOutline) -> tuple[tuple[str, str], ...]:
    return (
        ("radius (px)", f"{photo.radius_px:.1f}"),
        ("independent points seen", str(photo.edge_count)),
        ("share of the turn (%)", f"{100.0 * photo.coverage:.1f}"),
        ("noise of one of them (px)", f"{photo.edge_noise_px:.3f}"),
        ("width of the edge (px)", f"{photo.edge_width_px:.1f}"),
        ("oval that the camera may leave (px)", f"{photo.oval_px:.3f}"),
    )


def _diameter_table(photo: PhotoOutline) -> list[Block]:
    one = photo.diameters
    if one is None or not one.even:
        return []
    rows = tuple(
        (
            f"{by.axes}",
            value_text(by.mean, one.u),
            f"{value_text(by.low, one.u)} to {value_text(by.high, one.u)}",
        )
        for by in one.by_axes
    )
    heads = ("even axes", f"variation on average ({photo.unit})", "95 % of placings")
    return [Table("What a caliper would show in this plane, without its own noise", heads, rows, (1,))]


def _separation(found: Separation, all_found: OutlineFindings) -> list[Block]:
    diameters = [photo.diameter.value for photo in all_found.read if photo.diameter is not None]
    figure = Figure(
        separation_picture(found, sum(diameters) / len(diameters) / 2.0),
        caption("The ball alone, what stays with the camera taken off.", invented=all_found.footing.invented),
        outline_says("the ball alone", found.lobes, found.forms, found.unit),
        _lobe_table(found.lobes, found.unit),
    )
    turns = ", ".join(f"{turn:g}" for turn in found.turns)
    camera = "; ".join(lobe_text(lobe, found.unit) for lobe in found.camera if lobe.told)
    listed = (f"The camera's part: {camera}.",) if camera else ()
    return [
        Heading("Ball and camera apart", 2, "apart"),
        Paragraph(f"From {plural(len(found.turns), 'photograph')}, the ball turned by {turns} degrees."),
        figure,
        _form_table(found.forms, found.unit),
        Fold("More of ball and camera", (Listing((*map(as_sentence, found.notes), *listed)),)),
    ]


def trace_line(found: OutlineFindings) -> str:
    """Give the command that tells the same of the same photographs."""
    options = " ".join(f'{name} "{value}"' if " " in value else f"{name} {value}" for name, value in found.options)
    return f"ballbench trace PHOTO... {options}"


def _standing(found: OutlineFindings) -> list[Block]:
    files = tuple((photo.file, photo.digest or "not opened") for photo in found.photos)
    rebuild = rebuilt(trace_line(found), files, found.requirement)
    notes = ("How the photographs were read", (*of_each(shared_notes(found)), *found.footing.notes))
    return standing_blocks(found.footing, rebuild, methods=_METHODS, limits=_LIMITS, notes=notes)
