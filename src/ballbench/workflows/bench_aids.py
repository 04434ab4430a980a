"""What the pages of the vee, the press and the ramp offer, and what they make of a typed table."""

from __future__ import annotations

from functools import lru_cache

from ballbench.errors import BadReadings, BadRequest, Fault
from ballbench.findings.form_clauses import form_clauses
from ballbench.findings.pressing.clauses import press_clauses
from ballbench.findings.rolling.clauses import veer_clauses
from ballbench.presentation.press_json import press_to_json
from ballbench.presentation.rolls_json import rolls_to_json
from ballbench.presentation.screens.home import RequirementChoice
from ballbench.presentation.screens.press_page import PressPage, press_shown
from ballbench.presentation.screens.roll_page import RollPage, roll_shown
from ballbench.presentation.screens.typed_entries import TypedResult
from ballbench.presentation.screens.vee_page import VeePage, vee_shown
from ballbench.presentation.vee_json import vee_to_json
from ballbench.records.importers.named_table import read_named_table
from ballbench.records.press_log import PRESS_COLUMNS
from ballbench.records.roll_log import ROLL_COLUMNS
from ballbench.records.vee_readings import VEE_COLUMNS
from ballbench.specs import catalogue_ids, find_requirement
from ballbench.workflows.press import PRESS_CAUTIONS, press_typed
from ballbench.workflows.roll import RAMP_CAUTIONS, roll_typed
from ballbench.workflows.typed_table import NAME, typed_table
from ballbench.workflows.vee import VEE_CAUTIONS, vee_typed

__all__ = ["MOST_ENTRIES", "press_entries", "press_page", "roll_entries", "roll_page", "vee_entries", "vee_page"]

MOST_ENTRIES = 2000
"""Rows that a page sends at once; more than that is a file for the command line (own choice)."""


def vee_page() -> VeePage:
    """Give the page of the vee: requirements with a limit of form."""
    return VeePage(_choices()[0], VEE_CAUTIONS)


def press_page() -> PressPage:
    """Give the page of the press: requirements with a limit of deformation or hardness."""
    return PressPage(_choices()[1], PRESS_CAUTIONS)


def roll_page() -> RollPage:
    """Give the page of the ramp: requirements with a limit of veer."""
    return RollPage(_choices()[2], RAMP_CAUTIONS)


def vee_entries(csv: str, lobes: int | None, spec: str) -> TypedResult:
    """Say what a typed table of vee readings tells.

    Parameters
    ----------
    csv : str
        The table, columns as in a file.
    lobes : int or None
        Crests that hold for all balls.
    spec : str
        An id of the catalogue or the text of a requirement; empty: none.

    Returns
    -------
    TypedResult
        The document that the command writes for such a file, the same as HTML for the page, and the entries as read.

    Raises
    ------
    BadInput
        All faults at once; the table is called ``entries.csv``.
    """
    entries = _entries(csv, VEE_COLUMNS)
    found = vee_typed(csv, lobes, spec)
    return TypedResult(vee_to_json(found), vee_shown(found), entries)


def press_entries(csv: str, spec: str) -> TypedResult:
    """Say what a typed log of a press tells; arguments, result and errors as in `vee_entries`."""
    entries = _entries(csv, PRESS_COLUMNS)
    found = press_typed(csv, spec)
    return TypedResult(press_to_json(found), press_shown(found), entries)


def roll_entries(csv: str, spec: str) -> TypedResult:
    """Say what a typed log of a ramp tells; arguments, result and errors as in `vee_entries`."""
    entries = _entries(csv, ROLL_COLUMNS)
    found = roll_typed(csv, spec)
    return TypedResult(rolls_to_json(found), roll_shown(found), entries)


@lru_cache(maxsize=1)
def _choices() -> tuple[tuple[RequirementChoice, ...], ...]:
    """Give the catalogue's requirements on form, those on a press, and those on a ramp."""
    every = [find_requirement(identity) for identity in catalogue_ids()]
    lists = []
    for asked in (form_clauses, press_clauses, veer_clauses):
        own = [RequirementChoice(one.id, one.sport, one.title) for one in every if asked(one.clauses)]
        lists.append(tuple(sorted(own, key=lambda one: (one.sport, one.title))))
    return tuple(lists)


def _entries(csv: str, columns: tuple[str, ...]) -> tuple[dict[str, str], ...]:
    """Give the cells of a typed table as they stand there, by column."""
    if not csv.strip():
        raise BadRequest(Fault(NAME, "nothing", "a header, and a row for each entry", "write down an entry"))
    with typed_table(csv) as path:
        table, _ = read_named_table(path, columns, (), BadReadings)
    if table.cells.height > MOST_ENTRIES:
        found, todo = f"{table.cells.height} rows", "use the command line for a file of this size"
        raise BadRequest(Fault(NAME, found, f"{MOST_ENTRIES} rows at most", todo))
    return tuple({name: str(row[name]) for name in columns} for row in table.cells.iter_rows(named=True))
