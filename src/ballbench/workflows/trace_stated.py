"""What a person says of photographs: scale, diameter, distance, turns, each read from words."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from ballbench.errors import BadRequest, Fault
from ballbench.findings.tracing.forms import SizeKnown
from ballbench.form.roundness_filter import CUTOFFS
from ballbench.quantities.uncertain import Uncertain
from ballbench.workflows.stated_quantities import stated_quantity

__all__ = ["MOST_PHOTOS", "Stated", "stated"]

MOST_PHOTOS = 200
_SCALE_U = 1e-3  # relative, where no limits are said: a pixel over a thousand (own choice)
_DIAMETER_U = 0.02  # mm, likewise: a usual caliper (own choice)
_DISTANCE_U = 0.02  # relative, likewise: a tape to a place inside a lens (own choice)
_LEAST_CUTOFF, _MOST_CUTOFF = 5.0, 200.0


@dataclass(frozen=True, slots=True)
class Stated:
    """What was said.

    Parameters
    ----------
    known : SizeKnown
        What gives an outline its size.
    turns : tuple of float
        Degrees, one a photograph; empty: none.
    usual_scale, usual_diameter : bool
        Said without limits, so that usual ones were taken.
    """

    known: SizeKnown
    turns: tuple[float, ...]
    usual_scale: bool
    usual_diameter: bool

    @property
    def in_mm(self) -> bool:
        """Whether results are in mm; else in pixels."""
        return self.known.scale is not None or self.known.diameter is not None


def stated(scale: str, diameter: str, distance: str, turned: str, cutoff: float, photos: int) -> Stated:
    """Read all that was said of photographs.

    Parameters
    ----------
    scale, diameter, distance, turned : str
        As in `TraceRequest`.
    cutoff : float
        Undulations per revolution.
    photos : int
        How many there are.

    Returns
    -------
    Stated
        In mm, mm/px and degrees.

    Raises
    ------
    BadRequest
        All that is wrong at once.
    """
    faults: list[Fault] = []
    if not _LEAST_CUTOFF <= cutoff <= _MOST_CUTOFF:
        usual = ", ".join(f"{one:g}" for one in CUTOFFS)
        rule = f"{_LEAST_CUTOFF:g} to {_MOST_CUTOFF:g} undulations per revolution"
        faults.append(Fault("option --filter", f"{cutoff:g}", rule, f"take one of {usual}"))
    if scale.strip() and diameter.strip():
        todo = "give the one that is known better; the other is then a check"
        faults.append(Fault("option --scale", "a scale and a diameter", "one of the two", todo))
    size = _kept(_scale(scale), faults) if scale.strip() else None
    ball = (
        _kept(_length("--diameter", diameter, "40.12 mm", (5.0, 400.0), _DIAMETER_U), faults)
        if diameter.strip()
        else None
    )
    away = _kept(_length("--distance", distance, "1.2 m", (50.0, 50_000.0), None), faults) if distance.strip() else None
    turns = _turns(turned, photos, faults)
    if faults:
        raise BadRequest(faults)
    return Stated(
        SizeKnown(size, ball, away), turns, size is not None and not _limits(scale),
        ball is not None and not _limits(diameter),
    )  # fmt: skip


def _kept(found: Uncertain | Fault, faults: list[Fault]) -> Uncertain | None:
    if isinstance(found, Fault):
        faults.append(found)
        return None
    return found


def _limits(text: str) -> bool:
    return re.search(r"±|\+/-|\+-", text) is not None


def _scale(text: str) -> Uncertain | Fault:
    """Read mm/px, or px/mm turned round."""
    where, example = "option --scale", "a size of a pixel such as 0.0125 mm/px, or 80 px/mm"
    flat = re.sub(r"\s*/\s*(?:pixels?|px)\b", "/px", text)
    if "/px" in flat:
        read = stated_quantity(where, flat.replace("/px", ""), "mm", example)
        turned = False
    else:
        flat = re.sub(r"\b(?:pixels?|px)\s*/\s*mm\b", "", text)
        if flat == text:
            return Fault(where, repr(text[:60]), example, "write mm/px or px/mm behind the number")
        read, turned = stated_quantity(where, flat, "1", example), True
    if isinstance(read, Fault):
        return Fault(where, repr(text[:60]), example, read.todo)
    if not read.value > 0.0:
        return Fault(where, repr(text[:60]), example, "give a size above 0")
    value = 1.0 / read.value if turned else read.value
    relative = read.u / read.value if _limits(text) else _SCALE_U
    if not 1e-4 <= value <= 1.0:
        return Fault(where, repr(text[:60]), "0.0001 to 1 mm/px", "check the number and its unit")
    return Uncertain(value, relative * value, math.inf, "mm/px")


def _length(
    option: str, text: str, example: str, ends: tuple[float, float], usual_u: float | None
) -> Uncertain | Fault:
    read = stated_quantity(f"option {option}", text, "mm", f"a length such as {example}", usual_u)
    if isinstance(read, Fault):
        return read
    if not ends[0] <= read.value <= ends[1]:
        rule = f"{ends[0]:g} to {ends[1]:g} mm"
        return Fault(f"option {option}", repr(text[:60]), rule, "check the number and its unit")
    if usual_u is None and not _limits(text):
        return Uncertain(read.value, _DISTANCE_U * read.value, math.inf, "mm")
    return read


def _turns(text: str, photos: int, faults: list[Fault]) -> tuple[float, ...]:
    """Read turns in degrees, one a photograph."""
    if not text.strip():
        return ()
    where, example = "option --turned", "degrees with commas between, one for each photograph, such as 0,60,120"
    try:
        turns = tuple(float(part.strip().rstrip("°")) for part in text.split(","))
    except ValueError:
        turns = (math.nan,)
    if not all(math.isfinite(turn) and abs(turn) <= 3600.0 for turn in turns):
        faults.append(Fault(where, repr(text[:60]), example, "write it so"))
        return ()
    if len(turns) != photos or photos < 2:
        found = f"{len(turns)} turns for {photos} photograph{'' if photos == 1 else 's'}"
        faults.append(Fault(where, found, example, "name the photographs in the order of their turns"))
        return ()
    return turns
