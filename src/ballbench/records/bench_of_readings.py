"""The bench behind a readings file: its own where there is one, assumed and said so where there is none."""

from __future__ import annotations

from dataclasses import replace

from ballbench.errors import BadBench, Fault
from ballbench.records.bench import Bench, Instrument
from ballbench.records.default_instruments import default_instrument
from ballbench.records.display import base_unit, display_steps
from ballbench.records.fault_list import nearest
from ballbench.records.readings import Readings

__all__ = ["bench_for", "instrument_of"]

_LENGTHS = ("diameter", "circumference")


def instrument_of(bench: Bench, quantity: str, name: str) -> Instrument:
    """Give the instrument behind a reading.

    Parameters
    ----------
    bench : Bench
        With an instrument for everything that was read, as `bench_for` gives it.
    quantity : str
        What was read.
    name : str
        The instrument as the readings name it; empty where they name none.

    Returns
    -------
    Instrument
        The one of that name, in any capitals; for readings without a name, the only one for the quantity.

    Raises
    ------
    BadBench
        There is none, or a reading without a name could be of several.
    """
    for_quantity = {key: tool for key, tool in bench.instruments.items() if tool.quantity == quantity}
    unnamed = for_quantity.get(_unnamed(quantity))
    if not name and unnamed is not None:
        return unnamed
    fitting = _fitting(bench, quantity, name)
    if len(fitting) == 1:
        return fitting[0]
    where = f"instrument {name}" if name else f"instrument of {quantity}"
    found = ", ".join(tool.name for tool in for_quantity.values()) or "none in the bench file"
    allowed = f"one instrument for {quantity}"
    raise BadBench(Fault(where, found, allowed, "name the instrument in the readings file as in the bench file"))


def bench_for(readings: Readings, bench: Bench | None) -> Bench:
    """Fill in what a bench does not say of the readings' instruments, and say what was assumed.

    Parameters
    ----------
    readings : Readings
        Their instruments, and the display step that the values show.
    bench : Bench or None
        None: no bench file.

    Returns
    -------
    Bench
        With an instrument for every quantity and instrument name of the readings; each assumption is a sentence.

    Raises
    ------
    BadBench
        Readings name no instrument, and the bench has several for their quantity.
    """
    given = bench or Bench()
    instruments = dict(given.instruments)
    assumptions = list(given.assumptions)
    faults = []
    for (quantity, name), step in sorted(display_steps(readings).items()):
        fitting = _fitting(given, quantity, name)
        if len(fitting) > 1:
            found = f"readings of {quantity} that name no instrument"
            allowed = f"one of {', '.join(tool.name for tool in fitting)}"
            faults.append(Fault("column instrument", found, allowed, "fill in the column instrument"))
        elif fitting:
            assumptions += _said_of_given(fitting[0], name, step)
        else:
            tool = default_instrument(quantity, base_unit(readings, quantity), step)
            tool = replace(tool, name=name) if name else tool
            key = name if name and name not in instruments else f"{name}, {quantity}" if name else _unnamed(quantity)
            instruments[key] = tool
            assumptions.append(_assumed(given if bench else None, tool, name))
    if faults:
        raise BadBench(faults)
    assumptions += _unsaid(readings, given)
    return replace(given, instruments=instruments, assumptions=tuple(dict.fromkeys(assumptions)))


def _unnamed(quantity: str) -> str:
    """Give the key of the assumed instrument of readings that name none."""
    return f"{quantity}, no instrument named"


def _fitting(bench: Bench, quantity: str, name: str) -> list[Instrument]:
    """Give the instruments of a bench that may be behind a reading."""
    tools = [tool for tool in bench.instruments.values() if tool.quantity == quantity]
    if not name:
        return tools
    exact = [tool for tool in tools if tool.name == name]
    return exact or [tool for tool in tools if tool.name.casefold() == name.casefold()]


def _assumed(bench: Bench | None, tool: Instrument, name: str) -> str:
    """Say what an instrument is taken to be."""
    sort = default_instrument(tool.quantity, tool.unit, tool.resolution).name
    unit = "" if tool.unit == "1" else f" {tool.unit}"
    known = [other.name for other in bench.instruments.values() if other.quantity == tool.quantity] if bench else []
    meant = nearest(name, known, 0.6) if name else None
    why = "No bench file" if bench is None else f"The bench file has no instrument for {tool.quantity}"
    if bench is not None and name:
        why = f"The bench file has no instrument {name} for {tool.quantity}" + (f" ({meant} is near)" if meant else "")
    subject = f"the {sort}" if not name or name == sort else f"{name}, taken as a {sort},"
    if sort == "instrument" and not name:
        subject = f"the instrument for {tool.quantity}"
    return (
        f"{why}: {subject} is taken as having {_figures(tool.resolution)}{unit} steps, repeatability "
        f"{_figures(tool.sd)}{unit} ({tool.dof:g} degrees of freedom), shared offset uncertainty "
        f"{_figures(tool.offset_sd)}{unit}; common practice, no source."
    )


def _figures(value: float) -> str:
    """Print a number with two figures, plainly."""
    text = f"{value:.2g}"
    return f"{float(text):g}" if "e" in text else text


def _said_of_given(tool: Instrument, name: str, step: float) -> list[str]:
    """Say where readings show another display step than the bench file, or leave the instrument's name out."""
    said = []
    if not name:
        said.append(f"Readings of {tool.quantity} name no instrument: they are taken as read with {tool.name}.")
    if step < 0.999 * tool.resolution:
        said.append(
            f"Readings with {tool.name} are written to {step:.3g} {tool.unit}, finer than its display step of "
            f"{tool.resolution:.3g} {tool.unit} in the bench file."
        )
    return said


def _unsaid(readings: Readings, bench: Bench) -> list[str]:
    """Say what the bench does not tell of conditions, and what it tells that fits no reading."""
    table = readings.table
    quantities = set(table.get_column("quantity").unique())
    said = []
    if quantities & set(_LENGTHS):
        if bench.temperature is None and not bench.sitting_temperatures:
            said.append(
                "No temperature is given: lengths are taken as read, without a correction or an uncertainty for it."
            )
        if "diameter" in quantities and not bench.squeeze:
            said.append("No squeeze is given: the jaws are taken to press no ball in.")
    for word, names, column in (
        ("squeeze", bench.squeeze, "product"),
        ("temperature", bench.sitting_temperatures, "sitting"),
    ):
        there = table.get_column(column).unique().to_list()
        for name in names:
            if name not in there:
                meant = nearest(name, [other for other in there if other], 0.6)
                near = f"; did it mean {meant}" if meant else ""
                said.append(f"The bench file gives a {word} for {column} {name}, which has no reading{near}.")
    return said
