"""Rank 3: published requirements as dated data files: the model, the catalogue, loading and lint."""

from ballbench.specs.catalogue import catalogue_ids, catalogue_text, find_requirement
from ballbench.specs.lint import Remark, lint
from ballbench.specs.loading import load_requirement, parse_requirement
from ballbench.specs.model import Clause, CountRule, Limit, Reading, Requirement, Source

__all__ = [
    "Clause",
    "CountRule",
    "Limit",
    "Reading",
    "Remark",
    "Requirement",
    "Source",
    "catalogue_ids",
    "catalogue_text",
    "find_requirement",
    "lint",
    "load_requirement",
    "parse_requirement",
]
