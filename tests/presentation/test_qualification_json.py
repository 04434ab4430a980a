from __future__ import annotations

import json
import math
from dataclasses import fields, replace
from types import ModuleType
from typing import Any

import pytest

from ballbench.findings.qualification import Qualification
from ballbench.presentation.qualification_json import qualification_to_json


@pytest.fixture(scope="module")
def found(example_bench: ModuleType) -> Qualification:
    return example_bench.qualification()


def written(found: Qualification) -> dict[str, Any]:
    """Read what is written, with no number that JSON does not know."""

    def refuse(word: str) -> None:
        raise AssertionError(f"{word} is no JSON")

    read: dict[str, Any] = json.loads(qualification_to_json(found), parse_constant=refuse)
    return read


def test_it_has_the_format_and_the_head_of_every_result(found: Qualification) -> None:
    """The format of the contract, with seed, assumptions, cautions, notes, digest and whether the data are invented."""
    made = written(found)
    assert made["format"] == "ballbench/qualification/1"
    assert made["seed"] == 1
    assert made["invented"] is True
    assert made["readings_digest"] == "sha256:" + 64 * "0"
    for name in ("assumptions", "cautions", "notes", "sentences"):
        assert made[name]
        assert all(isinstance(text, str) for text in made[name])


def test_components_are_as_the_contract_has_them(found: Qualification) -> None:
    """Each has name, sd, low, high and dof, and whether its estimate was below zero; unknown numbers are null."""
    components = written(found)["components"]
    assert [one["name"] for one in components] == ["repeatability", "person", "person and ball", "reproducibility"]
    for one in components:
        assert set(one) == {"name", "sd", "low", "high", "dof", "negative"}
        assert all(isinstance(one[name], float) for name in ("sd", "low", "high"))
        assert isinstance(one["negative"], bool)
    assert components[0]["sd"] == 0.0096
    assert components[2]["dof"] is None
    assert components[2]["negative"] is True


def test_the_sentence_is_the_answer(found: Qualification) -> None:
    """It says how far apart two balls must be read."""
    assert written(found)["sentence"].startswith("Two balls must read 0.028 mm apart before this caliper")


def test_every_field_of_the_record_is_written(found: Qualification) -> None:
    """No part of a qualification is left out: each field has its key, and the entry is that of a bench file."""
    made = written(found)
    names = {field.name for field in (*fields(found), *fields(found.footing))} - {"footing"}
    assert names <= set(made)
    assert made["instrument"]["repeatability"] == {"sd": 0.0096, "dof": 24.0, "includes_rounding": True}
    assert len(made["checks"]) == 6
    assert [one["passed"] for one in made["checks"]] == [True, True, True, False, True, True]
    assert made["drift"][0]["beyond_noise"] is True
    assert made["repeats"]["by_person"][0]["person"] == "Ada"
    assert made["repeats"]["told_apart"][0]["same_person"] == 0.028
    assert made["budget"]["of"] == "one reading"
    assert made["squeeze"][0]["product"] == "Curlew"
    assert made["tolerance"][0]["room"] == 0.6


def test_what_was_not_studied_is_null_or_empty(found: Qualification) -> None:
    """Without a repeat study there are no components, and the rest is null; numbers that are NaN are null too."""
    bare = replace(found, repeats=None, checks=(), calibration=None, drift=(), squeeze=(), budget=None, tolerance=())
    made = written(bare)
    assert made["components"] == made["checks"] == made["drift"] == made["squeeze"] == made["tolerance"] == []
    assert made["repeats"] is made["calibration"] is made["budget"] is None
    calibration = replace(found.calibration, slope=math.nan)  # type: ignore[type-var]
    assert written(replace(found, calibration=calibration))["calibration"]["slope"] is None


def test_the_same_qualification_gives_the_same_bytes(found: Qualification, example_bench: ModuleType) -> None:
    """Made twice from the same numbers, it is the same text, ending in a newline."""
    text = qualification_to_json(found)
    assert text == qualification_to_json(example_bench.qualification())
    assert text.endswith("\n}\n")
