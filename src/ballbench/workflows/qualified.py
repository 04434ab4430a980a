"""Instruments that were qualified: the entry that was kept of each, read as a bench file, for forms and plans."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from ballbench.presentation.screens.qualified import QualifiedInstrument
from ballbench.records import Bench, read_bench
from ballbench.records.ball_test import ReferencePiece
from ballbench.store import Notebook
from ballbench.store.ball_tests import references_of
from ballbench.store.qualifications import QualificationRow, latest_qualifications

__all__ = ["as_qualified", "bench_of_text", "pieces_of_qualified", "qualified_instruments"]


def bench_of_text(text: str, declared: Mapping[str, str] | None = None) -> Bench:
    """Read the text of a bench file.

    Parameters
    ----------
    text : str
        TOML, as `ballbench.records.read_bench` takes it; empty: nothing is known.
    declared : mapping of str to str, or None
        Further quantities with their base unit, from the requirement.

    Raises
    ------
    BadBench
        All faults at once.
    """
    if not text.strip():
        return Bench()
    with tempfile.TemporaryDirectory(prefix="ballbench-") as folder:
        file = Path(folder) / "bench.toml"
        file.write_text(text, encoding="utf-8")
        return read_bench(file, declared)


def as_qualified(row: QualificationRow) -> QualifiedInstrument:
    """Give a kept qualification with its numbers."""
    tools = bench_of_text(row.entry).instruments.values()
    tool = replace(next(one for one in tools if one.quantity == row.quantity), name=row.name)
    return QualifiedInstrument(row.id, tool, row.sentence, row.by, row.at, row.test_id, row.invented)


def qualified_instruments(notebook: Notebook) -> tuple[QualifiedInstrument, ...]:
    """Give each instrument and quantity as it was qualified last, the newest first."""
    with notebook.read() as tx:
        rows = latest_qualifications(tx)
    return tuple(as_qualified(row) for row in rows)


def pieces_of_qualified(notebook: Notebook) -> tuple[ReferencePiece, ...]:
    """Give the reference pieces that instruments were qualified with last, each once, the newest first."""
    with notebook.read() as tx:
        found = [
            piece
            for row in latest_qualifications(tx)
            for piece in (references_of(tx, row.test_id) if row.test_id is not None else ())
            if (piece.quantity, piece.instrument) == (row.quantity, row.name)
        ]
    return tuple({(one.name, one.quantity, one.unit, one.value, one.u): one for one in found}.values())
