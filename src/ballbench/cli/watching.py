"""`watch`: run the workflow, then show, write JSON, readings, the report; say by the status whether any was used."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import typer

from ballbench.cli.line_faults import refuse_stray_words
from ballbench.cli.output import each_of, tell, write_report, write_text
from ballbench.cli.places import check_places

__all__ = ["run_watch"]


def run_watch(options: dict[str, Any], json: str | None, report: Path | None, readings: Path | None) -> None:
    """Watch clips, and present as asked; status 2 where none of them could be used."""
    from ballbench.presentation.drops_json import drops_to_json  # noqa: PLC0415 - each command loads its own
    from ballbench.presentation.drops_terminal import print_drops  # noqa: PLC0415 - as above
    from ballbench.workflows.watch import WatchRequest, watch  # noqa: PLC0415 - as above

    refuse_stray_words("watch", options["files"])
    check_places(options, json, report, "watch", readings=readings)
    found = watch(WatchRequest(**options))

    def kept() -> None:
        if readings is not None:
            from ballbench.workflows.watch_readings import drop_readings  # noqa: PLC0415 - as above

            write_text(str(readings), drop_readings(found), "--readings")

    def reported() -> None:
        if report is not None:
            from ballbench.presentation.drops_report import drops_document  # noqa: PLC0415 - drawing loads only here

            write_report(drops_document(found), report, "watch", quiet=json == "-")

    each_of(lambda: tell(found, json, drops_to_json, print_drops), kept, reported)
    if all(one.refused for one in found.clips):
        raise typer.Exit(2)
