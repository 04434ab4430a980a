"""From a readings file and a requirement to findings."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path

from ballbench.errors import BadRequest, Fault
from ballbench.findings.deciding import Rule
from ballbench.findings.footing import Footing
from ballbench.findings.judging import Effort, ProductData, judge_product
from ballbench.findings.results import Findings, ProductFinding, WithoutCorrections
from ballbench.records import Bench, Readings, answers_of, samples_of
from ballbench.specs import Requirement, find_requirement
from ballbench.workflows.ball_alone import for_ball_alone
from ballbench.workflows.linear_algebra import one_thread_each
from ballbench.workflows.taking_in import TakenIn, take_in

__all__ = ["JudgeRequest", "judge"]

MANY = 12
"""From so many products on, single balls and what would settle a clause are left out unless asked for."""
QUICK_DRAWS = 4096

Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class JudgeRequest:
    """What a person asks of `judge`.

    Parameters
    ----------
    readings : Path
        CSV or XLSX.
    spec : str
        An id of the catalogue or a path to a requirement file.
    bench, corrections, balls : Path or None
        Optional files.
    rule : str
        ``guarded`` or ``simple``.
    risk : float
        Of a false "met"; between 0 and 0.5, both excluded.
    look, planned_looks : int
        Which look at these balls, of how many planned.
    seed : int
        Of everything random.
    draws : int or None
        Fixed number of draws, or as many as needed.
    accept_unverified : bool
        Limits from memory may decide.
    settle, detail : bool or None
        None: for at most twelve products.
    ball_alone : str
        A quantity: only its clauses on single balls are looked at, and none may be outside; empty: all clauses.
    """

    readings: Path
    spec: str
    bench: Path | None = None
    corrections: Path | None = None
    balls: Path | None = None
    rule: str = "guarded"
    risk: float = 0.05
    look: int = 1
    planned_looks: int = 1
    seed: int = 1
    draws: int | None = None
    accept_unverified: bool = False
    settle: bool | None = None
    detail: bool | None = None
    ball_alone: str = ""


def judge(request: JudgeRequest, progress: Progress | None = None) -> Findings:
    """Judge every product of a readings file.

    Parameters
    ----------
    request : JudgeRequest
        Files and options.
    progress : callable, optional
        Called with products done and products in all.

    Returns
    -------
    Findings
        Products in the order of the file; the same for the same request, whatever the number of threads.

    Raises
    ------
    BadInput
        A file or an option cannot be used; all faults at once.
    """
    _check(request)
    requirement = find_requirement(request.spec)
    if request.ball_alone:
        requirement = for_ball_alone(requirement, request.ball_alone)
    taken = take_in(request.readings, request.bench, request.corrections, request.balls, requirement)
    products = list(_products(taken, taken.readings))
    effort = _effort(request, len(products))
    rule = Rule(request.rule, request.risk, request.look, request.planned_looks)
    found = _judge_all(products, requirement, taken.bench, rule, effort, progress)
    if taken.amendments:
        found = _with_first_written(found, taken, requirement, rule, request)
    found = [_with_doubt(product, taken.queried.get(product.product, ())) for product in found]
    return _findings(request, requirement, taken, found, effort, rule)


def _check(request: JudgeRequest) -> None:
    """Refuse options outside their range, all at once."""
    faults = []
    if not 0.0 < request.risk < 0.5:
        faults.append(
            Fault("option --risk", str(request.risk), "a number between 0 and 0.5, such as 0.05", "change it")
        )
    if request.draws is not None and not 100 <= request.draws <= 10_000_000:
        faults.append(Fault("option --draws", str(request.draws), "a number from 100 to 10000000", "change it"))
    if request.seed < 0:
        faults.append(Fault("option --seed", str(request.seed), "a number from 0 up", "change it"))
    if request.rule not in ("guarded", "simple"):
        faults.append(Fault("option --rule", request.rule, "guarded or simple", "choose one of them"))
    if not 1 <= request.look <= request.planned_looks:
        found = f"look {request.look} of {request.planned_looks}"
        faults.append(Fault("option --look", found, "a look from 1 to the number planned, such as 2/3", "change it"))
    if faults:
        raise BadRequest(faults)


def _effort(request: JudgeRequest, products: int) -> Effort:
    few = products <= MANY
    return Effort(
        seed=request.seed,
        draws=request.draws,
        detail=few if request.detail is None else request.detail,
        settle=few if request.settle is None else request.settle,
        accept_unverified=request.accept_unverified,
    )


def _products(taken: TakenIn, readings: Readings) -> Iterator[ProductData]:
    """Give the products of the file with everything measured of them."""
    answers = answers_of(readings)
    by_product: dict[str, dict[str, object]] = {}
    for (product, quantity), values in answers.items():
        by_product.setdefault(product, {})[quantity] = values
    seen = set()
    for product, samples in samples_of(readings):
        seen.add(product)
        yield _product(taken, product, samples, by_product.get(product, {}))
    for product, own in by_product.items():
        if product not in seen:
            yield _product(taken, product, {}, own)


def _product(taken: TakenIn, product: str, samples: dict, answers: dict) -> ProductData:  # type: ignore[type-arg]
    return ProductData(
        product, samples, answers, taken.facts.get(product, {}), taken.excluded.get(product, 0),
        taken.corrected.get(product, 0), taken.spoiled.get(product, 0),
    )  # fmt: skip


def _judge_all(
    products: list[ProductData],
    requirement: Requirement,
    bench: Bench,
    rule: Rule,
    effort: Effort,
    progress: Progress | None,
) -> list[ProductFinding]:
    """Judge products side by side; numpy frees the interpreter while it computes, so threads are enough."""
    out: list[ProductFinding] = []
    with one_thread_each(), ThreadPoolExecutor(max_workers=os.cpu_count() or 1) as pool:
        for found in _in_order(pool, products, requirement, bench, rule, effort):
            out.append(found)
            if progress is not None:
                progress(len(out), len(products))
    return out


def _in_order(
    pool: ThreadPoolExecutor,
    products: Iterable[ProductData],
    requirement: Requirement,
    bench: Bench,
    rule: Rule,
    effort: Effort,
) -> Iterator[ProductFinding]:
    return pool.map(lambda data: judge_product(data, requirement, bench, rule, effort), products)


def _with_doubt(found: ProductFinding, queried: tuple[str, ...]) -> ProductFinding:
    """Say in the headline that the result rests on readings that look mistyped, before anything else to do."""
    if not queried or found.decision == "not tested":
        return found
    more = f" and {len(queried) - 1} more" if len(queried) > 1 else ""
    doubt = f"Look again first: {queried[0]}{more} looks mistyped, and the result rests on it as written."
    return replace(found, headline=(*found.headline[:2], doubt))


def _with_first_written(
    found: list[ProductFinding], taken: TakenIn, requirement: Requirement, rule: Rule, request: JudgeRequest
) -> list[ProductFinding]:
    """Judge the amended products once more on the readings as first written, and say what changes."""
    touched = set(taken.excluded) | set(taken.corrected)
    first = [data for data in _products(taken, taken.first_written) if data.product in touched]
    quick = Effort(request.seed, request.draws or QUICK_DRAWS, False, False, request.accept_unverified)
    before = {f.product: f for f in _judge_all(first, requirement, taken.bench, rule, quick, None)}
    return [replace(f, without_corrections=_changes(before[f.product], f)) if f.product in before else f for f in found]


def _changes(before: ProductFinding, after: ProductFinding) -> WithoutCorrections:
    pairs = zip(before.clauses, after.clauses, strict=True)
    changed = tuple(
        f"{b.id}: {b.decision} without corrections, {a.decision} with them"
        for b, a in pairs
        if a.decision != b.decision
    )
    return WithoutCorrections(before.decision, before.probability_met, changed)


def _findings(
    request: JudgeRequest,
    requirement: Requirement,
    taken: TakenIn,
    products: list[ProductFinding],
    effort: Effort,
    rule: Rule,
) -> Findings:
    notes = [*taken.readings.notes, *requirement.notes]
    if not effort.settle and any(p.decision == "undecided" for p in products):
        why = "as asked" if request.settle is False else f"for more than {MANY} products; ask for it with --settle"
        notes.append(f"what would settle undecided clauses was not simulated, {why}")
    if rule.planned_looks > 1:
        notes.append(
            f"look {rule.look} of {rule.planned_looks} planned: this look spends {100 * rule.spent:.2g} % of the "
            f"{100 * rule.risk:.2g} % risk; the first decision reached is the one that stands"
        )
    return Findings(
        requirement=requirement, rule=rule.name, risk=rule.risk, look=rule.look, planned_looks=rule.planned_looks,
        seed=request.seed, draws=max((p.draws for p in products), default=0), readings_digest=taken.readings.digest,
        questions=taken.questions, amendments=taken.amendments, products=tuple(products),
        footing=Footing(
            taken.first_written.invented, taken.bench.assumptions, taken.cautions(requirement),
            tuple(dict.fromkeys(notes)),
        ),
        risk_of_look=rule.spent,
    )  # fmt: skip
