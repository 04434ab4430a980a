"""Keep: what is under way, what is past, and where one test stands."""

from __future__ import annotations

from ballbench.presentation.screens.home import HomePage, RequirementChoice
from ballbench.presentation.screens.library import LibraryPage, TestLine
from ballbench.presentation.screens.numbers_page import MarkedBall, NumbersPage
from ballbench.presentation.screens.progress import Progress
from ballbench.presentation.screens.test_page import FileLine, OtherTest, SittingLine, TestPage
from ballbench.presentation.screens.tray import BallFill
from ballbench.records.ball_test import BallTest
from ballbench.specs import catalogue_ids, find_requirement
from ballbench.store import Notebook, Tx
from ballbench.store.ball_tests import ball_test_of, balls_of, written_of
from ballbench.store.bench import checks_of, last_revision, sittings_of
from ballbench.store.boxes import box_tests
from ballbench.store.library import (
    count_of,
    count_tests,
    find_tests,
    people_of,
    read_by_ball,
    readings_by_sitting,
)
from ballbench.store.readings import open_questions
from ballbench.workflows.balls_on_bench import balls_on_bench
from ballbench.workflows.blind import is_hidden, refuse_while_hidden
from ballbench.workflows.exchange import offered_files
from ballbench.workflows.how_far import how_far
from ballbench.workflows.plan_at_bench import plans
from ballbench.workflows.plan_followed import followed_plan
from ballbench.workflows.repeat_study import REPEAT_STUDY

__all__ = ["EXAMPLE", "home", "library", "numbers", "one_test", "revision_of", "studies", "tests"]

EXAMPLE = "/api/example"
"""Where the page posts to for the invented winter league."""

_LAST_FEW = 5
_MOST = 200

_WORDS = {
    "readings.csv": "every reading as it was typed, spoiled attempts among them",
    "readings.xlsx": "the same as a workbook",
    "corrections.csv": "corrections and exclusions, each with its reason",
    "balls.csv": "what is known of each ball",
    "checks.csv": "instrument checks",
    "bench.toml": "instruments and conditions",
    "requirement.toml": "the requirement as it was at set-up",
    "test.toml": "title, rule, seed, sittings, and what was noted of the room",
    "recordings.csv": "which recording belongs to which reading, and how that came out of it",
    "picks.csv": "the impacts that were picked in sounds, for `listen`",
    "marks.csv": "the places of balls that were marked in films, for `watch`",
    "everything.zip": "all of them and the recordings, with checksums",
}


def home(notebook: Notebook) -> HomePage:
    """Give what is under way and what is next."""
    with notebook.read() as tx:
        going = [_progress(tx, test) for test in find_tests(tx, finished=False)]
        finished = tuple(_line(tx, test) for test in find_tests(tx, finished=True, most=_LAST_FEW))
    under_way = [one for one in going if one.test.stage == "under way"]
    return HomePage(
        under_way=tuple(sorted(under_way, key=lambda one: one.last_at, reverse=True)),
        set_up=tuple(reversed([one for one in going if one.test.stage == "set up"])),
        finished=finished,
        requirements=requirement_choices(),
        example=EXAMPLE,
        plans=plans(notebook, followed=False, most=_LAST_FEW),
    )


def requirement_choices() -> tuple[RequirementChoice, ...]:
    """Give the catalogue by sport."""
    found = [find_requirement(identity) for identity in catalogue_ids()]
    choices = [RequirementChoice(one.id, one.sport, one.title) for one in found]
    return tuple(sorted(choices, key=lambda one: (one.sport, one.title)))


def tests(notebook: Notebook, search: str) -> tuple[TestLine, ...]:
    """List tests, the newest first.

    Parameters
    ----------
    search : str
        In title, make, requirement or person; empty: everything.
    """
    with notebook.read() as tx:
        return tuple(_line(tx, test) for test in find_tests(tx, search, most=_MOST))


def studies(notebook: Notebook) -> tuple[TestLine, ...]:
    """List repeat studies, the newest first."""
    with notebook.read() as tx:
        return tuple(_line(tx, test) for test in find_tests(tx, purpose=REPEAT_STUDY, most=_MOST))


def library(notebook: Notebook, search: str = "") -> LibraryPage:
    """Give the page of past tests."""
    found = tests(notebook, search)
    with notebook.read() as tx:
        return LibraryPage(search.strip(), found, count_tests(tx))


