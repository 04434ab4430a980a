"""From a readings file to a comparison of its products."""

from __future__ import annotations

from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path

import polars as pl

from ballbench.errors import BadRequest, Fault
from ballbench.findings.comparing import DRAWS, compare_samples
from ballbench.findings.comparison_words import comparison_sentences
from ballbench.findings.comparisons import Comparison
from ballbench.findings.footing import Footing
from ballbench.records import Sample, samples_of
from ballbench.specs import find_requirement
from ballbench.workflows.linear_algebra import one_thread_each
from ballbench.workflows.taking_in import TakenIn, take_in

__all__ = ["CompareRequest", "compare"]

MOST_PRODUCTS = 40
"""780 pairs: beyond that no reader follows, and the adjustment for so many leaves ties only."""


@dataclass(frozen=True, slots=True)
class CompareRequest:
    """What a person asks of `compare`.

    Parameters
    ----------
    readings : Path
        CSV or XLSX.
    quantity : str
        What to compare.
    bench, corrections : Path or None
        Optional files.
    spec : str or None
        A requirement that declares quantities of the file beyond the usual ones.
    seed, draws : int
        Of the simulation.
    """

    readings: Path
    quantity: str
    bench: Path | None = None
    corrections: Path | None = None
    spec: str | None = None
    seed: int = 1
    draws: int = DRAWS


def compare(request: CompareRequest) -> Comparison:
    """Compare the products of a readings file for one quantity.

    Raises
    ------
    BadInput
        A file or option cannot be used, fewer than two products have two balls read, or there are more than 40.
    """
    if not 1000 <= request.draws <= 1_000_000:
        raise BadRequest(Fault("option --draws", str(request.draws), "a number from 1000 to 1000000", "change it"))
    requirement = find_requirement(request.spec) if request.spec is not None else None
    taken = take_in(request.readings, request.bench, request.corrections, None, requirement)
    samples, left_out = _samples(taken, request)
    with one_thread_each():
        products, pairs = compare_samples(samples, taken.bench, request.seed, request.draws)
    unit = next(iter(samples.values())).unit
    return Comparison(
        quantity=request.quantity, unit=unit, seed=request.seed, draws=request.draws,
        readings_digest=taken.readings.digest, products=products, pairs=pairs,
        sentences=comparison_sentences(request.quantity, unit, products, pairs),
        footing=Footing(
            taken.first_written.invented, taken.bench.assumptions, taken.cautions(None),
            (*left_out, *taken.readings.notes, *taken.amendments, *taken.questions),
        ),
    )  # fmt: skip


def _samples(taken: TakenIn, request: CompareRequest) -> tuple[dict[str, Sample], tuple[str, ...]]:
    """Give the products that can be compared, and a note of each that cannot; too few or too many is a fault."""
    found = {product: own[request.quantity] for product, own in samples_of(taken.readings) if request.quantity in own}
    enough = {product: sample for product, sample in found.items() if len(sample.balls) >= 2}
    where = f"{request.readings.name}, quantity {request.quantity}"
    if len(enough) < 2:
        raise BadRequest(_too_few(taken, request, where, len(enough)))
    if len(enough) > MOST_PRODUCTS:
        raise BadRequest(
            Fault(
                where,
                f"{len(enough)} products",
                f"at most {MOST_PRODUCTS}",
                "split the file into the makes in question",
            )
        )
    names = dict.fromkeys(taken.readings.table["product"].to_list())
    notes = (
        f"{name} is left out: fewer than two balls with readings of {request.quantity}"
        for name in names
        if name not in enough
    )
    return enough, tuple(notes)


def _too_few(taken: TakenIn, request: CompareRequest, where: str, enough: int) -> Fault:
    """Say that there is nothing to compare, and which quantities there are."""
    numbers = taken.readings.table.filter(pl.col("value").is_not_null())["quantity"]
    have = sorted(set(numbers.to_list()))
    near = get_close_matches(request.quantity, have, 1)
    todo = f"name a quantity that two products have; the file has {', '.join(have) or 'none'}"
    if near and request.quantity not in have:
        todo = f"did you mean {near[0]}? The file has {', '.join(have)}"
    products = "1 product" if enough == 1 else f"{enough} products"
    return Fault(where, f"{products} with two balls or more", "two products at least", todo)
