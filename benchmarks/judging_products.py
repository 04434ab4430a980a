"""Judging as a person asks for it: one product with everything, and a hundred in one file."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from pathlib import Path

from benchmarks.bare_normals import bare_normals
from benchmarks.invented_readings import BENCH, CLAUSES, SPEC, write_readings
from benchmarks.measuring import Line, Spent, in_own_process, spent

__all__ = ["judge_hundred_products", "judge_one_product"]

BALLS, AXES, DRAWS = 24, 4, 20_000
NEAR_LIMIT = 40.493
"""True mean of a make, mm, about one standard uncertainty of the caliper's offset and the temperature below 40.50."""


def judge_hundred_products() -> Iterator[Line]:
    """100 products of 24 x 4 readings in one file, seven clauses, 20,000 draws each; aim: 3 times the bare draws."""
    with tempfile.TemporaryDirectory() as folder:
        path = write_readings(Path(folder) / "hundred.csv", 100, BALLS, AXES)
        cost = in_own_process(judged, str(path), 100, DRAWS)["judging"]
    bound = bare_normals(100 * BALLS * AXES * DRAWS)
    plain = bare_normals(100 * BALLS * AXES * DRAWS, threads=1)
    rate = f"{100 / cost.wall:.1f} products a second"
    yield Line(_words(100), cost, bound, "bare normal draws of the same count on all processors", (rate,))
    yield Line(_words(100), cost, plain, "bare normal draws of the same count on one")


def judge_one_product() -> Iterator[Line]:
    """One product of 24 x 4 readings by default: draws until sure, every ball, what would settle undecided clauses."""
    with tempfile.TemporaryDirectory() as folder:
        costs = in_own_process(judged_twice, str(write_readings(Path(folder) / "one.csv", 1, BALLS, AXES)))
        near = write_readings(Path(folder) / "near.csv", 1, BALLS, AXES, mean=NEAR_LIMIT)
        settled = in_own_process(settling, str(near))["judging"]
    yield Line("loading everything that judging needs, in a fresh interpreter", costs["loading"])
    yield Line("1 product of 24 x 4 readings, default draws and settling, first in its process", costs["first"])
    yield Line("the same again in the same process", costs["again"])
    yield Line("1 product whose mean the caliper cannot tell from its limit, settling simulated", settled)


def _words(products: int) -> str:
    return f"{products} products of {BALLS} x {AXES} readings in one file, {CLAUSES} clauses, {DRAWS:,} draws each"


def judged(path: str, products: int, draws: int) -> dict[str, Spent]:
    """Judge a file from its bytes to findings, guarded rule, and check what came back."""
    from ballbench.workflows.judge import JudgeRequest, judge  # noqa: PLC0415 - loading is not part of the measurement

    with spent() as cost:
        findings = judge(JudgeRequest(Path(path), str(SPEC), BENCH, draws=draws))
    assert len(findings.products) == products
    for product in findings.products:
        assert (product.balls, product.readings) == (BALLS, BALLS * AXES)
        assert (product.tested, product.clauses_in_all, product.draws) == (CLAUSES, CLAUSES, draws)
        decisions = {clause.id: clause.decision for clause in product.clauses}
        assert decisions["mean-size"] == "met", "every invented mean lies well inside its limits"
    return {"judging": cost}


def judged_twice(path: str) -> dict[str, Spent]:
    """Load, judge one product as a person would, and judge it again."""
    with spent() as loading:
        from ballbench.workflows.judge import JudgeRequest, judge  # noqa: PLC0415 - the loading is measured
    request = JudgeRequest(Path(path), str(SPEC), BENCH)
    with spent() as first:
        findings = judge(request)
    with spent() as again:
        assert judge(request) == findings
    product = findings.products[0]
    assert product.tested == CLAUSES
    assert product.draws >= DRAWS
    assert any(len(clause.balls) == BALLS for clause in product.clauses), "every ball is described"
    return {"loading": loading, "first": first, "again": again}


def settling(path: str) -> dict[str, Spent]:
    """Judge one product of which a clause stays undecided, so that what would settle it is simulated."""
    from ballbench.workflows.judge import JudgeRequest, judge  # noqa: PLC0415 - loading is not part of the measurement

    with spent() as cost:
        findings = judge(JudgeRequest(Path(path), str(SPEC), BENCH))
    undecided = [clause for clause in findings.products[0].clauses if clause.decision == "undecided"]
    assert "mean-size" in [clause.id for clause in undecided]
    assert all(clause.settle for clause in undecided), "each says what would settle it"
    return {"judging": cost}
