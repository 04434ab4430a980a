from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import special, stats
from tests.findings.made_samples import bench_of, clause_of, reading_of, sample_of

from ballbench.findings.evidence import PRIOR_FACTORS, Evidence, truth_of
from ballbench.records import Bench
from ballbench.specs import Reading
from ballbench.statistics.preparation import prepare
from ballbench.statistics.study import Floats


def _evidence(
    y: Floats, readings: list[Reading], bench: Bench, *, seed: int = 1, unread: int = 0, draws: int = 20_000,
    whole: int = 0, **sample: object,
) -> Evidence:  # fmt: skip
    clauses = [clause_of(reading, identity=str(i)) for i, reading in enumerate(readings)]
    prepared = prepare(sample_of(y, **sample), bench)  # type: ignore[arg-type]
    extra = {clause.id: unread for clause in clauses if unread}
    item = Evidence(prepared, clauses, np.random.default_rng(seed), seed, 0, extra)
    item.draw(draws, whole)
    item.judge_alone()
    return item


def _chance(item: Evidence, at: int = 0) -> float:
    return float(item.tracks[at].tally.met.mean())


@pytest.mark.parametrize("offset_sd", [0.0, 0.012])
def test_mean_clause_is_a_normal_tail(offset_sd: float) -> None:
    """One reading a ball: the sample's mean is normal about the raw mean, variance se^2 / n + u^2 (JCGM 100, 5.1.2)."""
    y = 40 + 0.03 * np.random.default_rng(2).standard_normal((10, 1))
    u = float(np.hypot(0.02 / np.sqrt(10), offset_sd))
    limits = [float(y.mean()) + z * u for z in (-1.0, 0.5, 1.645)]
    item = _evidence(y, [reading_of("mean", "mean", upper=x) for x in limits], bench_of(sd=0.02, offset_sd=offset_sd))
    for at, z in enumerate((-1.0, 0.5, 1.645)):
        assert _chance(item, at) == pytest.approx(float(special.ndtr(z)), abs=0.012)
    truth = truth_of(item.tracks[0].tally.statistics)
    assert truth.low == pytest.approx(float(y.mean()) - 1.96 * u, abs=0.06 * u)
    assert truth.high == pytest.approx(float(y.mean()) + 1.96 * u, abs=0.06 * u)


def test_offset_correction_moves_the_truth_the_other_way() -> None:
    """An instrument that reads 0.05 mm too much: the mean of the balls lies 0.05 mm below the raw mean."""
    y = 40 + 0.03 * np.random.default_rng(3).standard_normal((8, 3))
    item = _evidence(y, [reading_of("mean", "mean", upper=40.0)], bench_of(offset=0.05))
    assert truth_of(item.tracks[0].tally.statistics).median == pytest.approx(float(y.mean()) - 0.05, abs=0.002)
    assert item.as_read(item.tracks[0].reading)[1] == pytest.approx(float(y.mean()), abs=1e-9)


@pytest.mark.parametrize(("dof", "law"), [(1e6, stats.norm), (4.0, stats.t(4))])
def test_a_ball_alone_is_its_reading_less_its_errors(dof: float, law: object) -> None:
    """One place a ball: alone it is inside with the normal or Student tail of its own distance to the limit."""
    y = 40 + np.array([[0.0], [0.02], [0.04], [-0.06]])
    item = _evidence(y, [reading_of("max", "each", upper=40.03)], bench_of(sd=0.02, dof=dof), draws=2000)
    alone = item.tracks[0].alone
    assert alone is not None
    theirs = law.cdf((40.03 - y[:, 0]) / 0.02)  # type: ignore[attr-defined]
    assert np.allclose(alone, theirs, atol=4.5 * 0.5 / np.sqrt(2048))


def test_a_ball_alone_bears_the_shared_error_too() -> None:
    """The caliper's own error of 0.05 mm is in the chance of a ball alone: sqrt(se^2 + u^2) (JCGM 100, 5.1.2)."""
    item = _evidence(
        np.array([[40.0], [40.0]]),
        [reading_of("max", "each", upper=40.05)],
        bench_of(sd=0.02, offset_sd=0.05),
        draws=2000,
    )
    alone = item.tracks[0].alone
    assert alone is not None
    assert np.allclose(alone, special.ndtr(0.05 / np.hypot(0.02, 0.05)), atol=0.05)


def test_only_extremes_of_each_ball_are_judged_alone() -> None:
    """The condition is for each-ball clauses on max, min or range (methods), and for no other."""
    y = 40 + 0.02 * np.random.default_rng(4).standard_normal((5, 3))
    wanted = [reading_of(ball, "each", upper=41.0) for ball in ("max", "min", "range", "mean", "midrange")]
    item = _evidence(y, [*wanted, reading_of("max", "mean", upper=41.0)], bench_of(), draws=500)
    assert [track.alone is not None for track in item.tracks] == [True, True, True, False, False, False]


