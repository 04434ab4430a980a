"""What outlines tell, in sentences: form with its interval, the lobes that are there, what a caliper would not see."""

from __future__ import annotations

from collections.abc import Sequence

from ballbench.findings.form_clauses import form_clause_sentence
from ballbench.findings.tracing.results import Lobe, OutlineFindings, PhotoOutline, Separation
from ballbench.form.form_interval import FormFound
from ballbench.quantities.rounding import decimals_of, format_value

__all__ = [
    "angle_text", "assumed", "circle_words", "form_sentence", "form_text", "lobe_text",
    "lobes_sentence", "outline_sentences", "photo_sentences", "separation_sentences", "value_text",
]  # fmt: skip

_NAMED = 4
"""Lobes that a sentence names (own choice); the rest stands in the table."""
_BOUND = 1.96


def outline_sentences(found: OutlineFindings) -> tuple[str, ...]:
    """Give the answer: a sentence a photograph, those on ball and camera, then one a clause."""
    several = {(ball.product, ball.ball) for ball in found.balls if len(ball.photos) > 1}
    own = [f"{_name(photo, several)}: {form_sentence(photo)}" for photo in found.read]
    together = [] if found.separation is None else separation_sentences(found.separation)
    if found.photos and not own:
        own = ["No photograph could be used; why, and what to do, stands with each."]
    said = (form_clause_sentence(clause, "outlines that were photographed") for clause in found.clauses)
    return (*together, *own, *said)


def _name(photo: PhotoOutline, several: set[tuple[str, str]]) -> str:
    """Name the ball, and the photograph where it has several."""
    which = f" ({photo.file})" if (photo.product, photo.ball) in several else ""
    return f"{photo.product}, ball {photo.ball}{which}"


def photo_sentences(photo: PhotoOutline) -> tuple[str, ...]:
    """Give what one photograph tells besides its form."""
    return tuple(sentence for sentence in (lobes_sentence(photo.lobes, photo.unit), _diameters(photo)) if sentence)


def form_sentence(photo: PhotoOutline) -> str:
    """Say the form by the minimum zone, or that the ball is not told from a round one."""
    zone = next(form for form in photo.forms if form.kind == "minimum zone")
    if not zone.told and photo.told:
        return (
            f"form {form_text(zone, photo.unit)}; that much from crest to trough is not told from a round ball's, but "
            f"{_tall(photo.told)} lobes stand out of the noise."
        )
    if not zone.told:
        return f"not told from a round ball; its form is {form_text(zone, photo.unit)}."
    return f"form {form_text(zone, photo.unit)}{_main_lobes(photo.told)}."


def form_text(form: FormFound, unit: str) -> str:
    """Print a form with its interval, ``"0.034 mm (0.027 to 0.041)"``; a bound where a round ball is not ruled out."""
    decimals = max(decimals_of(form.u), 0) if form.u > 0.0 else 4
    if form.low <= 0.0:
        return f"at most {format_value(form.high, decimals)} {unit}"
    low, high = format_value(form.low, decimals), format_value(form.high, decimals)
    return f"{format_value(form.value, decimals)} {unit} ({low} to {high})"


def circle_words(kind: str) -> str:
    """Name a reference circle as a sentence part."""
    return f"{kind} circles" if kind == "minimum zone" else f"{kind} circle"


def _main_lobes(told: Sequence[Lobe]) -> str:
    if not told:
        return ""
    return f", most of it {_tall(told)} lobes"


def _tall(told: Sequence[Lobe]) -> str:
    """Number the lobes that are a quarter as high as the highest, or higher."""
    return _joined([str(lobe.n) for lobe in told[:_NAMED] if lobe.freed >= 0.25 * told[0].freed])


def lobes_sentence(lobes: Sequence[Lobe], unit: str) -> str:
    """Name the lobes that noise does not explain, the highest first."""
    told = sorted((lobe for lobe in lobes if lobe.told), key=lambda lobe: -lobe.freed)
    if not told:
        return "No lobes stand out of the noise of the edge."
    parts = [lobe_text(lobe, unit) for lobe in told[:_NAMED]]
    more = f"; {len(told) - _NAMED} more are in the table" if len(told) > _NAMED else ""
    return f"Lobes: {'; '.join(parts)}{more}."


