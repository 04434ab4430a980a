from __future__ import annotations

from pathlib import Path

import pytest

from ballbench.errors import BadBalls
from ballbench.records import BallFact, BallFacts, read_balls


def _balls(tmp_path: Path, text: str) -> BallFacts:
    path = tmp_path / "balls.csv"
    path.write_text(text, encoding="utf-8")
    return read_balls(path)


def test_facts_of_a_ball(tmp_path: Path) -> None:
    """Facts are found by product, box and ball; a line without a box serves every box, and nothing known is None."""
    facts = _balls(
        tmp_path,
        "product;ball;box;conditioned_h;opened;pressure_kpa;impacts;temperature_c;bought;price\n"
        "Curlew;07;x;24,5;2026-11-25 14:30;82;12;21,5;2026-11-01;3,20 EUR\nCurlew;08;;;;;;;2026-11-01;\n",
    )
    assert facts.facts_of("Curlew", "x", "07") == BallFact(
        "Curlew", "x", "07", 24.5, "2026-11-25 14:30", 82.0, 12, 21.5, "2026-11-01", "3,20 EUR"
    )
    assert facts.facts_of("Curlew", "y", "08").bought == "2026-11-01"
    assert facts.facts_of("Curlew", "y", "07") == BallFact("Curlew", "y", "07")


def test_faults_of_a_balls_file(tmp_path: Path) -> None:
    """Every wrong cell and every second line for a ball is told at once."""
    with pytest.raises(BadBalls) as caught:
        _balls(
            tmp_path,
            "product,ball,conditioned_h,opened,impacts,temperature_c\nA,1,-2,,,\nA,,,,,\nA,2,,25.11.2026,,\nA,3,,,1.5,\n"
            "A,4,a day,,,\nA,4,,,,\nA,5,,,,21 degC\n",
        )
    assert [fault.where.removeprefix("balls.csv, ") for fault in caught.value.faults] == [
        "line 2, column conditioned_h",
        "line 3, column ball",
        "line 4, column opened",
        "line 5, column impacts",
        "line 6, column conditioned_h",
        "line 7",
        "line 8, column temperature_c",
    ]


def test_a_misspelt_fact_is_not_lost(tmp_path: Path) -> None:
    """A column that is nearly a fact's name is a fault with that name; any other column is kept out with a note."""
    with pytest.raises(BadBalls, match='write "impacts"'):
        _balls(tmp_path, "product,ball,impact\nA,1,3\n")
    assert 'columns kept out: "colour"' in _balls(tmp_path, "product,ball,colour\nA,1,red\n").notes
