"""The first page: what is under way, what is next, and where to begin."""

from __future__ import annotations

from dataclasses import dataclass

from ballbench.presentation.screens.frame import page
from ballbench.presentation.screens.library import TestLine
from ballbench.presentation.screens.plan_words import PlanLine, plan_words
from ballbench.presentation.screens.progress import Progress, bench_time, next_step, standing_sentences
from ballbench.presentation.screens.tray import tray_html
from ballbench.presentation.screens.writing import write

__all__ = ["HomePage", "RequirementChoice", "home_html"]


@dataclass(frozen=True, slots=True)
class RequirementChoice:
    """A requirement to choose from a list.

    Parameters
    ----------
    id, sport, title : str
        As in the catalogue.
    """

    id: str
    sport: str
    title: str


@dataclass(frozen=True, slots=True)
class HomePage:
    """The first page. Filled by ``workflows/keep.py``.

    Parameters
    ----------
    under_way : tuple of Progress
        Tests with a reading that are not finished, the one read last first.
    set_up : tuple of Progress
        Tests without a reading, the oldest first.
    finished : tuple of TestLine
        The last few that were finished, the newest first.
    requirements : tuple of RequirementChoice
        The catalogue, by sport, for taking in a readings file.
    example : str
        Address that takes in the invented winter league when it is posted to (``key``, ``client``, ``by``, ``at``) and
        answers with a `BallTest`; empty: it is not offered.
    plans : tuple of PlanLine
        The last few plans that no test follows yet, the newest first.
    """

    under_way: tuple[Progress, ...] = ()
    set_up: tuple[Progress, ...] = ()
    finished: tuple[TestLine, ...] = ()
    requirements: tuple[RequirementChoice, ...] = ()
    example: str = ""
    plans: tuple[PlanLine, ...] = ()


def home_html(data: HomePage) -> str:
    """Write the first page."""
    body = write(
        "home.html.j2",
        data=data,
        under_way=[_shown(progress) for progress in data.under_way],
        set_up=[_shown(progress) for progress in data.set_up],
        plans=[(one, plan_words(one)) for one in data.plans],
        first=not (data.under_way or data.set_up or data.finished or data.plans),
        bench_time=bench_time,
    )
    return page("Home", body, here="home", script=("taking_in.js", "share_link.js"))


def _shown(progress: Progress) -> dict[str, object]:
    return {
        "test": progress.test,
        "tray": tray_html(progress.balls, small=True),
        "said": standing_sentences(progress),
        "step": next_step(progress),
    }
