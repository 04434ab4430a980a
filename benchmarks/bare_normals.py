"""The least that drawing can cost: normal numbers into a buffer that stays in the cache, nothing done to them."""

from __future__ import annotations

import os
from concurrent.futures import ThreadPoolExecutor

import numpy as np

from benchmarks.measuring import Spent, spent

__all__ = ["bare_normals"]

BLOCK = 2**15


def bare_normals(count: int, threads: int | None = None) -> Spent:
    """Draw at least `count` standard normal numbers, shared among the threads.

    Parameters
    ----------
    count : int
        How many.
    threads : int, optional
        One for each processor by default, as the judging does.
    """
    threads = threads or os.cpu_count() or 1
    blocks = -(-count // (BLOCK * threads))
    with ThreadPoolExecutor(threads) as pool:
        list(pool.map(_blocks, range(threads), [1] * threads))
        with spent() as cost:
            drawn = sum(pool.map(_blocks, range(threads), [blocks] * threads))
    assert drawn >= count
    return cost


def _blocks(seed: int, blocks: int) -> int:
    """Fill one buffer again and again; how many numbers were drawn."""
    rng, buffer = np.random.Generator(np.random.PCG64(seed)), np.empty(BLOCK)
    for _ in range(blocks):
        rng.standard_normal(out=buffer)
    return blocks * BLOCK
