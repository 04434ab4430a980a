from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.findings.made_samples import OWN, bench_of, clause_of, reading_of, sample_of

from ballbench.findings.testable import why_not_tested
from ballbench.records import Sample, Temperature
from ballbench.specs import Clause, CountRule, Limit, Reading, Source

Y = 40 + 0.03 * np.random.default_rng(1).standard_normal((12, 3))


def _why(clause: Clause, sample: Sample | None = None, **more: object) -> str | None:
    given: dict[str, object] = {
        "bench": bench_of(), "facts": {}, "accept_unverified": False, "answered": False, "sample_size": None
    }  # fmt: skip
    given.update(more)
    bench, facts = given.pop("bench"), given.pop("facts")
    return why_not_tested(clause, sample, bench, facts, **given)  # type: ignore[arg-type]


def test_an_ordinary_clause_is_tested() -> None:
    """Readings of its quantity and a limit: nothing stands in the way."""
    for ball, sample in (("max", "each"), ("mean", "mean"), ("range", "each"), ("midrange", "sd")):
        assert _why(clause_of(reading_of(ball, sample, upper=50.0)), sample_of(Y)) is None


def test_no_readings_no_test() -> None:
    """A quantity that was not read, or a yes/no clause without answers, is not tested, and the reason names it."""
    assert "diameter" in str(_why(clause_of(reading_of("max", "each", upper=41.0))))
    count = Clause("ring", "ring_gauge", "1", "1", (Reading("t", "mean", "each", None, None),), OWN, CountRule(True))
    assert "ring_gauge" in str(_why(count))
    assert _why(count, answered=True) is None


def test_a_nominal_value_decides_nothing() -> None:
    """A value named without a tolerance gives no decision (methods)."""
    clause = replace(clause_of(reading_of("mean", "mean")), nominal=Limit("40", "mm", 40.0))
    assert "tolerance" in str(_why(clause, sample_of(Y)))


def test_a_limit_from_memory_needs_consent() -> None:
    """A limit seen only in memory does not decide unless it is accepted outright."""
    clause = replace(clause_of(reading_of("max", "each", upper=41.0)), source=Source("", "", "memory"))
    assert "memory" in str(_why(clause, sample_of(Y)))
    assert _why(clause, sample_of(Y), accept_unverified=True) is None


def test_spread_needs_two_balls_and_form_two_places() -> None:
    """SD and range of one ball, and range or midrange of one place, are "not tested" (methods)."""
    for how in ("sd", "range"):
        assert _why(clause_of(reading_of("mean", how, upper=50.0)), sample_of(Y[:1])) is not None
    for how in ("range", "midrange"):
        assert _why(clause_of(reading_of(how, "each", upper=50.0)), sample_of(Y[:, :1])) is not None
    assert _why(clause_of(reading_of("max", "each", upper=41.0)), sample_of(Y[:1, :1])) is None
    turned = sample_of(Y[:, :1], axes=("largest found",))
    assert _why(clause_of(reading_of("max", "each", upper=41.0)), turned) is None


@pytest.mark.parametrize(
    ("balls", "size", "tested"), [(12, 12, True), (12, None, True), (8, 24, True), (3, 24, False), (12, 6, False)]
)
def test_an_allowance_applies_at_its_own_number(balls: int, size: int | None, tested: bool) -> None:
    """At n = N it applies; fewer are predicted from four balls up; more are not tested (methods)."""
    clause = clause_of(reading_of("max", "each", upper=41.0, allowed=1))
    assert (_why(clause, sample_of(Y[:balls]), sample_size=size) is None) is tested


@pytest.mark.parametrize(("width", "tested"), [(0.004, False), (0.006, True)])
def test_what_is_finer_than_the_instrument_is_refused(width: float, tested: bool) -> None:
    """A range limit or a band under half a display step of 0.01 mm cannot be answered with it (methods)."""
    sample = sample_of(Y.round(2), step=0.01)
    assert (_why(clause_of(reading_of("range", "each", upper=width)), sample) is None) is tested
    band = clause_of(reading_of("mean", "each", lower=40.0, upper=40.0 + width))
    assert (_why(band, sample) is None) is tested


@pytest.mark.parametrize(
    ("wanted", "have", "tested"),
    [
        ("305 mm", "305 mm", True), ("305 mm", "30.5 cm", True), ("305 mm", "12 in", True), ("305 mm", "300 mm", False),
        ("steel block", "Steel  block".replace("  ", " "), True), ("steel block", "oak", False),
        ("20 to 25 degC", "21 degC", True), ("20 to 25 degC", "28 degC", False), ("68 degF", "20 degC", True),
        ("20 degC", "68 degF", True), ("20 degC", "77 degF", False),
    ],
)  # fmt: skip
def test_conditions_are_compared_by_value(wanted: str, have: str, tested: bool) -> None:
    """Numbers compare by value in any unit (1 in = 25.4 mm, degF = 9/5 degC + 32), words by wording; unknown is no."""
    clause = replace(clause_of(reading_of("max", "each", upper=41.0)), conditions={"drop": wanted})
    assert (_why(clause, sample_of(Y), facts={"drop": have}) is None) is tested
    assert _why(clause, sample_of(Y)) is not None


def test_the_bench_temperature_is_a_condition() -> None:
    """A clause that holds at 23 degC is tested at a bench temperature of 23 degC, and not at 30 degC."""
    clause = replace(clause_of(reading_of("max", "each", upper=41.0)), conditions={"temperature": "23 degC"})
    for degrees, tested in ((23.0, True), (30.0, False)):
        bench = bench_of(temperature=Temperature(degrees, 1.0, 23.0))
        assert (_why(clause, sample_of(Y), bench=bench) is None) is tested


def test_limits_that_exclude_each_other_are_refused() -> None:
    """A lower limit over the upper one can be met by nothing: the requirement is at fault, not the balls."""
    assert "exclude" in str(_why(clause_of(reading_of("max", "each", lower=41.0, upper=40.0)), sample_of(Y)))
