from __future__ import annotations

import itertools
from collections import Counter

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from ballbench.records.ball_test import PlannedQuantity
from ballbench.records.reading_order import numbers_for, reading_order, sheet_key

QUANTITIES = st.lists(
    st.builds(
        PlannedQuantity,
        name=st.sampled_from(["diameter", "mass", "rebound", "crack"]),
        words=st.just("size"),
        unit=st.just("mm"),
        axes=st.sampled_from([("",), ("seam",), ("seam", "across", "free")]),
        repeats=st.integers(1, 4),
    ),
    min_size=1,
    max_size=4,
    unique_by=lambda quantity: quantity.name,
)
PIECES = st.dictionaries(st.sampled_from(["diameter", "mass"]), st.lists(st.integers(0, 3), max_size=2, unique=True))
SEEDS = 3_000


def planned(name: str, axes: tuple[str, ...] = ("",), repeats: int = 1) -> PlannedQuantity:
    """Plan one quantity."""
    return PlannedQuantity(name, name, "mm", axes, repeats)


@given(quantities=QUANTITIES, balls=st.integers(1, 7), pieces=PIECES, seed=st.integers(0, 10**6))
def test_every_place_comes_once(
    quantities: list[PlannedQuantity], balls: int, pieces: dict[str, list[int]], seed: int
) -> None:
    """Each ball at each axis for each repeat, and each piece at start, middle and end of what it checks; no more."""
    turns = reading_order(quantities, balls, pieces, np.random.default_rng(seed))
    wanted = [
        (ball, None, one.name, axis, repeat)
        for one in quantities
        for ball, axis, repeat in itertools.product(range(balls), one.axes, range(1, one.repeats + 1))
    ]
    wanted += [
        (None, piece, one.name, moment, number)
        for one in quantities
        for piece in pieces.get(one.name, ())
        for number, moment in enumerate(("start", "middle", "end"), 1)
    ]
    found = [(turn.ball, turn.reference, turn.quantity, turn.axis, turn.repeat) for turn in turns]
    assert Counter(found) == Counter(wanted)


