"""Plan at the bench: what was asked is worked out as from the command line, and kept with what came out."""

from __future__ import annotations

import json
import os
from dataclasses import dataclass, replace
from itertools import product
from typing import Any

from ballbench.errors import BadRequest, Fault
from ballbench.findings.plans import Plan
from ballbench.presentation.plan_json import plan_to_json
from ballbench.presentation.screens.plan_page import PlanPage
from ballbench.presentation.screens.plan_words import PlanLine
from ballbench.records.bench_text import WrittenInstrument, instruments_toml
from ballbench.records.default_instruments import default_instrument
from ballbench.specs import Requirement, catalogue_ids
from ballbench.store import Notebook, Reply, Tx
from ballbench.store.plans import plan_of, plans_kept, write_plan
from ballbench.store.qualifications import qualification_of
from ballbench.workflows.bench_requests import Sent
from ballbench.workflows.plan import PlanRequest, Progress, plan_with
from ballbench.workflows.plan_followed import plan_line
from ballbench.workflows.plan_record import plan_from_text, plan_to_text
from ballbench.workflows.qualified import bench_of_text
from ballbench.workflows.requirement_text import requirement_of
from ballbench.workflows.sending import digest_of, moment, refuse, sent_faults
from ballbench.workflows.what_to_read import base_units

__all__ = ["MOST_WORK", "AskPlan", "make_plan", "plan_json", "plan_page", "plans"]

MOST_WORK = 60_000
"""Most simulated tests of one plan at the bench, over all designs (own choice): about a quarter of an hour."""

_HERE = 400
"""Up to so many simulated tests are done in this process; more in others, so that the bench stays quick."""


@dataclass(frozen=True, slots=True)
class AskPlan(Sent):
    """What a person asks for; as in `ballbench.workflows.plan.PlanRequest`, but for the instrument.

    Parameters
    ----------
    requirement : str
        An id of the catalogue, or the text of a requirement file.
    qualification : int or None
        Of the notebook: the instrument as it was qualified.
    instrument : WrittenInstrument or None
        Instead: an instrument with its numbers; without a name it is a usual one of that display step. Neither: a usual
        one of a usual step.
    """

    requirement: str
    true_sd: str
    true_mean: str = ""
    true_form_sd: str = "0"
    quantity: str = ""
    qualification: int | None = None
    instrument: WrittenInstrument | None = None
    balls: tuple[int, ...] = (6, 12, 24)
    axes: tuple[int, ...] = (3,)
    repeats: tuple[int, ...] = (1,)
    form_spread: float = 0.0
    wanted: float = 0.9
    difference: str = ""
    gains: bool = False
    surface: bool = False
    boxes: tuple[int, ...] = ()
    bad_share: float = 0.1
    rule: str = "guarded"
    risk: float = 0.05
    tests: int = 400
    seed: int = 1
    accept_unverified: bool = False


_SHARED = tuple(name for name in PlanRequest.__slots__ if name in AskPlan.__dataclass_fields__ and name != "instrument")


def make_plan(notebook: Notebook, request: AskPlan, progress: Progress | None = None) -> Reply:
    """Work a plan out, and keep it.

    Parameters
    ----------
    progress : callable, optional
        Told how far the work is; what it raises ends the work, and nothing is kept.

    Returns
    -------
    dict
        ``status`` ``planned``, the number of the ``plan``, and its ``sentence``.

    Raises
    ------
    BadInput
        All that is wrong with the request; nothing is kept.
    """
    refuse([*sent_faults(request), *_work_faults(request)])
    requirement, _ = requirement_of(request.requirement)
    bench, invented = _bench_text(notebook, request, requirement)
    shared: dict[str, Any] = {name: getattr(request, name) for name in _SHARED}
    asked = PlanRequest(requirement.id, **shared, processes=_processes(request))
    found = plan_with(requirement, bench_of_text(bench, base_units(requirement)), asked, progress)
    row = {
        "title": requirement.title, "requirement": requirement.id, "requirement_digest": requirement.digest,
        "quantity": found.quantity, "asked": _asked(request, bench, shared, invented=invented),
        "result": _result(found),
        "by": request.by.strip(), "at": request.at or moment(), "key": request.key,
    }  # fmt: skip

    def work(tx: Tx) -> Reply:
        return {"status": "planned", "plan": write_plan(tx, row), "sentence": found.sentence}

    return notebook.submit(request.key, None, "plan", request.client, work, digest_of(request))


