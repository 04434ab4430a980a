"""What a notebook should hold, in plain Python: no database, no product code, only what was said and answered."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

__all__ = ["DROPPED", "FACTORS", "ReadingModel", "TestModel", "in_file"]

FACTORS = {"mm": Fraction(1), "in": Fraction("25.4"), "g": Fraction(1), "oz": Fraction("28.349523125")}
"""Exact by definition, from memory: 1 in = 25.4 mm; 1 oz = 0.45359237 kg / 16."""

DROPPED = "rebound"
"""The quantity whose every reading, and every spoiled attempt, is an impact."""


@dataclass
class ReadingModel:
    """A reading that was acknowledged, and the last thing said of it."""

    id: int
    place: int
    text: str
    unit: str
    by: str
    at: str
    sitting: str
    repeat: int
    confirmed: bool
    standing: str = "kept"
    right: str = ""

    @property
    def stands(self) -> bool:
        """Whether it counts."""
        return self.standing in {"kept", "corrected"}

    @property
    def holds(self) -> float | bool:
        """The number that holds in the base unit, or the answer."""
        text = self.right or self.text
        return text == "yes" if text in {"yes", "no"} else float(Fraction(text) * FACTORS[self.unit])


@dataclass
class TestModel:
    """One test: its places as they were planned, and everything that was acknowledged since."""

    __test__ = False
    id: int
    blind: bool
    units: dict[str, str]
    places: dict[int, dict[str, Any]]
    balls: dict[int, tuple[str, str, str]]
    readings: list[ReadingModel] = field(default_factory=list)
    sittings: list[dict[str, Any]] = field(default_factory=list)
    replies: list[dict[str, Any] | None] = field(default_factory=list)
    questions: dict[int, tuple[str, str]] = field(default_factory=dict)
    put_off: Counter[int] = field(default_factory=Counter)
    spoiled: Counter[int] = field(default_factory=Counter)
    noted: Counter[int] = field(default_factory=Counter)
    finished: bool = False

    @property
    def stage(self) -> str:
        """Where it stands."""
        return "finished" if self.finished else "under way" if self.readings else "set up"

    def sitting_now(self, by: str) -> str:
        """The sitting that goes on; one is begun where there is none."""
        if not self.sittings or self.sittings[-1]["ended"]:
            self.begin(by, "")
        return str(self.sittings[-1]["label"])

    def begin(self, by: str, label: str) -> None:
        """Begin a sitting, by the next counting number where it has no name."""
        known = {one["label"] for one in self.sittings}
        number = len(known) + 1
        while not label:
            label = str(number) if str(number) not in known else ""
            number += 1
        self.sittings.append({"label": label, "begun": by, "by": [], "ended": False})

    def keep(self, number: int, place: int, text: str, unit: str, by: str, at: str, *, confirmed: bool) -> None:
        """Take in an acknowledged reading."""
        own = self.what(place)
        repeat = 1 + sum(self.what(one.place) == own for one in self.readings)
        sitting = self.sitting_now(by)
        if by not in self.sittings[-1]["by"]:
            self.sittings[-1]["by"].append(by)
        self.questions.pop(place, None)
        self.readings.append(ReadingModel(number, place, text, unit, by, at, sitting, repeat, confirmed))

    def what(self, place: int) -> tuple[Any, ...]:
        """Ball or piece, quantity and axis of a place; pieces are read at moments instead of axes."""
        own = self.places[place]
        return own["ball"], own["reference"], own["quantity"], own["axis"]

    def filled(self, place: int) -> bool:
        """Whether a place holds a reading that stands."""
        return any(one.stands for one in self.readings if one.place == place)

    def impacts(self, ball: int) -> int:
        """Drops, spoiled ones too, and what was noted."""
        places = [number for number, own in self.places.items() if own["ball"] == ball and own["quantity"] == DROPPED]
        read = sum(one.place in places for one in self.readings)
        return read + sum(self.spoiled[number] for number in places) + self.noted[ball]

    def standing_values(self) -> list[tuple[Any, ...]]:
        """What a reader of the files should get: which reading, the value that holds, and by whom."""
        out = []
        for one in self.readings:
            ball, _, quantity, axis = self.what(one.place)
            if one.stands and ball is not None:
                make, box, label = self.balls[ball]
                out.append((in_file(make), box, label, quantity, axis, one.repeat, one.holds, in_file(one.by)))
        return sorted(out, key=repr)


def in_file(text: str) -> str:
    """A text as a file has it: one that a spreadsheet would run has an apostrophe before it."""
    return f"'{text}" if text.startswith("=") else text
