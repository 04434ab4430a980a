from __future__ import annotations

import numpy as np
import pytest
from tests.findings.made_samples import bench_of, clause_of, reading_of, requirement_of, sample_of

from ballbench.findings.deciding import Rule
from ballbench.findings.evidence import Evidence
from ballbench.findings.results import Settle
from ballbench.findings.settling import settle_quantity
from ballbench.records import Bench, Expansion, Temperature
from ballbench.specs import Reading
from ballbench.statistics.conformity import chance_calibration_decides
from ballbench.statistics.preparation import prepare
from ballbench.statistics.study import Floats

REPEAT, REPEATS, MORE, CALIBRATE, BETTER = (
    "once more",
    "4 times more",
    "more balls",
    "reference piece",
    "quarter of the noise",
)


def _settle(
    y: Floats, reading: Reading, bench: Bench, *, seed: int = 1, size: int | None = None, unread: int = 0,
    rule: Rule | None = None, **sample: object,
) -> tuple[float, dict[str, Settle]]:  # fmt: skip
    """Chance now, and the options by their words."""
    clause = clause_of(reading)
    prepared = prepare(sample_of(y, **sample), bench)  # type: ignore[arg-type]
    item = Evidence(prepared, [clause], np.random.default_rng(seed), seed, 0, {"clause": unread} if unread else {})
    item.draw(10_000, 0)
    item.judge_alone()
    rows = settle_quantity(item, ["clause"], requirement_of(clause, sample_size=size), rule or Rule())["clause"]
    keys = (REPEATS, REPEAT, MORE, CALIBRATE, BETTER)
    return float(item.tracks[0].tally.met.mean()), {next(k for k in keys if k in row.change): row for row in rows}


def _one_reading(mean: float, balls: int = 20, sd: float = 0.01) -> Floats:
    z = np.random.default_rng(3).standard_normal((balls, 1))
    return np.asarray(mean + sd * (z - z.mean()))


@pytest.mark.parametrize("margin", [0.0, 0.015, -0.02, 0.03])
def test_calibration_agrees_with_the_closed_form(margin: float) -> None:
    """With the offset alone in doubt, Phi((|m| - z u1)/v) + Phi((-|m| - z u1)/v) are decided (methods)."""
    bench = bench_of(sd=0.006, offset_sd=0.02, resolution=0.01)
    _, options = _settle(_one_reading(40.0), reading_of("mean", "mean", upper=40.0 + margin), bench, step=0.01)
    after = float(np.hypot(0.1 * 0.01, 0.006 / np.sqrt(10)))
    theirs = chance_calibration_decides(margin, 0.02, after, 0.05)
    assert options[CALIBRATE].probability_decided == pytest.approx(theirs, abs=0.09)
    assert options[REPEATS].probability_decided < 0.1 or abs(margin) > 0.02
    expected = 0.5 if margin == 0 else float(margin > 0)
    if margin == 0:
        assert options[CALIBRATE].probability_met == pytest.approx(theirs * expected, abs=0.12)


def test_more_noise_leaves_less_decided() -> None:
    """The same balls and limit with 2, 4 and 8 times the noise: an option decides ever less often (monotone)."""
    shares = []
    for sd in (0.01, 0.03, 0.09):
        _, options = _settle(
            _one_reading(40.0, 6, 0.02), reading_of("mean", "mean", upper=40.008), bench_of(sd=sd), seed=4
        )
        shares.append(options[REPEATS].probability_decided)
    assert shares[0] > shares[1] > shares[2]


def test_repeats_follow_the_normal_preposterior() -> None:
    """Mean of one-place balls, known noise: four more repeats take u^2 to u^2 / 5, and the closed form holds again."""
    sd, balls, margin = 0.03, 6, 0.012
    _, options = _settle(_one_reading(40.0, balls), reading_of("mean", "mean", upper=40.0 + margin), bench_of(sd=sd))
    u = sd / np.sqrt(balls)
    for key, times in ((REPEAT, 2), (REPEATS, 5)):
        theirs = chance_calibration_decides(margin, u, u / np.sqrt(times), 0.05)
        assert options[key].probability_decided == pytest.approx(theirs, abs=0.1), key


def _coherent(chance: float, row: Settle) -> bool:
    """Whether the shares can be: the chance now is the mean of the chances after (law of total expectation)."""
    slack = 3 * 0.5 / np.sqrt(200)
    return row.probability_met * 0.95 <= chance + slack and row.probability_not_met * 0.95 <= 1 - chance + slack


