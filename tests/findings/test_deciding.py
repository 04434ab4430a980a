from __future__ import annotations

from decimal import Decimal
from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ballbench.findings.deciding import Rule, agree, decide, decide_product, spent_risk, violates

CENTS = st.integers(min_value=-5000, max_value=5000).map(lambda n: Decimal(n) / 100)


@pytest.mark.parametrize(
    ("chance", "decision"),
    [(1.0, "met"), (0.95, "met"), (0.9499, "undecided"), (0.0501, "undecided"), (0.05, "not met"), (0.0, "not met")],
)
def test_guarded_rule(chance: float, decision: str) -> None:
    """Met from 1 - risk up, not met from the risk down, both ends included (methods)."""
    assert decide(chance, 0.05) == decision


def test_every_ball_alone_must_hold_too() -> None:
    """A ball that alone reaches less than 1 - risk takes back "met", never "not met"; allowed balls may (methods)."""
    alone = np.array([0.99, 0.94, 0.999])
    assert decide(0.99, 0.05, alone) == "undecided"
    assert decide(0.99, 0.05, alone, allowed=1) == "met"
    assert decide(0.99, 0.05, np.array([0.95, 0.95])) == "met"
    assert decide(0.01, 0.05, np.array([0.99, 0.99])) == "not met"


@pytest.mark.parametrize("planned", [1, 2, 3, 4, 10])
@pytest.mark.parametrize("risk", [0.01, 0.05, 0.2])
def test_looks_share_the_risk(planned: int, risk: float) -> None:
    """Shares of all looks are positive and sum to the risk; one look spends all (alpha spending)."""
    shares = [spent_risk(risk, look, planned) for look in range(1, planned + 1)]
    assert min(shares) > 0
    assert sum(shares) == pytest.approx(risk, rel=1e-12)
    assert shares == sorted(shares, reverse=True)
    assert Rule("guarded", risk, 1, planned).spent == shares[0]


def test_two_looks_follow_the_pocock_type_function() -> None:
    """At half the information ln(1 + (e - 1) / 2) = 0.6201 of the risk is spent (Lan and DeMets 1983, from memory)."""
    assert spent_risk(0.05, 1, 2) == pytest.approx(0.6201 * 0.05, rel=1e-4)


def test_variants_decide_only_together() -> None:
    """Met or not met only if so under each reading (methods)."""
    for first, second in product(("met", "not met", "undecided"), repeat=2):
        assert agree([first, second]) == (first if first == second else "undecided")


def test_product_follows_the_rule_over_all_cases() -> None:
    """Joint for met, risk / c for not met, over all triples of clauses (methods)."""
    chances = {"met": 0.99, "not met": 0.03, "undecided": 0.5, "not tested": None}
    surely = {**chances, "not met": 0.001}
    for decisions in product(chances, repeat=3):
        for joint in (0.96, 0.5):
            for table in (chances, surely):
                judged = [d for d in decisions if d != "not tested"]
                found = decide_product(decisions, [table[d] for d in decisions], joint, 0.05)
                if not judged:
                    expected = "not tested"
                elif "not met" in judged and table["not met"] <= 0.05 / len(judged):
                    expected = "not met"
                elif joint >= 0.95 and set(judged) == {"met"}:
                    expected = "met" if len(judged) == 3 else "met as far as tested"
                else:
                    expected = "undecided"
                assert found == expected, (decisions, joint)


@given(value=CENTS, lower=st.none() | CENTS, upper=st.none() | CENTS, strict=st.booleans())
def test_raw_values_compare_as_decimals(
    value: Decimal, lower: Decimal | None, upper: Decimal | None, strict: bool
) -> None:
    """Floats of two-decimal texts compare exactly as Python's Decimal does, limits included or not."""
    low_out = lower is not None and (value <= lower if strict else value < lower)
    high_out = upper is not None and (value >= upper if strict else value > upper)
    limits = [None if limit is None else float(limit) for limit in (lower, upper)]
    assert bool(violates(float(value), limits[0], limits[1], strict)) == (low_out or high_out)


def test_a_limit_reached_by_adding_up_is_still_the_limit() -> None:
    """0.1 + 0.2 is the limit 0.3 although the floats differ in the last place."""
    assert not violates(0.1 + 0.2, None, 0.3, strict=False)
    assert violates(0.1 + 0.2, None, 0.3, strict=True)
