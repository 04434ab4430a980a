"""`listen`: run the workflow, then show, write JSON, readings, the report; say by the status whether any was used."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import typer

from ballbench.cli.line_faults import refuse_stray_words
from ballbench.cli.output import each_of, tell, write_report, write_text
from ballbench.cli.places import check_places

__all__ = ["run_listen"]


def run_listen(
    options: dict[str, Any],
    json: str | None,
    report: Path | None,
    readings: Path | None,
    write_bench: Path | None,
    write_picks: Path | None,
) -> None:
    """Listen to recordings, and present as asked; status 2 where none of them could be used."""
    from ballbench.presentation.bounces_json import bounces_to_json  # noqa: PLC0415 - each command loads its own
    from ballbench.presentation.bounces_terminal import print_bounces  # noqa: PLC0415 - as above
    from ballbench.workflows.listen import ListenRequest, listen  # noqa: PLC0415 - as above

    refuse_stray_words("listen", options["files"])
    check_places(options, json, report, "listen", readings=readings, write_bench=write_bench, write_picks=write_picks)
    found = listen(ListenRequest(**options))

    def kept() -> None:
        if readings is not None and found.balls:
            from ballbench.workflows.listen_readings import bounce_readings  # noqa: PLC0415 - as above

            write_text(str(readings), bounce_readings(found, fine=write_bench is not None), "--readings")

    def entered() -> None:
        if write_bench is not None and found.balls:
            from ballbench.workflows.listen_readings import bounce_bench  # noqa: PLC0415 - as above

            write_text(str(write_bench), bounce_bench(found, options["flight"].surface), "--write-bench")

    def picked() -> None:
        if write_picks is not None and any(one.drops for one in found.recordings):
            from ballbench.workflows.listen_readings import bounce_picks  # noqa: PLC0415 - as above

            write_text(str(write_picks), bounce_picks(found), "--write-picks")

    def reported() -> None:
        if report is not None:
            from ballbench.presentation.bounces_report import bounces_document  # noqa: PLC0415 - drawing loads only here

            write_report(bounces_document(found), report, "listen", quiet=json == "-")

    each_of(lambda: tell(found, json, bounces_to_json, print_bounces), kept, entered, picked, reported)
    if all(one.refused for one in found.recordings):
        raise typer.Exit(2)
