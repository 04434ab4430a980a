"""Instruments: what each was qualified for, and where a repeat study begins."""

from __future__ import annotations

from dataclasses import dataclass

from ballbench.presentation.numbers import with_unit
from ballbench.presentation.screens.frame import page
from ballbench.presentation.screens.library import TestLine
from ballbench.presentation.screens.qualified import QualifiedInstrument, qualified_words
from ballbench.presentation.screens.writing import write
from ballbench.presentation.wording import quantity_words
from ballbench.records.bench import Instrument

__all__ = ["InstrumentsPage", "instruments_html"]


@dataclass(frozen=True, slots=True)
class InstrumentsPage:
    """The instruments that the notebook knows. Filled by ``workflows/forms.py``.

    Parameters
    ----------
    qualified : tuple of QualifiedInstrument
        Each as it was qualified last, the newest first.
    others : tuple of Instrument
        Those of earlier tests that were never qualified.
    studies : tuple of TestLine
        Repeat studies, the newest first.
    """

    qualified: tuple[QualifiedInstrument, ...] = ()
    others: tuple[Instrument, ...] = ()
    studies: tuple[TestLine, ...] = ()


def instruments_html(data: InstrumentsPage) -> str:
    """Write the list of instruments."""
    body = write(
        "instruments.html.j2",
        data=data,
        qualified=[(one, _what(one.instrument), qualified_words(one)) for one in data.qualified],
        others=[(tool, _what(tool)) for tool in data.others],
    )
    return page("Qualify", body, here="instruments")


def _what(tool: Instrument) -> str:
    """Say what an instrument reads and in which steps, ``"diameter, display step 0.01 mm"``."""
    return f"{quantity_words(tool.quantity)}, display step {with_unit(f'{tool.resolution:.6g}', tool.unit)}"
