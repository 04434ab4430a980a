"""`ballbench`: the commands. Each reads options, calls one workflow and presents what comes back.

Exit status: 0 done, whatever the decision; 2 the input cannot be used (message on stderr); 1 a fault of our own.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from ballbench.cli.failures import guarded
from ballbench.cli.options import look_of

__all__ = ["app", "run"]

app = typer.Typer(
    name="ballbench",
    help="Measure samples of sports balls and say, clause by clause, what the readings can and cannot show.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)

Readings = Annotated[
    Path,
    typer.Argument(
        metavar="READINGS", help="Readings: CSV or XLSX, a row a reading or a row a ball.", show_default=False
    ),
]
BenchFile = Annotated[Path | None, typer.Option("--bench", help="Bench file (TOML): instruments and conditions.")]
Corrections = Annotated[
    Path | None, typer.Option("--corrections", help="Corrections and exclusions (CSV), each with a reason.")
]
Seed = Annotated[int, typer.Option(help="Seed of everything random: the same seed gives the same bytes.")]
Json = Annotated[str | None, typer.Option("--json", help="Write JSON to a file, or alone to the screen with -.")]
Report = Annotated[Path | None, typer.Option("--report", help="Folder for the report, as a page and as PDF.")]


@app.command()
def judge(
    readings: Readings,
    spec: Annotated[str, typer.Option("--spec", help="Requirement: an id from `ballbench specs`, or a TOML file.")],
    bench: BenchFile = None,
    corrections: Corrections = None,
    balls: Annotated[
        Path | None, typer.Option("--balls", help="Facts of single balls (CSV): conditioning, pressure.")
    ] = None,
    risk: Annotated[float, typer.Option(help="Risk of a false 'met', said beforehand.")] = 0.05,
    rule: Annotated[
        str, typer.Option(help="guarded (with uncertainty) or simple (raw value against the limit).")
    ] = "guarded",
    look: Annotated[str, typer.Option(help="Which look at these balls, of how many planned, such as 2/3.")] = "1/1",
    seed: Seed = 1,
    draws: Annotated[
        int | None, typer.Option(help="Draws; as many as needed when left out.", show_default=False)
    ] = None,
    accept_unverified: Annotated[
        bool, typer.Option("--accept-unverified", help="Let limits that were seen only in memory decide.")
    ] = False,
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


@app.command()
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


@app.command()
def specs(
    spec: Annotated[str | None, typer.Argument(help="Show this one: an id or a TOML file.", show_default=False)] = None,
    check: Annotated[
        Path | None, typer.Option("--check", help="Check a requirement file, or a folder of them.")
    ] = None,
) -> None:
    """List, show or check requirements."""
    from ballbench.cli.requirements import run_check, run_list, run_show  # noqa: PLC0415 - heavy libraries load only when used

    if check is not None:
        raise typer.Exit(run_check(check))
    if spec is None:
        run_list()
    else:
        run_show(spec)


@app.command()
def demo(
    report: Annotated[Path, typer.Option("--report", help="Folder for the reports.")] = Path("report"),
    seed: Seed = 1,
) -> None:
    """Judge and compare three invented makes, and write the reports."""
    from ballbench.cli.judging import run_demo  # noqa: PLC0415 - heavy libraries load only when used

    run_demo(report, seed)


@app.command("open")
def open_bench(
    notebook: Annotated[
        str | None,
        typer.Option(help="Folder of the notebook, or postgresql:// address; else the usual one.", show_default=False),
    ] = None,
    port: Annotated[
        int | None, typer.Option(min=0, max=65535, help="Port; else the first free one from 8475.", show_default=False)
    ] = None,
    share: Annotated[bool, typer.Option("--share", help="Let paired devices of the local network in.")] = False,
    address: Annotated[
        str | None,
        typer.Option(help="With --share: this machine's address there, if it has several.", show_default=False),
    ] = None,
    no_browser: Annotated[bool, typer.Option("--no-browser", help="Do not open the page.")] = False,
) -> None:
    """Open the bench in a browser: set up a test, measure, judge, compare."""
    from ballbench.cli.opening import Opening, run_open  # noqa: PLC0415 - heavy libraries load only when used

    run_open(Opening(notebook, port, share, address, not no_browser))


@app.callback(invoke_without_command=True)
def version(
    show: Annotated[bool, typer.Option("--version", help="Print the version and leave.")] = False,
) -> None:
    """Measure samples of sports balls and say, clause by clause, what the readings can and cannot show."""
    if show:
        from ballbench import __version__  # noqa: PLC0415 - used here only

        typer.echo(f"ballbench {__version__}")
        raise typer.Exit


def run() -> None:
    """Start the command line; the process ends with the exit status."""
    sys.exit(guarded(app))


if __name__ == "__main__":
    run()
