"""The JSON of a real judgement against the contract of format ``ballbench/findings/1``, key by key."""

from __future__ import annotations

from typing import Any

TEXT, COUNT, FLAG = str, int, bool
NUMBER = (int, float)
NONE = type(None)
TRUTH = {"median": NUMBER, "low": NUMBER, "high": NUMBER, "confidence": NUMBER}
CLAUSE = {
    "id": TEXT,
    "text": TEXT,
    "quantity": TEXT,
    "unit": TEXT,
    "statistic": {"ball": TEXT, "sample": TEXT},
    "lower": (*NUMBER, NONE),
    "upper": (*NUMBER, NONE),
    "allowed_outside": COUNT,
    "as_read": {"value": (*NUMBER, NONE), "outside": COUNT},
    "truth": (TRUTH, None),
    "probability_met": (*NUMBER, NONE),
    "decision": TEXT,
    "margin": (*NUMBER, NONE),
    "scope": TEXT,
    "whole_ball": ({"probability_met": NUMBER, "truth": TRUTH}, None),
    "settle": [{"change": TEXT, "probability_decided": NUMBER}],
    "notes": [TEXT],
}
PRODUCT = {
    "product": TEXT,
    "balls": COUNT,
    "readings": COUNT,
    "excluded": COUNT,
    "decision": TEXT,
    "probability_met": (*NUMBER, NONE),
    "tested": COUNT,
    "clauses_in_all": COUNT,
    "clauses": [CLAUSE],
}
FINDINGS = {
    "format": TEXT,
    "spec": {"id": TEXT, "title": TEXT, "edition": TEXT, "digest": TEXT},
    "rule": {"name": TEXT, "risk": NUMBER},
    "seed": COUNT,
    "draws": COUNT,
    "assumptions": [TEXT],
    "products": [PRODUCT],
}


def wrong(value: Any, shape: Any, place: str = "findings") -> list[str]:
    """Every place where a value is not of the shape: a type, types, an object, a list of a shape, or one or null."""
    if isinstance(shape, dict):
        if not isinstance(value, dict):
            return [f"{place} is no object"]
        missing = [f"{place}.{key} is missing" for key in shape if key not in value]
        return missing + [w for key in shape if key in value for w in wrong(value[key], shape[key], f"{place}.{key}")]
    if isinstance(shape, list):
        if not isinstance(value, list):
            return [f"{place} is no list"]
        return [w for i, part in enumerate(value) for w in wrong(part, shape[0], f"{place}[{i}]")]
    if isinstance(shape, tuple) and None in shape:
        return [] if value is None else wrong(value, shape[0], place)
    fits = isinstance(value, shape) and (not isinstance(value, bool) or shape is bool)
    return [] if fits else [f"{place} is {value!r}"]


def walked(value: Any) -> list[dict[str, Any]]:
    """Every object inside a JSON value."""
    if isinstance(value, dict):
        return [value, *(inner for part in value.values() for inner in walked(part))]
    return [inner for part in value for inner in walked(part)] if isinstance(value, list) else []


def clauses(findings: dict[str, Any]) -> list[dict[str, Any]]:
    """Every clause of every product."""
    return [clause for product in findings["products"] for clause in product["clauses"]]


def test_every_key_of_the_contract_is_there_with_its_type(league_findings: dict[str, Any]) -> None:
    """All keys that the contract names exist in a real judgement, each of its type, null only where it says so."""
    assert wrong(league_findings, FINDINGS) == []
    assert league_findings["format"] == "ballbench/findings/1"


def test_words_are_those_of_the_contract(league_findings: dict[str, Any]) -> None:
    """Decisions, scopes and reductions are among the contract's words."""
    for product in league_findings["products"]:
        assert product["decision"] in {"met", "met as far as tested", "not met", "undecided"}
    for clause in clauses(league_findings):
        assert clause["decision"] in {"met", "not met", "undecided", "not tested"}
        assert clause["scope"] in {"axes read", "as prescribed"}
        assert clause["statistic"]["sample"] in {"each", "mean", "sd", "max", "min", "range"}
        assert clause["statistic"]["ball"] in {"mean", "midrange", "median", "max", "min", "range", "answers"}


