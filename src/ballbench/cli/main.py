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
    from ballbench.cli.options import range_of  # noqa: PLC0415 - as below
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


@app.command()
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
    risk: Annotated[float, typer.Option(help="Risk of a false 'met', said beforehand.")] = 0.05,
    rule: Annotated[
        str, typer.Option(help="guarded (with uncertainty) or simple (raw value against the limit).")
    ] = "guarded",
    tests: Annotated[int, typer.Option(help="Simulated tests at each setting.")] = 400,
    seed: Seed = 1,
    processes: Annotated[
        int | None, typer.Option(help="Processes of this machine; all when left out.", show_default=False)
    ] = None,
    workers: Annotated[
        str, typer.Option(help="Address of a Dask scheduler that shares the work out.", show_default=False)
    ] = "",
    accept_unverified: Annotated[
        bool, typer.Option("--accept-unverified", help="Let limits that were seen only in memory decide.")
    ] = False,
    json: Json = None,
    report: Report = None,
) -> None:
    """Say how many balls and readings a question takes, by judging simulated tests."""
    from ballbench.cli.options import counts_of  # noqa: PLC0415 - as below
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


@app.command()
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


@app.command()
def press(
    readings: Annotated[
        Path,
        typer.Argument(metavar="READINGS", help="Log of a press: CSV or XLSX, a row a reading.", show_default=False),
    ],
    spec: Annotated[
        str | None, typer.Option("--spec", help="Requirement with a limit of deformation: an id, or a TOML file.")
    ] = None,
    bench: BenchFile = None,
    accept_unverified: Annotated[
        bool, typer.Option("--accept-unverified", help="Let limits that were seen only in memory decide.")
    ] = False,
    json: Json = None,
    report: Report = None,
) -> None:
    """Say how far balls give way on one press, and which make gives way more; for this rig only."""
    from ballbench.cli.bench_aids import run_press  # noqa: PLC0415 - heavy libraries load only when used

    run_press(
        {"readings": readings, "spec": spec, "bench": bench, "accept_unverified": accept_unverified}, json, report
    )


@app.command("listen")
def listen_to(
    files: Annotated[
        list[Path],
        typer.Argument(metavar="FILE...", help="Recordings of drops: sound, or film with sound.", show_default=False),
    ],
    ball: Annotated[str, typer.Option("--ball", help='Diameter and mass of the balls, such as "40 mm, 2.7 g".')],
    drop_height: Annotated[
        str, typer.Option("--drop-height", help='From the underside of the ball down, such as "305 mm".')
    ] = "",
    spec: Annotated[
        str | None, typer.Option("--spec", help="Requirement with a limit of rebound: an id, or a TOML file.")
    ] = None,
    bench: BenchFile = None,
    surface: Annotated[str, typer.Option("--surface", help="What the balls fell on, as the requirement says it.")] = "",
    picks: Annotated[
        Path | None, typer.Option("--picks", help="Impacts picked by hand (CSV): file, drop, impact, time_s.")
    ] = None,
    names: Annotated[
        str, typer.Option("--names", help="How files are named, such as {product}_{ball}; else PRODUCT_BALL.")
    ] = "",
    true_mass: Annotated[
        bool, typer.Option("--true-mass", help="The mass is the true one, not what a balance shows in air.")
    ] = False,
    contact_time: Annotated[
        str, typer.Option("--contact-time", help="How long a ball touches the plate, such as 1.0 ± 0.3 ms.")
    ] = "",
    drag: Annotated[
        str, typer.Option("--drag", help="Drag coefficient, such as 0.50 ± 0.05; else that of a smooth sphere.")
    ] = "",
    temperature: Annotated[str, typer.Option("--temperature", help="Of the air, such as 21 degC.")] = "",
    pressure: Annotated[
        str, typer.Option("--pressure", help="Of the air at the place, not brought down to sea level: 1008 hPa.")
    ] = "",
    humidity: Annotated[str, typer.Option("--humidity", help="Relative humidity, such as 50 %.")] = "",
    latitude: Annotated[
        float | None, typer.Option("--latitude", help="Of the place, degrees, for its gravity.", show_default=False)
    ] = None,
    altitude: Annotated[
        float | None, typer.Option("--altitude", help="Of the place, m, for gravity and pressure.", show_default=False)
    ] = None,
    accept_unverified: Annotated[
        bool, typer.Option("--accept-unverified", help="Let limits that were seen only in memory decide.")
    ] = False,
    seed: Seed = 1,
    json: Json = None,
    report: Report = None,
    readings: Annotated[
        Path | None, typer.Option("--readings", help="Write the drops as a readings file (CSV) for judge.")
    ] = None,
    write_bench: Annotated[
        Path | None, typer.Option("--write-bench", help="Write how sure they are as a bench file for judge.")
    ] = None,
    write_picks: Annotated[
        Path | None, typer.Option("--write-picks", help="Write the impacts as a file for --picks, to be mended.")
    ] = None,
) -> None:
    """Say how balls bounce from the sound of their drops: restitution, rebound, and how sure that is."""
    from ballbench.cli.listening import run_listen  # noqa: PLC0415 - heavy libraries load only when used

    run_listen(
        {
            "files": tuple(files), "ball": ball, "drop_height": drop_height, "spec": spec, "bench": bench,
            "surface": surface, "picks": picks, "names": names, "true_mass": true_mass, "contact_time": contact_time,
            "drag": drag, "temperature": temperature, "pressure": pressure, "humidity": humidity, "latitude": latitude,
            "altitude": altitude, "accept_unverified": accept_unverified, "seed": seed,
        },
        json,
        report,
        readings,
        write_bench,
        write_picks,
    )  # fmt: skip


