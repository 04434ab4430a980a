from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats
from tests.findings.bouncing.made_drops import ball_of, dropped, known, settings, shared_of, true_rebound, true_times

from ballbench.findings.bouncing.balls import HeardDrop, ball_bounces, products_of, trend_of
from ballbench.findings.bouncing.draws import SharedDraws


def drops_of(
    shared: SharedDraws, restitution: list[list[float]], u: float = 1e-5, name: str = "ball"
) -> list[HeardDrop]:
    found = []
    for k, planted in enumerate(restitution):
        _, drop = dropped(true_times(0.305, planted, ball_of(settings())), shared, u=u, name=f"{name} {k}")
        assert drop is not None
        found.append(drop)
    return found


def test_the_mean_of_drops_has_the_interval_of_student() -> None:
    """With nothing else uncertain the interval is mean +- t s/sqrt(k), k - 1 degrees of freedom (JCGM 100, G.3)."""
    firsts = np.array([0.926, 0.930, 0.931, 0.935])
    shared = shared_of(settings(), draws=40_000)
    drops = drops_of(shared, [[e, 0.93, 0.93] for e in firsts], u=1e-9)
    (found,), _ = ball_bounces({("Curlew", "01"): drops}, {}, 1)
    assert found.first is not None
    half = stats.t.ppf(0.975, 3) * firsts.std(ddof=1) / 2.0
    assert found.first.value == pytest.approx(firsts.mean(), rel=1e-9)
    assert found.first.high - found.first.value == pytest.approx(half, rel=0.05)
    assert found.first.value - found.first.low == pytest.approx(half, rel=0.05)
    rebounds = [1e3 * true_rebound(0.305, e, ball_of(settings())) for e in firsts]
    assert found.rebound is not None
    assert found.rebound.value == pytest.approx(np.mean(rebounds), rel=1e-9)
    assert found.scatter == pytest.approx(np.std(rebounds, ddof=1), rel=1e-9)


def test_what_all_drops_share_does_not_average_out() -> None:
    """Drag known to 10 %: four drops are as uncertain from it as one, and it is said to be shared (algebra)."""
    shared = shared_of(settings(drag=known(0.45, 0.045)), draws=8000)
    one = drops_of(shared, [[0.93, 0.93]], u=1e-9)
    four = drops_of(shared, [[0.93, 0.93]] * 4, u=1e-9)
    (alone,), _ = ball_bounces({("Curlew", "01"): one}, {}, 1)
    (several,), _ = ball_bounces({("Curlew", "01"): four}, {}, 1)
    assert alone.first is not None
    assert several.first is not None
    assert several.first.u == pytest.approx(alone.first.u, rel=0.02)
    assert several.first_shared == pytest.approx(several.first.u, rel=0.02)


def test_scatter_is_pooled_over_the_balls_of_a_product_alone() -> None:
    """A ball dropped once takes the scatter of its fellows, not that of another product (pooled variance)."""
    shared = shared_of(settings(), draws=20_000)
    fellows = drops_of(shared, [[e, 0.93] for e in (0.92, 0.93, 0.94)], u=1e-9)
    once = drops_of(shared, [[0.93, 0.93]], u=1e-9, name="once")
    _, draws = ball_bounces({("Curlew", "01"): fellows, ("Curlew", "02"): once, ("Dunlin", "01"): once}, {}, 1)
    assert [ball.scatter_known for ball in draws] == [True, True, False]
    assert draws[1].restitution is not None
    assert draws[2].restitution is not None
    half = np.quantile(draws[1].restitution[1:], 0.975) - 0.93
    assert half == pytest.approx(stats.t.ppf(0.975, 2) * 0.01, rel=0.1)
    assert np.ptp(draws[2].restitution) < 1e-6


@pytest.mark.parametrize("count", [2, 3])
def test_the_standard_uncertainty_of_few_drops_is_that_of_their_mean(count: int) -> None:
    """s/sqrt(k) beside the interval of t with 1 or 2 degrees of freedom, whose draws have no SD (JCGM 100, 4.2.3)."""
    firsts = [0.926, 0.930, 0.937][:count]
    shared = shared_of(settings(drop_height=known(305.0, 1.0)), draws=8000)
    drops = drops_of(shared, [[e, 0.93, 0.93] for e in firsts], u=1e-9)
    fellows = drops_of(shared, [[e - 0.01, 0.93, 0.93] for e in firsts], u=1e-9, name="fellow")
    for seed in range(3):
        (found,), _ = ball_bounces({("Curlew", "01"): drops}, {}, seed)
        assert found.first is not None
        assert found.rebound is not None
        own = np.std(firsts, ddof=1) / math.sqrt(count)
        assert found.first.u == pytest.approx(math.hypot(own, found.first_shared), rel=1e-6)
        own = found.scatter / math.sqrt(count)
        assert found.rebound.u == pytest.approx(math.hypot(own, found.rebound_shared), rel=1e-6)
        _, draws = ball_bounces({("Curlew", "01"): drops, ("Curlew", "02"): fellows}, {}, seed)
        (product,) = products_of(draws)
        assert draws[0].rebound_u is not None
        # two balls: what they share stays whole, what is their own is halved in squares
        expected = 1e3 * math.hypot(draws[0].rebound_u.shared, draws[0].rebound_u.own / math.sqrt(2.0))
        assert product.rebound.u == pytest.approx(expected, rel=0.02)


