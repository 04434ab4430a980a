"""A million readings: 10,000 products of 25 balls x 4, imported, judged by the simple and by the guarded rule."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from pathlib import Path

from benchmarks.bare_normals import bare_normals
from benchmarks.invented_readings import BENCH, CLAUSES, SPEC, write_readings
from benchmarks.measuring import Line, Spent, in_own_process, spent

__all__ = ["million_readings"]

PRODUCTS, BALLS, AXES, DRAWS = 10_000, 25, 4, 1_000
READINGS = PRODUCTS * BALLS * AXES


def million_readings() -> Iterator[Line]:
    """Import beside a bare polars read; the simple rule; the guarded rule beside bare normals; JSON of it all."""
    with tempfile.TemporaryDirectory() as folder:
        path = str(write_readings(Path(folder) / "million.csv", PRODUCTS, BALLS, AXES))
        bare = in_own_process(bare_read, path)["reading"]
        costs = in_own_process(imported, path)
        whole = Spent(
            *(sum(getattr(c, part) for c in costs.values()) for part in ("wall", "cpu")), costs["samples"].peak
        )
        yield Line(
            f"{READINGS:,} readings imported", whole, bare, "a bare polars read",
            (_rate(whole), *(f"{name} {cost.wall:.2g} s" for name, cost in costs.items())),
        )  # fmt: skip
        simple = in_own_process(judged, path, "simple", 0)
        yield Line("the same from file to findings by the simple rule", simple["judging"], None, "", _rates(simple))
        guarded = in_own_process(judged, path, "guarded", DRAWS)
    bound = bare_normals(READINGS * DRAWS)
    words = f"the same from file to findings by the guarded rule, {DRAWS:,} draws"
    yield Line(words, guarded["judging"], bound, "bare normal draws of the same count", _rates(guarded))
    yield Line("its findings written as JSON", guarded["json"])


def _rate(cost: Spent) -> str:
    return f"{READINGS / cost.wall:,.0f} readings a second"


def _rates(costs: dict[str, Spent]) -> tuple[str, ...]:
    cost = costs["judging"]
    return (_rate(cost), f"{PRODUCTS / cost.wall:,.0f} products a second")


def bare_read(path: str) -> dict[str, Spent]:
    """Read the file as a table, and nothing more."""
    import polars as pl  # noqa: PLC0415 - loading is not part of the measurement

    with spent() as cost:
        table = pl.read_csv(path)
    assert table.height == READINGS
    return {"reading": cost}


def imported(path: str) -> dict[str, Spent]:
    """Read and check every reading, pass the plausibility gate, fill in the bench, make the arrays."""
    from ballbench.records import samples_of  # noqa: PLC0415 - loading is not part of the measurement
    from ballbench.specs import find_requirement  # noqa: PLC0415 - as above
    from ballbench.workflows.taking_in import take_in  # noqa: PLC0415 - as above

    requirement = find_requirement(str(SPEC))
    with spent() as taking:
        taken = take_in(Path(path), BENCH, None, None, requirement)
    with spent() as arrays:
        samples = [sample for _, own in samples_of(taken.readings) for sample in own.values()]
    assert len(samples) == PRODUCTS
    assert sum(sample.values.size for sample in samples) == READINGS
    return {"reading and checking": taking, "samples": arrays}


def judged(path: str, rule: str, draws: int) -> dict[str, Spent]:
    """Judge the file, with progress reported, and write the findings as JSON."""
    from ballbench.presentation.findings_json import findings_to_json  # noqa: PLC0415 - as above
    from ballbench.workflows.judge import JudgeRequest, judge  # noqa: PLC0415 - as above

    steps: list[tuple[int, int]] = []
    request = JudgeRequest(Path(path), str(SPEC), BENCH, rule=rule, draws=draws or None)
    with spent() as judging:
        findings = judge(request, lambda done, total: steps.append((done, total)))
    assert steps == [(done, PRODUCTS) for done in range(1, PRODUCTS + 1)], "the bar moves once a product"
    assert sum(product.readings for product in findings.products) == READINGS
    assert {(product.tested, product.draws) for product in findings.products} == {(CLAUSES, draws)}
    met = [clause.decision for product in findings.products for clause in product.clauses if clause.id == "mean-size"]
    assert met == ["met"] * PRODUCTS, "every invented mean lies well inside its limits"
    with spent() as writing:
        text = findings_to_json(findings)
    assert text.count('"product": ') == PRODUCTS
    return {"judging": judging, "json": writing}