@app.command()
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
    accept_unverified: Annotated[
        bool, typer.Option("--accept-unverified", help="Let limits that were seen only in memory decide.")
    ] = False,
    json: Json = None,
    report: Report = None,
) -> None:
    """Say how far balls are off balance by how they veer on a ramp, or whether they float with the same spot up."""
    from ballbench.cli.rolling import run_roll  # noqa: PLC0415 - heavy libraries load only when used

    run_roll({"log": log, "spec": spec, "bench": bench, "accept_unverified": accept_unverified}, json, report)


@app.command()
def trace(
    files: Annotated[
        list[Path],
        typer.Argument(metavar="PHOTO...", help="Photographs, a ball in each, back-lit.", show_default=False),
    ],
    scale: Annotated[
        str, typer.Option("--scale", help='Size of a pixel in the plane of the centre: "0.0125 mm/px".')
    ] = "",
    diameter: Annotated[
        str, typer.Option("--diameter", help='Mean diameter by caliper, in place of a scale: "40.12 mm".')
    ] = "",
    camera: Annotated[
        Path | None, typer.Option("--camera", help="Camera file (TOML): focal length and bends of the lens.")
    ] = None,
    distance: Annotated[
        str, typer.Option("--distance", help='From the camera to the ball, where the lens is not known: "1.2 m".')
    ] = "",
    cutoff: Annotated[float, typer.Option("--filter", help="Cut-off, undulations to the turn: 15, 50 or 150.")] = 50.0,
    turned: Annotated[
        str, typer.Option("--turned", help="One ball, turned between photographs: degrees, such as 0,60,130,210.")
    ] = "",
    spec: Annotated[
        str | None, typer.Option("--spec", help="Requirement with a limit of form: an id, or a TOML file.")
    ] = None,
    names: Annotated[
        str, typer.Option("--names", help="How files are named, such as {product}_{ball}; else PRODUCT_BALL.")
    ] = "",
    seed: Seed = 1,
    json: Json = None,
    report: Report = None,
    readings: Annotated[
        Path | None, typer.Option("--readings", help="Write the outlines as a readings file (CSV) for judge.")
    ] = None,
) -> None:
    """Say how far balls are from round, by photographs of their outline: form, lobes, what no caliper shows."""
    from ballbench.cli.tracing import run_trace  # noqa: PLC0415 - heavy libraries load only when used

    run_trace(
        {
            "files": tuple(files), "scale": scale, "diameter": diameter, "camera": camera, "distance": distance,
            "cutoff": cutoff, "turned": turned, "spec": spec, "names": names, "seed": seed,
        },
        json, report, readings,
    )  # fmt: skip


