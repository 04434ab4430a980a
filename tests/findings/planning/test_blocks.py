from __future__ import annotations

import sys

import numpy as np
import pytest
from tests.findings.planning.planned import setting_of

from ballbench.errors import BadRequest, Fault
from ballbench.findings.planning.blocks import Block, Place, block_sizes, running
from ballbench.findings.planning.chances import SettingChances, chances
from ballbench.findings.planning.designs import TruthAt

SETTINGS = [setting_of(TruthAt(mean, 0.04, 0.03, 0.3), 12, 3) for mean in (40.3, 40.46)]


def _found(place: Place, told: list[tuple[int, int]] | None = None) -> tuple[SettingChances, ...]:
    return chances(SETTINGS, 110, seed=9, place=place, progress=None if told is None else lambda *n: told.append(n))


def test_processes_give_the_same_bit_for_bit_and_tell_how_far_they_are() -> None:
    """Two processes or none: equal results; progress counts every block once, six in all (50 + 50 + 10 tests twice)."""
    told: list[tuple[int, int]] = []
    assert _found(Place(2), told) == _found(Place(1))
    assert told == [(done, 6) for done in range(1, 7)]


@pytest.mark.filterwarnings("ignore")  # the scheduler's own, at its start and end
def test_dask_workers_give_the_same_bit_for_bit() -> None:
    """A local cluster of two worker processes gives what this process gives."""
    distributed = pytest.importorskip("distributed")
    with distributed.LocalCluster(n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None) as cluster:
        assert _found(Place(scheduler=cluster.scheduler_address)) == _found(Place(1))


def test_a_plan_for_workers_without_dask_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the optional library the refusal names the extra, and nothing is computed."""
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(BadRequest) as caught:
        _found(Place(scheduler="tcp://127.0.0.1:1"))
    assert "extra `workers`" in str(caught.value)


def test_another_seed_gives_other_tests() -> None:
    """Randomness comes from the seed: another one changes the shares (else the error of a share would be a fiction)."""
    one, other = (chances(SETTINGS, 110, seed=seed, place=Place(1)) for seed in (9, 10))
    assert one != other


@pytest.mark.parametrize("balls", [1, 6, 24, 100, 5000])
@pytest.mark.parametrize("tests", [1, 49, 100, 1001])
def test_blocks_hold_every_test_once(balls: int, tests: int) -> None:
    """Sizes add up to the tests, none is empty, and more tests only add blocks at the end (definition)."""
    sizes = block_sizes(tests, balls)
    assert sum(sizes) == tests
    assert min(sizes) >= 1
    assert block_sizes(tests + 1000, balls)[: len(sizes) - 1] == sizes[:-1]


def _failing(what: object, tests: int, rng: np.random.Generator) -> None:
    raise BadRequest(Fault(str(what), str(tests), "nothing", str(rng.integers(1))))


def test_what_a_block_raises_comes_through_and_the_processes_end() -> None:
    """A failure in a worker is raised here as it was (rule of this project: one message, no hanging)."""
    with pytest.raises(BadRequest), running(Place(2)) as run:
        run([Block(_failing, None, 1, (1, 2, 3))] * 3)
