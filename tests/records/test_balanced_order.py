from __future__ import annotations

from collections import Counter
from itertools import groupby

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from ballbench.records.balanced_order import balanced_order
from ballbench.records.ball_test import PlannedQuantity
from ballbench.records.control_ball import ControlBall
from ballbench.records.reading_order import reading_order

SIZES = st.dictionaries(
    st.tuples(st.sampled_from(["Curlew", "Dunlin", "Plover"]), st.sampled_from(["1", "2", "3"])), st.integers(1, 14),
    min_size=1,
)  # fmt: skip
LEAGUE = tuple((make, box) for make in ("Curlew", "Dunlin") for box in ("1", "2") for _ in range(3))
SEEDS = 3_000


def boxes_of(sizes: dict[tuple[str, str], int]) -> list[tuple[str, str]]:
    """Make and box of every ball."""
    return [box for box, count in sizes.items() for _ in range(count)]


@given(sizes=SIZES, seed=st.integers(0, 10**6))
def test_each_third_has_every_make_and_box_equally_often(sizes: dict[tuple[str, str], int], seed: int) -> None:
    """Whatever the boxes' sizes: every ball once, and no third has a make or a box more than once more than another."""
    boxes = boxes_of(sizes)
    order = balanced_order(boxes, np.random.default_rng(seed))
    assert sorted(order) == list(range(len(boxes)))
    thirds = [[boxes[ball] for ball in third] for third in np.array_split(order, 3)]
    for deep in (1, 2):
        counts = [Counter(box[:deep] for box in third) for third in thirds]
        for part in {box[:deep] for box in boxes}:
            held = [count[part] for count in counts]
            assert max(held) - min(held) <= 1, (part, held)


def test_a_plain_shuffle_would_not_do() -> None:
    """The test before this one can fail: of 300 plain shuffles of 2 makes of 12 balls most are out of balance."""
    makes = np.repeat([0, 1], 12)
    rng = np.random.default_rng(1)
    thirds = np.stack([rng.permutation(makes) for _ in range(300)]).reshape(300, 3, 8).sum(axis=2)
    assert ((thirds.max(axis=1) - thirds.min(axis=1)) > 1).mean() > 0.5


def test_every_ball_is_as_likely_at_every_position() -> None:
    """3000 seeds, 2 makes of 2 boxes of 3: each ball is at each of the 12 positions in 1/12 of all, p above 0.001.

    Counts of one ball over positions are multinomial; of the 12 p values the least is held against 0.001 / 12.
    """
    counts = np.zeros((12, 12), dtype=np.int64)
    for seed in range(SEEDS):
        order = balanced_order(LEAGUE, np.random.default_rng(seed))
        counts[order, np.arange(12)] += 1
    assert min(stats.chisquare(row).pvalue for row in counts) > 0.001 / 12


def test_two_balls_come_either_way_round() -> None:
    """3000 seeds: of two balls of different boxes either comes first as often as the other, p above 0.001."""
    first = sum(
        int(np.flatnonzero(order == 0)[0] < np.flatnonzero(order == 3)[0])
        for order in (balanced_order(LEAGUE, np.random.default_rng(seed)) for seed in range(SEEDS))
    )
    assert stats.binomtest(first, SEEDS, 0.5).pvalue > 0.001


@given(
    balls=st.integers(1, 30), every=st.integers(1, 12), control=st.integers(0, 29), repeats=st.integers(1, 3),
    seed=st.integers(0, 10**6),
)  # fmt: skip
def test_the_control_ball_comes_at_start_end_and_between(
    balls: int, every: int, control: int, repeats: int, seed: int
) -> None:
    """No more than so many other balls come between two times in the hand, and it is never asked for twice running."""
    ball = control % balls
    quantity = PlannedQuantity("diameter", "diameter", "mm", ("seam", "across"), repeats)
    turns = reading_order([quantity], balls, {"diameter": [0]}, np.random.default_rng(seed),
                          control=ControlBall(ball, every))  # fmt: skip
    read = [turn for turn in turns if turn.ball is not None]
    assert [turn.axis for turn in read] == ["seam", "across"] * (len(read) // 2)
    hands = [turn.ball for turn in read[::2]]
    assert hands[0] == ball
    assert hands[-1] == ball
    own = [position for position, hand in enumerate(hands) if hand == ball]
    assert max(np.diff(own), default=1) <= every + 1
    plain = reading_order([quantity], balls, {"diameter": [0]}, np.random.default_rng(seed))
    kept = [turn for turn in turns if turn.ball != ball or turn.repeat <= repeats]
    assert [t for t in kept if t.ball is not None] == [t for t in plain if t.ball is not None]
    again = [turn.repeat for turn in read[::2] if turn.ball == ball and turn.repeat > repeats]
    assert again == list(range(repeats + 1, repeats + 1 + len(again)))
    if balls > 1:
        beside = [(a, b) for a, b in zip(read[::2], read[2::2], strict=False) if a.ball == b.ball]
        assert not [pair for pair in beside if max(one.repeat for one in pair) > repeats]


def test_a_control_ball_is_not_dropped_or_pressed_more_than_others() -> None:
    """Only sizes, mass and rolling leave a ball as it was; drops, loads and yes/no results get no control ball."""
    names = ("diameter", "mass", "veer", "rebound", "hardness", "water_uptake")
    quantities = [PlannedQuantity(name, name, "mm", ("",), 1) for name in names]
    quantities.append(PlannedQuantity("roundness", "roundness", "1", ("",), 1, yes_no=True))
    turns = reading_order(quantities, 6, {}, np.random.default_rng(2), control=ControlBall(3, 2))
    more = {name: len(list(group)) - 6 for name, group in groupby(turns, key=lambda turn: turn.quantity)}
    assert {name for name, count in more.items() if count > 0} == {"diameter", "mass", "veer"}
    assert min(more.values()) == 0


def test_every_round_is_balanced() -> None:
    """Two rounds of 2 makes of 2 boxes of 3: each third of each round has every box once and every make twice."""
    quantity = PlannedQuantity("mass", "mass", "g", ("",), 2)
    turns = reading_order([quantity], 12, {}, np.random.default_rng(4), boxes=LEAGUE)
    for start in range(0, 24, 4):
        third = [LEAGUE[turn.ball] for turn in turns[start : start + 4] if turn.ball is not None]
        assert sorted(third) == sorted(set(LEAGUE))
