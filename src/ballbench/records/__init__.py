"""Rank 3: products, boxes, balls, readings, instruments and conditions, as they were written down."""

from __future__ import annotations

from ballbench.records.amendments import Amended, Amendment, amend
from ballbench.records.balls import BallFact, BallFacts, read_balls
from ballbench.records.bench import Bench, Expansion, Instrument, Squeeze, Temperature
from ballbench.records.bench_file import read_bench
from ballbench.records.bench_of_readings import bench_for, instrument_of
from ballbench.records.corrections import Correction, Corrections, read_corrections, unanswered
from ballbench.records.default_instruments import default_instrument
from ballbench.records.display import base_unit, display_steps
from ballbench.records.importers import read_readings
from ballbench.records.plausibility import plausibility_queries
from ballbench.records.reading_key import CORRECTION_COLUMNS
from ballbench.records.readings import SCHEMA, Query, Readings, Spoiled
from ballbench.records.samples import Answers, Sample, answers_of, samples_of

__all__ = [
    "CORRECTION_COLUMNS",
    "SCHEMA",
    "Amended",
    "Amendment",
    "Answers",
    "BallFact",
    "BallFacts",
    "Bench",
    "Correction",
    "Corrections",
    "Expansion",
    "Instrument",
    "Query",
    "Readings",
    "Sample",
    "Spoiled",
    "Squeeze",
    "Temperature",
    "amend",
    "answers_of",
    "base_unit",
    "bench_for",
    "default_instrument",
    "display_steps",
    "instrument_of",
    "plausibility_queries",
    "read_balls",
    "read_bench",
    "read_corrections",
    "read_readings",
    "samples_of",
    "unanswered",
]
