"""How far a test has come, and the one next step."""

from __future__ import annotations

from dataclasses import dataclass

from ballbench.findings.settling import MINUTES_A_READING
from ballbench.presentation.screens.moments import moment_words
from ballbench.presentation.screens.tray import BallFill, full_balls
from ballbench.presentation.wording import duration_words, plural
from ballbench.records.ball_test import BallTest

__all__ = ["Progress", "Step", "bench_time", "is_hidden", "left_words", "next_step", "standing_sentences"]


@dataclass(frozen=True, slots=True)
class Progress:
    """One test and how far it has come. Filled by ``workflows/keep.py``.

    Parameters
    ----------
    test : BallTest
        As set up.
    read, planned : int
        Places of balls that hold a standing reading, and places of balls in all.
    balls : tuple of BallFill
        Every ball in the order of the tray; boxes of one make follow each other where they are shown.
    last_at, last_by : str
        When (ISO 8601) and by whom the last reading was taken; empty: none yet.
    questions : int
        Entries that were asked about and are neither confirmed nor replaced.
    in_doubt : int
        Readings that stand and that a failed instrument check throws doubt on.
    checks_read, checks_planned : int
        The same of reference pieces.
    """

    test: BallTest
    read: int
    planned: int
    balls: tuple[BallFill, ...]
    last_at: str = ""
    last_by: str = ""
    questions: int = 0
    in_doubt: int = 0
    checks_read: int = 0
    checks_planned: int = 0


@dataclass(frozen=True, slots=True)
class Step:
    """The next thing to do: the word on its button, where it leads, and why."""

    words: str
    address: str
    why: str


def is_hidden(test: BallTest) -> bool:
    """Say whether makes, limits and findings stay hidden: a blind test that is not finished."""
    return test.blind and test.stage != "finished"


def next_step(progress: Progress) -> Step:
    """Give the one next step of a test."""
    at = f"/tests/{progress.test.id}"
    left = left_words(progress)
    time = bench_time(_left(progress))
    if progress.test.stage == "finished":
        word = "Qualify" if progress.test.purpose else "Judge"
        return Step(word, f"{at}/{word.lower()}", "The test is finished.")
    if progress.read == progress.checks_read == 0:
        return Step("Measure", f"{at}/measure", f"{left}, {time} at the bench.")
    if left:
        return Step("Go on measuring", f"{at}/measure", f"{left} left, {time}.")
    if progress.in_doubt:
        why = f"A failed instrument check throws doubt on {plural(progress.in_doubt, 'reading')}."
        return Step("Look at them", f"{at}/corrections#doubt", why)
    return Step("Finish the test", f"{at}#finish", "Everything planned is read.")


def left_words(progress: Progress) -> str:
    """Say what is still to be read, ``"12 readings and 1 instrument check"``; empty: nothing is."""
    readings, checks = progress.planned - progress.read, progress.checks_planned - progress.checks_read
    parts = (
        plural(readings, "reading") if readings > 0 else "",
        plural(checks, "instrument check") if checks > 0 else "",
    )
    return " and ".join(filter(None, parts))


def _left(progress: Progress) -> int:
    return progress.planned - progress.read + progress.checks_planned - progress.checks_read


def bench_time(readings: int) -> str:
    """Say how long so many readings take at the bench, ``"about 54 min"``; 15 s a reading (own choice)."""
    return duration_words(readings * MINUTES_A_READING)


def standing_sentences(progress: Progress) -> tuple[str, ...]:
    """Say where a test stands: readings and balls, the last reading, what is open."""
    balls = f"{full_balls(progress.balls)} of {plural(len(progress.balls), 'ball')} fully read"
    checks = f", {progress.checks_read} of {plural(progress.checks_planned, 'instrument check')}"
    read = f"{progress.read} of {plural(progress.planned, 'reading')}{checks if progress.checks_planned else ''}"
    said = [f"{read}; {balls}."]
    if progress.last_at:
        said.append(f"Last reading {moment_words(progress.last_at)}, by {progress.last_by}.")
    if progress.questions:
        verb = "is" if progress.questions == 1 else "are"
        said.append(f"{plural(progress.questions, 'entry', 'entries')} asked about {verb} still open.")
    if progress.in_doubt:
        said.append(f"{plural(progress.in_doubt, 'reading')} in doubt after a failed instrument check.")
    return tuple(said)
