from __future__ import annotations

import numpy as np
import pytest
from tests.findings.made_samples import clause_of, reading_of, requirement_of
from tests.findings.planning.planned import ROUGH, UNKNOWN, rules, setting_of
from threadpoolctl import threadpool_limits

from ballbench.findings.planning.blocks import Place
from ballbench.findings.planning.chances import chances
from ballbench.findings.planning.designs import TruthAt
from ballbench.findings.planning.outcomes import MET, NOT_MET
from ballbench.findings.planning.testing import Setting, judge_in_full, judge_samples, simulated_samples
from ballbench.records import Expansion, Temperature

ONE_PLACE = requirement_of(
    clause_of(reading_of("mean", "each", lower=40.1, upper=40.4), identity="size"),
    clause_of(reading_of("mean", "mean", upper=40.3), identity="mean"),
    clause_of(reading_of("mean", "sd", upper=0.06), identity="sd"),
)
"""Clauses that one diameter of a ball can answer."""
SETTINGS: dict[str, Setting] = {
    "well inside": setting_of(TruthAt(40.3, 0.02, 0.03, 0.3)),
    "mean near its limit": setting_of(TruthAt(40.475, 0.02, 0.02, 0.3)),
    "mean at its limit": setting_of(TruthAt(40.5, 0.02, 0.02, 0.3), 12, 3),
    "mean outside": setting_of(TruthAt(40.54, 0.03, 0.02), 12, 3),
    "spread at its limit": setting_of(TruthAt(40.25, 0.055, 0.02)),
    "spread outside": setting_of(TruthAt(40.25, 0.08, 0.02), 12, 4),
    "form near its limit": setting_of(TruthAt(40.25, 0.02, 0.05, 0.3)),
    "form outside": setting_of(TruthAt(40.25, 0.02, 0.09, 0.5), 12, 3),
    "six balls": setting_of(TruthAt(40.25, 0.03, 0.03, 0.3), 6, 3),
    "places without names": setting_of(TruthAt(40.13, 0.03, 0.02, 0.6), 12, 3, named=False),
    "two repeats": setting_of(TruthAt(40.46, 0.02, 0.03, 0.3), 12, 3, 2),
    "one place": setting_of(TruthAt(40.25, 0.045, 0.01), 12, 1, requirement=ONE_PLACE),
    "no stated repeatability": setting_of(TruthAt(40.25, 0.03, 0.045, 0.3), 12, 3, tool=UNKNOWN),
    "one of 24 allowed, 12 read": setting_of(
        TruthAt(40.4, 0.05, 0.04, 0.3), 12, 3, requirement=rules(allowed=1, size=24)
    ),
    "warm bench": setting_of(
        TruthAt(40.46, 0.03, 0.02), 12, 2,
        temperature=Temperature(25.0, 2.0, 23.0), expansion=Expansion(9e-5, 0.2),
    ),
    "coarse display": setting_of(TruthAt(40.3, 0.03, 0.02), 6, 2, tool=ROUGH),
}  # fmt: skip
STUDIES = 100


def _both(setting: Setting, studies: int, seed: int) -> tuple[np.ndarray, np.ndarray]:
    """Codes of the product for the same simulated tests: judged together, and one by one by the full engine."""
    rng = np.random.default_rng(seed)
    requirement, _ = setting.requirement()
    samples, _, _ = simulated_samples(setting, studies, rng)
    with threadpool_limits(limits=1, user_api="blas"):
        _, together, _, _ = judge_samples(setting, samples, rng)
        full = [judge_in_full(setting, requirement, sample, seed + i)[1] for i, sample in enumerate(samples)]
    return together, np.array(full)


def _excess(one: np.ndarray, other: np.ndarray, code: int) -> tuple[int, int]:
    """Tests with the code in one judgement only: by how many more in the first, and in all (McNemar's counts)."""
    first, second = np.count_nonzero((one == code) & (other != code)), np.count_nonzero((one != code) & (other == code))
    return abs(first - second), first + second


@pytest.mark.parametrize("name", ["six balls", "mean at its limit", "no stated repeatability"])
def test_tests_judged_together_end_as_the_full_engine_has_them(name: str) -> None:
    """The same 25 simulated tests: as many met and not met as by `judge_product`, within chance (McNemar)."""
    together, full = _both(SETTINGS[name], 25, 5)
    for code in (MET, NOT_MET):
        excess, different = _excess(together, full, code)
        assert different <= 5
        assert excess <= max(3.0 * np.sqrt(different), 2.0)


def test_a_coarse_display_is_judged_by_the_full_engine() -> None:
    """Readings that count as intervals never go the quick way: every test is judged by `judge_product` itself."""
    setting = SETTINGS["coarse display"]
    samples, _, _ = simulated_samples(setting, 2, np.random.default_rng(1))
    decided, product, in_full, _ = judge_samples(setting, samples, np.random.default_rng(2))
    assert in_full == 2
    seeds = np.random.default_rng(2)
    requirement, _ = setting.requirement()
    for t, sample in enumerate(samples):
        clauses, whole, _ = judge_in_full(setting, requirement, sample, int(seeds.integers(2**31)))
        assert (decided[:, t].tolist(), product[t]) == (clauses.tolist(), whole)


@pytest.mark.slow
@pytest.mark.parametrize("name", SETTINGS)
def test_predicted_chances_agree_with_full_judgements(name: str) -> None:
    """Shares of `judge_product` on 100 simulated tests, and the chance predicted from 1,000 others, agree (simulation).

    On the same tests by McNemar's counts, on different ones within 3.5 standard errors of the difference.
    """
    setting, studies = SETTINGS[name], 20 if name == "coarse display" else STUDIES
    together, full = _both(setting, studies, 11)
    (predicted,) = chances([setting], 40 if name == "coarse display" else 1000, seed=3, place=Place(1))
    for code, share in ((MET, predicted.met), (NOT_MET, predicted.not_met)):
        excess, different = _excess(together, full, code)
        seen = np.count_nonzero(full == code) / studies
        print(f"{name}: code {code}, full {seen:.2f}, predicted {share.value:.3f}, differ {different}, by {excess}")
        pooled = (seen * studies + share.value * predicted.tests + 1) / (studies + predicted.tests + 2)
        error = np.sqrt(pooled * (1 - pooled) * (1 / studies + 1 / predicted.tests))
        assert different <= 0.1 * studies
        assert excess <= max(3.0 * np.sqrt(different), 2.0)
        assert abs(seen - share.value) <= 3.5 * error
