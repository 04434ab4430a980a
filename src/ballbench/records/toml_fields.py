"""Fields of a TOML file, read one by one with every fault noted: a wrong sort, a wrong number, an unknown key."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from ballbench.errors import BadInput, Fault
from ballbench.quantities.dotted_lines import MOST_DOTS, dotted_line
from ballbench.records.fault_list import FaultList, nearest, quoted
from ballbench.records.importers.file_intake import TOML, take_in

__all__ = ["Fields", "load_toml"]

_LARGEST = 1e12  # no number of a bench is as large in any unit (own choice); squares of it are still float64


def load_toml(path: Path, error: type[BadInput]) -> tuple[str, dict[str, object]]:
    """Read a TOML file.

    Parameters
    ----------
    path : Path
        The file.
    error : type of BadInput
        What to raise.

    Returns
    -------
    str, dict
        The file's name, and its content.

    Raises
    ------
    BadInput
        Of the class that was given: the file cannot be read, or is no TOML.
    """
    intake = take_in(Path(path), error, TOML)
    allowed = TOML.content
    if intake.kind == "workbook":
        raise error(Fault(intake.name, "a workbook", allowed, "check which file was meant"))
    dotted = dotted_line(intake.data.decode("utf-8", "replace"))
    if dotted is not None:
        found = f"a line with more than {MOST_DOTS} dots"
        raise error(Fault(f"{intake.name}, line {dotted}", found, allowed, "break the line"))
    try:
        return intake.name, tomllib.loads(intake.data.decode("utf-8"))
    except (ValueError, RecursionError) as failure:
        reason = re.sub(r"\s*\(at (?:line \d+, column \d+|end of document)\)$", "", str(failure)[:200])
        line = re.search(r"at line (\d+), column", str(failure))
        where = f"{intake.name}, line {line.group(1)}" if line else f"{intake.name}, at its end"
        raise error(
            Fault(where, f"no TOML ({reason})", allowed, "put texts in quotes and close every bracket")
        ) from failure


@dataclass(frozen=True, slots=True)
class Fields:
    """One table of a TOML file.

    Parameters
    ----------
    file, name : str
        The file, and the table such as ``"[instrument.caliper]"``.
    values : mapping
        Its keys.
    faults : FaultList
        Takes in what is wrong.
    """

    file: str
    name: str
    values: Mapping[str, object]
    faults: FaultList

    def fault(self, key: str, found: str, allowed: str, todo: str) -> None:
        """Note a fault at a key; an empty key: the table as a whole."""
        where = f"{self.file}, {self.name} {key}".strip().rstrip(",")
        self.faults.add(Fault(where, found, allowed, todo))

    def known(self, keys: Sequence[str]) -> None:
        """Note every key that is not among these, with the nearest."""
        for key in self.values:
            if key not in keys:
                meant = nearest(key, keys, 0.6)
                todo = f'write "{meant}"' if meant else "remove it"
                self.fault(key, "an unknown key", ", ".join(keys), todo)

    def table(self, key: str) -> Fields | None:
        """Give a table inside this one; None where there is none or it is no table."""
        value = self.values.get(key)
        if value is None:
            return None
        inner = f"{self.name} {key}".strip() if self.name else f"[{key}]"
        if not isinstance(value, dict):
            self.fault(key, quoted(value), "a table", "write { name = value, ... }, or a [table]")
            return None
        return Fields(self.file, inner, value, self.faults)

    def tables(self, key: str) -> dict[str, Fields]:
        """Give the named tables under a key: ``[instrument.caliper]`` under ``instrument``."""
        outer = self.table(key)
        found = {}
        for name, value in outer.values.items() if outer else ():
            where = Fields(self.file, f"[{key}.{name}]", value if isinstance(value, dict) else {}, self.faults)
            if isinstance(value, dict) and name.strip():
                found[name.strip()] = where
            else:
                where.fault("", quoted(value), f"a table with a name, [{key}.NAME]", "give it a name and its lines")
        return found

    def text(self, key: str, choices: Sequence[str] = ()) -> str | None:
        """Give a text, one of the choices if there are any; None where there is none or it is wrong."""
        value = self.values.get(key)
        if value is None:
            return None
        allowed = " or ".join(quoted(choice) for choice in choices) or "a text in quotes"
        if not isinstance(value, str) or not value.strip() or (choices and value.strip() not in choices):
            meant = nearest(str(value), choices, 0.5) if choices else None
            self.fault(key, quoted(value), allowed, f'write "{meant}"' if meant else "correct it")
            return None
        return value.strip()

    def number(self, key: str, *, least: float | None = None, above: float | None = None) -> float | None:
        """Give a number below 1e12, at least `least`, larger than `above`; None where there is none or it is wrong."""
        value = self.values.get(key)
        if value is None:
            return None
        limits = [
            f"at least {least:g}" if least is not None else "",
            f"larger than {above:g}" if above is not None else "",
        ]
        allowed = " ".join(["a number", *filter(None, limits)])
        if isinstance(value, bool) or not isinstance(value, int | float) or not abs(value) < _LARGEST:
            self.fault(key, quoted(value), allowed, "write the number without quotes and without a unit")
            return None
        if (least is not None and value < least) or (above is not None and value <= above):
            self.fault(key, f"{value:g}", allowed, "correct the number")
            return None
        return float(value)

    def flag(self, key: str) -> bool | None:
        """Give true or false; None where there is none or it is wrong."""
        value = self.values.get(key)
        if value is None or isinstance(value, bool):
            return value
        self.fault(key, quoted(value), "true or false", "write it in lower case, without quotes")
        return None

    def missing(self, keys: Sequence[str]) -> list[str]:
        """Note every key of these that is absent, and give them."""
        absent = [key for key in keys if key not in self.values]
        for key in absent:
            self.fault(key, "nothing", f"{key} is needed", f"write {key} = ...")
        return absent
