"""What a plan says of form, in sentences: what its axes catch of a variation, and what noise makes of a round ball."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from ballbench.findings.planning.axes_of_form import SQUARE, ShapeCaught
from ballbench.findings.plans import Plan
from ballbench.findings.qualifying.round_balls import round_ball_words
from ballbench.form.two_point import ODD_LOBES, blind_even_lobes

__all__ = ["NOTHING", "form_sentences", "shape_words", "share_caught_words"]

NOTHING = "nothing"
PLACES = "Each place of a ball is one diameter, read along an axis of its own."
NUMBERS = {2: "two", 4: "four", 6: "six"}


def form_sentences(plan: Plan) -> list[str]:
    """Say what the axes of a plan show of form; nothing where it is not about diameters.

    Parameters
    ----------
    plan : Plan
        With `caught` and `round_ball`.
    """
    if not plan.caught:
        return []
    return [*_one_place(plan), PLACES, *_caught(plan), *_floor(plan), ODD_LOBES]


def shape_words(one: ShapeCaught) -> str:
    """Name a shape, ``"an oval ball"``, ``"a section with two and four lobes mixed"``."""
    if one.over == "ball":
        tail = f" with {_lobes(one.lobes[1:])} added" if len(one.lobes) > 1 else ""
        return f"an oval ball{tail}"
    return "an oval section" if one.lobes == (2,) else f"a section with {_section_words(one)}"


def _section_words(one: ShapeCaught) -> str:
    if one.lobes == (2,):
        return "an oval"
    return _lobes(one.lobes) + (" mixed" if len(one.lobes) > 1 else "")


def share_caught_words(share: float) -> str:
    """Write a share in whole per cent, ``"64 %"``; ``"nothing"`` where it is none."""
    return NOTHING if share < 0.005 else f"{100.0 * share:.0f} %"


def _lobes(lobes: tuple[int, ...]) -> str:
    *others, last = (NUMBERS.get(n, str(n)) for n in lobes)
    return f"{', '.join(others)} and {last} lobes" if others else f"{last} lobes"


def _axes(k: int) -> str:
    return f"{k} axes {_way(k)}"


def _way(k: int) -> str:
    return "at right angles" if k <= SQUARE else "spread over the ball"


def _one_place(plan: Plan) -> Iterator[str]:
    if plan.chosen.design.axes == 1:
        yield "One place of a ball shows nothing of its diameter variation; two are the least."


def _caught(plan: Plan) -> Iterator[str]:
    first, *others = (one for one in plan.caught if one.over == "ball" and len(one.lobes) == 1)
    text = (
        f"Of an oval ball's full diameter variation {_axes(first.axes)} catch {share_caught_words(first.mean)} on "
        f"average, and under {100.0 * first.twentieth:.0f} % with one ball in twenty"
    )
    more = []
    for before, one in pairwise((first, *others)):
        axes = _axes(one.axes) if _way(one.axes) != _way(before.axes) else f"{one.axes} axes"
        more.append(f"{axes} {share_caught_words(one.mean)} and {100.0 * one.twentieth:.0f} %")
    yield "; ".join((text, *more)) + "."
    sections = [one for one in plan.caught if one.over == "section" and one.axes == first.axes]
    seen = [f"{share_caught_words(one.mean)} of {_section_words(one)}" for one in sections if one.mean >= 0.005]
    blind = blind_even_lobes(first.axes, 2 * first.axes)[0]
    *some, last = seen
    yield (
        f"Spaced evenly round one section, {first.axes} axes catch {', '.join(some)} and {last} on average, but never "
        f"anything of {NUMBERS.get(blind, str(blind))} lobes alone."
    )


def _floor(plan: Plan) -> Iterator[str]:
    if plan.round_ball:
        yield round_ball_words(plan.round_ball, plan.instrument)
