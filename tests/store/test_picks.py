from __future__ import annotations

import pytest
from made_tests import key, new_test, places, put, sent
from sqlalchemy.exc import DBAPIError

from ballbench.errors import BadNotebook
from ballbench.store import Notebook
from ballbench.store.picks import picks_of, write_picks
from ballbench.workflows.recordings import NewRecording, keep_recording

AT = "2026-11-28T10:00:00+01:00"


def recorded(notebook: Notebook, test: int) -> tuple[str, int]:
    """A sound of a test and a reading of it."""
    digest = keep_recording(notebook, test, NewRecording(**sent(name="a", media_type="audio/wav")), [b"sound"])[
        "digest"
    ]
    reading = put(notebook, test, places(notebook, test, "rebound")[0].id, "251")["reading"]["id"]
    return str(digest), int(reading)


def pick(notebook: Notebook, test: int, digest: str, reading: int, picks: str, method: str = "listen") -> None:
    """Say how a reading came out of a sound."""
    own = key()
    row = {"key": own, "test_id": test, "digest": digest, "reading_id": reading, "method": method, "picks": picks,
           "asked": "{}", "told": "{}", "by": "E", "at": AT}  # fmt: skip
    notebook.submit(own, test, "written", "tab", lambda tx: {"number": write_picks(tx, row)})


def test_picks_of_a_test_come_in_their_order(notebook: Notebook) -> None:
    """Those of one test alone, the oldest first, as they were written, on one database after the other."""
    test, other = new_test(notebook).id, new_test(notebook).id
    digest, reading = recorded(notebook, test)
    there, its = recorded(notebook, other)
    pick(notebook, test, digest, reading, "[[0.5, 0.9]]")
    pick(notebook, other, there, its, "[]", "trace")
    pick(notebook, test, digest, reading, "[[0.5001, 0.9]]")
    with notebook.read() as tx:
        rows = picks_of(tx, test)
        assert [one.picks for one in rows] == ["[[0.5, 0.9]]", "[[0.5001, 0.9]]"]
        assert {(one.digest, one.reading_id, one.method, one.by, one.at) for one in rows} == {
            (digest, reading, "listen", "E", AT)
        }
        assert [one.method for one in picks_of(tx, other)] == ["trace"]
        assert picks_of(tx, other + 1) == ()


@pytest.mark.parametrize("wrong", ["method", "digest", "reading"])
def test_picks_belong_to_a_recording_and_a_reading_that_are_there(notebook: Notebook, wrong: str) -> None:
    """A method that there is not, a recording or a reading of nowhere: the database refuses, and keeps nothing."""
    test = new_test(notebook).id
    digest, reading = recorded(notebook, test)
    of = {"method": "listen", "digest": digest, "reading": reading}
    of[wrong] = {"method": "guess", "digest": "0" * 64, "reading": reading + 99}[wrong]
    with pytest.raises((BadNotebook, DBAPIError)):
        pick(notebook, test, str(of["digest"]), int(str(of["reading"])), "[]", str(of["method"]))
    with notebook.read() as tx:
        assert picks_of(tx, test) == ()
