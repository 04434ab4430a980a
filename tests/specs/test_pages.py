from __future__ import annotations

import itertools
import math
import re
import statistics
from pathlib import Path

from ballbench.specs import catalogue_ids, lint
from ballbench.specs.loading import parse_requirement
from ballbench.specs.shape import ClauseShape, RequirementShape

DOCS = Path(__file__).parents[2] / "docs"
GUIDE = (DOCS / "guides" / "ask.md").read_text(encoding="utf-8")
METHOD = (DOCS / "methods" / "clauses.md").read_text(encoding="utf-8")


def test_the_example_of_the_guide_loads_without_remarks() -> None:
    """The file that a reader copies from the guide is a sound requirement."""
    (text,) = re.findall(r"```toml\n(.*?)```", GUIDE, flags=re.DOTALL)
    requirement = parse_requirement(text.encode(), "ask.md")
    assert lint(requirement) == ()
    assert [c.id for c in requirement.clauses] == ["diameter-largest", "variation", "mass", "rebound", "age", "cracks"]


def test_the_guide_names_every_key() -> None:
    """Each key that a file or a clause may hold stands in the guide."""
    keys = set(RequirementShape.model_fields) | set(ClauseShape.model_fields)
    assert [key for key in sorted(keys) if not re.search(rf"`[^`]*\b{key}\b[^`]*`", GUIDE)] == []


def test_the_guide_names_no_id_that_is_not_in_the_catalogue() -> None:
    """Every id that the guide lists can be asked for, and every sport of the catalogue is there."""
    section = GUIDE.partition("## Choose a requirement")[2].partition("\n## ")[0]
    named = set(re.findall(r"`([a-z]+(?:-[a-z0-9]+)*)`", section)) & {*catalogue_ids()}
    heads = {name.split("-")[0] for name in catalogue_ids()}
    assert heads == {name.split("-")[0] for name in named}
    assert set(re.findall(r"`([a-z]+(?:-[a-z0-9]+)+)`", section)) <= {*catalogue_ids()}


def test_the_worked_example_of_the_method_page_is_right() -> None:
    """Its largest SDs are those of the worst assignment to the ends, by statistics.stdev."""
    for n, value in ((24, "0.1277 mm"), (25, "0.1275 mm")):
        worst = max(statistics.stdev([0.0] * m + [0.25] * (n - m)) for m in range(n + 1))
        assert f"{worst:.4f} mm" == value
        assert value in METHOD
    two = max(statistics.stdev(pair) for pair in itertools.product((0.0, 0.25), repeat=2))
    assert f"{two:.4f} mm" == "0.1768 mm"
    assert "0.25/sqrt(2) = 0.1768 mm" in METHOD
    assert math.isclose(2.76 * 25.4, 70.104)
    assert "2.76 in is 70.104 mm" in METHOD