@pytest.mark.parametrize(
    ("ball", "sample", "limit"),
    [("mean", "mean", 40.01), ("max", "each", 40.085), ("range", "mean", 0.045), ("mean", "sd", 0.03)],
)
def test_shares_are_coherent(ball: str, sample: str, limit: float) -> None:
    """Shares lie in 0 to 1, add up, and agree with the chance now by the law of total expectation."""
    rng = np.random.default_rng(5)
    y = 40 + 0.03 * rng.standard_normal((8, 1)) + 0.02 * rng.standard_normal((8, 3))
    chance, options = _settle(y, reading_of(ball, sample, upper=limit), bench_of(sd=0.01, offset_sd=0.01), size=12)
    assert len(options) == 5
    for row in options.values():
        assert min(row.probability_met, row.probability_not_met) >= 0.0
        assert row.probability_decided == pytest.approx(row.probability_met + row.probability_not_met)
        assert row.probability_decided <= 1.0
        assert row.enough == (row.probability_decided >= 0.8)
        assert _coherent(chance, row), row.change


def test_shares_are_coherent_with_unread_balls() -> None:
    """One of 24 allowed, 8 read: reading the same balls again cannot tell what the other 16 are."""
    rng = np.random.default_rng(3)
    y = 40 + 0.03 * rng.standard_normal((8, 1)) + 0.01 * rng.standard_normal((8, 3))
    limit = float(np.sort(y.max(axis=1))[-2]) + 0.06
    reading = reading_of("max", "each", upper=limit, allowed=1)
    chance, options = _settle(y, reading, bench_of(sd=0.004), size=24, unread=16)
    assert 0.1 < chance < 0.9
    for row in options.values():
        assert _coherent(chance, row), row.change


def test_shares_are_coherent_on_a_coarse_display() -> None:
    """A display that cuts off at 0.1 mm: reading once more on it cannot settle what lies within its step."""
    y = np.full((6, 3), 40.5)
    bench = bench_of(sd=0.03, resolution=0.1, display="truncates")
    chance, options = _settle(y, reading_of("max", "each", upper=40.56), bench, step=0.1)
    assert 0.1 < chance < 0.9
    for row in options.values():
        assert _coherent(chance, row), row.change


def test_a_better_caliper_does_not_mend_the_thermometer() -> None:
    """Only the temperature is uncertain: a caliper of a quarter of the noise leaves the clause as open as it was."""
    bench = bench_of(sd=0.001, temperature=Temperature(23.0, 10.0, 23.0), expansion=Expansion(9e-5, 0.0))
    chance, options = _settle(_one_reading(40.0), reading_of("mean", "mean", upper=40.0), bench)
    assert chance == pytest.approx(0.5, abs=0.05)
    assert options[BETTER].probability_decided < 0.05


def test_sufficient_changes_come_first_by_work() -> None:
    """Options that reach 80 % stand first, the least minutes first; the others follow by their chance."""
    bench = bench_of(sd=0.002, offset_sd=0.02, resolution=0.01)
    clause = clause_of(reading_of("mean", "mean", upper=40.02))
    item = Evidence(
        prepare(sample_of(_one_reading(40.0), step=0.01), bench), [clause], np.random.default_rng(1), 1, 0, {}
    )
    item.draw(5000, 0)
    rows = settle_quantity(item, ["clause"], requirement_of(clause), Rule())["clause"]
    enough = [row for row in rows if row.enough]
    assert enough
    assert list(rows[: len(enough)]) == sorted(enough, key=lambda row: row.minutes)
    rest = [row.probability_decided for row in rows[len(enough) :]]
    assert rest == sorted(rest, reverse=True)


def test_turned_balls_are_not_simulated() -> None:
    """New looks at balls turned in the jaws are not simulated, so nothing is offered."""
    y = np.column_stack([_one_reading(40.03, 5), _one_reading(39.97, 5)])
    clause = clause_of(reading_of("range", "mean", upper=0.06))
    prepared = prepare(sample_of(y, axes=("largest found", "smallest found")), bench_of())
    item = Evidence(prepared, [clause], np.random.default_rng(1), 1, 0, {})
    item.draw(500, 0)
    assert settle_quantity(item, ["clause"], requirement_of(clause), Rule()) == {}


def test_shares_are_coherent_over_two_sittings() -> None:
    """Two sittings at uncertain temperatures, SD of the balls surely met: more balls cannot make it "not met"."""
    rng = np.random.default_rng(5)
    sittings = (np.arange(12) % 2)[:, None] * np.ones((1, 2), int)
    y = 40 + 0.02 * rng.standard_normal((12, 1)) + 0.011 * rng.standard_normal((12, 2))
    y += np.array([0.03, -0.03])[sittings]
    warm = {"0": Temperature(23.0, 8.0, 23.0), "1": Temperature(23.0, 8.0, 23.0)}
    bench = bench_of(sd=0.006, resolution=0.01, sitting_temperatures=warm, expansion=Expansion(9e-5, 0.0))
    reading = reading_of("mean", "sd", upper=0.03)
    chance, options = _settle(y, reading, bench, size=20, sittings=sittings, step=0.01)
    for row in options.values():
        assert _coherent(chance, row), row.change