@pytest.mark.parametrize("slope", [0.0, -0.03])
def test_a_change_with_speed_is_told_where_there_is_one(slope: float) -> None:
    """Planted per m/s against impact speed, drag known to 10 %, a scatter of 0.001: held and told (simulation)."""
    rng, faller = np.random.default_rng(5), ball_of(settings())
    shared = shared_of(settings(drag=known(0.45, 0.045), contact=known(1e-3, 3e-4)))
    held, told = 0, 0
    for k in range(20):
        speeds = 2.4 * 0.91 ** np.arange(7)  # about those of the impacts
        planted = [list(0.92 + slope * (speeds - 2.0) + 0.001 * rng.standard_normal(7)) for _ in range(3)]
        drops = []
        for d, row in enumerate(planted):
            times = true_times(0.305, row, faller) + 2e-5 * rng.standard_normal(8)
            _, drop = dropped(times, shared, u=2e-5, name=f"{k} {d}")
            assert drop is not None
            drops.append(drop)
        trend = trend_of(drops)
        assert trend is not None
        held += trend.per_speed.low <= slope <= trend.per_speed.high
        told += trend.told
    assert held >= 17
    assert (told == 20) if slope else (told <= 3)


def test_a_drag_that_is_taken_wrong_is_not_told_as_a_change() -> None:
    """Drag 10 % off where it is known to 10 % moves the slope, but inside its interval (drag fakes such a change)."""
    stated = settings(drag=known(0.45, 0.045))
    drops = []
    for k in range(3):
        times = true_times(0.305, [0.92] * 6, ball_of(settings(drag=known(0.495))))
        _, drop = dropped(times, shared_of(stated), name=str(k))
        assert drop is not None
        drops.append(drop)
    trend = trend_of(drops)
    assert trend is not None
    assert abs(trend.per_speed.value) > 1e-3
    assert not trend.told


def test_too_few_or_too_equal_impacts_tell_no_change() -> None:
    """Three impacts are too few, as are many at one speed."""
    shared = shared_of(settings())
    assert trend_of(drops_of(shared, [[0.93, 0.93, 0.93]])) is None
    assert trend_of(drops_of(shared, [[0.93]] * 6)) is None


def test_later_impacts_are_a_mean_of_their_own() -> None:
    """Without a drop height the restitution from impact to impact is all there is."""
    shared = shared_of(settings(drop_height=None))
    _, drop = dropped(true_times(0.305, [0.9, 0.92, 0.94, 0.93], ball_of(settings())), shared)
    assert drop is not None
    (found,), _ = ball_bounces({("Curlew", "01"): [drop]}, {("Curlew", "01"): 2}, 1)
    assert found.later is not None
    assert found.later.value == pytest.approx(0.93, rel=1e-9)
    assert (found.first, found.rebound, found.left_out) == (None, None, 2)
    assert math.isnan(found.rebound_shared)


@pytest.mark.parametrize("tests", [60, pytest.param(2000, marks=pytest.mark.slow)])
def test_intervals_of_means_cover_what_was_planted(tests: int) -> None:
    """Balls whose drops scatter by 0.004, dropped three times: 95 % hold the ball's own restitution in 92 to 98 %."""
    rng, faller = np.random.default_rng(8), ball_of(settings())
    held = 0
    stated = settings(contact=known(1e-3, 3e-4), drop_height=known(305.0, 1.0))
    for k in range(tests):
        contact = 1e-3 + 3e-4 * rng.standard_normal()
        fell = (305.0 + rng.standard_normal()) * 1e-3
        shared = shared_of(stated, seed=k)
        drops = []
        for d in range(3):
            planted = [0.92 + 0.004 * rng.standard_normal(), 0.92]
            times = true_times(fell, planted, faller, max(contact, 1e-4)) + 2e-5 * rng.standard_normal(3)
            _, drop = dropped(times, shared, u=2e-5, name=f"{k} {d}")
            assert drop is not None
            drops.append(drop)
        (found,), _ = ball_bounces({("Curlew", "01"): drops}, {}, k)
        assert found.first is not None
        held += found.first.low <= 0.92 <= found.first.high
    room = 3.0 * math.sqrt(0.05 * 0.95 / tests)
    low, high = (0.92, 0.98) if tests > 1000 else (0.95 - room, 1.0)
    assert low <= held / tests <= high


def test_balls_of_a_product_have_a_mean_whose_shared_error_stays() -> None:
    """Three balls: mean, lowest and highest are theirs; an error of drag that all share is as large as for one."""
    shared = shared_of(settings(drop_height=known(305.0, 2.0)), draws=8000)
    balls = {("Curlew", f"0{k}"): drops_of(shared, [[e, e]] * 2, u=1e-9) for k, e in enumerate((0.90, 0.94, 0.92))}
    balls["Dunlin", "01"] = drops_of(shared, [[0.9, 0.9]], u=1e-9)
    found, draws = ball_bounces(balls, {}, 1)
    (product,) = products_of(draws)
    assert (product.product, product.balls, product.drops) == ("Curlew", 3, 6)
    rebounds = [ball.rebound.value for ball in found[:3] if ball.rebound is not None]
    assert product.rebound.value == pytest.approx(np.mean(rebounds), rel=1e-9)
    assert (product.lowest[0], product.highest[0]) == ("00", "01")
    assert product.rebound.u == pytest.approx(2.0 * product.rebound.value / 305.0, rel=0.1)  # drag takes a little