@given(quantities=QUANTITIES, balls=st.integers(1, 7), pieces=PIECES, seed=st.integers(0, 10**6))
def test_a_ball_stays_in_the_hand_and_pieces_stand_where_they_should(
    quantities: list[PlannedQuantity], balls: int, pieces: dict[str, list[int]], seed: int
) -> None:
    """Quantity by quantity; all axes of a ball in a row; each round every ball once; pieces first, half way, last."""
    turns = reading_order(quantities, balls, pieces, np.random.default_rng(seed))
    names = [name for name, _ in itertools.groupby(turn.quantity for turn in turns)]
    assert names == [one.name for one in quantities]
    for one in quantities:
        own = [turn for turn in turns if turn.quantity == one.name]
        hands = [(turn.ball, turn.repeat) for turn in own if turn.ball is not None]
        in_hand = [hands[start] for start in range(0, len(hands), len(one.axes))]
        assert hands == [hand for hand in in_hand for _ in one.axes]
        assert [t.axis for t in own if t.ball is not None] == list(one.axes) * len(in_hand)
        assert [repeat for _, repeat in in_hand] == sorted(repeat for _, repeat in in_hand)
        count = len(pieces.get(one.name, ()))
        if count:
            checks = [position for position, turn in enumerate(own) if turn.ball is None]
            middle = len(one.axes) * -(-len(in_hand) // 2) + count
            assert checks == [*range(count), *range(middle, middle + count), *range(len(own) - count, len(own))]


def test_without_a_shuffle_balls_come_in_their_order() -> None:
    """As on a paper sheet, round by round."""
    turns = reading_order([planned("mass", repeats=2)], 3, {}, np.random.default_rng(1), shuffled=False)
    assert [(turn.ball, turn.repeat) for turn in turns] == [(0, 1), (1, 1), (2, 1), (0, 2), (1, 2), (2, 2)]


def evenness(counts: np.ndarray[tuple[int, int], np.dtype[np.int64]]) -> float:
    """Chance of counts as uneven as these, where each of N permutations of n puts one count in each row and column.

    Their covariance is N / (n - 1) times the projection that takes row and column means off, so that the usual sum of
    squares times (n - 1) / n is chi-squared with (n - 1)^2 degrees of freedom.
    """
    n = counts.shape[0]
    mean = counts.sum() / n**2
    return float(stats.chi2.sf(((counts - mean) ** 2 / mean).sum() * (n - 1) / n, (n - 1) ** 2))


def test_every_ball_is_as_likely_at_every_place() -> None:
    """Over 3000 seeds, six balls and two rounds: chi-squared over ball and position, p above 0.001 in each round."""
    counts = np.zeros((2, 6, 6), dtype=np.int64)
    for seed in range(SEEDS):
        turns = reading_order([planned("mass", repeats=2)], 6, {}, np.random.default_rng(seed))
        for position, turn in enumerate(turns):
            assert turn.ball is not None
            counts[turn.repeat - 1, turn.ball, position % 6] += 1
    assert evenness(counts[0]) > 0.001
    assert evenness(counts[1]) > 0.001
    biased = counts[0].copy()
    biased[0, 0] += SEEDS // 20
    assert evenness(biased) < 0.001, "five in a hundred more at one place are seen"


def test_one_round_tells_nothing_of_the_next() -> None:
    """Position of a ball in the first round against that in the second, over 3000 seeds: independent, p above 0.001."""
    counts = np.zeros((6, 6), dtype=np.int64)
    for seed in range(SEEDS):
        turns = reading_order([planned("mass", repeats=2)], 6, {}, np.random.default_rng(seed))
        places = [position % 6 for position, turn in enumerate(turns) if turn.ball == 0]
        counts[places[0], places[1]] += 1
    assert stats.chi2_contingency(counts).pvalue > 0.001


def test_blind_numbers_tell_no_box() -> None:
    """Two boxes of four, 3500 seeds: each of the 70 sets of numbers is as likely for the first box, p above 0.001."""
    labels = ["01", "02", "03", "04"] * 2
    sets: Counter[tuple[str, ...]] = Counter()
    counts = np.zeros((8, 8), dtype=np.int64)
    for seed in range(3_500):
        numbers = numbers_for(labels, np.random.default_rng(seed), blind=True)
        assert sorted(numbers) == [f"{number:02d}" for number in range(1, 9)]
        sets[tuple(sorted(numbers[:4]))] += 1
        for ball, number in enumerate(numbers):
            counts[ball, int(number) - 1] += 1
    assert len(sets) == 70
    assert stats.chisquare(list(sets.values())).pvalue > 0.001
    assert evenness(counts) > 0.001


@pytest.mark.parametrize(
    ("labels", "numbers"),
    [
        (["A", "7", "x"], ("A", "7", "x")),
        (["01", "02", "01"], ("01", "02", "03")),
        (["1"] * 120, tuple(f"{number:03d}" for number in range(1, 121))),
        ([], ()),
    ],
)
def test_open_balls_keep_their_names_where_these_tell_them_apart(labels: list[str], numbers: tuple[str, ...]) -> None:
    """Otherwise they are counted, box after box, with as many digits as the last of them has."""
    assert numbers_for(labels, None, blind=False) == numbers


@given(quantities=QUANTITIES, balls=st.integers(1, 5), pieces=PIECES, seed=st.integers(0, 10**6))
def test_a_sheet_is_sorted_as_a_person_reads_it(
    quantities: list[PlannedQuantity], balls: int, pieces: dict[str, list[int]], seed: int
) -> None:
    """By quantity; pieces at the start, then ball, axis and repeat, then the pieces' further readings; no two alike."""
    turns = reading_order(quantities, balls, pieces, np.random.default_rng(seed))
    sheet = sorted(turns, key=lambda turn: sheet_key(turn, quantities))
    assert len({sheet_key(turn, quantities) for turn in turns}) == len(turns)
    for one, group in itertools.groupby(sheet, key=lambda turn: turn.quantity):
        own = list(group)
        plan = next(quantity for quantity in quantities if quantity.name == one)
        kinds = [("ball" if turn.ball is not None else turn.axis) for turn in own]
        assert [kind for kind, _ in itertools.groupby(kinds)] == (
            ["start", "ball", "middle", "end"] if pieces.get(one) else ["ball"]
        )
        read = [(turn.ball, plan.axes.index(turn.axis), turn.repeat) for turn in own if turn.ball is not None]
        assert read == sorted(read)
