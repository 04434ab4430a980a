"""What a qualification is made from: the readings of one instrument, its log of checks, what is stated of it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import polars as pl

from ballbench.errors import BadRequest, Fault
from ballbench.quantities.kinds import KINDS
from ballbench.records import Bench, Instrument, Readings, Sample, read_bench, samples_of
from ballbench.records.check_log import CheckReading, read_check_log
from ballbench.records.default_instruments import default_instrument
from ballbench.specs import Requirement
from ballbench.workflows.taking_in import TakenIn
from ballbench.workflows.what_to_read import base_units

__all__ = [
    "bench_of",
    "checks_of_tool",
    "first_sample",
    "only_instrument",
    "quantity_of",
    "size_of",
    "study_of",
    "tool_of",
]


def quantity_of(asked: str, taken: TakenIn | None, requirement: Requirement | None) -> tuple[str, str]:
    """Give the quantity in question and its base unit.

    Raises
    ------
    BadRequest
        The readings have several and none is named, or it is not known.
    """
    quantity = asked
    if taken is not None:
        numbers = taken.readings.table.filter(pl.col("value").is_not_null())
        have = numbers["quantity"].unique(maintain_order=True).to_list()
        if not quantity:
            quantity = have[0] if len(have) == 1 else "diameter"
        if quantity not in have:
            found = quantity if asked else f"several quantities: {', '.join(have) or 'none'}"
            raise BadRequest(Fault("option --quantity", found, ", ".join(have) or "a file with numbers", "name one"))
    quantity = quantity or "diameter"
    units = units_with(requirement)
    if quantity not in units:
        todo = "give the requirement that declares it with --spec"
        raise BadRequest(Fault("option --quantity", quantity, "a quantity of the trade", todo))
    return quantity, units[quantity]


def units_with(requirement: Requirement | None) -> dict[str, str]:
    """Give the base unit of every known quantity, those of a requirement too."""
    if requirement is not None:
        return base_units(requirement)
    return {kind.name: kind.unit for kind in KINDS.values()}


def study_of(readings: Readings, quantity: str, instrument: str) -> pl.DataFrame:
    """Give the readings of one quantity and one instrument.

    Raises
    ------
    BadRequest
        Several instruments read and none is named, or the named one did not.
    """
    table = readings.table.filter((pl.col("quantity") == quantity) & pl.col("value").is_not_null())
    names = table["instrument"].unique(maintain_order=True).to_list()
    if instrument:
        chosen = table.filter(pl.col("instrument").is_in([instrument, ""]))
        if chosen.is_empty():
            have = ", ".join(name or "(none named)" for name in names)
            raise BadRequest(Fault("option --instrument", instrument, have, "name one that read"))
        return chosen
    if len(names) > 1:
        have = ", ".join(name or "(none named)" for name in names)
        todo = "name one; each instrument is qualified by itself"
        raise BadRequest(Fault("option --instrument", f"{len(names)} instruments", have, todo))
    return table


def only_instrument(study: pl.DataFrame | None) -> str:
    """Give the instrument of a study; empty where there is no study, or it names none."""
    return "" if study is None or study.is_empty() else str(study["instrument"][0])


def bench_of(
    file: Path | None, taken: TakenIn | None, quantity: str, unit: str, requirement: Requirement | None
) -> Bench:
    """Give the bench with an instrument for the quantity: stated, seen in the readings, or usual.

    Raises
    ------
    BadRequest
        No instrument is stated, and there is no usual one for the quantity.
    """
    if taken is not None:
        return taken.bench
    bench = read_bench(file, units_with(requirement)) if file is not None else Bench()
    if any(tool.quantity == quantity for tool in bench.instruments.values()):
        return bench
    if quantity not in ("diameter", "mass", "circumference"):
        todo = "give a bench file with its resolution and repeatability (--bench)"
        raise BadRequest(Fault("qualify", f"no instrument for {quantity}", "one in the bench file", todo))
    usual = default_instrument(quantity, unit, {"diameter": 0.01, "mass": 0.01, "circumference": 1.0}[quantity])
    said = (
        f"No instrument is stated for {quantity}: a {usual.name} of {usual.resolution:g} {usual.unit} display steps is "
        "taken. Common practice, no source."
    )
    return replace(bench, instruments={usual.name: usual}, assumptions=(*bench.assumptions, said))


def tool_of(bench: Bench, quantity: str, name: str) -> Instrument:
    """Give the instrument that is qualified.

    Raises
    ------
    BadRequest
        Several fit, or none.
    """
    fitting = [tool for tool in bench.instruments.values() if tool.quantity == quantity]
    named = [tool for tool in fitting if name and tool.name.casefold() == name.casefold()]
    if len(named) == 1 or len(fitting) == 1:
        return (named or fitting)[0]
    have = ", ".join(tool.name for tool in fitting) or "none"
    raise BadRequest(Fault("option --instrument", name or "nothing", have, "name the one that is qualified"))


def checks_of_tool(file: Path | None, unit: str, tool: Instrument) -> tuple[tuple[CheckReading, ...], tuple[str, ...]]:
    """Read the log of checks, the rows of other instruments left out and said.

    Raises
    ------
    BadRequest
        The log has no check of this instrument.
    """
    if file is None:
        return (), ()
    log = read_check_log(file, unit, tool.name)
    left = len(log.of_others)
    notes = (*log.notes, f"{left} checks of other instruments are left out") if left else log.notes
    if not log.readings:
        others = ", ".join(sorted(set(log.of_others)))
        todo = "name the instrument as the log does"
        raise BadRequest(Fault(file.name, f"checks of {others or 'nothing'}", tool.name, todo))
    return log.readings, notes


def size_of(study: pl.DataFrame | None) -> tuple[float | None, float]:
    """Give the balls' typical size, and how far single readings are from it."""
    if study is None or study.is_empty():
        return None, 0.0
    values = study["value"].to_numpy()
    return float(values.mean()), float(0.5 * (values.max() - values.min()))


def first_sample(taken: TakenIn, tool: Instrument) -> Sample:
    """Give the first product's readings of the quantity: one reading's budget needs no more."""
    return next(own[tool.quantity] for _, own in samples_of(taken.readings) if tool.quantity in own)
