"""Files of recordings: how many, each once, whose ball each shows by its name, and why one was refused."""

from __future__ import annotations

import os
import re
import unicodedata
from collections.abc import Iterable, Sequence
from pathlib import Path

from ballbench.errors import BadInput, BadRequest, Fault
from ballbench.records.clip_marks import ClipMarks
from ballbench.records.picks import Picks
from ballbench.records.readings import SAYS_INVENTED

__all__ = [
    "USUAL_NAMES",
    "by_hand_notes",
    "copies_notes",
    "file_faults",
    "names_notes",
    "refusal",
    "shown_name",
    "twice_faults",
    "whose",
]

_MOST_FILES = 500

USUAL_NAMES = "{product}_{ball}_{rest}"
_FIELDS = ("product", "ball", "rest")
_OF_A_CAMERA = re.compile(
    r"(?:[A-Z]{3,4}[_-]?)?(?:\d{8}[_-]\d{4,}|(?:IMG|VID|DSC|DSCN|MOV|MVI|PXL|AUD|REC)[_-]?\d{3,})(?:\D.*)?",
    re.IGNORECASE,
)
"""Names that phones and cameras give by themselves: letters and a count, or a date and a time (from memory)."""


def whose(files: Sequence[Path], pattern: str = "") -> tuple[tuple[str, str], ...]:
    """Give product and ball of each file.

    Parameters
    ----------
    files : sequence of Path
        Only their names matter.
    pattern : str
        Such as ``"{ball}-{product}"``, without the ending; empty: `USUAL_NAMES`, where a name that has no underscore
        is a product of one ball, ``1``.

    Returns
    -------
    tuple of (str, str)
        In the order of the files.

    Raises
    ------
    BadRequest
        A pattern that is none, or names that do not fit it, all at once.
    """
    if not pattern:
        return tuple(_usual(file.stem) for file in files)
    fitted = _fitting(pattern)
    found, faults = [], []
    for file in files:
        match = fitted.fullmatch(file.stem)
        if match is None:
            faults.append(
                Fault(file.name, "a name that does not fit", f"names like {pattern}", "rename it, or change --names")
            )
        else:
            groups = match.groupdict()
            found.append((groups.get("product") or "balls", groups.get("ball") or "1"))
    if faults:
        raise BadRequest(faults)
    return tuple(found)


def file_faults(
    command: str, files: Sequence[Path], seed: int, allowed: str, each: str, example: str, most: int = _MOST_FILES
) -> list[Fault]:
    """Say what is wrong with the files and the seed of a request, all of it.

    Parameters
    ----------
    command : str
        Who asks, such as ``"listen"``.
    files : sequence of Path
        Recordings; they need not exist.
    seed : int
        From 0 up.
    allowed, each, example : str
        For the messages: ``"recordings of drops"``, ``"each recording"``, ``"Curlew_07.wav"``.
    most : int
        So many files are read at a time.
    """
    faults = []
    if not files:
        faults.append(Fault(command, "no file", allowed, f"name one, such as {example}"))
    if len(files) > most:
        faults.append(Fault(command, f"{len(files)} files", f"{most} at most", "name fewer at a time"))
    if seed < 0:
        faults.append(Fault("option --seed", str(seed), "a number from 0 up", "change it"))
    return faults + _name_faults(files) + twice_faults(files, each)


def _name_faults(files: Sequence[Path]) -> list[Fault]:
    """Say which names cannot be written: into a table, a report or a message they would go as something else."""
    found = "a name with a line break, or with bytes that are no letters"
    return [
        Fault(ascii(str(file)), found, "a name of letters, digits, blanks and the like", "rename the file")
        for file in files
        if any(unicodedata.category(sign) in {"Cc", "Cs"} for sign in file.name)
    ]


