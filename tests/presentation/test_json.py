from __future__ import annotations

import json
import math
from dataclasses import fields, is_dataclass, replace
from typing import Any

import pytest

from ballbench.findings.comparisons import Comparison
from ballbench.findings.results import Findings, Truth
from ballbench.presentation.comparison_json import comparison_to_json
from ballbench.presentation.findings_json import findings_to_json
from ballbench.presentation.json_text import json_text

NUMBER, TEXT, COUNT = (float, int), str, int

FINDINGS = {
    "format": TEXT,
    "spec": {"id": TEXT, "title": TEXT, "edition": TEXT, "digest": TEXT},
    "rule": {"name": TEXT, "risk": NUMBER},
    "seed": COUNT,
    "draws": COUNT,
    "assumptions": [TEXT],
    "look": COUNT,
    "products": [
        {
            "product": TEXT, "balls": COUNT, "readings": COUNT, "excluded": COUNT, "decision": TEXT,
            "probability_met": (NUMBER, None), "tested": COUNT, "clauses_in_all": COUNT,
            "clauses": [
                {
                    "id": TEXT, "text": TEXT, "quantity": TEXT, "unit": TEXT,
                    "statistic": {"ball": TEXT, "sample": TEXT},
                    "lower": (NUMBER, None), "upper": (NUMBER, None), "allowed_outside": COUNT,
                    "as_read": {"value": (NUMBER, None), "outside": COUNT},
                    "truth": ({"median": NUMBER, "low": NUMBER, "high": NUMBER, "confidence": NUMBER}, None),
                    "probability_met": (NUMBER, None), "decision": TEXT, "margin": (NUMBER, None), "scope": TEXT,
                    "whole_ball": (
                        {"probability_met": NUMBER, "truth": {"median": NUMBER, "low": NUMBER, "high": NUMBER}}, None,
                    ),
                    "settle": [{"change": TEXT, "probability_decided": NUMBER}],
                    "notes": [TEXT],
                }
            ],
        }
    ],
}  # fmt: skip
"""The contract of ballbench/findings/1: every key, and what stands under it."""

COMPARISON = {
    "format": TEXT, "seed": COUNT, "assumptions": [TEXT], "notes": [TEXT], "quantity": TEXT,
    "products": [{"product": TEXT, "balls": COUNT, "mean": dict, "sd": dict, "form": (dict, None)}],
    "pairs": [
        {"a": TEXT, "b": TEXT, "difference": NUMBER, "low": NUMBER, "high": NUMBER, "sd_ratio": (NUMBER, None),
         "sd_ratio_low": (NUMBER, None), "sd_ratio_high": (NUMBER, None), "form_ratio": (NUMBER, None),
         "form_ratio_low": (NUMBER, None), "form_ratio_high": (NUMBER, None), "told_apart": bool}
    ],
}  # fmt: skip
"""The contract of ballbench/comparison/1."""


def check(value: Any, contract: Any, where: str) -> None:
    if contract is NUMBER or isinstance(contract, type):
        assert isinstance(value, contract), where
        assert contract is bool or not isinstance(value, bool), where
    elif isinstance(contract, tuple):
        if value is not None:
            check(value, contract[0], where)
    elif isinstance(contract, list):
        assert isinstance(value, list), where
        for i, part in enumerate(value):
            check(part, contract[0], f"{where}[{i}]")
    else:
        assert isinstance(value, dict), where
        for key, part in contract.items():
            assert key in value, f"{where}.{key}"
            check(value[key], part, f"{where}.{key}")


def test_findings_have_every_key_of_the_contract(findings: Findings) -> None:
    """Every key of format ballbench/findings/1 is there, at its place and of its type."""
    written = json.loads(findings_to_json(findings))
    check(written, FINDINGS, "findings")
    assert written["format"] == "ballbench/findings/1"


def test_findings_lose_nothing_of_the_results(findings: Findings) -> None:
    """Every number and text of the results stands somewhere in the JSON, and which requirement it was."""
    text = findings_to_json(findings)
    rule = findings.requirement

    def leaves(value: object) -> list[object]:
        if is_dataclass(value):
            return [leaf for field in fields(value) for leaf in leaves(getattr(value, field.name))]
        if isinstance(value, tuple):
            return [leaf for part in value for leaf in leaves(part)]
        return [value]

    own = [getattr(findings, field.name) for field in fields(findings) if field.name != "requirement"]
    named = (rule.id, rule.title, rule.edition, rule.digest, f"{rule.source.document}, {rule.source.clause}")
    for leaf in leaves((*own, *named)):
        if isinstance(leaf, str):
            assert json.dumps(leaf, ensure_ascii=False) in text
        elif isinstance(leaf, float) and math.isfinite(leaf):
            assert f"{float(f'{leaf:.10g}')}" in text


def test_clause_that_was_not_tested_says_so_with_nulls(findings: Findings) -> None:
    """A clause without readings has decision "not tested", null truth and null probability, and a note why."""
    clause = json.loads(findings_to_json(findings))["products"][0]["clauses"][-1]
    assert clause["decision"] == "not tested"
    assert (clause["truth"], clause["probability_met"], clause["whole_ball"]) == (None, None, None)
    assert clause["as_read"] == {"value": None, "outside": 0}
    assert clause["notes"]


def test_comparison_has_every_key_of_the_contract(comparison: Comparison) -> None:
    """Every key of format ballbench/comparison/1 is there; a pair without form has nulls."""
    bare = replace(comparison, pairs=(replace(comparison.pairs[0], form_ratio=None), *comparison.pairs[1:]))
    written = json.loads(comparison_to_json(bare))
    check(written, COMPARISON, "comparison")
    assert written["format"] == "ballbench/comparison/1"
    assert written["pairs"][0]["form_ratio_low"] is None
    assert written["pairs"][1]["form_ratio"] == 0.47


def test_json_knows_no_nan(findings: Findings) -> None:
    """NaN and infinity are no JSON (RFC 8259, section 6): they are written as null."""
    text = findings_to_json(findings)
    assert "NaN" not in text
    assert "Infinity" not in text
    assert json.loads(text)["products"][2]["clauses"][0]["settle"][2]["minutes"] is None
    assert json.loads(json_text({"a": math.inf, "b": -0.0})) == {"a": None, "b": 0.0}


@pytest.mark.parametrize(("value", "written"), [(1 / 3, 0.3333333333), (40.0, 40.0), (1.23456789012e-7, 1.23456789e-7)])
def test_floats_keep_ten_significant_digits(value: float, written: float) -> None:
    """Ten significant digits are written, so that the last bits of a sum do not show."""
    assert json.loads(json_text([value])) == [written]


def test_same_findings_give_the_same_text(findings: Findings, comparison: Comparison) -> None:
    """The text depends on nothing but the results, and ends in one newline."""
    assert findings_to_json(findings) == findings_to_json(replace(findings))
    assert comparison_to_json(comparison) == comparison_to_json(replace(comparison))
    assert findings_to_json(findings).endswith("}\n")


def test_last_bits_do_not_change_the_text(findings: Findings) -> None:
    """Two results that differ by rounding error alone are written alike."""
    clause = findings.products[0].clauses[0]
    assert clause.truth is not None
    nudged = replace(clause, truth=Truth(*(math.nextafter(v, 99.0) for v in (40.221, 40.190, 40.252))))
    product = replace(findings.products[0], clauses=(nudged, *findings.products[0].clauses[1:]))
    other = replace(findings, products=(product, *findings.products[1:]))
    assert findings_to_json(other) == findings_to_json(findings)
