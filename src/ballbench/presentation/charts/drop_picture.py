"""Filmed drops as chart data: the clips of a product, each with the places of its ball and the flight through them."""

from __future__ import annotations

import math

from ballbench.findings.bouncing.words import spread_text
from ballbench.findings.watching.results import DropFindings, FilmedClip
from ballbench.presentation.charts.drop_data import FilmChart, FilmDot, FilmRow
from ballbench.presentation.charts.value_axis import round_ticks, span_axis
from ballbench.presentation.numbers import number
from ballbench.presentation.wording import plural

__all__ = ["film_picture", "film_says", "filmed_products", "shown_clips"]

_MOST_ROWS = 6
"""Clips that a picture shows; the table has all (own choice)."""
_MOST_DOTS = 110
"""Places that are drawn of a clip, evenly chosen (own choice): more run into each other."""


def filmed_products(found: DropFindings) -> tuple[str, ...]:
    """Give the products of which a clip was read."""
    return tuple(dict.fromkeys(one.product for one in found.clips if not one.refused))


def shown_clips(found: DropFindings, product: str) -> tuple[FilmedClip, ...]:
    """Give the clips of a product that its picture shows: one of every ball before a second of any, six at most."""
    read = [one for one in found.clips if one.product == product and not one.refused]
    turn: dict[str, int] = {}
    ranked = []
    for place, one in enumerate(read):
        turn[one.ball] = turn.get(one.ball, 0) + 1
        ranked.append((turn[one.ball], place))
    kept = sorted(place for _, place in sorted(ranked)[:_MOST_ROWS])
    return tuple(read[place] for place in kept)


def film_picture(found: DropFindings, product: str) -> FilmChart:
    """Draw up the clips of one product.

    Parameters
    ----------
    found : DropFindings
        With a clip of it that was read.
    product : str
        Which.

    Returns
    -------
    FilmChart
        Time runs from the first impact of each clip.
    """
    read = [one for one in found.clips if one.product == product and not one.refused]
    shown = shown_clips(found, product)
    rows = tuple(_row(one) for one in shown)
    times = [dot.time for row in rows for dot in row.dots]
    heights = [dot.height for row in rows for dot in row.dots]
    heights += [height for row in rows for run in row.curve for _, height in run]
    highest = 1.12 * max(heights)
    axis = span_axis("time since the first impact", "s", times, margin=0.04, ticked=True)
    balls = len({one.ball for one in read})
    n_text = f"n = {plural(len(read), 'drop')} of {plural(balls, 'ball')}"
    if len(read) > len(shown):
        n_text += f", {len(shown)} shown"
    remark = "hollow: left out, or put by hand" if any(dot.look != "used" for row in rows for dot in row.dots) else ""
    ticks = tuple(tick for tick in round_ticks(0.0, highest) if tick.value >= 0.0)
    return FilmChart(axis, ticks, highest, rows, n_text, remark)


def _row(one: FilmedClip) -> FilmRow:
    seen, start = one.seen, one.impacts[0].time
    every = max(1, math.ceil(len(seen.times) / _MOST_DOTS))
    dots = tuple(
        FilmDot(time - start, height, "left out" if not used else "by hand" if by_hand else "used")
        for k, (time, height, used, by_hand) in enumerate(
            zip(seen.times, seen.heights, seen.used, seen.by_hand, strict=True)
        )
        if k % every == 0 or not used or by_hand
    )
    runs: list[tuple[tuple[float, float], ...]] = []
    run: list[tuple[float, float]] = []
    for time, height in zip(seen.curve_times, seen.curve_heights, strict=True):
        if math.isfinite(height):
            run.append((time - start, height))
        elif run:
            runs.append(tuple(run))
            run = []
    runs += [tuple(run)] if run else []
    first = one.impacts[0]
    inside = [(t, h) for part in runs for t, h in part if t > 0.0] or [(0.0, 0.0)]
    end = one.impacts[1].time - start if len(one.impacts) > 1 else math.inf
    top = max((pair for pair in inside if pair[0] < end), key=lambda pair: pair[1], default=inside[0])
    words = f"{number(first.rebound.value, 1)} mm"
    shown = one.at_height or first.rebound
    return FilmRow(
        f"ball {one.ball}, {one.file}", f"rebound {spread_text(shown, 'mm')}", dots, tuple(runs),
        tuple((hit.time - start, number(hit.restitution.value, 3)) for hit in one.impacts),
        (top[0], first.rebound.value, words),
    )  # fmt: skip


def film_says(chart: FilmChart) -> str:
    """Say what the picture shows, for those who do not see it."""
    rows = [
        f"{row.label}: {len(row.impacts)} impacts, first rebound {row.top[2]}, restitution "
        f"{', '.join(text for _, text in row.impacts)}"
        for row in chart.rows
    ]
    return f"{'; '.join(rows)}. {chart.n_text}."
