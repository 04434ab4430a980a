from __future__ import annotations

import json
from dataclasses import replace
from types import ModuleType
from typing import Any

import pytest

from ballbench.findings.plans import Plan
from ballbench.presentation.plan_json import plan_to_json


@pytest.fixture(scope="module")
def planned(example_bench: ModuleType) -> Plan:
    return example_bench.plan()


def written(plan: Plan) -> dict[str, Any]:
    """Read what is written, with no number that JSON does not know."""

    def refuse(word: str) -> None:
        raise AssertionError(f"{word} is no JSON")

    read: dict[str, Any] = json.loads(plan_to_json(plan), parse_constant=refuse)
    return read


def test_it_has_the_format_and_the_head_of_every_result(planned: Plan) -> None:
    """The format of the contract, with seed, tests, assumptions, cautions and notes."""
    made = written(planned)
    assert made["format"] == "ballbench/plan/1"
    assert (made["seed"], made["tests"]) == (1, 400)
    for name in ("assumptions", "cautions", "notes", "sentences"):
        assert all(isinstance(text, str) for text in made[name])
    assert made["truth"] == {"mean": 40.3, "sd": 0.05, "form_sd": 0.03, "form_spread": 0.0}
    assert made["limits"] == {"lower": 40.0, "upper": 40.6}


def test_settings_are_as_the_contract_has_them(planned: Plan) -> None:
    """Each has balls, axes, repeats, the three chances, which add up to 1, and their largest standard error."""
    settings = written(planned)["settings"]
    assert [(one["balls"], one["axes"], one["repeats"]) for one in settings] == [(n, 3, 1) for n in (6, 12, 24, 48)]
    for one in settings:
        together = one["chance_met"] + one["chance_not_met"] + one["chance_undecided"]
        assert together == pytest.approx(1.0, abs=1 / 400)
        assert 0.0 <= one["se"] <= 0.5 / 400**0.5
        assert {"value", "se", "low", "high"} == set(one["right"])


def test_the_chosen_design_and_everything_besides_is_written(planned: Plan) -> None:
    """24 balls are chosen; changes, surface, comparison and boxes stand under their names."""
    made = written(planned)
    assert made["how_many"]["chosen"] == {"balls": 24, "axes": 3, "repeats": 1}
    assert made["how_many"]["sure"] is True
    assert [one["change"] for one in made["changes"]] == [gain.change for gain in planned.gains]
    assert len(made["surface"]["settings"]) == len(made["surface"]["means"]) * len(made["surface"]["spreads"])
    assert made["comparison"]["smallest"] == 0.047
    assert made["boxes"][1] == {
        "lot": None, "share": 0.1, "confidence": 0.95, "balls": 29, "bad_in_lot": None, "good": 0.01, "measured": None,
        "factor": None, "letter": None,
    }  # fmt: skip


def test_form_is_written_shape_by_shape(planned: Plan) -> None:
    """Shares caught with what they are of, round balls by their axes, and the sentences with the note on odd lobes."""
    made = written(planned)
    assert made["caught"][0] == {"over": "ball", "lobes": [2], "axes": 3, "mean": 0.64, "twentieth": 0.24}
    assert made["round_ball"][0] == {"axes": 3, "mean": 0.016, "high": 0.03}
    assert "odd lobes" in made["form_sentences"][-1]
    other = written(replace(planned, caught=(), round_ball=()))
    assert other["caught"] == other["round_ball"] == other["form_sentences"] == []


def test_what_was_not_asked_for_is_null_or_empty(planned: Plan) -> None:
    """Without changes, surface, comparison and boxes their keys stay, without content."""
    made = written(replace(planned, gains=(), surface=None, telling=None, boxes=()))
    assert made["changes"] == made["boxes"] == []
    assert made["surface"] is made["comparison"] is None


def test_the_same_plan_gives_the_same_bytes(planned: Plan, example_bench: ModuleType) -> None:
    """Made twice from the same numbers, it is the same text."""
    assert plan_to_json(planned) == plan_to_json(example_bench.plan())
