"""What the pages of recordings offer: places of a test that a recording can fill, its recordings, what is stated."""

from __future__ import annotations

import json
import math
import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import lru_cache
from statistics import fmean
from typing import Any

from ballbench.presentation.numbers import number
from ballbench.presentation.screens.home import RequirementChoice
from ballbench.presentation.screens.moments import moment_words
from ballbench.presentation.screens.recorded import RECORDED, StatedField
from ballbench.presentation.screens.recorded_page import (
    KeptRecording,
    MethodChoice,
    PlaceChoice,
    RecordedPage,
    RecordingsOfTest,
)
from ballbench.records.ball_test import BallTest
from ballbench.records.bench_state import KeptReading, Place
from ballbench.records.written_units import exact_factor
from ballbench.specs import catalogue_ids, find_requirement
from ballbench.store import Notebook, Tx
from ballbench.store.ball_tests import ball_test_of, balls_of, instruments_of, written_of
from ballbench.store.bench import last_revision, place_of, places_of
from ballbench.store.picks import picks_of
from ballbench.store.readings import readings_of
from ballbench.store.recordings import recordings_of
from ballbench.workflows.blind import as_shown, is_hidden
from ballbench.workflows.recorded.asked import Method
from ballbench.workflows.recorded.stated_fields import METHODS

__all__ = ["owner_of", "recorded_page", "recordings_page"]

_CHOICES: dict[str, tuple[str, str, tuple[str, ...]]] = {
    "listen": ("A sound of the drop", "audio/*,video/*", ("rebound", "bounce_restitution")),
    "watch": ("A film of the drop", "video/*", ("rebound", "bounce_restitution")),
    "trace": ("A photograph of the ball", "image/*", ("outline_form",)),
}
_HEADS = {
    "listen": (
        "Listen to a drop",
        "A phone beside the plate hears every impact; the times between them tell restitution and rebound.",
    ),
    "watch": (
        "Watch a drop",
        "A film of a drop, taken square on, gives the rebound height; the fall itself is the ruler.",
    ),
    "trace": (
        "Trace a ball",
        "A photograph against a bright ground gives the outline of a ball, its form and its lobes, odd ones too.",
    ),
}
_STEPS = {
    "listen": (
        "Lay the phone on something soft, half a metre from the plate; close doors and windows, and say nothing.",
        "Start the recording, let the ball go from rest without spin, and let it bounce until it lies still.",
        "Several drops in one recording are told apart; leave two seconds between them.",
        "Look whether each line stands at the very beginning of a sound, and mend those that do not.",
    ),
    "watch": (
        "Put the phone on a stand, level, as high as the middle of the fall, a metre away or more, and square on.",
        "Film at the phone's highest rate, in good light, from before the ball is let go until its third bounce.",
        "Let the ball go from rest, without spin; nothing else moves in the picture.",
    ),
    "trace": (
        "Light a white sheet from behind with a cool lamp, and put the ball before it; nothing touches its outline.",
        "Stand back at least twenty radii of the ball, zoom in with the lens, and aim at the ball's middle.",
        "Keep the photograph as the phone took it: not cut, not made smaller, not sent through a messenger.",
    ),
}  # fmt: skip
_CAUTIONS = {
    "listen": ("Drop from a fixed stand, never from a chair or ladder; eye protection with hard balls.",),
    "watch": (
        "Drop from a fixed stand, never from a chair or ladder; eye protection with hard balls.",
        "Celluloid balls (cellulose nitrate) are highly flammable: a cool lamp, no heat, no flame.",
    ),
    "trace": ("Celluloid balls (cellulose nitrate) are highly flammable: a cool lamp, no heat, no flame.",),
}  # fmt: skip

_CONDITIONS = {
    "drop_height": "drop_height", "temperature": "air_temperature", "pressure": "air_pressure", "humidity": "humidity",
    "latitude": "latitude", "altitude": "altitude",
}  # fmt: skip
"""Statements that the conditions of a set-up may hold, by the names that they have there."""


def recorded_page(method: Method) -> RecordedPage:
    """Give the page of a recording that belongs to no test."""
    head, lead = _HEADS[method]
    return RecordedPage(
        _choice(method), head, lead, _STEPS[method], _CAUTIONS[method], _requirements(_CHOICES[method][2])
    )


def recordings_page(notebook: Notebook, test_id: int) -> RecordingsOfTest:
    """Give the page of a test's recordings.

    While a blind test goes on no make, limit or value stands there.

    Raises
    ------
    NotFound
        There is no such test.
    """
    with notebook.read() as tx:
        test = ball_test_of(tx, test_id)
        own = [one.name for one in test.quantities if one.name in RECORDED]
        methods = [method for method in METHODS if set(_CHOICES[method][2]) & set(own)]
        known = _known(tx, test)
        return RecordingsOfTest(
            test=as_shown(test),
            methods=tuple(_choice(method, known) for method in methods),
            places=tuple(_places(tx, test)),
            recordings=tuple(_recordings(tx, test)),
            cautions=tuple(dict.fromkeys(text for method in methods for text in _CAUTIONS[method])),
            revision=last_revision(tx, test_id),
        )


def owner_of(notebook: Notebook, test_id: int, place_id: int | None) -> tuple[tuple[str, str], ...]:
    """Give make and number of the ball of a place, as a command takes them; the make hidden where the test hides it.

    Raises
    ------
    NotFound
        There is no such test or place.
    """
    if place_id is None:
        return ()
    with notebook.read() as tx:
        test, place = ball_test_of(tx, test_id), place_of(tx, test_id, place_id)
        own = next((row for row in balls_of(tx, test_id) if row.id == place.ball_id), None)
    if own is None:
        return ()
    return (("hidden make" if is_hidden(test) else own.make, own.number),)


