from __future__ import annotations

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from made_tests import new_test, places, sent, time_of

from ballbench.store import Notebook
from ballbench.workflows.bench import bench_state
from ballbench.workflows.bench_requests import Entry
from ballbench.workflows.correct import Amend, amend_readings
from ballbench.workflows.keep import one_test
from ballbench.workflows.measure import enter

TEXTS = {"ball": "40.21", "passes": "40.00", "fails": "40.80"}


def came(notebook: Notebook, test: int, what: str, at: str) -> int:
    """Enter a ball's reading or a check that was taken at a moment; give the reading's number."""
    state = bench_state(notebook, test)
    own = [place.id for place in state.places if place.quantity == "diameter" and
           (place.ball is None) == (what != "ball")]  # fmt: skip
    place = own[len(state.readings) % len(own)]
    reply = enter(notebook, test, Entry(**sent(place=place, text=TEXTS[what]) | {"at": at}))
    if reply["status"] == "asked":
        again = sent(place=place, text=TEXTS[what], confirms=reply["question"]["key"])
        reply = enter(notebook, test, Entry(**again | {"at": at}))
    if what != "ball":
        assert reply["check"]["passed"] == (what == "passes")
    return int(reply["reading"]["id"])


def touched(notebook: Notebook, test: int) -> set[int]:
    """Readings in doubt, as the bench, the count of the test and the check's own line say."""
    state = bench_state(notebook, test)
    found = {one.id for one in state.readings if one.touched}
    assert one_test(notebook, test).progress.in_doubt == len(found)
    return found


def test_a_reading_that_comes_late_is_in_doubt_by_its_own_time(notebook: Notebook) -> None:
    """Taken before the check that passed it is good though it comes after the failed one; taken between, it is not."""
    test = new_test(notebook).id
    came(notebook, test, "passes", time_of(100))
    came(notebook, test, "fails", time_of(300))
    before = came(notebook, test, "ball", time_of(50))
    between = came(notebook, test, "ball", time_of(200))
    assert touched(notebook, test) == {between}
    assert before not in touched(notebook, test)
    assert [one.touched for one in bench_state(notebook, test).checks] == [0, 1]


def test_a_check_that_comes_late_parts_the_readings_at_its_own_time(notebook: Notebook) -> None:
    """A passed check of 150 s, sent after the failed one of 300 s: what was read before 150 s is in doubt no more."""
    test = new_test(notebook).id
    first, second = (came(notebook, test, "ball", time_of(second)) for second in (100, 200))
    came(notebook, test, "fails", time_of(300))
    assert touched(notebook, test) == {first, second}
    came(notebook, test, "passes", time_of(150))
    assert touched(notebook, test) == {second}
    assert [(one.passed, one.at) for one in bench_state(notebook, test).checks] == [
        (True, time_of(150)), (False, time_of(300))]  # fmt: skip


def test_zones_are_no_order(notebook: Notebook) -> None:
    """The text of the check's time comes first in the alphabet and last in time: 09:30 UTC is 10:30 at the bench."""
    test = new_test(notebook).id
    ball = came(notebook, test, "ball", "2026-11-21T10:20:00+01:00")
    late = came(notebook, test, "ball", "2026-11-21T10:40:00+01:00")
    came(notebook, test, "fails", "2026-11-21T09:35:00+00:00")
    came(notebook, test, "passes", "2026-11-21T09:30:00Z")
    assert touched(notebook, test) == {late}
    assert ball != late


def test_what_was_said_before_a_late_check_came_answers_nothing(notebook: Notebook) -> None:
    """Kept with a reason by somebody who did not know of the failed check, which was taken before and came after."""
    test = new_test(notebook).id
    ball = came(notebook, test, "ball", time_of(100))
    amend_readings(notebook, test, Amend(**sent(readings=(ball,), action="keep", reason="odd, but seen")))
    came(notebook, test, "fails", time_of(50))
    assert touched(notebook, test) == {ball}
    amend_readings(notebook, test, Amend(**sent(readings=(ball,), action="keep", reason="read again by eye")))
    assert touched(notebook, test) == set()


@settings(deadline=None, max_examples=20, suppress_health_check=list(HealthCheck))
@given(data=st.data())
def test_the_order_of_coming_plays_no_part(notebook: Notebook, data: st.DataObject) -> None:
    """Balls and checks at different seconds, sent in random order, against a plain walk along the clock."""
    what = data.draw(st.lists(st.sampled_from(["ball", "ball", "passes", "fails"]), min_size=1, max_size=9))
    test = new_test(notebook).id
    numbers = {i: came(notebook, test, what[i], time_of(30 * i)) for i in data.draw(st.permutations(range(len(what))))}
    wanted = set()
    for i, kind in enumerate(what):
        before = [*what[:i][::-1], "passes"]
        after = [*what[i + 1 :], "passes"]
        near = before[: before.index("passes")] + after[: after.index("passes")]
        if kind == "ball" and "fails" in near:
            wanted.add(numbers[i])
    assert touched(notebook, test) == wanted
    assert [one.at for one in bench_state(notebook, test).checks] == [
        time_of(30 * i) for i, kind in enumerate(what) if kind != "ball"]  # fmt: skip
    assert len(places(notebook, test, "diameter")) == 12
