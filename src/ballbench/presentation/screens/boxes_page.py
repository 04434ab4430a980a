"""All boxes: whose balls, where they come from, and the tests that they were in."""

from __future__ import annotations

from dataclasses import dataclass

from ballbench.presentation.screens.box_words import bought_words, box_name
from ballbench.presentation.screens.frame import page
from ballbench.presentation.screens.moments import day_words
from ballbench.presentation.screens.writing import write
from ballbench.presentation.wording import INVENTED, plural
from ballbench.records.ball_test import Box, Stage

__all__ = ["BoxLine", "BoxesPage", "TestOfBox", "boxes_html", "tests_words"]


@dataclass(frozen=True, slots=True)
class TestOfBox:
    """A test that a box was in; none of a blind test that is under way. Filled by ``workflows/boxes.py``.

    Parameters
    ----------
    id : int
        In the notebook.
    title, requirement_title : str
        Its own name, and what it is held against.
    kind : {"whole", "taken in"}
        Measured at the bench, or from a file.
    stage : str
        ``set up``, ``under way`` or ``finished``.
    at : str
        When its last reading was taken, or when it was set up, ISO 8601.
    invented : bool
        Its data are invented.
    """

    __test__ = False
    id: int
    title: str
    requirement_title: str
    kind: str
    stage: Stage
    at: str
    invented: bool = False


@dataclass(frozen=True, slots=True)
class BoxLine:
    """One box in a list; also the items of ``GET /api/boxes``.

    Parameters
    ----------
    box : Box
        Make, label, where it comes from.
    balls : int
        How many it has.
    tests : tuple of TestOfBox
        Oldest first; never empty.
    """

    box: Box
    balls: int
    tests: tuple[TestOfBox, ...]


@dataclass(frozen=True, slots=True)
class BoxesPage:
    """All boxes, the newest first. Filled by ``workflows/boxes.py``."""

    boxes: tuple[BoxLine, ...]


def boxes_html(data: BoxesPage) -> str:
    """Write the page of all boxes."""
    lines = [
        {
            "id": line.box.id,
            "name": box_name(line.box),
            "what": f"{plural(line.balls, 'ball')} · {bought_words(line.box)}",
            "tests": tests_words(line),
        }
        for line in data.boxes
    ]
    body = write("boxes.html.j2", boxes=lines)
    invented = bool(data.boxes) and all(test.invented for line in data.boxes for test in line.tests)
    return page("Boxes", body, here="boxes", banner=INVENTED if invented else "")


def tests_words(line: BoxLine) -> str:
    """Say how many tests a box was in, which was the last and when, and which of them are under way."""
    last = line.tests[-1]
    others = [f"“{test.title}”" for test in line.tests[:-1] if test.stage != "finished"]
    which = "the last " if len(line.tests) > 1 else ""
    said = f"{plural(len(line.tests), 'test')}, {which}“{last.title}”, {day_words(last.at)}"
    said += ", not finished" if last.stage != "finished" else ""
    said += f"; not finished: {', '.join(others)}" if others else ""
    return said + (". Invented data" if last.invented else "")
