"""How cost grows with size: 1 is in proportion, 2 would be quadratic."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from benchmarks.invented_readings import BENCH, SPEC, write_readings
from benchmarks.measuring import Line, Spent, in_own_process, spent

__all__ = ["growth"]

BALLS, AXES = 25, 4
PRODUCTS = (500, 1000, 2000, 4000)
SAMPLE = (50, 100, 200, 400)


def growth() -> Iterator[Line]:
    """Import and simple rule over the number of products; the guarded rule over the balls of one product."""
    with tempfile.TemporaryDirectory() as folder:
        many = [
            in_own_process(simple, str(write_readings(Path(folder) / "a.csv", p, BALLS, AXES)), p) for p in PRODUCTS
        ]
        large = [in_own_process(guarded, str(write_readings(Path(folder) / "b.csv", 1, n, AXES)), n) for n in SAMPLE]
    for name in many[0]:
        yield _line(f"{name}, {PRODUCTS[-1]:,} products of {BALLS} x {AXES}", PRODUCTS, [costs[name] for costs in many])
    yield _line(f"guarded rule, one product of {SAMPLE[-1]} x {AXES}", SAMPLE, [costs["judging"] for costs in large])


def _line(what: str, sizes: tuple[int, ...], costs: list[Spent]) -> Line:
    """The largest size with the exponent of growth, fitted to the processor seconds of all sizes."""
    exponent = np.polyfit(np.log(sizes), np.log([cost.cpu for cost in costs]), 1)[0]
    listed = ", ".join(f"{size:,}: {cost.cpu:.2g} s" for size, cost in zip(sizes, costs, strict=True))
    return Line(what, costs[-1], notes=(f"grows with the size to the power {exponent:.2f} ({listed})",))


def simple(path: str, products: int) -> dict[str, Spent]:
    """Import, then judge by the simple rule."""
    from ballbench.specs import find_requirement  # noqa: PLC0415 - loading is not part of the measurement
    from ballbench.workflows.judge import JudgeRequest, judge  # noqa: PLC0415 - as above
    from ballbench.workflows.taking_in import take_in  # noqa: PLC0415 - as above

    requirement = find_requirement(str(SPEC))
    with spent() as taking:
        taken = take_in(Path(path), BENCH, None, None, requirement)
    assert taken.readings.table.height == products * BALLS * AXES
    with spent() as judging:
        findings = judge(JudgeRequest(Path(path), str(SPEC), BENCH, rule="simple"))
    assert len(findings.products) == products
    return {"import": taking, "import and simple rule": judging}


def guarded(path: str, balls: int) -> dict[str, Spent]:
    """Judge one large product."""
    from ballbench.workflows.judge import JudgeRequest, judge  # noqa: PLC0415 - loading is not part of the measurement

    with spent() as judging:
        findings = judge(JudgeRequest(Path(path), str(SPEC), BENCH, draws=4_000, settle=False))
    assert findings.products[0].balls == balls
    return {"judging": judging}