def twice_faults(files: Sequence[Path], each: str) -> list[Fault]:
    """Say which files are named twice, be it by another way to them; one that is read twice would count as two."""
    true = [os.path.realpath(file) for file in files]
    twice = [place for place in dict.fromkeys(true) if true.count(place) > 1]
    first = [str(files[true.index(place)]) for place in twice]
    return [Fault(name, "the same file twice", f"{each} once", "name it once") for name in first]


def copies_notes(read: Iterable[tuple[str, str]]) -> list[str]:
    """Say which recordings are copies of each other; `read` has the name and digest of each that counts."""
    names: dict[str, list[str]] = {}
    for name, digest in read:
        names.setdefault(digest, []).append(name)
    return [
        f"{' and '.join(alike[:5])} are one recording under {len(alike)} names: it counts {len(alike)} times; name one "
        "of them"
        for alike in names.values()
        if len(alike) > 1
    ]


def shown_name(file: Path) -> str:
    """Give the name that a message says: the last part of the path, or all of it where that is empty, as of ``.``."""
    return file.name or str(file)


def refusal(refused: BadInput) -> str:
    """Say in one line why a recording cannot be used."""
    return "; ".join(f"{fault.found} (allowed: {fault.allowed}); {fault.todo}" for fault in refused.faults)


def names_notes(
    holds: str, files: Sequence[Path], own: Sequence[tuple[str, str]], used: Sequence[bool], pattern: str
) -> list[str]:
    """Say how the names were read, and where a name is one that a camera gave.

    Parameters
    ----------
    holds : str
        Such as ``"whose drops a file holds"``.
    files : sequence of Path
        All that were given.
    own : sequence of (str, str)
        Product and ball of each.
    used : sequence of bool
        Whether something in it counts; the first of these is the example.
    pattern : str
        As in `whose`.

    Returns
    -------
    list of str
        Nothing where no file could be used.
    """
    read = [(file, owner) for file, owner, counts in zip(files, own, used, strict=True) if counts]
    if not read:
        return []
    file, (product, ball) = read[0]
    how = pattern or "PRODUCT_BALL, and what follows a second underscore does not count"
    notes = [f"{holds} is read from its name ({how}): {file.name} is {product}, ball {ball}"]
    given = [] if pattern else [one.name for one, _ in read if _OF_A_CAMERA.fullmatch(one.stem)]
    if given:
        notes.append(
            f"{given[0]} looks like a name that the camera gave: it tells no ball, and files of one day may count as "
            "one ball's; rename such files after their balls, such as Curlew_07"
        )
    return notes


def by_hand_notes(made: Picks | ClipMarks, known: set[str], what: str) -> list[str]:
    """Give the notes of a file that a person made, and say what in it is of a recording that was not given.

    Parameters
    ----------
    made : Picks or ClipMarks
        As read.
    known : set of str
        Names and digests of the recordings.
    what : str
        ``"picks"`` or ``"marks"``.
    """
    notes = [note for note in made.notes if note != SAYS_INVENTED]
    unused = [name for name in made.files() if name not in known]
    return [*notes, f"{made.where} has {what} of {', '.join(unused[:5])}, which was not given"] if unused else notes


def _usual(stem: str) -> tuple[str, str]:
    parts = stem.split("_", 2)
    return (parts[0], parts[1]) if len(parts) > 1 and all(parts[:2]) else (stem, "1")


def _fitting(pattern: str) -> re.Pattern[str]:
    pieces = re.split(r"\{(\w*)\}", pattern)
    named = pieces[1::2]
    if "ball" not in named or any(name not in _FIELDS for name in named) or len(set(named)) != len(named):
        allowed = "a pattern with {ball}, and {product} and {rest} where wanted, each once"
        raise BadRequest(Fault("option --names", repr(pattern[:60]), allowed, "write such as {product}_{ball}"))
    text = "".join(
        re.escape(piece) if index % 2 == 0 else f"(?P<{piece}>.{'*' if piece == 'rest' else '+?'})"
        for index, piece in enumerate(pieces)
    )
    return re.compile(text)
