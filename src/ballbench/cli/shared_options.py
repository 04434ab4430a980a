"""Options that several commands take, each said once."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

__all__ = [
    "Altitude",
    "Ball",
    "BenchFile",
    "ContactTime",
    "Corrections",
    "Drag",
    "Humidity",
    "Json",
    "Latitude",
    "Names",
    "Pressure",
    "Readings",
    "Report",
    "Risk",
    "Rule",
    "Seed",
    "Surface",
    "Temperature",
    "TrueMass",
    "Unverified",
]

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
Risk = Annotated[float, typer.Option(help="Risk of a false 'met', said beforehand.")]
Rule = Annotated[str, typer.Option(help="guarded (with uncertainty) or simple (raw value against the limit).")]
Unverified = Annotated[
    bool, typer.Option("--accept-unverified", help="Let limits that were seen only in memory decide.")
]

Names = Annotated[
    str, typer.Option("--names", help="How files are named, such as {product}_{ball}; else PRODUCT_BALL.")
]
Ball = Annotated[str, typer.Option("--ball", help='Diameter and mass of the balls, such as "40 mm, 2.7 g".')]
"""What is said of ball, drop and place by `listen` and `watch`, but for the drop height, which each explains."""
Surface = Annotated[str, typer.Option("--surface", help="What the balls fell on, as the requirement says it.")]
TrueMass = Annotated[
    bool, typer.Option("--true-mass", help="The mass is the true one, not what a balance shows in air.")
]
ContactTime = Annotated[
    str, typer.Option("--contact-time", help="How long a ball touches the plate, such as 1.0 ± 0.3 ms.")
]
Drag = Annotated[
    str, typer.Option("--drag", help="Drag coefficient, such as 0.50 ± 0.05; else that of a smooth sphere.")
]
Temperature = Annotated[str, typer.Option("--temperature", help="Of the air, such as 21 degC.")]
Pressure = Annotated[
    str, typer.Option("--pressure", help="Of the air at the place, not brought down to sea level: 1008 hPa.")
]
Humidity = Annotated[str, typer.Option("--humidity", help="Relative humidity, such as 50 %.")]
Latitude = Annotated[
    str, typer.Option("--latitude", help="Of the place, degrees, for its gravity: 54.3; to the south -33.5.")
]
Altitude = Annotated[str, typer.Option("--altitude", help="Of the place, for gravity and pressure, such as 120 m.")]
