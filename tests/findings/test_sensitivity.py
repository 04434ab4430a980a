from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.findings.made_samples import bench_of, clause_of, reading_of, requirement_of, sample_of

from ballbench.findings.deciding import Rule
from ballbench.findings.evidence import Evidence
from ballbench.findings.judging import Effort, ProductData, judge_product
from ballbench.findings.results import ClauseFinding
from ballbench.findings.sensitivity import other_chances
from ballbench.records import Bench
from ballbench.specs import Reading
from ballbench.statistics.preparation import prepare
from ballbench.statistics.study import Floats

Y = 40 + np.random.default_rng(1).normal(0, 0.03, (10, 1)) + np.random.default_rng(2).normal(0, 0.012, (10, 3))


def _evidence(y: Floats, readings: list[Reading], bench: Bench, **sample: object) -> Evidence:
    clauses = [clause_of(reading, identity=str(i)) for i, reading in enumerate(readings)]
    prepared = prepare(sample_of(y, **sample), bench)  # type: ignore[arg-type]
    item = Evidence(prepared, clauses, np.random.default_rng(1), 1, 0, {})
    item.draw(8000, 0)
    item.judge_alone()
    return item


def _finding(y: Floats, readings: list[Reading], bench: Bench) -> ClauseFinding:
    clause = clause_of(*readings)
    data = ProductData("A", {"diameter": sample_of(y)})
    return judge_product(data, requirement_of(clause), bench, Rule(), Effort(draws=8000, settle=False)).clauses[0]


def test_an_assumed_repeatability_is_halved_and_doubled() -> None:
    """Half and twice the noise give the chances of a bench that says so outright; a known one is not varied."""
    wanted = [reading_of("range", "mean", upper=0.02), reading_of("mean", "mean", upper=40.0)]
    assumed = bench_of(sd=0.01, dof=4, assumed=True)
    found = other_chances(_evidence(Y, wanted, assumed), assumed)
    for words, sd in (("half the assumed repeatability", 0.005), ("twice the assumed repeatability", 0.02)):
        theirs = _evidence(Y, wanted, bench_of(sd=sd, dof=4)).tracks[0].tally.met.mean()
        assert found[words][0] == pytest.approx(float(theirs), abs=0.03)
        assert np.isnan(found[words][1])
    known = bench_of(sd=0.01, dof=4)
    assert len(other_chances(_evidence(Y, wanted, known), known)) == 2


def test_repeats_take_the_place_of_the_assumption() -> None:
    """With repeats of its own the sample tells the noise, and nothing assumed is varied (methods)."""
    rng = np.random.default_rng(3)
    y = np.repeat(Y[:, :, None], 2, axis=2) + 0.01 * rng.standard_normal((10, 3, 2))
    bench = bench_of(sd=0.01, dof=4, assumed=True)
    assert len(other_chances(_evidence(y, [reading_of("range", "mean", upper=0.02)], bench), bench)) == 2


def test_looks_are_halved_and_doubled_for_turned_balls() -> None:
    """More hidden looks make the balls rounder for the same extremes: the chance of a small form rises with them."""
    y = np.column_stack([Y[:5].max(axis=1), Y[:5].min(axis=1)])
    bench = bench_of(sd=0.005)
    item = _evidence(
        y,
        [reading_of("range", "mean", upper=float(np.ptp(y, axis=1).mean()))],
        bench,
        axes=("largest found", "smallest found"),
    )
    found = other_chances(item, bench)
    assert set(found) >= {"half as many looks", "twice as many looks"}
    assert 0.0 <= min(found["half as many looks"][0], found["twice as many looks"][0]) <= 1.0


def test_a_decision_that_flips_is_undecided() -> None:
    """A mean range met at the assumed noise but not at half of it is left undecided, and the note says with what."""
    rng = np.random.default_rng(4)
    y = 40 + 0.03 * rng.standard_normal((12, 1)) + 0.010 * rng.standard_normal((12, 3))
    raw = float(np.ptp(y, axis=1).mean())
    reading = reading_of("range", "mean", upper=0.9 * raw)
    known = _finding(y, [reading], bench_of(sd=0.010, dof=400))
    assert known.decision == "met"
    found = _finding(y, [reading], bench_of(sd=0.010, dof=400, assumed=True))
    assert found.decision == "undecided"
    assert any("half the assumed repeatability" in note for note in found.notes)


