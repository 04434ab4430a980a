"""The command line that rebuilds a result about flights."""

from __future__ import annotations

import shlex
from collections.abc import Sequence
from pathlib import Path

from ballbench.workflows.flight_words import FlightWords

__all__ = ["flight_command"]


def flight_command(
    begins: str,
    said: FlightWords,
    own: Sequence[tuple[str, str]],
    files: Sequence[tuple[str, Path | None]],
    seed: int,
) -> str:
    """Give the options that rebuild a result; what was not said is left out.

    Parameters
    ----------
    begins : str
        ``"ballbench listen FILES"``.
    said : FlightWords
        What was said of ball, drop and place.
    own : sequence of (str, str)
        The command's own options with their texts.
    files : sequence of (str, Path or None)
        Its options that name a file; the file stands in capitals, for it lies elsewhere on another machine.
    seed : int
        Always said.
    """
    parts = [begins, f"--ball {_quoted(said.ball)}"]
    for option, text in (
        ("drop-height", said.drop_height), ("contact-time", said.contact_time), ("drag", said.drag),
        ("temperature", said.temperature), ("pressure", said.pressure), ("humidity", said.humidity),
        ("surface", said.surface), *own, ("latitude", said.latitude), ("altitude", said.altitude),
    ):  # fmt: skip
        parts += [f"--{option} {_quoted(text)}"] if text.strip() else []
    parts += ["--true-mass"] if said.true_mass else []
    parts += [f"--{option} {option.upper()}" for option, path in files if path is not None]
    return " ".join([*parts, f"--seed {seed}"])


def _quoted(text: str) -> str:
    """Quote a text for a shell; one that a shell would read something into stands in single quotes."""
    return shlex.quote(text) if set(text) & set('"$`\\!') else f'"{text}"'
