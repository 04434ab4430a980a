from __future__ import annotations

import pytest
from made_tests import key, new_test

from ballbench.errors import BadNotebook, NotFound
from ballbench.store import Notebook
from ballbench.store.plans import (
    Follower,
    PlanRow,
    follow_plan,
    followers_of,
    has_plan,
    plan_followed,
    plan_of,
    plans_kept,
    write_plan,
)

AT = "2026-11-27T10:00:00+01:00"


def keep(notebook: Notebook, title: str, again: str = "") -> int:
    """Keep a plan in a submission that belongs to no test, and give its number."""
    own = again or key()
    row = {"key": own, "title": title, "requirement": "golf", "requirement_digest": "sha256:0", "quantity": "diameter",
           "asked": "{}", "result": '{"é": 1}', "by": "E", "at": AT}  # fmt: skip
    reply = notebook.submit(own, None, "plan", "tab", lambda tx: {"status": "planned", "plan": write_plan(tx, row)})
    return int(reply["plan"])


def test_a_plan_is_kept_as_it_was_and_belongs_to_no_test(notebook: Notebook) -> None:
    """What is read is what was written, and no test hears of it."""
    number = keep(notebook, "Golf ball")
    with notebook.read() as tx:
        assert plan_of(tx, number) == PlanRow(
            number, "Golf ball", "golf", "sha256:0", "diameter", "{}", '{"é": 1}', "E", AT
        )
        assert (has_plan(tx, number), has_plan(tx, number + 1)) == (True, False)
        with pytest.raises(NotFound):
            plan_of(tx, number + 1)
    assert notebook.changes(0, 0) == ()


def test_a_key_that_comes_again_makes_no_second_plan(notebook: Notebook) -> None:
    """The same submission gets the same number."""
    own = key()
    assert keep(notebook, "Golf ball", own) == keep(notebook, "Golf ball", own)
    with notebook.read() as tx:
        assert len(plans_kept(tx)) == 1


def test_a_test_follows_one_plan_and_that_is_written_once(notebook: Notebook) -> None:
    """Plans are told apart by whether a test follows them; the bond can be neither changed nor written anew."""
    first, second = keep(notebook, "first"), keep(notebook, "second")
    test = new_test(notebook).id

    def follow(plan: int) -> None:
        def work(tx: object) -> dict[str, str]:
            follow_plan(tx, test, plan)
            return {"status": "kept"}

        notebook.submit(key(), test, "follow", "tab", work)

    follow(first)
    with notebook.read() as tx:
        assert plan_followed(tx, test).title == "first"
        assert plan_followed(tx, test + 1) is None
        assert [one.title for one in plans_kept(tx)] == ["second", "first"]
        assert [one.title for one in plans_kept(tx, followed=True)] == ["first"]
        assert [one.title for one in plans_kept(tx, followed=False)] == ["second"]
        assert followers_of(tx, first) == (Follower(first, test, "Winter league (invented)"),)
    with pytest.raises(BadNotebook):
        follow(second)
    with notebook.read() as tx:
        assert plan_followed(tx, test).title == "first"