def test_variants_decide_only_together() -> None:
    """Two readings of a text, one met and one not: undecided, and both shown (methods)."""
    wide, narrow = reading_of("mean", "mean", upper=41.0), reading_of("mean", "mean", upper=39.0)
    found = _finding(Y, [wide, narrow], bench_of())
    assert found.decision == "undecided"
    assert [variant.decision for variant in found.variants] == ["met", "not met"]
    assert _finding(Y, [wide, wide], bench_of()).decision == "met"


def test_the_joint_chance_is_over_the_same_draws() -> None:
    """Two limits on one shared error: both met together is as likely as the harder, not the product of the two."""
    y = 40 + 0.001 * np.random.default_rng(5).standard_normal((20, 1))
    clauses = [clause_of(reading_of("mean", "mean", upper=40.0 + x), identity=str(x)) for x in (0.0, 0.01)]
    data = ProductData("A", {"diameter": sample_of(y)})
    bench = bench_of(sd=0.001, offset_sd=0.02)
    found = judge_product(data, requirement_of(*clauses), bench, Rule(), Effort(draws=8000, settle=False))
    chances = [clause.probability_met for clause in found.clauses]
    assert found.probability_met == pytest.approx(min(p for p in chances if p is not None), abs=0.01)
    assert found.decision == "undecided"


def test_opposite_limits_on_one_error_are_less_likely_together() -> None:
    """Above one limit and below another with one offset for all: the joint chance is that of the band (normal)."""
    y = 40 + 0.0005 * np.random.default_rng(6).standard_normal((20, 1))
    mean = float(y.mean())
    clauses = [
        clause_of(reading_of("mean", "mean", upper=mean + 0.01), identity="a"),
        clause_of(reading_of("mean", "mean", lower=mean - 0.01), identity="b"),
    ]
    data = ProductData("A", {"diameter": sample_of(y)})
    found = judge_product(
        data, requirement_of(*clauses), bench_of(sd=0.001, offset_sd=0.01), Rule(), Effort(draws=20_000, settle=False)
    )
    assert found.probability_met == pytest.approx(0.6827, abs=0.015)


def test_one_place_cannot_show_the_largest_diameter() -> None:
    """A largest-diameter clause with one place read is never met, however far the limit (methods)."""
    found = _finding(Y[:, :1], [reading_of("max", "each", upper=45.0)], bench_of())
    assert found.decision == "undecided"
    assert _finding(Y[:, :1], [reading_of("max", "each", upper=35.0)], bench_of()).decision == "not met"


def test_simple_rule_holds_raw_values_against_limits() -> None:
    """By the simple rule the raw value alone decides, strictly or not, with nothing drawn (methods)."""
    y = np.array([[40.60], [40.55], [40.50]])
    data = ProductData("A", {"diameter": sample_of(y, step=0.01)})
    bench = bench_of(offset=0.3, resolution=0.01)
    for strict, decision in ((False, "met"), (True, "not met")):
        clause = clause_of(replace(reading_of("mean", "each", upper=40.60), strict=strict))
        found = judge_product(data, requirement_of(clause), bench, Rule("simple"), Effort())
        assert found.clauses[0].decision == decision
        assert found.draws == 0


def test_nothing_is_drawn_anew_for_clauses_on_the_mean(monkeypatch: pytest.MonkeyPatch) -> None:
    """Chances on means have no part of the assumed noise: no posterior is drawn, and what is drawn after it stays."""
    assumed = bench_of(sd=0.01, dof=4, assumed=True)
    item = _evidence(Y, [reading_of("mean", "mean", upper=40.0)], assumed)
    after = np.random.Generator(np.random.PCG64())
    after.bit_generator.state = item.rng.bit_generator.state
    after.integers(2**63, size=2)
    monkeypatch.setattr(Evidence, "draw", lambda *_: pytest.fail("a posterior was drawn for nothing"))
    found = other_chances(item, assumed)
    assert all(np.isnan(found[words]).all() for words in found if "repeatability" in words)
    assert item.rng.bit_generator.state == after.bit_generator.state