@pytest.mark.parametrize("at", [0, 1])
def test_other_prior_scales_are_reached_by_weighing(at: int) -> None:
    """Chances weighed to A/3 and 3A equal those of a study drawn anew with that prior scale."""
    y = 40 + 0.012 * np.random.default_rng(5).standard_normal((4, 3))
    wanted = [reading_of("range", "mean", upper=0.012), reading_of("max", "each", upper=40.025)]
    bench = bench_of(sd=0.008, dof=8)
    item = _evidence(y, wanted, bench, draws=40_000)
    weight = item.prior_weights()[at]
    prepared = prepare(sample_of(y), bench)
    study = replace(prepared.study, prior_scale=prepared.study.prior_scale * PRIOR_FACTORS[at])
    other = Evidence(replace(prepared, study=study), item.clauses, np.random.default_rng(6), 1, 0, {})
    other.draw(40_000, 0)
    for mine, theirs in zip(item.tracks, other.tracks, strict=True):
        assert float(weight @ mine.tally.met) == pytest.approx(float(theirs.tally.met.mean()), abs=0.02)


def test_whole_ball_is_never_likelier_inside_than_its_axes() -> None:
    """All directions hold the axes: what the whole ball meets the axes meet (set inclusion), and the gap is real."""
    y = 40 + 0.03 * np.random.default_rng(7).standard_normal((8, 3))
    wanted = [reading_of("max", "each", upper=40.08), reading_of("range", "each", upper=0.12)]
    item = _evidence(y, wanted, bench_of(sd=0.005), draws=4000, whole=2000)
    for track in item.tracks:
        axes = float(track.tally.met[:2000].mean())
        for whole in track.whole:
            assert float(whole.met.mean()) <= axes + 0.03
        assert np.median(track.whole[0].statistics) > np.median(track.tally.statistics)
    assert len(item.tracks[0].whole) == 3


def test_whole_ball_holds_the_unread_balls_too() -> None:
    """One of 24 may be outside and 16 are unread: over the whole ball the chance cannot exceed that on the axes."""
    y = (
        40
        + 0.03 * np.random.default_rng(8).standard_normal((8, 1))
        + 0.01 * np.random.default_rng(9).standard_normal((8, 3))
    )
    limit = float(np.sort(y.max(axis=1))[-1]) + 0.002
    item = _evidence(
        y, [reading_of("max", "each", upper=limit, allowed=1)], bench_of(sd=0.004), unread=16, draws=4000, whole=2000
    )
    assert float(item.tracks[0].whole[0].met.mean()) <= _chance(item) + 0.03


def test_unread_balls_of_an_allowance_are_predicted() -> None:
    """No ball read is outside, one is allowed: the chance is that of at most one of 16 new ones (binomial, scipy)."""
    rng = np.random.default_rng(10)
    y = 40 + 0.03 * rng.standard_normal((40, 1))
    limit = float(y.mean() + 2.0 * y.std(ddof=1))
    y = np.minimum(y, limit - 0.004)
    item = _evidence(y, [reading_of("max", "each", upper=limit, allowed=1)], bench_of(sd=1e-4), unread=16)
    mean, sb = (np.concatenate([getattr(t, name) for t in item.first_truths]) for name in ("mean", "sb"))
    share = stats.norm.sf((limit - mean) / sb)
    assert _chance(item) == pytest.approx(float(stats.binom.cdf(1, 16, share).mean()), abs=0.02)


def test_a_quantity_drawn_twice_goes_on_with_new_shared_errors() -> None:
    """A second round neither repeats the first nor leaves its shared errors out: same chance, other draws."""
    y = 40 + 0.03 * np.random.default_rng(11).standard_normal((6, 1))
    item = _evidence(y, [reading_of("mean", "mean", upper=40.01)], bench_of(sd=0.02, offset_sd=0.03), draws=10_000)
    item.draw(10_000, 0)
    first, second = np.split(item.tracks[0].tally.statistics, 2)
    assert item.drawn == 20_000
    assert abs(np.corrcoef(first, second)[0, 1]) < 0.05
    assert first.std() == pytest.approx(second.std(), rel=0.05)


def test_sittings_that_hold_whole_balls_are_said() -> None:
    """Every ball read in one sitting only: levels and balls mix, and the notes say so (methods)."""
    y = 40 + 0.03 * np.random.default_rng(12).standard_normal((6, 2))
    mixed = np.array([[0, 1]] * 6)
    whole = np.repeat([[0], [1]], 3, axis=0) * np.ones((1, 2), int)
    for sittings, said in ((mixed, False), (whole, True)):
        item = _evidence(
            y, [reading_of("mean", "mean", upper=41.0)], bench_of(zeroed="each sitting", resolution=0.01, sd=0.02),
            draws=500, sittings=sittings,
        )  # fmt: skip
        assert any("levels and balls mix" in note for note in item.notes()) is said


def test_a_truncating_display_is_not_believed_to_the_step() -> None:
    """40.6 on a display that cuts off means 40.6 to 40.7: alone, the ball is as likely over 40.65 as under it."""
    y = np.tile([[40.6], [40.5], [40.4], [40.6]], (2, 1))
    item = _evidence(
        y, [reading_of("max", "each", upper=40.65)], bench_of(sd=0.04, resolution=0.1, display="truncates"),
        draws=500, step=0.1,
    )  # fmt: skip
    alone = item.tracks[0].alone
    assert alone is not None
    assert alone[0] == pytest.approx(0.5, abs=0.15)
