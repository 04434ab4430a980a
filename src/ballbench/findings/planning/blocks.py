"""Work cut into blocks that give the same numbers wherever they run: here, in processes, or on Dask workers.

The randomness of a block comes from the seed, the place of its setting and its own place alone, and linear algebra
runs on one thread, so that the result is the same bit for bit however the blocks are shared out.
"""

from __future__ import annotations

import importlib
import multiprocessing
import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

import numpy as np
from threadpoolctl import threadpool_limits

from ballbench.errors import BadRequest, Fault

__all__ = ["Block", "Place", "Progress", "Run", "block_sizes", "running"]

Progress = Callable[[int, int], None]
"""Called with the blocks done and the blocks in all."""
BALLS_A_BLOCK, MOST_TESTS = 1200, 50


@dataclass(frozen=True, slots=True)
class Place:
    """Where the work runs.

    Parameters
    ----------
    processes : int or None
        So many processes of this machine; None: one a processor; 1: in this process.
    scheduler : str
        Address of a Dask scheduler, such as ``tcp://10.0.0.5:8786``; empty: this machine.
    """

    processes: int | None = None
    scheduler: str = ""


@dataclass(frozen=True, slots=True)
class Block:
    """Some tests of one setting.

    Parameters
    ----------
    work : callable
        Takes `what`, the number of tests and a generator; a function of a module, so that it can be sent.
    what : object
        The setting.
    tests : int
        How many.
    key : tuple of int
        Seed, place of the setting, place of the block.
    """

    work: Callable[[Any, int, np.random.Generator], Any]
    what: Any
    tests: int
    key: tuple[int, ...]

    def run(self) -> Any:
        """Do the work on one thread of linear algebra."""
        rng = np.random.Generator(np.random.PCG64(np.random.SeedSequence(list(self.key))))
        with threadpool_limits(limits=1, user_api="blas"):
            return self.work(self.what, self.tests, rng)


Run = Callable[[Sequence[Block]], list[Any]]


def block_sizes(tests: int, balls: int) -> list[int]:
    """Share tests out in blocks of at most 50 tests, fewer for many balls; a rule of the design alone."""
    size = int(np.clip(BALLS_A_BLOCK // balls, 1, MOST_TESTS))
    whole, rest = divmod(tests, size)
    return [size] * whole + ([rest] if rest else [])


@contextmanager
def running(place: Place, progress: Progress | None = None) -> Iterator[Run]:
    """Open a place to run blocks, for several rounds if need be.

    Yields
    ------
    callable
        From blocks to their results, in the order of the blocks.

    Raises
    ------
    BadRequest
        A Dask scheduler is named, and Dask is not installed or the scheduler does not answer.
    """
    if place.scheduler:
        with _dask(place.scheduler) as client:
            yield lambda blocks: _on_dask(client, blocks, progress)
        return
    processes = place.processes or os.cpu_count() or 1
    if processes == 1:
        yield lambda blocks: _here(blocks, progress)
        return
    pool = ProcessPoolExecutor(processes, mp_context=multiprocessing.get_context("spawn"))
    try:
        yield lambda blocks: _in_pool(pool, blocks, progress)
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def _run(block: Block) -> Any:
    return block.run()


def _here(blocks: Sequence[Block], progress: Progress | None) -> list[Any]:
    results = []
    for block in blocks:
        results.append(block.run())
        if progress is not None:
            progress(len(results), len(blocks))
    return results


def _in_pool(pool: ProcessPoolExecutor, blocks: Sequence[Block], progress: Progress | None) -> list[Any]:
    futures = {pool.submit(_run, block): place for place, block in enumerate(blocks)}
    results: list[Any] = [None] * len(blocks)
    for done, future in enumerate(as_completed(futures), start=1):
        results[futures[future]] = future.result()
        if progress is not None:
            progress(done, len(blocks))
    return results


@contextmanager
def _dask(address: str) -> Iterator[Any]:
    """Connect to a Dask scheduler."""
    try:
        distributed: Any = importlib.import_module("distributed")  # optional, and slow to load
    except ImportError as error:
        raise BadRequest(
            Fault("workers", f"a Dask scheduler at {address}", "an installed Dask",
                  "install ballbench with the extra `workers`, or leave the scheduler out to run on this machine")
        ) from error  # fmt: skip
    try:
        client = distributed.Client(address, timeout="10s", set_as_default=False)
    except (OSError, ValueError) as error:
        raise BadRequest(
            Fault("workers", f"no answer from a Dask scheduler at {address}", "the address of a running scheduler",
                  "start it, or leave the scheduler out to run on this machine")
        ) from error  # fmt: skip
    try:
        yield client
    finally:
        client.close()


def _on_dask(client: Any, blocks: Sequence[Block], progress: Progress | None) -> list[Any]:
    distributed: Any = importlib.import_module("distributed")
    futures = client.map(_run, list(blocks), pure=False)
    places = {future.key: place for place, future in enumerate(futures)}
    results: list[Any] = [None] * len(blocks)
    for done, (future, result) in enumerate(
        distributed.as_completed(futures, loop=client.loop, with_results=True), start=1
    ):
        results[places[future.key]] = result
        if progress is not None:
            progress(done, len(blocks))
    return results
