from __future__ import annotations

import numpy as np
import pytest
from made_tests import fill, new_test

from ballbench.errors import BadRequest
from ballbench.records.control_ball import CONTROL
from ballbench.store import Notebook
from ballbench.store.ball_tests import balls_of
from ballbench.workflows.bench import bench_state
from ballbench.workflows.sheets import bench_sheet


def test_a_control_ball_is_set_up(notebook: Notebook) -> None:
    """One ball of the test comes again for every measured quantity, and the paper has the order of the bench."""
    test = new_test(notebook, control_every=2).id
    state = bench_state(notebook, test)
    again = [p for p in state.places if p.why == CONTROL]
    assert len({p.ball for p in again}) == 1
    assert {p.quantity for p in again} == {"diameter", "mass"}
    assert [p.sheet_order for p in state.places] == [p.order for p in state.places]
    assert bench_sheet(notebook, test, "a4").startswith(b"%PDF")
    assert list(fill(notebook, test))


def test_each_third_of_a_round_holds_each_make_equally_often(notebook: Notebook) -> None:
    """Every third of the round holds one ball of either, counted in the order."""
    test = new_test(notebook).id
    with notebook.read() as tx:
        make = {row.id: row.make for row in balls_of(tx, test)}
    mass = [make[p.ball] for p in bench_state(notebook, test).places if p.quantity == "mass" and p.ball]
    assert all(sorted(t) == ["Curlew", "Dunlin"] for t in np.array_split(mass, 3))


def test_a_control_after_every_ball_is_refused(notebook: Notebook) -> None:
    """A control ball after every single ball would be read more often than all others: at least two between."""
    with pytest.raises(BadRequest, match="control_every"):
        new_test(notebook, control_every=1)
