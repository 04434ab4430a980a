"""A test as it was set up: which requirement, which balls, what is read of each, in which order."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

__all__ = ["Ball", "BallTest", "Box", "PlannedQuantity", "ReferencePiece", "Sitting"]

Stage = Literal["set up", "under way", "finished"]


@dataclass(frozen=True, slots=True)
class Box:
    """A box of balls of one make.

    Parameters
    ----------
    id : int
        In the notebook.
    make, label : str
        Whose balls, and the box's own name.
    bought, where, price, given_by : str
        When and where it was bought and for how much, or who gave it; empty: not known.
    """

    id: int
    make: str
    label: str
    bought: str = ""
    where: str = ""
    price: str = ""
    given_by: str = ""


@dataclass(frozen=True, slots=True)
class Ball:
    """A ball on the bench.

    Parameters
    ----------
    id : int
        In the notebook.
    number : str
        What is written on it for this test; in a blind test numbers run over all boxes in shuffled order.
    label : str
        Its name in its box.
    make, box : str or None
        None where the test is blind and still under way.
    impacts : int or None
        How many it is known to have had up to its readings in this test, those of earlier tests among them; while
        a blind test is under way those of this test alone. None: it came with a file, and nothing was said of any.
    conditioning_since : str or None
        When it was laid out to take the climate of the room, ISO 8601; None: it was not.
    conditioned_h : float or None
        Hours that it lay there until its first reading, or until now.
    """

    id: int
    number: str
    label: str
    make: str | None
    box: str | None
    impacts: int | None = 0
    conditioning_since: str | None = None
    conditioned_h: float | None = None


@dataclass(frozen=True, slots=True)
class PlannedQuantity:
    """What is read of every ball for one quantity.

    Parameters
    ----------
    name, words, unit : str
        Canonical name, the name in a sentence, the unit it is computed in (``"1"``: a pure number).
    axes : tuple of str
        Places on the ball; ``("",)`` where the quantity has none.
    repeats : int
        Readings a place.
    instrument : str
        Which; empty for yes/no results.
    yes_no : bool
        True: the result is yes or no.
    signed : bool
        True: a reading may be below zero.
    rank : int
        The step of the test at which it is read, from 1; tests that can harm a ball come last.
    decimals : int
        Decimals that the display shows, in `unit`.
    believable : tuple of float or None
        Between what a reading raises no question, in `unit`; None while nothing is known.
    limits : tuple of (float or None, float or None)
        What the requirement allows a single ball, in `unit`; both None where it says nothing.
    caution : str
        What to beware of while reading it; may be empty.
    """

    name: str
    words: str
    unit: str
    axes: tuple[str, ...]
    repeats: int
    instrument: str = ""
    yes_no: bool = False
    signed: bool = False
    rank: int = 1
    decimals: int = 2
    believable: tuple[float, float] | None = None
    limits: tuple[float | None, float | None] = (None, None)
    caution: str = ""


@dataclass(frozen=True, slots=True)
class ReferencePiece:
    """A piece of known size or mass that lies in the tray among the balls.

    Parameters
    ----------
    id : int
        In the test.
    name, quantity, unit : str
        Such as "steel ball", "diameter", "mm".
    value, u : float
        What it is, and the standard uncertainty of that, in `unit`.
    instrument : str
        Which instrument it checks.
    """

    id: int
    name: str
    quantity: str
    unit: str
    value: float
    u: float
    instrument: str


@dataclass(frozen=True, slots=True)
class Sitting:
    """One sitting at the bench.

    Parameters
    ----------
    id : int
        In the notebook.
    label : str
        ``"1"``, ``"2"`` in the test; the name in the readings file.
    kind : {"bench", "paper"}
        Read at the bench, or typed from a paper sheet.
    by : tuple of str
        Who took readings, in order of their first.
    begun, ended : str or None
        ISO 8601 with zone; `ended` is None while it goes on.
    air_c, ball_c : float or None
        Last temperatures of air and balls noted in it, degC.
    """

    id: int
    label: str
    kind: Literal["bench", "paper"]
    by: tuple[str, ...]
    begun: str
    ended: str | None = None
    air_c: float | None = None
    ball_c: float | None = None


@dataclass(frozen=True, slots=True)
class BallTest:
    """A test of balls against a requirement.

    Parameters
    ----------
    id : int
        In the notebook.
    title : str
        The person's own name for it.
    requirement, requirement_title, requirement_digest : str
        Id, title and digest of the requirement as it was at set-up; the notebook keeps its text.
    set_up, set_up_by : str
        When (ISO 8601) and by whom.
    blind : bool
        True: makes, limits and earlier values stay hidden while it is measured.
    stage : {"set up", "under way", "finished"}
        Where it stands.
    rule : str
        Decision rule stated beforehand, ``guarded`` or ``simple``.
    risk : float
        Risk of a false "met" stated beforehand.
    seed : int
        Of the shuffled order, and of the judgement.
    invented : bool
        The data are invented.
    quantities : tuple of PlannedQuantity
        In the order in which they are read.
    boxes : tuple of Box
        Of the test.
    kind : {"whole", "quick", "taken in"}
        A quick check is a test of one ball and one quantity; one taken in came as a readings file.
    purpose : {"", "repeat study"}
        A repeat study says how well an instrument reads, in whose hands; empty: balls are judged.
    """

    id: int
    title: str
    requirement: str
    requirement_title: str
    requirement_digest: str
    set_up: str
    set_up_by: str
    blind: bool
    stage: Stage
    rule: str
    risk: float
    seed: int
    invented: bool
    quantities: tuple[PlannedQuantity, ...]
    boxes: tuple[Box, ...]
    kind: Literal["whole", "quick", "taken in"] = "whole"
    purpose: Literal["", "repeat study"] = ""