def _choice(method: str, known: dict[str, str] | None = None) -> MethodChoice:
    words, accept, quantities = _CHOICES[method]
    every = METHODS[method]
    # What the balls fall on is said when a test is set up: it is asked for where there is no test.
    fields = every if known is None else tuple(one for one in every if one.name != "surface")
    return MethodChoice(method, words, accept, quantities, tuple(_filled(fields, known or {})))


def _filled(fields: tuple[StatedField, ...], known: dict[str, str]) -> Iterator[StatedField]:
    for field in fields:
        yield replace(field, value=known.get(field.name, ""))


@lru_cache(maxsize=4)
def _requirements(quantities: tuple[str, ...]) -> tuple[RequirementChoice, ...]:
    """Give the catalogue's requirements with a clause on one of these quantities."""
    every = [find_requirement(identity) for identity in catalogue_ids()]
    own = [one for one in every if any(clause.quantity in quantities for clause in one.clauses)]
    return tuple(sorted((RequirementChoice(one.id, one.sport, one.title) for one in own),
                        key=lambda one: (one.sport, one.title)))  # fmt: skip


def _known(tx: Tx, test: BallTest) -> dict[str, str]:
    """Give what the set-up says of the drop, and what was read of the balls where that may be shown."""
    conditions = tomllib.loads(str(written_of(tx, test.id).bench_text)).get("conditions", {})
    known = {name: str(conditions[condition]) for name, condition in _CONDITIONS.items() if condition in conditions}
    if is_hidden(test):
        return known
    readings = [one for one in readings_of(tx, test.id) if one.ball is not None and one.stands]
    diameter, mass = (_mean(readings, name) for name in ("diameter", "mass"))
    if diameter is not None and mass is not None:
        known["ball"] = f"{number(diameter, 2)} mm, {number(mass, 3 if mass < 10.0 else 2)} g"
    return known


def _mean(readings: Sequence[KeptReading], quantity: str) -> float | None:
    values = [one.holds for one in readings if one.quantity == quantity and one.holds is not None]
    return fmean(values) if values else None


def _places(tx: Tx, test: BallTest) -> Iterator[tuple[str, tuple[PlaceChoice, ...]]]:
    """Give, quantity by quantity, the next place of each ball and axis that holds no reading."""
    hidden = is_hidden(test)
    names = {row.id: row.number if hidden else f"{row.number} ({row.make})" for row in balls_of(tx, test.id)}
    read = () if hidden else readings_of(tx, test.id)
    tools = {(row.name, row.quantity): row for row in instruments_of(tx, test.id)}
    empty = [place for place in places_of(tx, test.id) if place.ball is not None and not place.filled]
    for quantity in test.quantities:
        first: dict[tuple[str, str], Place] = {}
        for place in sorted((one for one in empty if one.quantity == quantity.name), key=lambda one: one.repeat):
            first.setdefault((names[place.ball or 0], place.axis), place)
        u = _reading_u(tools.get((quantity.instrument, quantity.name)), quantity.unit)
        if quantity.name in RECORDED and first:
            yield quantity.words, tuple(
                PlaceChoice(place.id, quantity.name, f"Ball {name}, {quantity.words}{f', {axis}' if axis else ''}",
                            _diameter(read, place.ball), u)
                for (name, axis), place in sorted(first.items(), key=lambda item: item[0])
            )  # fmt: skip


def _reading_u(tool: Any, unit: str) -> float | None:
    """Give the standard uncertainty of one reading of an instrument as it was set up, noise and own error together."""
    if tool is None or tool.sd is None:
        return None
    return math.hypot(tool.sd, tool.offset_sd or 0.0) * exact_factor(tool.unit, unit)


def _diameter(read: Sequence[KeptReading], ball: int | None) -> str:
    """Give the mean diameter of a ball as it was read."""
    mean = _mean([one for one in read if one.ball == ball and one.stands], "diameter")
    return "" if mean is None else f"{number(mean, 3)} mm"


def _recordings(tx: Tx, test: BallTest) -> Iterator[KeptRecording]:
    """Give each recording once, however often something was said of it; the newest first."""
    rows = recordings_of(tx, test.id)
    wanted = {row.reading_id for row in rows if row.reading_id is not None}
    read = {one.id: one for one in readings_of(tx, test.id) if one.id in wanted} if wanted else {}
    numbers = {row.id: row.number for row in balls_of(tx, test.id)}
    words = {one.name: one.words for one in test.quantities}
    last = {(one.digest, one.method): one for one in picks_of(tx, test.id)}
    picks: dict[str, dict[str, Any]] = {}
    for (digest, method), kept in last.items():
        if json.loads(kept.told).get("mended"):
            picks.setdefault(digest, {})[method] = json.loads(kept.picks)
    first = {row.digest: row for row in reversed(rows)}
    for digest, row in sorted(first.items(), key=lambda item: item[1].id, reverse=True):
        own = [read[one.reading_id] for one in rows if one.digest == digest and one.reading_id in read]
        yield KeptRecording(
            digest, row.name, row.by, moment_words(row.at), int(row.bytes),
            tuple(f"ball {numbers[one.ball]}, {words[one.quantity]}{'' if one.stands else f' ({one.standing})'}"
                  for one in own if one.ball is not None),
            json.dumps(picks[digest]) if digest in picks else "",
        )  # fmt: skip
