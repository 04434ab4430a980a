"""What was traced as a readings file that `judge` and `compare` take."""

from __future__ import annotations

from collections.abc import Iterator

from ballbench.errors import BadRequest, Fault
from ballbench.findings.tracing.results import OutlineFindings, PhotoOutline
from ballbench.quantities.rounding import decimals_of, format_value
from ballbench.workflows.readings_written import Row, Turns, readings_text

__all__ = ["outline_readings", "refuse_without_scale"]

_INSTRUMENT = "photograph of the outline"
_KIND = "minimum circumscribed"
"""Published limits of the form of an outline are radial from a circumscribed sphere."""


def refuse_without_scale(scale: str, diameter: str) -> None:
    """Refuse, before photographs are traced, to write readings of outlines that will have no scale.

    Raises
    ------
    BadRequest
        Neither a scale nor a diameter was said.
    """
    if not scale.strip() and not diameter.strip():
        raise _without_scale()


def _without_scale() -> BadRequest:
    todo = "say --scale or --diameter"
    return BadRequest(Fault("option --readings", "outlines in pixels", "outlines with a scale", todo))


def outline_readings(found: OutlineFindings) -> str:
    """Write what was traced as the text of a readings file.

    Parameters
    ----------
    found : OutlineFindings
        As found, in mm.

    Returns
    -------
    str
        CSV: of each photograph the form from the minimum circumscribed circle, without what noise adds, and the mean
        diameter where it is a result. Each row names the photograph, its digest and the filter.

    Raises
    ------
    BadRequest
        Outlines without a scale.
    """
    if found.unit != "mm":
        raise _without_scale()
    rows: list[Row] = []
    turns = Turns()
    for photo in found.read:
        rows += _rows(photo, turns.next(photo.product, photo.ball), found.cutoff)
    return readings_text(rows, invented=found.footing.invented)


def _rows(photo: PhotoOutline, repeat: int, cutoff: float) -> Iterator[Row]:
    note = f"{photo.file}, {photo.digest}"
    form = next(one for one in photo.forms if one.kind == _KIND)
    value = format_value(form.value, max(decimals_of(form.u), 0))
    how = f"{_KIND} circle, filter {cutoff:g} to the turn"
    yield (photo.product, photo.ball, "outline_form", value, "mm", str(repeat), _INSTRUMENT, f"{how}; {note}")
    if photo.diameter is not None and not photo.diameter_given:
        value = format_value(photo.diameter.value, max(decimals_of(photo.diameter.u), 0))
        how = "mean diameter of the outline"
        yield (photo.product, photo.ball, "diameter", value, "mm", str(repeat), _INSTRUMENT, f"{how}; {note}")
