from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from ballbench.errors import BadRequest
from ballbench.statistics.acceptance_plans import (
    CODE_SAMPLES,
    CountPlan,
    acceptance_by_values,
    code_letter,
    count_plan,
    share_accepted_with,
    value_plan,
    zero_bad_of_lot,
)
from ballbench.statistics.counts import acceptance, acceptance_lot, zero_bad_sample
from ballbench.statistics.tolerance import one_sided_factor

DATA = Path(__file__).resolve().parents[1] / "reference" / "acceptance"


def _rows(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize("row", _rows("oc_points.csv"), ids=lambda row: f"{row['n']}/{row['c']}")
def test_shares_accepted_with_a_chance_are_the_reference_points(row: dict[str, str]) -> None:
    """Plans 80/2, 20/0, 32/1, 50/1, 125/3: per cent bad at chances 95, 50, 10 % (computed; ISO 2859-1, from memory)."""
    found = 100 * share_accepted_with(int(row["n"]), int(row["c"]), [0.95, 0.50, 0.10])
    printed = [row["p95"], row["p50"], row["p10"]]
    for ours, theirs in zip(found, printed, strict=True):
        assert ours == pytest.approx(float(theirs), abs=0.51 * 10.0 ** -len(theirs.split(".")[1]))


def test_the_plan_of_the_handbook_lies_on_its_own_characteristic() -> None:
    """Plan 52/3 (NIST/SEMATECH 6.2.3.2, from memory): the share at each printed chance is the printed share."""
    for row in _rows("plan_52_3.csv"):
        share = float(share_accepted_with(52, 3, float(row["accepted"])))
        assert float(acceptance(52, 3, share)) == pytest.approx(float(row["accepted"]), abs=1e-9)
        assert share == pytest.approx(float(row["p"]), abs=6e-4)


def test_zero_bad_of_a_box_is_exact() -> None:
    """Box of 20 with 2 bad: 5 balls miss both with 21/38 (exact algebra), so that they notice with 17/38 just."""
    assert zero_bad_of_lot(20, 2, 17 / 38) == 5
    assert zero_bad_of_lot(20, 2, 17 / 38 + 1e-6) == 6
    assert zero_bad_of_lot(20, 1, 0.95) == 19
    assert zero_bad_of_lot(20, 20) == 1


@pytest.mark.parametrize(("lot", "bad"), [(24, 1), (72, 4), (500, 25), (3000, 30)])
def test_zero_bad_of_a_box_is_the_smallest_by_the_hypergeometric_distribution(lot: int, bad: int) -> None:
    """So many miss every bad ball with at most 5 %, one fewer with more (scipy's hypergeometric distribution)."""
    n = zero_bad_of_lot(lot, bad)
    assert stats.hypergeom.pmf(0, lot, bad, n) <= 0.05 < stats.hypergeom.pmf(0, lot, bad, n - 1)


def test_zero_bad_of_a_great_box_nears_that_of_a_batch() -> None:
    """5 % bad of 200,000: 59 balls, as of an endless batch (binomial limit of the hypergeometric distribution)."""
    assert zero_bad_of_lot(200_000, 10_000) == zero_bad_sample(0.05) == 59


@pytest.mark.parametrize("row", _rows("oc_points.csv"), ids=lambda row: f"{row['n']}/{row['c']}")
def test_the_finder_gives_back_plans_from_their_own_points(row: dict[str, str]) -> None:
    """Points just outside a plan's own 95 % and 10 % points are passed by no smaller plan (round trip)."""
    n, c = int(row["n"]), int(row["c"])
    good, poor = share_accepted_with(n, c, [0.95, 0.10])
    assert count_plan(float(good) * (1 - 1e-9), float(poor) * (1 + 1e-9)) == CountPlan(n, c)


@pytest.mark.parametrize("lot", [None, 72, 500])
@pytest.mark.parametrize(("good", "poor"), [(0.01, 0.2), (0.02, 0.1), (0.05, 0.25)])
def test_the_plan_found_is_the_smallest_by_trying_all(lot: int | None, good: float, poor: float) -> None:
    """Of all plans up to the one found none smaller passes both points (brute force over n and c)."""

    def passes(n: int, c: int) -> bool:
        if lot is None:
            return float(acceptance(n, c, good)) >= 0.95 and float(acceptance(n, c, poor)) <= 0.10
        at = (int(np.floor(good * lot)), int(np.ceil(poor * lot)))
        first, last = acceptance_lot(n, c, lot, at)
        return bool(first >= 0.95 and last <= 0.10)

    found = count_plan(good, poor, lot=lot)
    assert passes(found.n, found.c)
    assert not any(passes(n, c) for n in range(1, found.n) for c in range(min(n, 12)))


def test_a_box_takes_no_more_balls_than_a_batch() -> None:
    """1 against 10 % bad: fewer balls out of 100 than out of an endless batch, not out of 100,000 (hypergeometric)."""
    batch = count_plan(0.01, 0.1).n
    assert count_plan(0.01, 0.1, lot=100).n < batch
    assert count_plan(0.01, 0.1, lot=100_000).n == pytest.approx(batch, abs=1)


@pytest.mark.parametrize(("n", "k"), [(5, 1.5), (12, 1.2), (24, 1.9)])
def test_acceptance_by_values_is_that_of_simulated_samples(n: int, k: float) -> None:
    """Chance that mean + k SD of n normals is inside, against 200,000 simulated samples (own simulation)."""
    x = np.random.default_rng(n).standard_normal((200_000, n))
    worst = x.mean(axis=1) + k * x.std(axis=1, ddof=1)
    for share in (0.01, 0.05, 0.2):
        seen = float(np.mean(worst <= stats.norm.isf(share)))
        assert float(acceptance_by_values(n, k, share)) == pytest.approx(seen, abs=0.005)


@pytest.mark.parametrize(("n", "lot", "k"), [(5, 12, 1.5), (5, 6, 1.2), (10, 100, 1.8), (24, 72, 1.9), (2, 3, 1.0)])
def test_acceptance_of_a_box_by_values_is_that_of_simulated_boxes(n: int, lot: int, k: float) -> None:
    """Boxes of normals brought to mean 0 and SD 1, n of them read: 100,000 simulated boxes agree (own simulation)."""
    box = np.random.default_rng(lot).standard_normal((100_000, lot))
    box = (box - box.mean(axis=1, keepdims=True)) / box.std(axis=1, ddof=1, keepdims=True)
    worst = box[:, :n].mean(axis=1) + k * box[:, :n].std(axis=1, ddof=1)
    for share in (0.01, 0.05, 0.2):
        seen = float(np.mean(worst <= stats.norm.isf(share)))
        assert float(acceptance_by_values(n, k, share, lot)) == pytest.approx(seen, abs=0.007)


def test_a_whole_box_and_a_great_one_are_the_ends() -> None:
    """Read whole, a box is accepted exactly when its limit is k SDs off; of a million balls it is a batch (limits)."""
    z = float(stats.norm.isf(0.05))
    assert acceptance_by_values(12, z - 1e-9, [0.05], 12) == pytest.approx([1.0])
    assert acceptance_by_values(12, z + 1e-9, [0.05], 12) == pytest.approx([0.0])
    assert acceptance_by_values(12, 1.5, 0.05, 1_000_000) == pytest.approx(
        float(acceptance_by_values(12, 1.5, 0.05)), abs=1e-3
    )


@pytest.mark.parametrize(("good", "poor"), [(0.01, 0.06), (0.02, 0.2), (0.005, 0.1)])
def test_the_plan_by_values_passes_both_points_and_no_smaller_does(good: float, poor: float) -> None:
    """The poor batch is accepted with 10 %, the good one with 95 % or more; one ball fewer falls short (definition)."""
    plan = value_plan(good, poor)
    assert float(acceptance_by_values(plan.n, plan.k, poor)) == pytest.approx(0.10, abs=1e-6)
    assert float(acceptance_by_values(plan.n, plan.k, good)) >= 0.95
    fewer = plan.n - 1
    k = float(stats.nct.ppf(0.90, fewer - 1, stats.norm.isf(poor) * np.sqrt(fewer)) / np.sqrt(fewer))
    assert float(acceptance_by_values(fewer, k, good)) < 0.95
    assert plan.n < count_plan(good, poor).n
    box = 5 * plan.n
    assert float(acceptance_by_values(plan.n, plan.k, poor, box)) <= 0.10
    assert float(acceptance_by_values(plan.n, plan.k, good, box)) >= 0.95


def test_a_tolerance_factor_is_a_plan() -> None:
    """The 95 %, 95 % factor accepts a batch with 5 % bad one time in twenty: 2.3960 for 20 balls (checked table)."""
    assert one_sided_factor(20) == pytest.approx(2.3960, abs=5e-5)
    assert float(acceptance_by_values(20, 2.3960, 0.05)) == pytest.approx(0.05, abs=1e-4)


def test_code_letters_are_those_of_the_table() -> None:
    """Both ends of every row and every level of ISO 2859-1:1999, Table 1 (as shown on two teaching pages)."""
    samples = {row["letter"]: int(row["n"]) for row in _rows("code_samples.csv")}
    assert samples == CODE_SAMPLES
    for row in _rows("code_letters.csv"):
        for lot in (int(row["lot_from"]), int(row["lot_to"])):
            for level in ("S-1", "S-2", "S-3", "S-4", "I", "II", "III"):
                letter = row[level]
                assert code_letter(lot, level) == (letter, min(samples[letter], lot))


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: zero_bad_of_lot(20, 21), "21 of a box of 20"),
        (lambda: zero_bad_of_lot(20, 2, 1.0), "between 0 and 1"),
        (lambda: share_accepted_with(5, 5, 0.5), "5 bad accepted"),
        (lambda: share_accepted_with(5, 0, 1.0), "0.95 for 95 %"),
        (lambda: count_plan(0.1, 0.05), "smaller share first"),
        (lambda: count_plan(0.01, 0.05, 0.6, 0.5), "together below 1"),
        (lambda: count_plan(0.01, 0.010001), "further apart"),
        (lambda: count_plan(0.01, 0.1, lot=0), "box"),
        (lambda: value_plan(0.01, 0.0101), "500 balls"),
        (lambda: acceptance_by_values(1, 1.0, 0.1), "two balls"),
        (lambda: acceptance_by_values(5, float("nan"), 0.1), "acceptability"),
        (lambda: acceptance_by_values(5, 1.0, 0.1, 4), "5 of a box of 4"),
        (lambda: code_letter(1, "IV"), "whole number from 2"),
        (lambda: code_letter(50, "IV"), "inspection level"),
    ],
)
def test_what_no_plan_can_have_is_refused_with_the_way_out(call: object, said: str) -> None:
    """Arguments outside their ranges are named, with what is allowed (rule of this project)."""
    with pytest.raises(BadRequest) as caught:
        call()  # type: ignore[operator]
    assert said in str(caught.value)
