"""The commands of readings, declared: `judge`, `compare`, `qualify`, `plan`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from ballbench.cli.options import counts_of, look_of, range_of
from ballbench.cli.shared_options import BenchFile, Corrections, Json, Readings, Report, Risk, Rule, Seed, Unverified

__all__ = ["compare", "judge", "plan", "qualify"]


def judge(
    readings: Readings,
    spec: Annotated[str, typer.Option("--spec", help="Requirement: an id from `ballbench specs`, or a TOML file.")],
    bench: BenchFile = None,
    corrections: Corrections = None,
    balls: Annotated[
        Path | None, typer.Option("--balls", help="Facts of single balls (CSV): conditioning, pressure.")
    ] = None,
    risk: Risk = 0.05,
    rule: Rule = "guarded",
    look: Annotated[str, typer.Option(help="Which look at these balls, of how many planned, such as 2/3.")] = "1/1",
    seed: Seed = 1,
    draws: Annotated[
        int | None, typer.Option(help="Draws; as many as needed when left out.", show_default=False)
    ] = None,
    accept_unverified: Unverified = False,
    settle: Annotated[
        bool | None,
        typer.Option(
            "--settle/--no-settle", help="Simulate what would settle undecided clauses; by itself up to 12 products."
        ),
    ] = None,
    json: Json = None,
    report: Report = None,
) -> None:
    """Judge readings against a requirement, clause by clause."""
    from ballbench.cli.judging import run_judge  # noqa: PLC0415 - heavy libraries load only when used

    this, planned = look_of(look)
    run_judge(
        {
            "readings": readings, "spec": spec, "bench": bench, "corrections": corrections, "balls": balls,
            "rule": rule, "risk": risk, "look": this, "planned_looks": planned, "seed": seed, "draws": draws,
            "accept_unverified": accept_unverified, "settle": settle,
        },
        json,
        report,
    )  # fmt: skip


def compare(
    readings: Readings,
    quantity: Annotated[str, typer.Option("--quantity", help="What to compare, such as diameter or mass.")],
    bench: BenchFile = None,
    corrections: Corrections = None,
    spec: Annotated[str | None, typer.Option("--spec", help="Requirement that declares further quantities.")] = None,
    seed: Seed = 1,
    draws: Annotated[int, typer.Option(help="Draws of each product.")] = 20_000,
    json: Json = None,
    report: Report = None,
) -> None:
    """Compare the products of a file for one quantity: differences, ties, what they mean for the ball."""
    from ballbench.cli.judging import run_compare  # noqa: PLC0415 - heavy libraries load only when used

    run_compare(
        {
            "readings": readings,
            "quantity": quantity,
            "bench": bench,
            "corrections": corrections,
            "spec": spec,
            "seed": seed,
            "draws": draws,
        },
        json,
        report,
    )


def qualify(
    readings: Annotated[
        Path | None,
        typer.Argument(
            metavar="READINGS", help="Repeat study: CSV or XLSX with operator and repeat.", show_default=False
        ),
    ] = None,
    quantity: Annotated[str, typer.Option("--quantity", help="What is read; else the only one, or diameter.")] = "",
    instrument: Annotated[str, typer.Option("--instrument", help="Which, where the file has several.")] = "",
    bench: BenchFile = None,
    checks: Annotated[
        Path | None, typer.Option("--checks", help="Readings of reference pieces (CSV): piece, value, known, u, time.")
    ] = None,
    u_common: Annotated[
        float,
        typer.Option("--u-common", help="Standard uncertainty that all pieces share, such as of one certificate."),
    ] = 0.0,
    forces: Annotated[
        Path | None, typer.Option("--forces", help="Readings at two forces or more (CSV): product, ball, force, value.")
    ] = None,
    ball: Annotated[str, typer.Option("--ball", help="What gives way under force: shell or solid.")] = "shell",
    at_force: Annotated[
        float | None, typer.Option("--at-force", help="Force of ordinary readings, N.", show_default=False)
    ] = None,
    slide: Annotated[
        float | None,
        typer.Option("--slide", help="Mass of slide and jaw, g, that hangs with each weight.", show_default=False),
    ] = None,
    friction: Annotated[
        float | None,
        typer.Option("--friction", help="Pull that the slide just resists, N; else 0.3.", show_default=False),
    ] = None,
    modulus: Annotated[
        str,
        typer.Option(
            "--modulus", help="Young's modulus of the balls, GPa, as a range: holds the squeeze against a model."
        ),
    ] = "",
    poisson: Annotated[str, typer.Option("--poisson", help="Their Poisson's ratio, as a range.")] = "0.30-0.45",
    wall: Annotated[str, typer.Option("--wall", help="Wall of a shell, mm, as a range.")] = "",
    corrections: Corrections = None,
    spec: Annotated[
        str | None, typer.Option("--spec", help="Requirement that the instrument is to serve: an id, or a TOML file.")
    ] = None,
    one_person: Annotated[
        bool, typer.Option("--one-person", help="One of them reads everything, and read the checks.")
    ] = False,
    seed: Seed = 1,
    write_bench: Annotated[
        Path | None, typer.Option("--write-bench", help="Write the instrument's entry as a bench file.")
    ] = None,
    json: Json = None,
    report: Report = None,
) -> None:
    """Say what an instrument can tell in your hands: noise, people, its own error, drift, squeeze."""
    from ballbench.cli.qualifying import run_qualify  # noqa: PLC0415 - heavy libraries load only when used

    run_qualify(
        {
            "readings": readings, "quantity": quantity, "instrument": instrument, "bench": bench, "checks": checks,
            "u_common": u_common, "forces": forces, "ball": ball, "at_force": at_force,
            "slide": slide, "friction": friction,
            "modulus": range_of("--modulus", modulus) if modulus else None, "poisson": range_of("--poisson", poisson),
            "wall": range_of("--wall", wall) if wall else None, "corrections": corrections,
            "spec": spec, "one_person": one_person, "seed": seed,
        },
        json,
        report,
        write_bench,
    )  # fmt: skip


def plan(
    spec: Annotated[str, typer.Option("--spec", help="Requirement: an id from `ballbench specs`, or a TOML file.")],
    true_sd: Annotated[str, typer.Option("--true-sd", help="SD between balls that the make may have.")],
    true_mean: Annotated[
        str, typer.Option("--true-mean", help="Mean that the make may have; else the middle between the limits.")
    ] = "",
    true_form_sd: Annotated[
        str, typer.Option("--true-form-sd", help="SD between the places of a ball that the make may have.")
    ] = "0",
    form_spread: Annotated[
        float, typer.Option("--form-spread", help="How unlike in form the balls are: SD of the log of their form SD.")
    ] = 0.0,
    quantity: Annotated[str, typer.Option("--quantity", help="What is read; else diameter, or the first.")] = "",
    bench: BenchFile = None,
    instrument: Annotated[str, typer.Option("--instrument", help="Which, where the bench has several.")] = "",
    balls: Annotated[str, typer.Option("--balls", help="Numbers of balls, such as 6,12,24.")] = "6,12,24",
    axes: Annotated[str, typer.Option("--axes", help="Places read on each ball, such as 3 or 3,4.")] = "3",
    repeats: Annotated[str, typer.Option("--repeats", help="Readings of each place, such as 1,2.")] = "1",
    wanted: Annotated[float, typer.Option("--wanted", help="Chance of a right answer that is enough.")] = 0.9,
    difference: Annotated[
        str, typer.Option("--difference", help="Also plan a comparison: a difference of means to tell.")
    ] = "",
    changes: Annotated[
        bool, typer.Option("--changes", help="Also say what a better instrument, a repeat, more balls would buy.")
    ] = False,
    surface: Annotated[
        bool, typer.Option("--surface", help="Also give the chances over true mean and spread.")
    ] = False,
    box: Annotated[
        str, typer.Option("--box", help="Balls in a box or consignment, 0 for very many: how many to look at.")
    ] = "",
    bad_share: Annotated[float, typer.Option("--bad-share", help="Share of bad balls that is to be noticed.")] = 0.1,
    risk: Risk = 0.05,
    rule: Rule = "guarded",
    tests: Annotated[int, typer.Option(help="Simulated tests at each setting.")] = 400,
    seed: Seed = 1,
    processes: Annotated[
        int | None, typer.Option(help="Processes of this machine; all when left out.", show_default=False)
    ] = None,
    workers: Annotated[
        str, typer.Option(help="Address of a Dask scheduler that shares the work out.", show_default=False)
    ] = "",
    accept_unverified: Unverified = False,
    json: Json = None,
    report: Report = None,
) -> None:
    """Say how many balls and readings a question takes, by judging simulated tests."""
    from ballbench.cli.planning import run_plan  # noqa: PLC0415 - heavy libraries load only when used

    run_plan(
        {
            "spec": spec, "true_mean": true_mean, "true_sd": true_sd, "true_form_sd": true_form_sd,
            "form_spread": form_spread, "quantity": quantity, "bench": bench, "instrument": instrument,
            "balls": counts_of("--balls", balls), "axes": counts_of("--axes", axes),
            "repeats": counts_of("--repeats", repeats), "wanted": wanted, "difference": difference, "gains": changes,
            "surface": surface, "boxes": counts_of("--box", box) if box else (), "bad_share": bad_share, "risk": risk,
            "rule": rule, "tests": tests, "seed": seed, "processes": processes, "workers": workers,
            "accept_unverified": accept_unverified,
        },
        json,
        report,
    )  # fmt: skip
