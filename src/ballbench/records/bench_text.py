"""Write a bench file as `ballbench.records.read_bench` reads it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from ballbench.records.bench import Instrument, Squeeze

__all__ = [
    "WrittenInstrument",
    "as_written",
    "instruments_toml",
    "sittings_toml",
    "squeezes_toml",
    "surroundings_toml",
    "toml_text",
]

REFERENCE_SD = 2.0
"""Standard uncertainty, K, of balls whose temperature nobody noted (own choice)."""

FELT_SD = 0.5
"""Standard uncertainty, K, of a temperature noted at the bench (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class WrittenInstrument:
    """An instrument as a bench file has it, numbers in `unit`; None: the file says nothing, and usual values hold."""

    name: str
    quantity: str
    unit: str
    resolution: float
    sd: float | None = None
    dof: float | None = None
    offset: float = 0.0
    offset_sd: float | None = None
    scale_sd: float = 0.0
    zeroed: str = "each reading"
    display: str = "rounds"


def as_written(tool: Instrument, *, repeatability: bool = True, calibration: bool = True) -> WrittenInstrument:
    """Give an instrument as a bench file has it, in the base unit of its quantity.

    Parameters
    ----------
    tool : Instrument
        Complete.
    repeatability, calibration : bool
        Whether they are known; what is only taken for granted is not written, or it would read as stated.
    """
    return WrittenInstrument(
        tool.name, tool.quantity, tool.unit, tool.resolution, tool.sd if repeatability else None,
        tool.dof if repeatability else None, tool.offset, tool.offset_sd if calibration else None, tool.scale_sd,
        tool.zeroed, tool.display,
    )  # fmt: skip


def squeezes_toml(squeezes: Mapping[str, Squeeze]) -> str:
    """Write how much smaller the jaws make the balls of each make, mm."""
    return "\n".join(
        f'[squeeze.{toml_text(product)}]\nvalue = {one.value!r}\nsd = {one.sd!r}\nunit = "mm"\n'
        for product, one in squeezes.items()
    )


def toml_text(text: str) -> str:
    """Write a text as a TOML basic string (TOML 1.0.0, "String")."""
    out = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(c if c >= " " and c != "\x7f" else f"\\u{ord(c):04x}" for c in out) + '"'


def instruments_toml(instruments: Iterable[WrittenInstrument]) -> str:
    """Write the instruments of a bench file."""
    return "\n".join(_instrument(one) for one in instruments)


def _instrument(one: WrittenInstrument) -> str:
    lines = [
        f"[instrument.{toml_text(one.name)}]",
        f"quantity = {toml_text(one.quantity)}",
        f"unit = {toml_text(one.unit)}",
        f"resolution = {one.resolution!r}",
    ]
    if one.sd is not None:
        dof = "" if one.dof is None else f", dof = {one.dof!r}"
        lines.append(f"repeatability = {{ sd = {one.sd!r}{dof}, includes_rounding = true }}")
    parts = [f"offset = {one.offset!r}"] if one.offset or one.offset_sd is not None else []
    parts += [f"offset_sd = {one.offset_sd!r}"] if one.offset_sd is not None else []
    parts += [f"scale_sd = {one.scale_sd!r}"] if one.scale_sd else []
    if parts:
        lines.append(f"calibration = {{ {', '.join(parts)} }}")
    lines += [f"zeroed = {toml_text(one.zeroed)}", f"display = {toml_text(one.display)}"]
    return "\n".join(lines) + "\n"


def surroundings_toml(
    conditions: Mapping[str, str], reference: float | None, expansion: tuple[float, float] | None
) -> str:
    """Write conditions, the temperature at which a requirement holds, and the balls' material.

    Parameters
    ----------
    conditions : mapping of str to str
        Such as ``{"drop_height": "305 mm"}``.
    reference : float or None
        degC; the balls are taken to be at it, with `REFERENCE_SD`, where no sitting says otherwise.
    expansion : tuple of float or None
        Linear expansion, 1/K, and its relative standard uncertainty; needed where a reference is given.
    """
    lines = [f"{toml_text(name)} = {toml_text(value)}" for name, value in conditions.items()]
    if reference is not None and expansion is not None:
        lines.insert(0, "temperature = " + _temperature(reference, REFERENCE_SD, reference))
    out = "[conditions]\n" + "\n".join(lines) + "\n" if lines else ""
    if reference is not None and expansion is not None:
        out += f"\n[material]\nexpansion = {{ value = {expansion[0]!r}, relative_sd = {expansion[1]!r} }}\n"
    return out


def sittings_toml(temperatures: Mapping[str, float], reference: float) -> str:
    """Write the balls' temperatures of single sittings, degC."""
    return "\n".join(
        f"[sitting.{toml_text(label)}]\ntemperature = {_temperature(value, FELT_SD, reference)}\n"
        for label, value in temperatures.items()
    )


def _temperature(value: float, sd: float, reference: float) -> str:
    return f'{{ value = {value!r}, sd = {sd!r}, reference = {reference!r}, unit = "degC" }}'
