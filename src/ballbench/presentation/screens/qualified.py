"""An instrument that was qualified, as forms and lists name it."""

from __future__ import annotations

from dataclasses import dataclass

from ballbench.presentation.screens.moments import day_words
from ballbench.records.bench import Instrument

__all__ = ["QualifiedInstrument", "qualified_words"]


@dataclass(frozen=True, slots=True)
class QualifiedInstrument:
    """An instrument as it was qualified last. Filled by ``workflows/qualify_test.py``.

    Parameters
    ----------
    id : int
        Of the qualification, in the notebook.
    instrument : Instrument
        Its entry, numbers in the base unit of its quantity.
    sentence : str
        What it tells apart.
    by, at : str
        Who kept it, and when (ISO 8601 with zone).
    test : int or None
        The test that it was found in.
    invented : bool
        That test holds invented data.
    """

    id: int
    instrument: Instrument
    sentence: str
    by: str
    at: str
    test: int | None
    invented: bool


def qualified_words(one: QualifiedInstrument) -> str:
    """Say when and by whom, ``"qualified 27 November 2026 by E"``; that its data are invented, where they are."""
    return f"qualified {day_words(one.at)} by {one.by}{', on invented data' if one.invented else ''}"