def _work_faults(request: AskPlan) -> list[Fault]:
    """Say when a plan would keep the bench's computer busy for too long."""
    designs = len(set(product(request.balls, request.axes, request.repeats)))
    work = request.tests * designs
    if work <= MOST_WORK:
        return []
    found = f"{request.tests} simulated tests of {designs} designs"
    return [Fault("option --tests", found, f"at most {MOST_WORK} together", "ask for fewer at once")]


def _processes(request: AskPlan) -> int:
    """Share larger work out over other processes, one fewer than there are processors but two at least."""
    small = request.tests * len(set(product(request.balls, request.axes, request.repeats))) <= _HERE
    if small and not (request.gains or request.surface or request.difference):
        return 1
    return max(2, (os.cpu_count() or 1) - 1)


def _bench_text(notebook: Notebook, request: AskPlan, requirement: Requirement) -> tuple[str, bool]:
    """Give the instrument of a plan as a bench file, empty where nothing is said of it, and whether it is invented."""
    tool = request.instrument
    if request.qualification is not None:
        with notebook.read() as tx:
            row = qualification_of(tx, request.qualification)
        if request.quantity and row.quantity != request.quantity:
            todo = "choose another, or the quantity that it reads"
            raise BadRequest(Fault("qualification", f"a {row.name} that reads {row.quantity}", request.quantity, todo))
        return row.entry, row.invented
    if tool is None:
        return "", False
    if request.quantity and tool.quantity != request.quantity:
        todo = "give an instrument that reads it"
        raise BadRequest(Fault("instrument, quantity", tool.quantity or "nothing", request.quantity, todo))
    if not tool.name.strip():
        unit = base_units(requirement).get(tool.quantity, tool.unit)
        usual = default_instrument(tool.quantity, tool.unit or unit, tool.resolution)
        tool = replace(tool, name=usual.name)
    return instruments_toml([tool]), False


def _asked(request: AskPlan, bench: str, shared: dict[str, Any], *, invented: bool) -> str:
    more = {"qualification": request.qualification, "bench": bench, "invented": invented}
    asked = {"requirement": request.requirement, **shared, **more}
    return json.dumps(asked, ensure_ascii=False)


def _result(found: Plan) -> str:
    """Write what came out: the document of the command line as it is, and the plan itself for its page."""
    return json.dumps({"json": plan_to_json(found), "record": plan_to_text(found)}, ensure_ascii=False)


def plan_json(notebook: Notebook, plan_id: int) -> str:
    """Give a plan as `ballbench plan --json -` writes it.

    Raises
    ------
    NotFound
        There is no such plan.
    """
    with notebook.read() as tx:
        row = plan_of(tx, plan_id)
    return str(json.loads(row.result)["json"])


def plan_page(notebook: Notebook, plan_id: int) -> PlanPage:
    """Give the page of a plan.

    Raises
    ------
    NotFound
        There is no such plan.
    """
    with notebook.read() as tx:
        row = plan_of(tx, plan_id)
        line = plan_line(tx, row)
    result = json.loads(row.result)
    sentences = tuple(json.loads(result["json"])["sentences"])
    return PlanPage(line, plan_from_text(result["record"]), sentences, row.requirement in catalogue_ids())


def plans(notebook: Notebook, *, followed: bool | None = None, most: int = 50) -> tuple[PlanLine, ...]:
    """List plans, the newest first.

    Parameters
    ----------
    followed : bool or None
        Those that a test follows, or that none does; None: whether or not.
    most : int
        At most so many.
    """
    with notebook.read() as tx:
        return tuple(plan_line(tx, row) for row in plans_kept(tx, most, followed=followed))
