"""`vee`, `press` and `roll`: run the workflow, then show, write JSON, the report."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from ballbench.cli.output import each_of, tell, write_report
from ballbench.cli.places import check_places

__all__ = ["run_press", "run_roll", "run_vee"]


def run_vee(options: dict[str, Any], json: str | None, report: Path | None) -> None:
    """Find form from a vee, and present as asked."""
    from ballbench.presentation.vee_json import vee_to_json  # noqa: PLC0415 - each command loads its own
    from ballbench.presentation.vee_terminal import print_vee  # noqa: PLC0415 - as above
    from ballbench.workflows.vee import VeeRequest, vee  # noqa: PLC0415 - as above

    check_places(options, json, report, "vee")
    found = vee(VeeRequest(**options))

    def reported() -> None:
        if report is not None:
            from ballbench.presentation.vee_report import vee_document  # noqa: PLC0415 - drawing loads only here

            write_report(vee_document(found), report, "vee", quiet=json == "-")

    each_of(lambda: tell(found, json, vee_to_json, print_vee), reported)


def run_press(options: dict[str, Any], json: str | None, report: Path | None) -> None:
    """Read the log of a press, and present as asked."""
    from ballbench.presentation.press_json import press_to_json  # noqa: PLC0415 - each command loads its own
    from ballbench.presentation.press_terminal import print_press  # noqa: PLC0415 - as above
    from ballbench.workflows.press import PressRequest, press  # noqa: PLC0415 - as above

    check_places(options, json, report, "press")
    found = press(PressRequest(**options))

    def reported() -> None:
        if report is not None:
            from ballbench.presentation.press_report import press_document  # noqa: PLC0415 - drawing loads only here

            write_report(press_document(found), report, "press", quiet=json == "-")

    each_of(lambda: tell(found, json, press_to_json, print_press), reported)


def run_roll(options: dict[str, Any], json: str | None, report: Path | None) -> None:
    """Read the log of a ramp, or of floats and spins, and present as asked."""
    from ballbench.presentation.rolls_json import rolls_to_json  # noqa: PLC0415 - each command loads its own
    from ballbench.presentation.rolls_terminal import print_rolls  # noqa: PLC0415 - as above
    from ballbench.workflows.roll import RollRequest, roll  # noqa: PLC0415 - as above

    check_places(options, json, report, "roll")
    found = roll(RollRequest(**options))

    def reported() -> None:
        if report is not None:
            from ballbench.presentation.rolls_report import rolls_document  # noqa: PLC0415 - drawing loads only here

            write_report(rolls_document(found), report, "roll", quiet=json == "-")

    each_of(lambda: tell(found, json, rolls_to_json, print_rolls), reported)
