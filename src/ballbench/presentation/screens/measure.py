"""The measuring page: the bench at which readings are typed. Its scripts fetch what is on it; the page is bare."""

from __future__ import annotations

from dataclasses import dataclass

from ballbench.presentation.screens.frame import page
from ballbench.presentation.screens.writing import write
from ballbench.presentation.wording import INVENTED
from ballbench.records.ball_test import BallTest

__all__ = ["MeasurePage", "measure_html"]

_MEASURES = (
    ("air temperature", "Air", "°C"),
    ("ball temperature", "Balls", "°C"),
    ("humidity", "Humidity", "%"),
    ("air pressure", "Air pressure", "hPa"),
)
"""What is noted of the room, its words, and the unit it is asked in."""

_SWITCHES = (
    ("voice", "say readings aloud"),
    ("tones", "a tone for kept, two for a question"),
    ("running", "show this box against what is allowed"),
)
"""What a device remembers, and its words."""


@dataclass(frozen=True, slots=True)
class MeasurePage:
    """The measuring page of one test.

    Parameters
    ----------
    test : BallTest
        As set up; nothing of its boxes, limits or readings goes into the page, so that a blind test stays blind.
    """

    test: BallTest


def measure_html(data: MeasurePage) -> str:
    """Write the measuring page.

    Parameters
    ----------
    data : MeasurePage
        Which test.

    Returns
    -------
    str
        The whole page; everything that changes on it is drawn by ``static/measure/page.js``.
    """
    body = write("measure.html.j2", test=data.test, measures=_MEASURES, switches=_SWITCHES)
    return page(
        f"Measure: {data.test.title}",
        body,
        here="measure",
        test=data.test,
        script=("measure/page.js", "share_link.js"),
        style="measure.css",
        banner=INVENTED if data.test.invented else "",
    )
