from __future__ import annotations

import pytest
from made_tests import key, new_test

from ballbench.errors import NotFound
from ballbench.store import Notebook
from ballbench.store.qualifications import (
    latest_qualifications,
    qualification_of,
    qualifications_of,
    write_qualification,
)

AT = "2026-11-27T10:00:00+01:00"


def keep(notebook: Notebook, test: int, name: str, quantity: str, entry: str) -> int:
    """Keep what a test said of an instrument."""
    own = key()
    row = {"key": own, "test_id": test, "name": name, "quantity": quantity, "entry": entry,
           "sentence": f"{name}: {entry}", "by": "E", "at": AT}  # fmt: skip
    reply = notebook.submit(own, test, "qualified", "tab", lambda tx: {"number": write_qualification(tx, row)})
    return int(reply["number"])


def test_the_newest_of_each_instrument_and_quantity_is_offered(notebook: Notebook) -> None:
    """An instrument that is qualified again stands once, as it was last; the earlier one is still there."""
    test = new_test(notebook).id
    first = keep(notebook, test, "caliper", "diameter", "one")
    scale = keep(notebook, test, "scale", "mass", "two")
    last = keep(notebook, test, "caliper", "diameter", "three")
    with notebook.read() as tx:
        assert [one.id for one in latest_qualifications(tx)] == [last, scale]
        assert [one.entry for one in qualifications_of(tx, test)] == ["three", "two", "one"]
        assert qualifications_of(tx, test + 1) == ()
        old = qualification_of(tx, first)
        assert (old.entry, old.sentence, old.by, old.at, old.test_id) == ("one", "caliper: one", "E", AT, test)
        with pytest.raises(NotFound):
            qualification_of(tx, last + 1)


@pytest.mark.parametrize("invented", [True, False])
def test_a_qualification_says_whether_its_data_are_invented(notebook: Notebook, *, invented: bool) -> None:
    """As the test says that it was found in."""
    test = new_test(notebook, invented=invented).id
    keep(notebook, test, "caliper", "diameter", "one")
    with notebook.read() as tx:
        assert [one.invented for one in latest_qualifications(tx)] == [invented]
