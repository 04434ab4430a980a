from __future__ import annotations

from math import pi

import numpy as np
import pytest
from tests.findings.made_samples import bench_of, sample_of

from ballbench.findings.comparing import compare_samples
from ballbench.findings.comparisons import Pair
from ballbench.records import Bench, Expansion, Sample, Squeeze, Temperature
from ballbench.statistics.study import Floats

DRAWS = 4000


def _balls(rng: np.random.Generator, mean: float, balls: int = 12, axes: int = 2, sd: float = 0.02) -> Floats:
    truth = mean + sd * rng.standard_normal((balls, 1)) + 0.01 * rng.standard_normal((balls, axes))
    return np.asarray(truth + 0.008 * rng.standard_normal(truth.shape))


def _compare(a: Floats, b: Floats, bench: Bench, seed: int = 1, **sample: object) -> Pair:
    samples = {name: sample_of(y, product=name, **sample) for name, y in (("A", a), ("B", b))}  # type: ignore[arg-type]
    return compare_samples(samples, bench, seed, DRAWS)[1][0]


def _width(pair: Pair) -> float:
    return pair.difference.high - pair.difference.low


def test_an_error_that_both_share_cancels() -> None:
    """An offset uncertainty of 0.5 mm of the one caliper leaves the interval of the difference as it is without."""
    rng = np.random.default_rng(1)
    a, b = _balls(rng, 40.03), _balls(rng, 40.0)
    plain = _compare(a, b, bench_of(sd=0.008))
    shared = _compare(
        a, b, bench_of(sd=0.008, offset_sd=0.5, temperature=Temperature(25, 3, 23), expansion=Expansion(9e-5, 0.2))
    )
    assert _width(shared) == pytest.approx(_width(plain), rel=0.02)
    assert shared.difference.median == pytest.approx(plain.difference.median, abs=1e-4)
    assert "cancels" in shared.notes[0]
    assert shared.smallest_told == pytest.approx(plain.smallest_told, rel=0.02)


def test_the_mean_of_one_product_still_bears_it() -> None:
    """What cancels in the difference stays in each product's own mean: an interval of about 2 x 1.96 x 0.5 mm."""
    rng = np.random.default_rng(2)
    samples = {name: sample_of(_balls(rng, 40.0), product=name) for name in "AB"}
    products, _ = compare_samples(samples, bench_of(sd=0.008, offset_sd=0.5), 1, DRAWS)
    for product in products:
        assert product.mean.high - product.mean.low == pytest.approx(2 * 1.96 * 0.5, rel=0.06)


def test_squeeze_does_not_cancel() -> None:
    """Squeeze belongs to the make: its SDs of 0.03 and 0.04 mm widen the interval to 2 x 1.96 x 0.05 mm or more."""
    rng = np.random.default_rng(3)
    squeeze = {"A": Squeeze(0.0, 0.03), "B": Squeeze(0.0, 0.04)}
    pair = _compare(_balls(rng, 40.0), _balls(rng, 40.0), bench_of(sd=0.008, squeeze=squeeze))
    own = _width(_compare(_balls(rng, 40.0), _balls(rng, 40.0), bench_of(sd=0.008)))
    assert _width(pair) == pytest.approx(float(np.hypot(2 * 1.96 * 0.05, own)), rel=0.08)
    assert "squeeze" in pair.notes[0]
    assert pair.smallest_told > 2.8 * 0.05


def test_different_calipers_do_not_cancel() -> None:
    """Each make read with a caliper of its own: both offsets are in the difference, 0.03 mm times the root of two."""
    rng = np.random.default_rng(4)
    a = sample_of(_balls(rng, 40.0), product="A")
    b = sample_of(_balls(rng, 40.0), product="B", tools=np.ones((12, 2), int))
    b = Sample(
        **{name: getattr(b, name) for name in b.__slots__ if name not in ("shares", "levels", "origins", "instrument")},
        shares=b.shares[:, :, [i for i, (_, key) in enumerate(b.levels) if key.startswith("second")]],
        levels=tuple(row for row in b.levels if row[1].startswith("second")),
        origins=tuple(row for row in b.origins if row[0] == "second"),
        instrument="second",
    )
    bench = bench_of(sd=0.008, offset_sd=0.03, second=(1e-4, 0.008, 1e6, 0.0, 0.03))
    pair = compare_samples({"A": a, "B": b}, bench, 1, DRAWS)[1][0]
    assert _width(pair) > 2 * 1.96 * 0.03 * np.sqrt(2) * 0.95
    assert "calibration" in pair.notes[0]


