from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from ballbench.signals.attacks import Attacks
from ballbench.signals.bounce_search import FEWEST, Chain, as_timed, bouncing

Array = NDArray[np.float64]


def attacks_at(times: Array, *, rise: float | Array = 30.0, bands: Array | None = None) -> Attacks:
    """Attacks of one loudness at these times, with all bands clear."""
    n = times.size
    levels = np.zeros((n, 4)) if bands is None else bands
    total = 10.0 * np.log10((10.0 ** (levels / 10.0)).sum(axis=1))
    return Attacks(times, np.broadcast_to(rise, (n,)).astype(float), total, levels, np.ones((n, 4), dtype=bool))


def comb(first: float, interval: float, ratio: float, count: int) -> Array:
    return first + np.concatenate([[0.0], np.cumsum(interval * ratio ** np.arange(count - 1))])


def accepted(attacks: Attacks, seconds: float) -> list[Chain]:
    """Chains that stay when every attack's own time is taken as its onset, known to 0.1 ms."""
    chains = bouncing(attacks, seconds)
    timed = [as_timed(attacks, c, attacks.times[list(c.members)], np.full(len(c.members), 1e-4)) for c in chains]
    return [chain for chain in timed if chain is not None]


@pytest.mark.parametrize("ratio", [0.5, 0.65, 0.8, 0.9, 0.95])
def test_a_geometric_row_of_attacks_is_one_chain(ratio: float) -> None:
    """Exact geometry: intervals 0.4 s and so on, ten attacks with nothing beside them."""
    times = comb(0.7, 0.4, ratio, 10)
    times = times[np.concatenate([[True], np.diff(times) > 0.012])]
    attacks = attacks_at(times, bands=24.0 * np.log10(ratio) * np.arange(times.size)[:, None] * np.ones(4))
    (chain,) = accepted(attacks, 5.0)
    assert chain.members == tuple(range(times.size))
    assert chain.missing == ()


def test_attacks_beside_a_drop_are_left_out() -> None:
    """Six attacks of another sound at random among ten of a comb: the comb alone is the chain."""
    rng = np.random.default_rng(3)
    ball = comb(0.7, 0.45, 0.85, 10)
    other = rng.uniform(0.2, 3.5, 6)
    times = np.concatenate([ball, other])
    bands = np.concatenate([24.0 * np.log10(0.85) * np.arange(10)[:, None] * np.ones(4), rng.normal(-5.0, 9.0, (6, 4))])
    order = np.argsort(times)
    (chain,) = accepted(attacks_at(times[order], bands=bands[order]), 5.0)
    assert {int(order[m]) for m in chain.members} == set(range(10))


def test_one_missing_impact_is_a_gap() -> None:
    """The fifth of eleven is taken away: one chain, with the gap after its fourth."""
    times = np.delete(comb(0.7, 0.45, 0.85, 11), 4)
    bands = np.delete(24.0 * np.log10(0.85) * np.arange(11)[:, None] * np.ones(4), 4, axis=0)
    (chain,) = accepted(attacks_at(times, bands=bands), 5.0)
    assert chain.members == tuple(range(10))
    assert chain.missing == (3,)


@pytest.mark.parametrize("jitter", [0.0, 0.01, 0.03, 0.06])
def test_an_even_beat_is_no_ball(jitter: float) -> None:
    """A metronome and people that knock: 40 beats with a jitter, ten times over."""
    for seed in range(10):
        rng = np.random.default_rng(seed)
        times = 0.5 + np.cumsum(0.4 * (1.0 + jitter * rng.standard_normal(40)))
        assert accepted(attacks_at(times, bands=rng.normal(0.0, 1.5, (40, 4))), 18.0) == []


def test_attacks_at_random_are_no_ball() -> None:
    """Poisson attacks, four a second for 30 s, alike in sound, forty times over: none."""
    for seed in range(40):
        rng = np.random.default_rng(seed)
        times = np.sort(rng.uniform(0.0, 30.0, rng.poisson(120)))
        assert accepted(attacks_at(times, rise=20.0, bands=rng.normal(0.0, 4.0, (times.size, 4))), 30.0) == []


def test_fewer_than_the_fewest_are_no_chain() -> None:
    """One less than `FEWEST`, and none at all."""
    for count in (0, FEWEST - 1):
        times = comb(0.5, 0.4, 0.8, FEWEST)[:count]
        assert bouncing(attacks_at(times), 3.0) == []