def test_probabilities_are_0_to_1_and_intervals_are_in_order(league_findings: dict[str, Any]) -> None:
    """Whatever is called a probability or a share lies in 0 to 1; low <= median <= high wherever there is a truth."""
    seen = 0
    for inner in walked(league_findings):
        for key, value in inner.items():
            if key.startswith("probability") and value is not None:
                assert 0.0 <= value <= 1.0
                seen += 1
        if {"low", "median", "high"} <= set(inner):
            assert inner["low"] <= inner["median"] <= inner["high"]
            assert inner["confidence"] == 0.95
    assert seen > 100


def test_decisions_follow_from_the_chances(league_findings: dict[str, Any]) -> None:
    """Guarded rule: met needs at least 1 - risk, not met at most the risk; in between nothing is decided."""
    risk = league_findings["rule"]["risk"]
    for clause in clauses(league_findings):
        chance, decision = clause["probability_met"], clause["decision"]
        if decision == "met":
            assert chance >= 1.0 - risk
        if decision == "not met":
            assert chance <= risk
        if risk < chance < 1.0 - risk:
            assert decision == "undecided"


def test_a_product_is_no_better_than_its_clauses(league_findings: dict[str, Any]) -> None:
    """The joint chance is at most that of the worst clause, at least what Bonferroni leaves; counts add up."""
    for product in league_findings["products"]:
        own = [clause["probability_met"] for clause in product["clauses"] if clause["decision"] != "not tested"]
        assert product["tested"] == len(own)
        assert product["clauses_in_all"] == len(product["clauses"])
        assert max(0.0, 1.0 - sum(1.0 - p for p in own)) - 0.02 <= product["probability_met"] <= min(own) + 1e-9
        if product["decision"] == "met":
            assert {clause["decision"] for clause in product["clauses"]} == {"met"}


def test_margins_are_distances_inside_the_nearer_limit(league_findings: dict[str, Any]) -> None:
    """Margin = min(median - lower, upper - median), negative beyond a limit."""
    for clause in clauses(league_findings):
        if clause["truth"] is None:
            assert clause["margin"] is None
            continue
        median = clause["truth"]["median"]
        sides = [
            s * (median - limit) for s, limit in ((1, clause["lower"]), (-1, clause["upper"])) if limit is not None
        ]
        assert abs(clause["margin"] - min(sides)) < 1e-7


def test_what_would_settle_stands_at_undecided_clauses_only(league_findings: dict[str, Any]) -> None:
    """Undecided clauses name what would settle them, sufficient changes first; others name nothing."""
    undecided = [clause for clause in clauses(league_findings) if clause["decision"] == "undecided"]
    assert undecided
    for clause in clauses(league_findings):
        assert bool(clause["settle"]) == (clause in undecided)
        enough = [change["probability_decided"] >= 0.80 for change in clause["settle"]]
        assert enough == sorted(enough, reverse=True)
        for change in clause["settle"]:
            if change["probability_met"] is None:
                continue  # asked of the rule's author, not simulated
            decided = change["probability_met"] + change["probability_not_met"]
            assert abs(change["probability_decided"] - decided) < 1e-9


def test_form_plays_a_part_for_diameters_only(league_findings: dict[str, Any]) -> None:
    """The whole ball is judged for diameters, and is null for mass, rebound and cracks."""
    for clause in clauses(league_findings):
        assert (clause["whole_ball"] is not None) == (clause["quantity"] == "diameter")


def test_the_truths_of_the_invented_makes_are_covered(league_findings: dict[str, Any]) -> None:
    """The generator's own means lie inside the stated 95 % intervals of the means, instruments' errors included.

    Truth: `examples/make_winter_league.py`, its offsets included in what the instruments read.
    """
    truth = {"Curlew": 40.240, "Dunlin": 40.262, "Plover": 40.4725}
    held = 0
    for product in league_findings["products"]:
        (size,) = [quantity for quantity in product["quantities"] if quantity["quantity"] == "diameter"]
        mean = size["mean"]
        slack = (mean["high"] - mean["low"]) / 2
        held += mean["low"] - slack <= truth[product["product"]] <= mean["high"] + slack
    assert held == 3