def test_interval_of_the_difference_covers() -> None:
    """One caliper with a large offset error: the true difference is covered in 92 to 98 % of 200 pairs (simulation)."""
    rng = np.random.default_rng(5)
    hits, right = [], []
    for _ in range(200):
        offset = 0.3 * rng.standard_normal()
        a, b = _balls(rng, 40.015 + offset), _balls(rng, 40.0 + offset)
        pair = _compare(a, b, bench_of(sd=0.008, offset_sd=0.3), seed=int(rng.integers(2**31)))
        hits.append(pair.difference.low <= 0.015 <= pair.difference.high)
        right.append(pair.told_apart)
    assert 0.92 - 0.045 <= np.mean(hits) <= 0.98 + 0.02
    assert 0.1 < np.mean(right) < 0.9


def test_equal_makes_are_seldom_told_apart() -> None:
    """Three makes alike: any two told apart in at most 5 % of studies, all pairs together (Holm; simulation)."""
    rng = np.random.default_rng(6)
    told = 0
    for _ in range(150):
        samples = {name: sample_of(_balls(rng, 40.0, axes=1), product=name) for name in "ABC"}
        _, pairs = compare_samples(samples, bench_of(sd=0.008), int(rng.integers(2**31)), 2000)
        told += any(pair.told_apart for pair in pairs)
    assert told / 150 <= 0.05 + 3 * np.sqrt(0.05 * 0.95 / 150)


def test_clear_differences_are_told_apart() -> None:
    """Makes five standard errors apart are told apart with the right sign; the raw second opinions agree."""
    rng = np.random.default_rng(7)
    pair = _compare(_balls(rng, 40.06), _balls(rng, 40.0), bench_of(sd=0.008))
    assert pair.told_apart
    assert pair.difference.low > 0
    assert max(pair.welch_p, pair.rank_p) < 0.01


def test_rounder_make_is_found_rounder() -> None:
    """Form SD 0.01 against 0.04 mm: the first shows less variation in over 80 % of pairs of balls, ratio under one."""
    rng = np.random.default_rng(8)
    a, b = (40 + 0.02 * rng.standard_normal((16, 1)) + f * rng.standard_normal((16, 3)) for f in (0.01, 0.04))
    pair = _compare(a, b, bench_of(sd=0.003))
    assert pair.share_a_rounder is not None
    assert pair.form_ratio is not None
    normal = rng.standard_normal((2, 20_000, 3))
    theirs = np.mean(0.01 * np.ptp(normal[0], axis=1) < 0.04 * np.ptp(normal[1], axis=1))
    assert pair.share_a_rounder == pytest.approx(float(theirs), abs=0.08)
    assert pair.form_ratio.low < 0.25 * 1.3
    assert pair.form_ratio.high < 0.6


@pytest.mark.parametrize(("name", "percent"), [("circumference", 1.28), ("surface", 2.577), ("volume", 3.89)])
def test_consequences_of_two_known_diameters(name: str, percent: float) -> None:
    """40.271 mm against 39.762 mm: 1.28 % in circumference, 2.577 % in surface, 3.89 % in volume (plain geometry)."""
    large, small = 40.271, 39.762
    geometry = {
        "circumference": pi * large / (pi * small),
        "surface": pi * large**2 / (pi * small**2),
        "volume": pi * large**3 / 6 / (pi * small**3 / 6),
    }
    assert 100 * (geometry[name] - 1) == pytest.approx(percent, abs=0.005)
    pattern = 1e-5 * np.array([[-1.0], [0.0], [1.0], [0.0]])
    pair = _compare(large + pattern, small + pattern, bench_of(sd=1e-5, resolution=1e-6), step=1e-6)
    found = {row.name: row.percent for row in pair.consequences}[name]
    assert found.median == pytest.approx(100 * (geometry[name] - 1), abs=0.002)


def test_many_makes_far_apart_are_told_apart() -> None:
    """33 makes half a millimetre apart with noise 0.01 mm: all 528 pairs differ beyond doubt."""
    rng = np.random.default_rng(9)
    samples = {f"{i}": sample_of(40 + 0.5 * i + 0.01 * rng.standard_normal((4, 1)), product=f"{i}") for i in range(33)}
    _, pairs = compare_samples(samples, bench_of(sd=0.008), 1)
    assert all(pair.told_apart for pair in pairs)
