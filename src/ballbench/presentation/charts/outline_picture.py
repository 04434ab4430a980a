"""An outline as chart data: the skin about the middle of its minimum zone, its lobes named at their crests."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ballbench.findings.tracing.results import Lobe, PhotoOutline, Separation, Skin
from ballbench.findings.tracing.words import angle_text, form_text, lobe_text
from ballbench.form.form_interval import FormFound
from ballbench.presentation.charts.outline_data import Crest, EdgeChart, OutlineChart
from ballbench.presentation.numbers import number

__all__ = ["edge_picture", "edge_says", "outline_picture", "outline_says", "separation_picture"]

SKIN = 30.0
"""Height of the skin in the picture for the whole form, px, and the radius it stands on."""
RADIUS = 92.0
_ABOVE_NOISE = 3.0
"""What noise alone shows fills a third of the skin's room: a round ball is drawn nearly round. But no skin is drawn
thinner than that, though the camera may leave more than it shows: lobes that are named are to be seen (own choice)."""
_NAMED, _MANY = 3, 8
"""Numbers of lobes that are named at their crests, and up to how many crests all of them are (own choices)."""


def outline_picture(photo: PhotoOutline) -> OutlineChart:
    """Draw up one photograph that was not refused."""
    if photo.skin is None or photo.diameter is None:
        raise ValueError("a photograph that was refused has no outline to draw")
    label = f"{photo.product}, ball {photo.ball}"
    n_text = f"n = {photo.edge_count:,} independent points"
    return _picture(photo.skin, photo.forms, photo.told, label, n_text, photo.unit, photo.diameter.value / 2.0)


def separation_picture(found: Separation, radius: float) -> OutlineChart:
    """Draw up the ball alone; `radius` in the unit of the outline."""
    told = sorted((lobe for lobe in found.lobes if lobe.told), key=lambda lobe: -lobe.freed)
    return _picture(found.skin, found.forms, told, "The ball alone", f"{len(found.turns)} turns", found.unit, radius)


def _picture(
    skin: Skin, forms: Sequence[FormFound], told: Sequence[Lobe], label: str, n_text: str, unit: str, radius: float
) -> OutlineChart:
    zone = next(form for form in forms if form.kind == "minimum zone")
    off = tuple(None if math.isnan(value) else float(value) for value in skin.off)
    high = max((value for value in off if value is not None), default=0.0)
    low = min((value for value in off if value is not None), default=0.0)
    own = high - low
    height = max(own, min(_ABOVE_NOISE * zone.floor, _ABOVE_NOISE * own), 1e-12)
    noise = "" if zone.told or told else ", and shows noise alone"
    magnified = SKIN / height / (RADIUS / radius)
    bar = _bar(height)
    return OutlineChart(
        label,
        tuple(math.degrees(angle) for angle in skin.theta),
        off,
        tuple((math.degrees(a), float(v)) for a, v in zip(skin.points_theta, skin.points_off, strict=True)),
        high,
        low,
        tuple(math.degrees(angle) for angle in skin.high),
        tuple(math.degrees(angle) for angle in skin.low),
        tuple(_crests(told)),
        bar,
        f"{bar:g} {unit}",
        height,
        f"skin drawn {_round(magnified)} times too high{noise}",
        tuple(form_text(zone, unit).replace(" (", "\n(").split("\n")),
        n_text,
    )


def _crests(told: Sequence[Lobe]) -> list[Crest]:
    """Name the highest lobes at their crests; of many crests the first alone."""
    tall = [lobe for lobe in told if lobe.freed >= 0.1 * told[0].freed][:_NAMED]
    return [
        Crest(str(lobe.n), degrees, rank)
        for rank, lobe in enumerate(tall)
        for degrees in (lobe.crests_deg if lobe.n <= _MANY else lobe.crests_deg[:1])
    ]


def _bar(height: float) -> float:
    """Give a round length from a third of the form up: 1, 2 or 5 of some power of ten."""
    power = 10.0 ** math.floor(math.log10(height))
    return min(
        (step * power for step in (0.1, 0.2, 0.5, 1.0, 2.0)), key=lambda one: abs(math.log(one / (0.6 * height)))
    )


def _round(factor: float) -> str:
    """Print a magnification to two figures."""
    power = 10 ** max(math.floor(math.log10(factor)) - 1, 0)
    return number(round(factor / power) * power, 0)


def outline_says(label: str, lobes: Sequence[Lobe], forms: Sequence[FormFound], unit: str) -> str:
    """Say what a picture of an outline shows, for those who do not see it."""
    zone = next(form for form in forms if form.kind == "minimum zone")
    told = sorted((lobe for lobe in lobes if lobe.told), key=lambda lobe: -lobe.freed)[:_NAMED]
    parts = [
        f"{lobe_text(lobe, unit)}, then every {angle_text(360.0 / lobe.n)}" if lobe.n > 1 else lobe_text(lobe, unit)
        for lobe in told
    ]
    words = "; ".join(parts) if parts else "no lobes stand out of the noise"
    return f"Outline of {label} with a magnified skin: form {form_text(zone, unit)}. {words[:1].upper()}{words[1:]}."


def edge_picture(photo: PhotoOutline) -> EdgeChart:
    """Draw up the part of the photograph with its edge points."""
    shown = photo.shown
    if shown is None:
        raise ValueError("a photograph that was refused has no edge to draw")
    points = tuple((float(x), float(y), bool(k)) for x, y, k in zip(shown.x, shown.y, shown.kept, strict=True))
    return EdgeChart(photo.file, shown.jpeg, shown.width, shown.height, points, f"{len(points)} of the points")


def edge_says(photo: PhotoOutline) -> str:
    """Say what a picture of the edge shows, for those who do not see it."""
    seen = "all around" if photo.coverage >= 0.9995 else f"over {100.0 * photo.coverage:.0f} % of the turn"
    return f"The ball in {photo.file} with the edge that was picked, seen {seen}: it should lie on the ball's limb."
