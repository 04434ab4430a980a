"""Form of balls from photographs of their outline: pictures in, form, lobes and diameters out."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

import numpy as np

from ballbench.errors import BadRecording, BadRequest, Fault, NotConverged
from ballbench.findings.cautions import cautions_for
from ballbench.findings.footing import Footing
from ballbench.findings.form_clauses import FormClause, form_clauses
from ballbench.findings.tracing.clauses import clauses_of
from ballbench.findings.tracing.forms import least_radius_for, photo_outline, separation_of
from ballbench.findings.tracing.results import (
    BallOutline,
    OutlineFindings,
    PhotoOutline,
    Separation,
    Shown,
    refused_photo,
)
from ballbench.findings.tracing.words import assumed, outline_sentences
from ballbench.form.two_point import ODD_LOBES
from ballbench.images.finding import outline_of
from ballbench.images.outline import Outline
from ballbench.images.view import view_of
from ballbench.records.media.camera_file import Camera, camera_of, read_camera
from ballbench.records.media.photo_file import Photo, read_photo
from ballbench.records.media.said_invented import calls_itself_invented
from ballbench.records.media.small_picture import small_jpeg
from ballbench.specs import Requirement, find_requirement
from ballbench.workflows.linear_algebra import one_thread_each
from ballbench.workflows.recording_files import copies_notes, file_faults, names_notes, refusal, shown_name, whose
from ballbench.workflows.trace_stated import MOST_PHOTOS, Stated, stated

__all__ = ["TRACE_CAUTIONS", "TraceRequest", "trace"]

TRACE_CAUTIONS = (
    (
        "Celluloid balls (cellulose nitrate) are highly flammable: light them from behind with a cool LED; no hot "
        "lamp, no flame, no sun through a lens, no solvent to clean them."
    ),
    "Set the ball on a stand that cannot tip; do not look into a bright lamp.",
)
Progress = Callable[[int, int], None]
_SMALL, _MARKS, _BORDER = 440, 180, 1.18


@dataclass(frozen=True, slots=True)
class TraceRequest:
    """What a person asks of `trace`.

    Parameters
    ----------
    files : tuple of Path
        Photographs, a ball in each.
    scale : str
        Size of a pixel in the plane of the ball's centre, ``"0.0125 mm/px"`` or ``"80 px/mm"``, with limits behind ±
        where wanted; empty: not known.
    diameter : str
        The ball's mean diameter from a caliper, ``"40.12 mm"``, in place of a scale; empty: not known.
    camera : Path or None
        A camera file; None: what the photograph tells of itself.
    distance : str
        From the camera to the ball's centre, ``"1.2 m"``, where the lens is not known; empty: not known.
    cutoff : float
        Of the Gaussian filter, undulations per revolution.
    turned : str
        Turns of one ball, degrees, one a photograph, ``"0,60,120"``; empty: the photographs stand for themselves.
    spec : str or None
        A requirement whose clauses on form are looked at.
    names : str
        How the files' names say product and ball.
    seed : int
        Of the simulations.
    whose : tuple of (str, str)
        Product and ball of each file, where it is known otherwise than from names.
    """

    files: tuple[Path, ...]
    scale: str = ""
    diameter: str = ""
    camera: Path | None = None
    distance: str = ""
    cutoff: float = 50.0
    turned: str = ""
    spec: str | None = None
    names: str = ""
    seed: int = 1
    whose: tuple[tuple[str, str], ...] = ()


def trace(request: TraceRequest, progress: Progress | None = None) -> OutlineFindings:
    """Say what photographs tell of the outline of balls.

    Parameters
    ----------
    request : TraceRequest
        What is asked.
    progress : callable, optional
        Called with the photographs done and their number.

    Returns
    -------
    OutlineFindings
        The same for the same request. A photograph that cannot be used says so in its `refused`, and the others count.

    Raises
    ------
    BadInput
        The request, the camera file or the requirement cannot be used.
    """
    said = _stated(request)
    requirement = find_requirement(request.spec) if request.spec is not None else None
    camera = read_camera(request.camera) if request.camera is not None else None
    owners = request.whose or whose(request.files, request.names)
    photos: list[PhotoOutline] = []
    with one_thread_each():
        for file, owner in zip(request.files, owners, strict=True):
            photos.append(_photo(file, owner, camera, said, request))
            if progress is not None:
                progress(len(photos), len(request.files))
        separation, apart = _separated(photos, said, request)
    read = [photo for photo in photos if not photo.refused]
    balls = _balls(read)
    clauses = () if requirement is None else tuple(_clauses(balls, requirement, in_mm=said.in_mm))
    notes = [ODD_LOBES, *apart] if read else []
    if not request.whose:
        used = [not photo.refused for photo in photos]
        notes[:0] = names_notes("which ball a photograph shows", request.files, owners, used, request.names)
    notes += copies_notes((photo.file, photo.digest) for photo in read)
    if requirement is not None and not clauses:
        notes.append(f"{requirement.title} has no limit of form that an outline could be held against")
    if said.known.diameter is not None and len(balls) > 1:
        notes.append("One diameter was given for several balls: each is taken to have it")
    unit: Literal["mm", "px"] = "mm" if said.in_mm else "px"
    taken = assumed(
        request.cutoff, unit, usual_scale=said.usual_scale, usual_diameter=said.usual_diameter,
        separated=separation is not None,
    )  # fmt: skip
    footing = Footing(
        any(calls_itself_invented(file) for file in request.files), taken if read else (),
        (*TRACE_CAUTIONS, *cautions_for(requirement, ["outline_form"])), tuple(notes),
    )  # fmt: skip
    found = OutlineFindings(
        tuple(photos),
        balls,
        separation,
        clauses,
        request.cutoff,
        unit,
        request.seed,
        requirement,
        footing,
        _options(request),
    )
    return replace(found, sentences=outline_sentences(found))


def _stated(request: TraceRequest) -> Stated:
    """Read what is said of the photographs; all that is wrong with it, or with their names, at once."""
    faults = file_faults(
        "trace", request.files, request.seed, "photographs of balls", "each photograph", "Curlew_07.jpg", MOST_PHOTOS
    )
    said: Stated | None = None
    try:
        said = stated(
            request.scale, request.diameter, request.distance, request.turned, request.cutoff, len(request.files)
        )
    except BadRequest as error:
        faults += error.faults
    if said is None or faults:
        raise BadRequest(faults)
    return said


def _photo(
    file: Path, owner: tuple[str, str], camera: Camera | None, said: Stated, request: TraceRequest
) -> PhotoOutline:
    """Read, trace and work out one photograph; say why where that cannot be done."""
    try:
        photo = read_photo(file)
    except BadRecording as error:
        return refused_photo(shown_name(file), "", f"{refusal(error)}.", product=owner[0], ball=owner[1])
    own = camera if camera is not None else camera_of(photo)
    outline = outline_of(photo.coded, camera=own)
    known = refused_photo(file.name, photo.file.digest, outline.refused, product=owner[0], ball=owner[1])
    if outline.refused:
        return replace(known, notes=(*photo.notes, *outline.notes))
    least = least_radius_for(request.cutoff)
    radius = float(outline.radius.mean())
    if radius < least:
        reason = (
            f"The ball has a radius of {radius:.0f} pixels; {request.cutoff:g} undulations ask for {least:.0f}: come "
            "nearer or zoom, or filter with --filter 15."
        )
        return replace(known, refused=reason)
    try:
        worked = photo_outline(
            replace(known, notes=photo.notes),
            outline,
            said.known,
            request.cutoff,
            _rng(request.seed, photo.file.digest),
            steps=photo.steps,
        )
    except NotConverged as error:
        return replace(
            known, refused=f"The outline has no reference circle that stands its test ({error}): take another."
        )
    return replace(worked, shown=_shown(photo, outline, own))


def _rng(seed: int, name: str) -> np.random.Generator:
    """Give the randomness of one photograph, which does not depend on what is traced beside it."""
    digest = hashlib.sha256(name.encode()).digest()
    return np.random.default_rng([seed, *digest[:16]])


def _shown(photo: Photo, outline: Outline, camera: Camera | None) -> Shown:
    """Cut out the ball, make it small, and put some of the edge points on it."""
    high, wide = photo.coded.shape
    half = float(outline.radius.mean()) * _BORDER
    x, y = outline.centre
    left, top = max(int(x - half), 0), max(int(y - half), 0)
    size = int(min(2.0 * half, wide - left, high - top))
    some = np.arange(0, len(outline.theta), max(1, len(outline.theta) // _MARKS))
    across, down = view_of(x, y, camera).shown(outline.theta[some], outline.radius[some])
    small = min(_SMALL, size)
    ratio = small / size
    jpeg = small_jpeg(photo.coded, left, top, size, small)
    return Shown(jpeg, small, small, (across + 0.5 - left) * ratio, (down + 0.5 - top) * ratio, outline.kept[some])


def _separated(
    photos: Sequence[PhotoOutline], said: Stated, request: TraceRequest
) -> tuple[Separation | None, tuple[str, ...]]:
    """Separate ball and camera where turns were said and two photographs or more can be used."""
    if not said.turns:
        return None, ()
    pairs = [(photo, turn) for photo, turn in zip(photos, said.turns, strict=True) if not photo.refused]
    turns = [turn for _, turn in pairs]
    if len({(photo.product, photo.ball) for photo, _ in pairs}) > 1:
        said_of = ", ".join(dict.fromkeys(f"{photo.product} {photo.ball}" for photo, _ in pairs))
        where, todo = "option --turned", "name the photographs of one ball alone"
        raise BadRequest(Fault(where, f"photographs of several balls ({said_of})", "one ball, turned", todo))
    if len(pairs) < 2 or all(math.isclose(math.remainder(t - turns[0], 360.0), 0.0, abs_tol=0.05) for t in turns):
        return None, ("Ball and camera were not separated: two photographs with different turns are needed",)
    return separation_of([photo for photo, _ in pairs], turns, request.cutoff, _rng(request.seed, "turned")), ()


def _balls(photos: Sequence[PhotoOutline]) -> tuple[BallOutline, ...]:
    names = dict.fromkeys((photo.product, photo.ball) for photo in photos)
    return tuple(
        BallOutline(product, ball, tuple(p for p in photos if (p.product, p.ball) == (product, ball)))
        for product, ball in names
    )


def _clauses(balls: Sequence[BallOutline], requirement: Requirement, *, in_mm: bool) -> tuple[FormClause, ...]:
    return tuple(clauses_of(balls, form_clauses(requirement.clauses), in_mm=in_mm))


def _options(request: TraceRequest) -> tuple[tuple[str, str], ...]:
    """Give the options as they would be typed again."""
    given = (
        ("--scale", request.scale), ("--diameter", request.diameter),
        ("--camera", "" if request.camera is None else request.camera.name), ("--distance", request.distance),
        ("--filter", f"{request.cutoff:g}"), ("--turned", request.turned), ("--spec", request.spec or ""),
        ("--names", request.names), ("--seed", str(request.seed)),
    )  # fmt: skip
    return tuple((name, value) for name, value in given if value)
