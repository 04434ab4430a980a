from __future__ import annotations

import numpy as np
import pytest
from tests.findings.made_samples import reading_of

from ballbench.findings.tally import Tally, margin_of
from ballbench.statistics.reductions import BallValues

VALUES = 40 + 0.05 * np.random.default_rng(1).standard_normal((3, 6, 400))
MORE = 40 + 0.05 * np.random.default_rng(2).standard_normal((3, 4, 400))
LIMITS = [(None, 40.06), (39.94, None), (39.93, 40.06)]


def _margins(values: np.ndarray, m: int, lower: float | None, upper: float | None) -> list[tuple[float, float]]:
    """Signed margin and value of the largest diameter of every ball in draw m, the worst first."""
    rows = []
    for i in range(values.shape[1]):
        v = float(values[:, i, m].max())
        rows.append((min(v - lower if lower is not None else np.inf, upper - v if upper is not None else np.inf), v))
    return sorted(rows)


@pytest.mark.parametrize(("lower", "upper"), LIMITS)
@pytest.mark.parametrize("allowed", [0, 1, 3])
@pytest.mark.parametrize("unread", [False, True])
def test_each_ball_clauses_count_the_next_to_allowed(
    lower: float | None, upper: float | None, allowed: int, unread: bool
) -> None:
    """With q allowed the (q + 1)-th smallest signed margin decides (methods), by plain sorting."""
    tally = Tally(reading_of("max", "each", lower=lower, upper=upper, allowed=allowed), 6)
    tally.add(BallValues(VALUES), BallValues(MORE) if unread else None)
    everything = np.concatenate([VALUES, MORE], axis=1) if unread else VALUES
    ends = np.sort(everything.max(axis=0), axis=0)[[allowed, -1 - allowed]]
    at_end = {"low": ends[0], "high": ends[1]}[tally.end]
    for m in range(400):
        margin, value = _margins(everything, m, lower, upper)[allowed]
        assert tally.met[m] == (margin > 0)
        if lower is None or upper is None:
            assert tally.statistics[m] == pytest.approx(value, abs=1e-12)
        assert tally.statistics[m] == pytest.approx(at_end[m], abs=1e-12)


def test_each_ball_is_counted_by_itself() -> None:
    """The chance of a ball to be inside is its share of draws inside, whatever its fellows or the unread balls do."""
    tally = Tally(reading_of("min", "each", lower=39.95), 6)
    tally.add(BallValues(VALUES[:, :, :150]), BallValues(MORE[:, :, :150]))
    tally.add(BallValues(VALUES[:, :, 150:]), BallValues(MORE[:, :, 150:]))
    assert np.allclose(tally.inside, (VALUES.min(axis=0) > 39.95).mean(axis=1))


@pytest.mark.parametrize(
    ("ball", "sample"), [("mean", "mean"), ("midrange", "sd"), ("range", "mean"), ("max", "range")]
)
def test_sample_clauses_reduce_twice(ball: str, sample: str) -> None:
    """The clause's statistic is the sample reduction of the ball reduction, and it is met where inside (numpy)."""
    reduce_ball = {"mean": np.mean, "range": np.ptp, "max": np.max}.get(
        ball, lambda v, axis: (v.max(axis) + v.min(axis)) / 2
    )
    reduce_sample = {"mean": np.mean, "range": np.ptp, "sd": lambda v, axis: v.std(axis, ddof=1)}[sample]
    theirs = reduce_sample(reduce_ball(VALUES, axis=0), axis=0)
    limit = float(np.median(theirs))
    tally = Tally(reading_of(ball, sample, upper=limit), 6)
    tally.add(BallValues(VALUES))
    assert np.allclose(tally.statistics, theirs)
    assert np.array_equal(tally.met, theirs < limit)


def test_as_many_allowed_as_there_are_balls_is_always_met() -> None:
    """When every ball may be outside the clause cannot fail (pigeonhole)."""
    tally = Tally(reading_of("max", "each", upper=0.0, allowed=6), 6)
    tally.add(BallValues(VALUES))
    assert tally.met.all()


def test_places_not_read_are_left_out() -> None:
    """A place that was not read neither makes a largest diameter nor widens a range."""
    read = np.ones((3, 6), bool)
    read[2] = False
    tally = Tally(reading_of("range", "each", upper=0.05), 6)
    tally.add(BallValues(VALUES, read))
    assert np.array_equal(tally.met, np.ptp(VALUES[:2], axis=0).max(axis=0) < 0.05)


def test_margin_is_the_nearer_distance() -> None:
    """Inside by 0.1 and 0.3 is 0.1; outside is negative; no limit at all is an error."""
    assert margin_of(np.array([1.1, 0.9, 1.6]), 1.0, 1.4).tolist() == pytest.approx([0.1, -0.1, -0.2])
    with pytest.raises(ValueError, match="limit"):
        margin_of(np.zeros(1), None, None)


def test_kept_draws_are_those_counted_first() -> None:
    """The draws kept for pictures are the ball values themselves, cut at the number asked for."""
    tally = Tally(reading_of("max", "each", upper=41.0), 6, keep_balls=100)
    tally.add(BallValues(VALUES))
    assert np.array_equal(tally.kept, VALUES.max(axis=0)[:, :100])
