"""The form in which a repeat study is set up: one instrument, some balls, who reads, and pieces of known size."""

from __future__ import annotations

from dataclasses import dataclass

from ballbench.findings.settling import MINUTES_A_READING
from ballbench.presentation.requirement_view import RequirementPage
from ballbench.presentation.screens.box_words import box_name
from ballbench.presentation.screens.boxes_page import BoxLine
from ballbench.presentation.screens.frame import page
from ballbench.presentation.screens.qualified import QualifiedInstrument, qualified_words
from ballbench.presentation.screens.set_up import QuantityChoice
from ballbench.presentation.screens.writing import write
from ballbench.presentation.wording import plural
from ballbench.records.bench import Instrument

__all__ = ["BALLS", "READINGS_EACH", "RepeatStudyPage", "repeat_study_html"]

BALLS, READINGS_EACH = 5, 3
"""Five balls, three readings each, give ten degrees of freedom a person (own choice)."""


@dataclass(frozen=True, slots=True)
class RepeatStudyPage:
    """The form for one requirement. Filled by ``workflows/forms.py``.

    Parameters
    ----------
    requirement : RequirementPage
        What the balls are made for: it says which quantities are read.
    quantities : tuple of QuantityChoice
        Those that are read as a number.
    qualified : tuple of QualifiedInstrument
        Instruments that were qualified before.
    others : tuple of Instrument
        Those of earlier tests that were not.
    boxes : tuple of BoxLine
        Boxes of the notebook, the newest first.
    """

    requirement: RequirementPage
    quantities: tuple[QuantityChoice, ...]
    qualified: tuple[QualifiedInstrument, ...] = ()
    others: tuple[Instrument, ...] = ()
    boxes: tuple[BoxLine, ...] = ()


def repeat_study_html(data: RepeatStudyPage) -> str:
    """Write the form."""
    body = write(
        "repeat_study.html.j2",
        data=data,
        requirement=data.requirement,
        quantities=[(choice.planned, choice.units, choice.planned.axes[0]) for choice in data.quantities],
        qualified=[(one, qualified_words(one)) for one in data.qualified],
        boxes=[(line, f"{box_name(line.box)}, {plural(line.balls, 'ball')}") for line in data.boxes],
        balls=BALLS,
        each=READINGS_EACH,
        seconds=round(60 * MINUTES_A_READING),
    )
    return page("Begin a repeat study", body, here="instruments", script="repeat_study.js")
