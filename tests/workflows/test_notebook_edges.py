from __future__ import annotations

from pathlib import Path

import pytest
from made_tests import RULE, new_test, places, put, sent

from ballbench.errors import BadInput
from ballbench.presentation.screens import test_page as page
from ballbench.store import Notebook
from ballbench.workflows.bench import bench_state
from ballbench.workflows.bench_requests import Finish, Mark
from ballbench.workflows.correct import Amend, amend_readings
from ballbench.workflows.keep import one_test
from ballbench.workflows.sittings import finish, note
from ballbench.workflows.take_in_test import TakeIn, take_in_test


@pytest.mark.parametrize(
    ("given", "known"),
    [("", None), ("product,ball,impacts\nCurlew,1,\n", None), ("product,ball,impacts\nCurlew,1,0\n", 0)],
)
def test_impacts_that_nobody_knows_are_not_none_at_all(
    notebook: Notebook, tmp_path: Path, given: str, known: int | None
) -> None:
    """A ball that came with a file has 0 impacts only where the file says so; else they are not known, in words too."""
    (tmp_path / "readings.csv").write_text("product,ball,quantity,value\nCurlew,1,mass,2.71\n", "utf-8")
    (tmp_path / "balls.csv").write_text(given, "utf-8")
    request = TakeIn(**sent(readings=tmp_path / "readings.csv", requirement=RULE,
                            balls=tmp_path / "balls.csv" if given else None))  # fmt: skip
    test = take_in_test(notebook, request).id
    assert [ball.impacts for ball in bench_state(notebook, test).balls] == [known]
    assert (">not known<" in page.test_html(one_test(notebook, test))) == (known is None)
    finish(notebook, test, Finish(**sent(again=True)))
    note(notebook, test, Mark(**sent(kind="impact", value=2.0)))
    assert [ball.impacts for ball in bench_state(notebook, test).balls] == [2]


def test_balls_of_a_set_up_begin_at_none(notebook: Notebook) -> None:
    """What happens at the bench is all that is known, and all there was: 0, and no word about it."""
    test = new_test(notebook).id
    assert {ball.impacts for ball in bench_state(notebook, test).balls} == {0}
    assert ">not known<" not in page.test_html(one_test(notebook, test))


@pytest.mark.parametrize("text", ["", "4o.2", "40.2 kg"])
def test_a_right_value_that_is_none_is_a_fault_of_its_field(notebook: Notebook, text: str) -> None:
    """The fault names `text`, as the form and the interface call it, whatever is wrong with it."""
    test = new_test(notebook).id
    reading = put(notebook, test, places(notebook, test, "diameter")[0].id, "40.21")["reading"]["id"]
    with pytest.raises(BadInput) as caught:
        amend_readings(notebook, test, Amend(**sent(readings=(reading,), action="correct", reason="typo", text=text)))
    assert [fault.where for fault in caught.value.faults] == ["text"]