def one_test(notebook: Notebook, test_id: int) -> TestPage:
    """Give one test: where it stands, its sittings, checks, balls and files.

    Raises
    ------
    NotFound
        There is no such test.
    """
    with notebook.read() as tx:
        progress = _progress(tx, test_id)
        counts = readings_by_sitting(tx, test_id)
        return TestPage(
            progress=progress,
            sittings=tuple(SittingLine(one, counts.get(one.id, 0)) for one in sittings_of(tx, test_id)),
            checks=checks_of(tx, test_id),
            balls=balls_on_bench(tx, progress.test),
            files=_files(tx, progress),
            beside=_beside(tx, progress.test),
            plan=followed_plan(tx, progress.test),
        )


def numbers(notebook: Notebook, test_id: int) -> NumbersPage:
    """Give which number goes on which ball.

    Raises
    ------
    NotFound
        There is no such test.
    Conflict
        It is blind, and readings were taken: from then on nobody is to know.
    """
    with notebook.read() as tx:
        test = ball_test_of(tx, test_id)
        if test.stage != "set up":
            refuse_while_hidden(test)
        boxes: dict[str, list[MarkedBall]] = {}
        for row in balls_of(tx, test_id):
            heading = f"{row.make}, {row.box}".rstrip(", ")
            boxes.setdefault(heading, []).append(MarkedBall(row.label, row.number))
    order = tuple((name, tuple(sorted(balls, key=lambda one: one.label))) for name, balls in boxes.items())
    return NumbersPage(test, order)


def revision_of(notebook: Notebook, test_id: int) -> int:
    """Give the number of the last thing that happened in a test; 0: nothing did, or there is no such test."""
    with notebook.read() as tx:
        return last_revision(tx, test_id)


def _files(tx: Tx, progress: Progress) -> tuple[FileLine, ...]:
    """Give the files that have something to say; none while a blind test hides its values, or before a reading."""
    if is_hidden(progress.test):
        return ()
    return tuple(FileLine(name, _WORDS[name]) for name in offered_files(tx, progress.test))


def _beside(tx: Tx, test: BallTest) -> tuple[OtherTest, ...]:
    """Give other tests that are not finished and have a box of this one; none of or for a blind test."""
    if is_hidden(test) or test.stage == "finished":
        return ()
    tests = box_tests(tx, {box.id for box in test.boxes})
    return tuple(OtherTest(one.box, one.title) for one in tests if one.test != test.id and one.stage != "finished")


def _line(tx: Tx, test_id: int) -> TestLine:
    test, count, far = ball_test_of(tx, test_id), count_of(tx, test_id), how_far(tx, test_id)
    people = dict.fromkeys((test.set_up_by, *people_of(tx, test_id)))
    return TestLine(
        id=test.id, title=test.title, requirement_title=test.requirement_title,
        makes=() if is_hidden(test) else tuple(dict.fromkeys(one.make for one in test.boxes)), balls=count.balls,
        read=far.read, planned=far.planned, stage=test.stage, set_up=test.set_up,
        finished=written_of(tx, test_id).finished or "", by=tuple(people), blind=test.blind, invented=test.invented,
    )  # fmt: skip


def _progress(tx: Tx, test_id: int) -> Progress:
    test, count, far = ball_test_of(tx, test_id), count_of(tx, test_id), how_far(tx, test_id)
    return Progress(
        test=test, read=far.read, planned=far.planned, balls=_fills(tx, test), last_at=count.last_at,
        last_by=count.last_by, questions=len(open_questions(tx, test_id)), in_doubt=count.in_doubt,
        checks_read=far.checks_read, checks_planned=far.checks_planned,
    )  # fmt: skip


def _fills(tx: Tx, test: BallTest) -> tuple[BallFill, ...]:
    """Give how far each ball is read, by its number where makes are hidden."""
    hidden, done = is_hidden(test), read_by_ball(tx, test.id)
    fills = [
        BallFill(row.number, *done.get(row.id, (0, 0)), "" if hidden else f"{row.make}, {row.box}".rstrip(", "))
        for row in balls_of(tx, test.id)
    ]
    return tuple(sorted(fills, key=lambda one: one.number)) if hidden else tuple(fills)
