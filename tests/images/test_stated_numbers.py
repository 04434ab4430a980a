from __future__ import annotations

from pathlib import Path

import pytest

from ballbench.images import camera_limits, deep_dents, edge_fit, finding, refusals, stretches
from ballbench.records.media import camera_file

PAGES = Path(__file__).resolve().parents[2] / "docs" / "methods"

STATED = (
    ("outline-edge", f"each at least {finding._ARC:g} pixels long"),
    ("outline-edge", "believed from five standard uncertainties"),
    ("outline-edge", f"pooled by sectors of {360 / edge_fit._SECTORS:g} degrees"),
    ("outline-edge", f"the harmonics up to {finding._LINE_ORDER}"),
    ("outline-edge", "a step lower than a fifth of the median, known five times worse than the median"),
    ("outline-edge", "leaves six times the mean square that is usual"),
    ("outline-edge", "more than five robust standard deviations and a tenth of a pixel beside"),
    ("outline-edge", "stands out over more than two degrees"),
    ("outline-edge", f"a radius under {refusals.LEAST_RADIUS:g} pixels"),
    ("outline-edge", f"wider than {refusals._MOST_WIDTH:g} pixels and than {100 * refusals._MOST_WIDTH_SHARE:g} %"),
    ("outline-edge", f"a smear of more than {refusals._SMEARED:g} pixels"),
    ("outline-edge", f"less than {100 * refusals.LEAST_COVERAGE:g} % of the turn seen"),
    ("outline-edge", "a gap of more than 45 degrees"),
    ("outline-edge", f"known to {refusals._MOST_U:g} pixels or worse"),
    ("outline-edge", f"reaches over more than {100 * refusals.MOST_SPREAD:g} % of its radius"),
    ("outline-edge", f"from five on of {100 * refusals.MOST_CORNERS:g} % of the radius"),
    ("outline-edge", f"known to {deep_dents.FOLLOWED_U:g} pixel each"),
    ("photo-perspective", f"up to {refusals.MOST_ANGLE:g} degrees off the axis"),
    ("photo-perspective", f"up to {refusals.MOST_GUESSED_ANGLE:g} degrees of a lens of 26 mm equivalent"),
    ("photo-perspective", f"known to {100 * camera_file._FOCAL_SD:g} %"),
    ("photo-perspective", f"at most {100 * camera_limits.BEND:g} % of bend in its corner"),
    ("photo-perspective", f"relative u of k ({camera_file._BEND_SD:g} where not said)"),
    ("photo-perspective", f"at {camera_limits._FAR_ENOUGH:g} radii or more"),
)


@pytest.mark.parametrize(("name", "words"), STATED, ids=[f"{name}-{words[:30]}" for name, words in STATED])
def test_numbers_that_the_pages_state_are_those_of_the_program(name: str, words: str) -> None:
    """A constant that a method page names is the one that the program uses."""
    assert words in " ".join((PAGES / f"{name}.md").read_text(encoding="utf-8").split())


def test_numbers_that_the_pages_spell_out_are_those_of_the_program() -> None:
    """Five, six, a fifth, five, a tenth, two degrees, a quarter, 45 degrees, 26 mm: as the words above say them."""
    assert (edge_fit._MARKED, edge_fit.UNLIKE) == (5.0, 6.0)
    assert (stretches._FAINT, stretches._UNSURE, stretches._FAR, stretches._LEAST_FAR) == (0.2, 5.0, 5.0, 0.1)
    assert pytest.approx(2.0 * 3.14159265 / 180.0) == stretches.SHORT
    assert (0.25, pytest.approx(45.0 * 3.14159265 / 180.0)) == (stretches.CUT, refusals._WIDEST_GAP)
    assert pytest.approx(26.0 / 43.27, abs=0.001) == camera_limits.SHORTEST
