"""Keep a value of a recording as a reading: the same entry, the same questions, and its picks beside it."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from ballbench.errors import BadRequest, Conflict, Fault
from ballbench.findings.testable import NEAR
from ballbench.presentation.numbers import number, with_unit
from ballbench.presentation.screens.recorded import RecordedResult, RecordedValue
from ballbench.quantities.uncertain import Uncertain
from ballbench.store import Notebook, Reply, Tx
from ballbench.store.ball_tests import quantity_of, written_of
from ballbench.store.bench import place_of
from ballbench.store.picks import write_picks
from ballbench.store.recordings import attach_recording, recordings_of
from ballbench.workflows.bench_requests import Entry, Sent
from ballbench.workflows.measure import enter_in
from ballbench.workflows.sending import digest_of, refuse, sent_faults, who
from ballbench.workflows.stated_quantities import stated_quantity

__all__ = ["KeepRecorded", "keep_recorded"]

_HEIGHT = "drop_height"


@dataclass(frozen=True, slots=True)
class KeepRecorded(Sent):
    """Keep a value of a recording as the reading of a place.

    Parameters
    ----------
    place : int
        Of the test.
    digest : str
        Of the recording.
    method : str
        ``listen``, ``trace`` or ``watch``.
    stated : tuple of (str, str)
        What was stated beside it.
    picks : tuple of tuple of float or None
        What a person picked; None: what the program found.
    value : str
        Which value: its name in the result.
    confirms : str
        Key of the entry that was asked about; empty: a new one.
    """

    place: int
    digest: str
    method: str
    stated: tuple[tuple[str, str], ...]
    picks: tuple[tuple[float, ...], ...] | None
    value: str
    confirms: str = ""


def keep_recorded(notebook: Notebook, test_id: int, request: KeepRecorded, result: RecordedResult) -> Reply:
    """Keep a value as a reading, or ask about it as about any other entry.

    Parameters
    ----------
    notebook : Notebook
        Where it is kept.
    test_id : int
        Which test.
    request : KeepRecorded
        What is asked.
    result : RecordedResult
        What was worked out for just this request; the value is taken from there, and from nowhere else.

    Returns
    -------
    dict
        As `measure.enter` gives it.

    Raises
    ------
    BadInput
        No such test, recording, place or value; nothing of it is kept.
    """
    refuse(sent_faults(request))
    own = next((one for one in result.values if one.name == request.value), None)
    if own is None:
        allowed = ", ".join(one.name for one in result.values) or "a recording that gives a value"
        raise BadRequest(Fault("value", ascii(request.value[:60]), allowed, "load the page again"))

    def work(tx: Tx) -> Reply:
        refuse(_other_height(tx, test_id, request, own))
        kept = next((row for row in recordings_of(tx, test_id) if row.digest == request.digest), None)
        if kept is None:
            found, allowed = "a recording that this test does not have", "one of its recordings"
            raise Conflict(Fault("recording", found, allowed, "send the recording first"))
        entry = Entry(request.key, request.client, request.by, request.at, request.place,
                      _text(tx, test_id, request.place, own), request.confirms)  # fmt: skip
        reply = enter_in(tx, test_id, entry, _note(own))
        if reply["status"] == "kept":
            _attach(tx, test_id, request, result, own, kept.name, int(reply["reading"]["id"]))
        return reply

    return notebook.submit(request.key, test_id, "entry", request.client, work, digest_of(request))


def _other_height(tx: Tx, test_id: int, request: KeepRecorded, own: RecordedValue) -> Iterator[Fault]:
    """Refuse a value of a drop from another height than the test was set up for: it would be judged as from there."""
    wanted = _height(tomllib.loads(str(written_of(tx, test_id).bench_text)).get("conditions", {}).get(_HEIGHT, ""))
    said = dict(request.stated).get(_HEIGHT, "")
    if wanted is None or (not said and own.quantity != "rebound"):
        return
    have = _height(said)
    if have is None or abs(have - wanted) > NEAR * wanted:
        found = f"a drop from {said}" if said else "a drop from a height that was not said"
        allowed = f"a drop from {wanted:g} mm, for which the test was set up"
        yield Fault("option --drop-height", found, allowed, "say the height that it fell from, or drop it from there")


def _height(text: str) -> float | None:
    """Read a height, mm; None: it is none."""
    read = stated_quantity("", text, "mm", "") if text else None
    return read.value if isinstance(read, Uncertain) else None


def _text(tx: Tx, test_id: int, place: int, own: RecordedValue) -> str:
    """Write the value with the decimals that the bench shows for its quantity, and its unit."""
    quantity = quantity_of(tx, test_id, place_of(tx, test_id, place).quantity)
    if quantity.name != own.quantity:
        found, todo = f"a place of {quantity.words}", f"choose a place of {own.quantity.replace('_', ' ')}"
        raise BadRequest(Fault("place", found, f"a place of what the recording gives: {own.words}", todo))
    return with_unit(number(own.value, quantity.decimals), own.unit)


def _note(own: RecordedValue) -> str:
    return f"from a recording, {own.name}, standard uncertainty {with_unit(f'{own.u:.2g}', own.unit)}"


def _attach(
    tx: Tx, test_id: int, request: KeepRecorded, result: RecordedResult, own: RecordedValue, name: str, reading: int
) -> None:
    """Write which recording the reading came from, and how."""
    of = {**who(request, test_id), "digest": request.digest, "reading_id": reading}
    attach_recording(tx, {**of, "name": name})
    told = {"value": own.name, "result": own.value, "u": own.u, "unit": own.unit, "mended": result.mended}
    write_picks(tx, {**of, "method": request.method, "asked": _json(dict(request.stated)),
                     "picks": _json([list(drop) for drop in result.picks]), "told": _json(told)})  # fmt: skip


def _json(value: Any) -> str:
    return json.dumps(value, sort_keys=True, ensure_ascii=False, separators=(", ", ": "))
