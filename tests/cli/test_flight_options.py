"""What is said of ball, drop and place: the same options for `listen` and `watch`, and a command that says it again."""

from __future__ import annotations

import subprocess
from dataclasses import fields, replace
from pathlib import Path
from typing import Any

import pytest
import typer

from ballbench.cli.main import app
from ballbench.workflows.flight_command import flight_command
from ballbench.workflows.flight_words import FlightWords

SAID = FlightWords(
    "40.0 ± 0.1 mm, 2.70 g", "305 ± 1 mm", "steel block", "1.0 ± 0.3 ms", "0.50 ± 0.05", "21 degC", "1008 hPa", "50 %",
    "-33.5", "120 m", true_mass=True,
)  # fmt: skip
EMPTY = FlightWords("40 mm, 2.7 g")


def command(name: str) -> Any:
    return typer.main.get_command(app).commands[name]  # type: ignore[attr-defined]


def test_listen_and_watch_have_the_same_words_for_the_same_options() -> None:
    """Every field of what is said is an option of both, with one help; the drop height means more to `watch`."""
    heard, seen = ({one.name: one.help for one in command(name).params} for name in ("listen", "watch"))
    names = {field.name for field in fields(FlightWords)}
    assert names <= heard.keys() & seen.keys()
    assert {name for name in names if heard[name] != seen[name]} == {"drop_height"}


@pytest.mark.parametrize("name", ["listen", "watch"])
@pytest.mark.parametrize(
    "said",
    [
        SAID,
        EMPTY,
        replace(SAID, latitude="0", altitude="-12.5", true_mass=False),
        replace(SAID, surface='a "slab" of $(x) `y`, it\'s \\ !wet'),
    ],
)
def test_the_command_of_a_result_says_the_same_again(name: str, said: FlightWords) -> None:
    """Given to a shell, the printed line has the parser of the command read what had been said, files apart."""
    own = (("names", "{product}-{ball}"), ("spec", ""))
    line = flight_command(f"ballbench {name} FILES", said, own, (("bench", Path("b.toml")),), 7)
    shell = subprocess.run(
        ["sh", "-c", f"set -- {line}; printf '%s\\0' \"$@\""], capture_output=True, text=True, check=True
    )
    program, called, *words = shell.stdout.split("\0")[:-1]
    assert (program, called) == ("ballbench", name)
    read = command(name).make_context(name, words).params
    assert {field.name: read[field.name] for field in fields(FlightWords)} == {
        field.name: getattr(said, field.name) for field in fields(FlightWords)
    }
    assert (read["names"], read["spec"], read["seed"], str(read["bench"])) == ("{product}-{ball}", None, 7, "BENCH")
