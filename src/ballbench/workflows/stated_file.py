"""The file `test.toml`: what the other files of a test cannot carry, written out and read back."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ballbench.errors import BadRequest
from ballbench.records.ball_test import BallTest
from ballbench.records.bench_text import toml_text
from ballbench.records.fault_list import FaultList, quoted
from ballbench.records.toml_fields import Fields, load_toml
from ballbench.store import Tx
from ballbench.store.bench import marks_of, sitting_spans
from ballbench.store.moments import read_moment
from ballbench.workflows.repeat_study import REPEAT_STUDY
from ballbench.workflows.set_up_check import name_fault, stated_faults
from ballbench.workflows.sittings import MARKS, OF_THE_ROOM, value_fault

__all__ = ["STATED", "RoomNote", "Stated", "StatedSitting", "read_stated", "stated_text"]

STATED = "test.toml"
_FORMAT = "ballbench/test/1"
_KINDS = ("whole", "quick", "taken in")
_TOP = ("format", "title", "kind", "set_up", "set_up_by", "requirement", "rule", "risk", "seed", "blind", "purpose",
        "sitting", "noted")  # fmt: skip
_MOST = 10_000
"""More sittings, or notes of the room, than a test has by far (own choice)."""


@dataclass(frozen=True, slots=True)
class StatedSitting:
    """A sitting: its name, at the bench or of typing from paper, by whom it was begun, and from when to when."""

    label: str
    kind: str
    by: str
    begun: str
    ended: str


@dataclass(frozen=True, slots=True)
class RoomNote:
    """What was noted of the room or of an instrument, in which sitting, by whom and when."""

    kind: str
    value: float | None
    note: str
    sitting: str
    by: str
    at: str


@dataclass(frozen=True, slots=True)
class Stated:
    """What the file states; empty or None: it does not say.

    Parameters
    ----------
    title, set_up, set_up_by : str
        The test's name, and when and by whom it was set up.
    requirement, digest : str
        Id and digest of the requirement.
    rule, risk, seed
        Stated before the test is judged.
    blind : bool
        Makes were hidden while it was measured.
    purpose : str
        ``repeat study``; empty: balls are judged.
    sittings, notes : tuple
        In their order.
    """

    title: str = ""
    set_up: str = ""
    set_up_by: str = ""
    requirement: str = ""
    digest: str = ""
    rule: str | None = None
    risk: float | None = None
    seed: int | None = None
    blind: bool = False
    purpose: str = ""
    sittings: tuple[StatedSitting, ...] = ()
    notes: tuple[RoomNote, ...] = ()


def stated_text(tx: Tx, test: BallTest) -> str:
    """Write the file of a test."""
    spans = sitting_spans(tx, test.id)
    labels = {row.id: row.label for row in spans}
    requirement = f"{{ id = {toml_text(test.requirement)}, digest = {toml_text(test.requirement_digest)} }}"
    head = {
        "format": toml_text(_FORMAT), "title": toml_text(test.title), "kind": toml_text(test.kind),
        "set_up": toml_text(test.set_up), "set_up_by": toml_text(test.set_up_by), "requirement": requirement,
        "rule": toml_text(test.rule), "risk": repr(test.risk), "seed": str(test.seed),
        "blind": "true" if test.blind else "false", **_texts({"purpose": test.purpose}),
    }  # fmt: skip
    parts = [_lines(head)]
    for row in spans:
        own = {"label": row.label, "kind": row.kind, "by": row.begun_by, "begun": row.begun, "ended": row.ended or ""}
        parts.append("[[sitting]]\n" + _lines(_texts(own)))
    for row in marks_of(tx, test.id):
        if row.kind in OF_THE_ROOM and row.ball_id is None:
            value = {} if row.value is None else {"value": repr(float(row.value))}
            more = {"note": row.note, "sitting": labels.get(row.sitting_id, ""), "by": row.by, "at": row.at}
            parts.append("[[noted]]\n" + _lines({"kind": toml_text(row.kind), **value, **_texts(more)}))
    return "\n".join(parts)


def _lines(values: Mapping[str, str]) -> str:
    return "".join(f"{name} = {value}\n" for name, value in values.items())


def _texts(values: Mapping[str, str]) -> dict[str, str]:
    """Give texts as TOML, empty ones left out."""
    return {name: toml_text(text) for name, text in values.items() if text}


def read_stated(path: Path) -> Stated:
    """Read the file.

    Raises
    ------
    BadRequest
        It is no such file; all that is wrong with it at once.
    """
    file, values = load_toml(path, BadRequest)
    faults = FaultList()
    top = Fields(file, "", values, faults)
    top.known(_TOP)
    top.missing(("format",))
    top.text("format", (_FORMAT,))
    top.text("kind", _KINDS)
    rule, seed = top.text("rule"), top.number("seed")
    requirement = top.table("requirement")
    if requirement is not None:
        requirement.known(("id", "digest"))
    stated = Stated(
        title=top.text("title") or "", set_up=_moment(top, "set_up"), set_up_by=_name(top, "set_up_by"),
        requirement=(requirement.text("id") if requirement is not None else None) or "",
        digest=(requirement.text("digest") if requirement is not None else None) or "",
        rule=rule, risk=top.number("risk"), seed=_whole(top, seed), blind=bool(top.flag("blind")),
        purpose=top.text("purpose", (REPEAT_STUDY,)) or "",
        sittings=tuple(_sittings(top)), notes=tuple(_notes(top)),
    )  # fmt: skip
    _check_names(top, stated)
    faults.raise_if_any(BadRequest)
    return stated


def _check_names(top: Fields, stated: Stated) -> None:
    """Hold what is stated against the rules for a test, and the notes against the sittings."""
    risk = 0.05 if stated.risk is None else stated.risk
    for fault in stated_faults(stated.title, stated.rule or "guarded", risk, stated.seed):
        top.fault(fault.where, fault.found, fault.allowed, fault.todo)
    labels = Counter(one.label for one in stated.sittings)
    for label in [label for label, count in labels.items() if count > 1]:
        top.fault("[[sitting]] label", f"{quoted(label)} twice", "sittings of different names", "name them apart")
    for label in dict.fromkeys(one.sitting for one in stated.notes):
        if label and label not in labels:
            top.fault("[[noted]] sitting", quoted(label), "a sitting of this file", "correct it, or add the sitting")


def _whole(top: Fields, seed: float | None) -> int | None:
    if seed is None or seed == int(seed):
        return None if seed is None else int(seed)
    top.fault("seed", f"{seed:g}", "a whole number", "correct it")
    return None


def _several(top: Fields, key: str, known: tuple[str, ...]) -> Iterator[Fields]:
    """Give the tables of a list of them, ``[[sitting]]``."""
    found = top.values.get(key, [])
    if not isinstance(found, list) or not all(isinstance(one, dict) for one in found) or len(found) > _MOST:
        top.fault(key, quoted(str(found)[:40]), f"up to {_MOST} tables, each as [[{key}]]", "write it so")
        return
    for number, values in enumerate(found, 1):
        fields = Fields(top.file, f"[[{key}]] {number},", values, top.faults)
        fields.known(known)
        yield fields


def _sittings(top: Fields) -> Iterator[StatedSitting]:
    for fields in _several(top, "sitting", ("label", "kind", "by", "begun", "ended")):
        fields.missing(("begun",))
        yield StatedSitting(
            _name(fields, "label"), fields.text("kind", ("bench", "paper")) or "bench", _name(fields, "by"),
            _moment(fields, "begun"), _moment(fields, "ended"),
        )  # fmt: skip


def _notes(top: Fields) -> Iterator[RoomNote]:
    for fields in _several(top, "noted", ("kind", "value", "note", "sitting", "by", "at")):
        fields.missing(("kind", "at"))
        kind, value = fields.text("kind", OF_THE_ROOM), fields.number("value")
        for fault in value_fault("value", kind, value) if kind in MARKS else ():
            fields.fault("value", fault.found, fault.allowed, fault.todo)
        yield RoomNote(
            kind or "", value, _name(fields, "note"), _name(fields, "sitting"), _name(fields, "by"),
            _moment(fields, "at"),
        )  # fmt: skip


def _name(fields: Fields, key: str) -> str:
    """Give a name, empty where there is none; one that the notebook would not take is noted."""
    text = fields.text(key) or ""
    for fault in name_fault(key, text, "it") if text else ():
        fields.fault(key, fault.found, fault.allowed, fault.todo)
    return text


def _moment(fields: Fields, key: str) -> str:
    text: Any = fields.text(key) or ""
    if text and read_moment(text) is None:
        allowed = "a time with its zone, such as 2026-11-25T10:00:00+00:00"
        fields.fault(key, quoted(text), allowed, "correct it")
    return str(text)