def lobe_text(lobe: Lobe, unit: str) -> str:
    """Print one harmonic: ``"3 lobes of 0.0102 mm, a crest at 14°"``."""
    return f"{lobe.n} lobes of {value_text(lobe.freed, lobe.u)} {unit}, a crest at {angle_text(lobe.crests_deg[0])}"


def value_text(value: float, u: float) -> str:
    """Print a value no finer than its uncertainty."""
    return format_value(value, max(decimals_of(u), 0) if u > 0.0 else 4)


def angle_text(degrees: float) -> str:
    """Print an angle to the whole degree, 0 to 359."""
    return f"{round(degrees) % 360}°"


def _diameters(photo: PhotoOutline) -> str:
    one = photo.diameters
    if one is None or not (one.even or one.odd):
        return ""
    three = next(axes for axes in one.by_axes if axes.axes == 3)
    if one.even:
        words = (
            f"In this plane diameters vary by {value_text(one.variation, one.u)} {photo.unit}; a caliper at three even "
            f"axes would show {value_text(three.mean, one.u)} {photo.unit} of it on average"
        )
    else:
        hidden = _BOUND * one.u
        words = (
            "No even lobes stand out of the noise, so diameters are not told to vary in this plane: two lobes that "
            f"hide there vary them by {value_text(hidden, hidden)} {photo.unit} at most"
        )
    if not one.odd:
        return f"{words}."
    return f"{words}. Odd lobes make {value_text(one.odd_form, one.odd_u)} {photo.unit} of form that no caliper shows."


def separation_sentences(found: Separation) -> list[str]:
    """Say what is the ball's and what the camera's."""
    zone = next(form for form in found.forms if form.kind == "minimum zone")
    told = sorted((lobe for lobe in found.lobes if lobe.told), key=lambda lobe: -lobe.freed)
    count = len(found.turns)
    words = [f"The ball alone, from {count} turns: form {form_text(zone, found.unit)}{_main_lobes(told)}."]
    camera = sorted((lobe for lobe in found.camera if lobe.told), key=lambda lobe: -lobe.freed)
    if camera:
        tall = [lobe for lobe in camera[:2] if lobe.freed >= 0.1 * camera[0].freed]
        words.append(f"The camera adds {'; '.join(lobe_text(lobe, found.unit) for lobe in tall)}.")
    else:
        words.append("The camera adds nothing that stands out of the noise.")
    if found.blind:
        words.append(f"Blind to {_joined([str(n) for n in found.blind])} lobes: these are left out.")
    if not found.agrees:
        words.append(f"The photographs do not go together; {found.worst} is furthest off. Check its turn.")
    return words


def assumed(cutoff: float, unit: str, *, usual_scale: bool, usual_diameter: bool, separated: bool) -> tuple[str, ...]:
    """Say what was taken for granted.

    Parameters
    ----------
    cutoff, unit : float, str
        Of the outlines.
    usual_scale, usual_diameter : bool
        The scale, or the diameter, came without its limits.
    separated : bool
        Ball and camera were taken apart by turns.
    """
    words = [
        (
            f"Form is stated after a Gaussian filter that passes half of {cutoff:g} undulations per revolution (ISO "
            "12181-2); lobes are those before the filter."
        )
    ]
    if usual_scale:
        words.append("The scale came without limits: a standard uncertainty of 0.1 % is taken (own choice).")
    if usual_diameter:
        words.append(
            "The diameter came without limits: a standard uncertainty of 0.02 mm is taken, a usual caliper's (own "
            "choice)."
        )
    if unit == "px":
        words.append("Neither scale nor diameter was given: lengths are in pixels.")
    words += [
        "The edge as a whole is known to 0.1 pixel of the radius (own choice); that moves the diameter, not the form.",
        (
            "Intervals hold the noise of the edge, what the file's coding leaves and the oval that the camera may "
            "leave, no other fault of a camera: photograph a ball that is known to be round as a check."
        ),
        "An outline is the ball seen from one side: other sections may be rounder or less round.",
    ]
    if separated:
        words.append("Each turn is known to 1 degree (own choice).")
    return tuple(words)


def _joined(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
