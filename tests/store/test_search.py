from __future__ import annotations

import pytest
from made_tests import fill, new_test, places, put, sent

from ballbench.store import Notebook
from ballbench.workflows.bench_requests import Finish
from ballbench.workflows.keep import home
from ballbench.workflows.keep import tests as all_tests
from ballbench.workflows.quick_check import QuickCheck, QuickInstrument, quick_check
from ballbench.workflows.set_up import BoxPlan, MakePlan
from ballbench.workflows.sittings import finish

PLOVER = (MakePlan("Plover", (BoxPlan("P-1", 1),)),)


def found(notebook: Notebook, search: str) -> list[str]:
    """Titles of the tests that a search finds, the newest first."""
    return [line.title for line in all_tests(notebook, search)]


@pytest.mark.parametrize(
    ("title", "search"),
    [
        ("Öse am Abend", "öSE"), ("Öse am Abend", "Öse"), ("Łódź 2026", "łÓDŹ"), ("100 % wool", "0 %"),
        ("a_b", "a_b"), ("a/b \\ c", "/b \\"), ("it's", "T'S"), ('said "x"', '"X"'), ("a  b", " a  b "),
    ],
)  # fmt: skip
def test_a_title_is_found_in_any_capitals_and_every_character_is_meant(
    notebook: Notebook, title: str, search: str
) -> None:
    """Letters beyond ASCII have capitals too, and %, _ and quotes stand for themselves."""
    new_test(notebook, title=title)
    new_test(notebook, title="axb 100 wool")
    assert found(notebook, search) == [title]
    assert found(notebook, "") == ["axb 100 wool", title]


def test_makes_people_and_requirements_are_found(notebook: Notebook) -> None:
    """Each by a part of its name; a text that stands nowhere finds nothing."""
    new_test(notebook, title="one")
    two = new_test(notebook, title="two", makes=PLOVER, by="Mara").id
    put(notebook, two, places(notebook, two, "crack")[0].id, "no", by="Ida")
    assert found(notebook, "plov") == found(notebook, "MARA") == found(notebook, "ida") == ["two"]
    assert found(notebook, "winter-league") == found(notebook, "match ball") == ["two", "one"]
    assert found(notebook, "Curlew, ") == []


def test_a_blind_test_is_not_found_by_its_makes_until_it_is_finished(notebook: Notebook) -> None:
    """Otherwise a search would tell what is hidden; the line itself names no make either."""
    blind = new_test(notebook, title="blind", makes=PLOVER, blind=True).id
    assert found(notebook, "plover") == []
    assert all_tests(notebook, "blind")[0].makes == ()
    finish(notebook, blind, Finish(**sent()))
    assert found(notebook, "plover") == ["blind"]
    finish(notebook, blind, Finish(**sent(again=True)))
    assert found(notebook, "plover") == []


def test_the_home_page_parts_what_is_next_from_what_is_done(notebook: Notebook) -> None:
    """Set up, under way by the last reading, finished; a quick check is a test of one ball and stands in none."""
    waiting, begun, done = (new_test(notebook, title=title).id for title in ("waiting", "begun", "done"))
    list(fill(notebook, done))
    put(notebook, begun, places(notebook, begun, "crack")[0].id, "no")
    finish(notebook, done, Finish(**sent()))
    instrument = QuickInstrument("mm", 0.01)
    quick_check(notebook, QuickCheck(**sent(requirement="golf", quantity="diameter", ball="7", instrument=instrument,
                                            texts=("42.80",))))  # fmt: skip
    page = home(notebook)
    assert [one.test.id for one in page.set_up] == [waiting]
    assert [one.test.id for one in page.under_way] == [begun]
    assert [one.id for one in page.finished] == [done]
    assert found(notebook, "quick") == []
    assert page.under_way[0].read == 1
    assert page.finished[0].read == page.finished[0].planned
