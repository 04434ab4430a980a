"""`ballbench`: the commands. Each reads options, calls one workflow and presents what comes back.

Exit status: 0 done, whatever the decision; 2 the input cannot be used (message on stderr); 1 a fault of our own.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import Annotated

import typer

from ballbench.cli.bench_aid_commands import press, roll, vee
from ballbench.cli.failures import guarded
from ballbench.cli.readings_commands import compare, judge, plan, qualify
from ballbench.cli.recording_commands import listen, trace, watch
from ballbench.cli.screen import open_screen
from ballbench.cli.shared_options import Seed

__all__ = ["app", "run"]

app = typer.Typer(
    name="ballbench",
    help="Measure samples of sports balls and say, clause by clause, what the readings can and cannot show.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)


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


def demo(
    report: Annotated[Path, typer.Option("--report", help="Folder for the reports.")] = Path("report"),
    seed: Seed = 1,
) -> None:
    """Judge and compare three invented makes, and write the reports."""
    from ballbench.cli.demonstrating import run_demo  # noqa: PLC0415 - heavy libraries load only when used

    run_demo(report, seed)


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


_COMMANDS: dict[str, Callable[..., None]] = {
    "judge": judge, "compare": compare, "qualify": qualify, "plan": plan,
    "vee": vee, "press": press, "listen": listen, "roll": roll, "trace": trace, "watch": watch,
    "specs": specs, "demo": demo, "open": open_bench,
}  # fmt: skip
"""In the order in which the help lists them."""
for _name, _command in _COMMANDS.items():
    app.command(_name)(_command)


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
    sys.exit(guarded(app, open_screen()))


if __name__ == "__main__":
    run()
