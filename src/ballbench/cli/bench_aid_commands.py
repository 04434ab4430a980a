"""The commands of the bench aids, declared: `vee`, `press`, `roll`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from ballbench.cli.shared_options import BenchFile, Json, Report, Seed, Unverified

__all__ = ["press", "roll", "vee"]


def vee(
    readings: Annotated[
        Path,
        typer.Argument(metavar="READINGS", help="Vee readings: CSV or XLSX, a row a ball and vee.", show_default=False),
    ],
    lobes: Annotated[
        int | None, typer.Option("--lobes", help="Crests counted over a turn, for all balls.", show_default=False)
    ] = None,
    spec: Annotated[
        str | None, typer.Option("--spec", help="Requirement with a limit of form: an id, or a TOML file.")
    ] = None,
    seed: Seed = 1,
    json: Json = None,
    report: Report = None,
) -> None:
    """Say between what the form of balls lies that were turned in a vee under an indicator, odd lobes too."""
    from ballbench.cli.bench_aids import run_vee  # noqa: PLC0415 - heavy libraries load only when used

    run_vee({"readings": readings, "lobes": lobes, "spec": spec, "seed": seed}, json, report)


def press(
    readings: Annotated[
        Path,
        typer.Argument(metavar="READINGS", help="Log of a press: CSV or XLSX, a row a reading.", show_default=False),
    ],
    spec: Annotated[
        str | None, typer.Option("--spec", help="Requirement with a limit of deformation: an id, or a TOML file.")
    ] = None,
    bench: BenchFile = None,
    accept_unverified: Unverified = False,
    json: Json = None,
    report: Report = None,
) -> None:
    """Say how far balls give way on one press, and which make gives way more; for this rig only."""
    from ballbench.cli.bench_aids import run_press  # noqa: PLC0415 - heavy libraries load only when used

    run_press(
        {"readings": readings, "spec": spec, "bench": bench, "accept_unverified": accept_unverified}, json, report
    )


def roll(
    log: Annotated[
        Path,
        typer.Argument(
            metavar="LOG", help="Log of a ramp, or of floats and spins: CSV or XLSX, a row a run.", show_default=False
        ),
    ],
    spec: Annotated[
        str | None, typer.Option("--spec", help="Requirement with a limit of veer: an id, or a TOML file.")
    ] = None,
    bench: BenchFile = None,
    accept_unverified: Unverified = False,
    json: Json = None,
    report: Report = None,
) -> None:
    """Say how far balls are off balance by how they veer on a ramp, or whether they float with the same spot up."""
    from ballbench.cli.bench_aids import run_roll  # noqa: PLC0415 - heavy libraries load only when used

    run_roll({"log": log, "spec": spec, "bench": bench, "accept_unverified": accept_unverified}, json, report)
