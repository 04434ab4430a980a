"""Rank 2: products, boxes, balls, readings, instruments and conditions, as they were written down."""

from __future__ import annotations

from ballbench.records.bench import Bench, Expansion, Instrument, Squeeze, Temperature
from ballbench.records.readings import SCHEMA, Query, Readings, Spoiled
from ballbench.records.samples import Answers, Sample, answers_of, samples_of

__all__ = [
    "SCHEMA",
    "Answers",
    "Bench",
    "Expansion",
    "Instrument",
    "Query",
    "Readings",
    "Sample",
    "Spoiled",
    "Squeeze",
    "Temperature",
    "answers_of",
    "samples_of",
]
