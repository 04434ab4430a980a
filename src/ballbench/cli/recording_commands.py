"""The commands of recordings, declared: `listen`, `trace`, `watch`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from ballbench.cli.shared_options import (
    Altitude,
    Ball,
    BenchFile,
    ContactTime,
    Drag,
    Humidity,
    Json,
    Latitude,
    Names,
    Pressure,
    Report,
    Seed,
    Surface,
    Temperature,
    TrueMass,
    Unverified,
)

__all__ = ["listen", "trace", "watch"]


def listen(
    files: Annotated[
        list[Path],
        typer.Argument(metavar="FILE...", help="Recordings of drops: sound, or film with sound.", show_default=False),
    ],
    ball: Ball,
    drop_height: Annotated[
        str, typer.Option("--drop-height", help='From the underside of the ball down, such as "305 mm".')
    ] = "",
    spec: Annotated[
        str | None, typer.Option("--spec", help="Requirement with a limit of rebound: an id, or a TOML file.")
    ] = None,
    bench: BenchFile = None,
    surface: Surface = "",
    picks: Annotated[
        Path | None, typer.Option("--picks", help="Impacts picked by hand (CSV): file, drop, impact, time_s.")
    ] = None,
    names: Names = "",
    true_mass: TrueMass = False,
    contact_time: ContactTime = "",
    drag: Drag = "",
    temperature: Temperature = "",
    pressure: Pressure = "",
    humidity: Humidity = "",
    latitude: Latitude = "",
    altitude: Altitude = "",
    accept_unverified: Unverified = False,
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
    from ballbench.workflows.flight_words import FlightWords  # noqa: PLC0415 - as above

    said = FlightWords(
        ball, drop_height, surface, contact_time, drag, temperature, pressure, humidity, latitude, altitude, true_mass
    )
    run_listen(
        {
            "files": tuple(files), "flight": said, "spec": spec, "bench": bench, "picks": picks, "names": names,
            "accept_unverified": accept_unverified, "seed": seed,
        },
        json,
        report,
        readings,
        write_bench,
        write_picks,
    )  # fmt: skip


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
    names: Names = "",
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


def watch(
    files: Annotated[
        list[Path],
        typer.Argument(metavar="CLIP...", help="Films of drops, one ball and one drop in each.", show_default=False),
    ],
    ball: Ball,
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
    surface: Surface = "",
    marks: Annotated[
        Path | None, typer.Option("--marks", help="Places put by hand (CSV): file, time_s, what, x, y.")
    ] = None,
    names: Names = "",
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
    latitude: Latitude = "",
    altitude: Altitude = "",
    accept_unverified: Unverified = False,
    seed: Seed = 1,
    json: Json = None,
    report: Report = None,
    readings: Annotated[
        Path | None, typer.Option("--readings", help="Write the drops as a readings file (CSV) for judge.")
    ] = None,
) -> None:
    """Say how high balls rebound from films of their drops, with gravity as the ruler."""
    from ballbench.cli.watching import run_watch  # noqa: PLC0415 - heavy libraries load only when used
    from ballbench.workflows.flight_words import FlightWords  # noqa: PLC0415 - as above

    said = FlightWords(
        ball, drop_height, surface, contact_time, drag, temperature, pressure, humidity, latitude, altitude, true_mass
    )
    run_watch(
        {
            "files": tuple(files), "flight": said, "ruler": ruler, "spec": spec, "bench": bench, "marks": marks,
            "names": names, "accept_unverified": accept_unverified, "seed": seed,
        },
        json,
        report,
        readings,
    )  # fmt: skip
