from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from ballbench.findings.bouncing.balls import BallDraws
from ballbench.findings.bouncing.clauses import bounce_clauses, clauses_of
from ballbench.findings.bouncing.results import BounceClause
from ballbench.findings.bouncing.words import clause_sentence
from ballbench.records import Bench
from ballbench.specs import find_requirement

TABLE = find_requirement("table-tennis-plastic")
PICKLE = find_requirement("pickleball")
HELD = {"drop_height": "305.0 mm", "surface": "steel block"}
STEEL = Bench(conditions={"surface": "steel block"})


def ball(rebound: float, u: float = 1.0, name: str = "01", drops: int = 3) -> BallDraws:
    """Give a ball whose rebound, mm, is normal with this u (draws at normal quantiles, so that chances are exact)."""
    from scipy.stats import norm  # noqa: PLC0415 - only here

    steps = norm.ppf((np.arange(4000) + 0.5) / 4000)
    values = np.concatenate(([rebound], rebound + u * np.random.default_rng(int(name)).permutation(steps)))
    return BallDraws("Curlew", name, drops, values * 1e-3, values / 305.0, scatter_known=True)


def held(
    balls: Sequence[BallDraws], facts: dict[str, str] | None = None, bench: Bench = STEEL, *, accept: bool = False
) -> BounceClause:
    found = clauses_of(
        balls, bounce_clauses(TABLE.clauses), bench, HELD if facts is None else facts, 40.0, accept_unverified=accept
    )
    (one,) = tuple(found)
    return one


@pytest.mark.parametrize(
    ("rebound", "decision", "chance"),
    [(250.0, "met", 1.0), (243.0, "met", 0.99865), (241.0, "undecided", 0.84134), (238.0, "not met", 0.02275)],
)
def test_the_chance_is_that_of_the_normal_distribution(rebound: float, decision: str, chance: float) -> None:
    """Limits of 240 and 260 mm, u 1 mm: the chance is Phi of the distance (normal table), decided at 5 %."""
    found = held([ball(rebound)])
    assert found.decision == decision
    assert found.probability == pytest.approx(chance, abs=3e-4)
    assert found.value is not None
    assert found.value.value == pytest.approx(rebound)


def test_every_ball_must_be_inside() -> None:
    """Two balls at one u from the limit, each its own error: 0.84134 squared (product of chances)."""
    found = held([ball(241.0, name="01"), ball(241.0, name="02")])
    assert found.probability == pytest.approx(0.84134**2, abs=0.01)
    assert found.balls == 2


@pytest.mark.parametrize(
    ("facts", "bench", "words"),
    [
        ({"drop_height": "290.0 mm", "surface": "steel block"}, STEEL, "readings were taken at 290.0 mm"),
        ({"drop_height": "305.0 mm"}, Bench(), "it is not said what held"),
        ({"drop_height": "305.0 mm", "surface": "table top"}, STEEL, "readings were taken at table top"),
    ],
)
def test_another_height_or_surface_is_not_judged(facts: dict[str, str], bench: Bench, words: str) -> None:
    """The clause holds for 305 mm on a steel block (catalogue); anything else is not tested, with the reason."""
    found = held([ball(250.0)], facts, bench)
    assert found.decision == "not tested"
    assert words in found.reason
    assert f"not tested: {found.reason.partition(';')[0]}" in clause_sentence(found)


def test_what_was_said_comes_before_the_bench() -> None:
    """A surface that is said with the recordings counts instead of the bench's."""
    assert held([ball(250.0)], HELD, Bench(conditions={"surface": "table top"})).decision == "met"


def test_too_few_drops_are_not_judged() -> None:
    """One ball dropped twice keeps the clause from being tested; it is named."""
    found = held([ball(250.0), ball(250.0, name="02", drops=2)])
    assert found.decision == "not tested"
    assert "ball 02 (2)" in found.reason


def test_an_unknown_drop_height_is_said() -> None:
    """Without it there is no rebound."""
    found = held([BallDraws("Curlew", "01", 3, None, None, scatter_known=True)])
    assert "give it with --drop-height" in found.reason


def test_a_limit_from_memory_does_not_decide_by_itself() -> None:
    """Pickleball: the rebound's conditions, and whether its limit was seen, decide whether it is tested (catalogue)."""
    clauses = bounce_clauses(PICKLE.clauses)
    facts = {"drop_height": "1981.0 mm", "surface": "granite plate"}
    found = [
        next(clauses_of([ball(740.0)], clauses, Bench(), facts, 74.0, accept_unverified=accept))
        for accept in (False, True)
    ]
    assert found[1].decision == "met"
    assert found[0].decision == ("not tested" if clauses[0].source.seen == "memory" else "met")


def test_the_top_of_the_ball_is_a_diameter_higher() -> None:
    """Pickleball reads the top: 740 mm of the underside are 814 mm for a ball of 74 mm (algebra)."""
    clauses = bounce_clauses(PICKLE.clauses)
    facts = {"drop_height": "1981.0 mm", "surface": "granite plate"}
    found = next(clauses_of([ball(740.0)], clauses, Bench(), facts, 74.0, accept_unverified=True))
    assert found.value is not None
    assert found.value.value == pytest.approx(814.0)


def test_a_height_that_is_nearly_the_clause_s_is_brought_to_it() -> None:
    """304 mm is 305 mm to half a per cent; the rebound is taken in proportion (algebra)."""
    found = held([ball(250.0)], {"drop_height": "304.0 mm", "surface": "steel block"})
    assert found.value is not None
    assert found.value.value == pytest.approx(250.0 * 305.0 / 304.0)


def test_only_rebound_and_restitution_are_looked_at() -> None:
    """Of the table tennis requirement one clause is left."""
    assert [clause.id for clause in bounce_clauses(TABLE.clauses)] == ["rebound"]


def test_the_sentence_speaks_in_the_unit_of_the_limit() -> None:
    """Limits in cm, value in cm, and how the limit was seen."""
    text = clause_sentence(held([ball(250.0)]))
    assert "at least 24 cm and at most 26 cm" in text
    assert "met: 25.00 cm (24.80 to 25.20)" in text
    assert "common practice, no source" in text
