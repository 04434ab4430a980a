"""Pages of recordings: one that belongs to no test, and those of a test, whose values become readings."""

from __future__ import annotations

from dataclasses import dataclass

from ballbench.presentation.numbers import number
from ballbench.presentation.screens.frame import page
from ballbench.presentation.screens.home import RequirementChoice
from ballbench.presentation.screens.progress import is_hidden
from ballbench.presentation.screens.recorded import StatedField
from ballbench.presentation.screens.writing import write
from ballbench.presentation.wording import INVENTED, plural
from ballbench.records.ball_test import BallTest

__all__ = [
    "KeptRecording",
    "MethodChoice",
    "PlaceChoice",
    "RecordedPage",
    "RecordingsOfTest",
    "recorded_html",
    "recordings_html",
]

_STYLES = "recorded.css"


@dataclass(frozen=True, slots=True)
class MethodChoice:
    """A way to read a recording.

    Parameters
    ----------
    name, words : str
        ``listen``, ``trace`` or ``watch``, and what that is called.
    accept : str
        What the file chooser offers, such as ``"audio/*,video/*"``.
    quantities : tuple of str
        What it gives.
    fields : tuple of StatedField
        What is stated beside the recording.
    """

    name: str
    words: str
    accept: str
    quantities: tuple[str, ...]
    fields: tuple[StatedField, ...]


@dataclass(frozen=True, slots=True)
class RecordedPage:
    """The page of a recording that belongs to no test. Filled by ``workflows/recorded/pages.py``.

    Parameters
    ----------
    method : MethodChoice
        How it is read.
    head, lead : str
        Heading, and what it is for.
    steps, cautions : tuple of str
        What to do, and what to beware of.
    requirements : tuple of RequirementChoice
        Those with a limit that it may be held against.
    """

    method: MethodChoice
    head: str
    lead: str
    steps: tuple[str, ...]
    cautions: tuple[str, ...]
    requirements: tuple[RequirementChoice, ...] = ()


@dataclass(frozen=True, slots=True)
class PlaceChoice:
    """The next reading of a ball for one quantity.

    Parameters
    ----------
    id : int
        Of the place.
    quantity, words : str
        What is read, and what it is called.
    diameter : str
        The ball's mean diameter as it was read in this test; empty: not known, or hidden.
    u : float or None
        Standard uncertainty of one reading as the instrument was set up, in the quantity's base unit; None: not said.
    """

    id: int
    quantity: str
    words: str
    diameter: str = ""
    u: float | None = None


@dataclass(frozen=True, slots=True)
class KeptRecording:
    """A recording of a test.

    Parameters
    ----------
    digest, name, by, at : str
        SHA-256, the sender's name for it, who sent it and when, in words.
    bytes : int
        Its size.
    readings : tuple of str
        What was kept from it, such as ``"ball 07, rebound height"``; no values.
    picks : str
        JSON of what a person put right in it, as it was kept last, by method; empty: nobody did.
    """

    digest: str
    name: str
    by: str
    at: str
    bytes: int
    readings: tuple[str, ...] = ()
    picks: str = ""


@dataclass(frozen=True, slots=True)
class RecordingsOfTest:
    """The page of a test's recordings. Filled by ``workflows/recorded/pages.py``.

    Parameters
    ----------
    test : BallTest
        As everybody may see it.
    methods : tuple of MethodChoice
        Those that give a quantity of the test.
    places : tuple of (str, tuple of PlaceChoice)
        By the quantity's words: the next reading of each ball that is still to be taken.
    recordings : tuple of KeptRecording
        The newest first.
    cautions : tuple of str
        What to beware of.
    revision : int
        Of the notebook, as this page has the test.
    """

    test: BallTest
    methods: tuple[MethodChoice, ...]
    places: tuple[tuple[str, tuple[PlaceChoice, ...]], ...]
    recordings: tuple[KeptRecording, ...]
    cautions: tuple[str, ...]
    revision: int = 0


def recorded_html(data: RecordedPage) -> str:
    """Write the page of a recording that belongs to no test."""
    body = write("recorded.html.j2", data=data)
    return page(data.head, body, here=data.method.name, script="recorded/alone.js", style=_STYLES)


def recordings_html(data: RecordingsOfTest) -> str:
    """Write the page of a test's recordings."""
    body = write(
        "test_recordings.html.j2",
        data=data,
        test=data.test,
        hidden=is_hidden(data.test),
        so_far=plural(len(data.recordings), "recording"),
        recordings=[(one, _size(one.bytes)) for one in data.recordings],
    )
    return page(
        f"Recordings: {data.test.title}",
        body,
        here="recordings",
        test=data.test,
        script="recorded/of_test.js" if data.methods else None,
        style=_STYLES,
        banner=INVENTED if data.test.invented else "",
    )


def _size(count: int) -> str:
    return f"{number(count / 1024**2, 1)} MiB" if count >= 1024**2 else f"{number(count / 1024, 0)} KiB"