@app.command()
def watch(
    files: Annotated[
        list[Path],
        typer.Argument(metavar="CLIP...", help="Films of drops, one ball and one drop in each.", show_default=False),
    ],
    ball: Annotated[str, typer.Option("--ball", help='Diameter and mass of the balls, such as "40 mm, 2.7 g".')],
    drop_height: Annotated[
        str,
        typer.Option("--drop-height", help='From the underside of the ball down, such as "305 mm"; else as filmed.'),
    ] = "",
    ruler: Annotated[
        str, typer.Option("--ruler", help='Size of a pixel in the plane of the fall, "0.85 mm/px": checks gravity\'s.')
    ] = "",
    spec: Annotated[
        str | None, typer.Option("--spec", help="Requirement with a limit of rebound: an id, or a TOML file.")
    ] = None,
    bench: BenchFile = None,
    surface: Annotated[str, typer.Option("--surface", help="What the balls fell on, as the requirement says it.")] = "",
    marks: Annotated[
        Path | None, typer.Option("--marks", help="Places put by hand (CSV): file, time_s, what, x, y.")
    ] = None,
    names: Annotated[
        str, typer.Option("--names", help="How files are named, such as {product}_{ball}; else PRODUCT_BALL.")
    ] = "",
    true_mass: Annotated[
        bool, typer.Option("--true-mass", help="The mass is the true one, not what a balance shows in air.")
    ] = False,
    contact_time: Annotated[
        str, typer.Option("--contact-time", help="How long a ball touches the plate, such as 1.0 ± 0.3 ms.")
    ] = "",
    drag: Annotated[
        str, typer.Option("--drag", help="Drag coefficient, such as 0.50 ± 0.05; else that of a smooth sphere.")
    ] = "",
    temperature: Annotated[str, typer.Option("--temperature", help="Of the air, such as 21 degC.")] = "",
    pressure: Annotated[
        str, typer.Option("--pressure", help="Of the air at the place, not brought down to sea level: 1008 hPa.")
    ] = "",
    humidity: Annotated[str, typer.Option("--humidity", help="Relative humidity, such as 50 %.")] = "",
    latitude: Annotated[
        float | None, typer.Option("--latitude", help="Of the place, degrees, for its gravity.", show_default=False)
    ] = None,
    altitude: Annotated[
        float | None, typer.Option("--altitude", help="Of the place, m, for gravity and pressure.", show_default=False)
    ] = None,
    accept_unverified: Annotated[
        bool, typer.Option("--accept-unverified", help="Let limits that were seen only in memory decide.")
    ] = False,
    seed: Seed = 1,
    json: Json = None,
    report: Report = None,
    readings: Annotated[
        Path | None, typer.Option("--readings", help="Write the drops as a readings file (CSV) for judge.")
    ] = None,
) -> None:
    """Say how high balls rebound from films of their drops, with gravity as the ruler."""
    from ballbench.cli.watching import run_watch  # noqa: PLC0415 - heavy libraries load only when used

    run_watch(
        {
            "files": tuple(files), "ball": ball, "drop_height": drop_height, "ruler": ruler, "spec": spec,
            "bench": bench, "surface": surface, "marks": marks, "names": names, "true_mass": true_mass,
            "contact_time": contact_time, "drag": drag, "temperature": temperature, "pressure": pressure,
            "humidity": humidity, "latitude": latitude, "altitude": altitude, "accept_unverified": accept_unverified,
            "seed": seed,
        },
        json,
        report,
        readings,
    )  # fmt: skip


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
    from ballbench.cli.demonstrating import run_demo  # noqa: PLC0415 - heavy libraries load only when used

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
