"""Samples, benches and clauses written down in the test itself: no file is read."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ballbench.records import Bench, Instrument, Sample
from ballbench.specs import Clause, Limit, Reading, Requirement, Source
from ballbench.statistics.study import Floats

__all__ = ["bench_of", "clause_of", "reading_of", "requirement_of", "sample_of"]

OWN = Source("", "", "own")


def sample_of(
    values: Floats,
    *,
    product: str = "A",
    quantity: str = "diameter",
    axes: Sequence[str] | None = None,
    sittings: Floats | None = None,
    tools: Floats | None = None,
    step: float = 1e-4,
) -> Sample:
    """Give a sample of readings (n, k) or (n, k, r), NaN where none was taken.

    Parameters
    ----------
    values : (n, k) or (n, k, r) float array
        Readings, mm.
    axes : sequence of str, optional
        Names of the places; none by default, so that no axis effect is fitted.
    sittings : (n, k) int array, optional
        Sitting of each cell; all in one by default.
    tools : (n, k) int array, optional
        0: read with ``caliper``, 1: read with ``second``.
    """
    array = np.asarray(values, dtype=np.float64)
    if array.ndim == 2:
        array = array[:, :, None]
    n, k, _ = array.shape
    there = ~np.isnan(array)
    count = there.sum(axis=2)
    total = np.where(there, array, 0.0).sum(axis=2)
    mean = np.divide(total, count, out=np.full((n, k), np.nan), where=count > 0)
    about = np.where(there, array - np.nan_to_num(mean)[:, :, None], 0.0)
    read = (count > 0).astype(float)[:, :, None]
    by_tool = np.zeros((n, k), np.intp) if tools is None else np.asarray(tools, np.intp)
    at = np.zeros((n, k), np.intp) if sittings is None else np.asarray(sittings, np.intp)
    names = ("caliper", "second")[: int(by_tool.max()) + 1]
    pairs = sorted({(int(t), int(s)) for t, s in zip(by_tool.ravel(), at.ravel(), strict=True)})
    shares = [(by_tool == t)[:, :, None] * read for t in range(len(names))]
    shares += [((by_tool == t) & (at == s))[:, :, None] * read for t, s in pairs]
    cell = np.broadcast_to(np.arange(n * k).reshape(n, k, 1), array.shape)[there]
    return Sample(
        product=product, quantity=quantity, unit="mm",
        balls=tuple(f"{i + 1}" for i in range(n)), boxes=("",) * n,
        axes=tuple(axes) if axes is not None else ("",) * k,
        mean=mean, count=count, sse=float((about**2).sum()), sse_dof=int((np.maximum(count, 1) - 1).sum()),
        shares=np.concatenate(shares, axis=2),
        levels=(*(("instrument", name) for name in names), *(("sitting", f"{names[t]}/{s}") for t, s in pairs)),
        origins=(*((name, "") for name in names), *((names[t], str(s)) for t, s in pairs)),
        instrument="caliper", step=step, values=array[there], cell=cell.astype(np.int64),
        line=np.arange(cell.size, dtype=np.int64) + 2,
    )  # fmt: skip


def bench_of(*, sd: float = 0.01, dof: float = 1e6, resolution: float = 1e-4, **rest: object) -> Bench:
    """Give a bench with one caliper; `rest` goes to `Instrument`, or to `Bench` where it has the name.

    `second` is a further instrument, by its arguments after the unit.
    """
    on_bench = ("temperature", "sitting_temperatures", "expansion", "squeeze", "conditions")
    own = {name: value for name, value in rest.items() if name in on_bench}
    tool = {name: value for name, value in rest.items() if name not in (*on_bench, "second")}
    caliper = Instrument("caliper", "diameter", "mm", resolution, sd, dof, **tool)  # type: ignore[arg-type]
    instruments = {"caliper": caliper}
    if "second" in rest:
        instruments["second"] = Instrument("second", "diameter", "mm", *rest["second"])  # type: ignore[misc]
    return Bench(instruments, **own)  # type: ignore[arg-type]


def _limit(value: float | None) -> Limit | None:
    return None if value is None else Limit(repr(float(value)), "mm", float(value))


def reading_of(
    ball: str, sample: str, *, lower: float | None = None, upper: float | None = None, strict: bool = False,
    allowed: int = 0,
) -> Reading:  # fmt: skip
    """Give one reading of a clause on diameters, limits in mm."""
    return Reading("text", ball, sample, _limit(lower), _limit(upper), strict, allowed)  # type: ignore[arg-type]


def clause_of(*readings: Reading, identity: str = "clause", quantity: str = "diameter") -> Clause:
    """Give a clause with its readings."""
    return Clause(identity, quantity, "mm", "mm", readings, OWN)


def requirement_of(*clauses: Clause, sample_size: int | None = None, axes: int | None = None) -> Requirement:
    """Give a requirement that holds the clauses."""
    return Requirement("own", "any", "Own", "1", OWN, clauses, "sha256:0", sample_size, axes)
