from __future__ import annotations

import numpy as np
import pytest
from tests.findings.planning.planned import setting_of

from ballbench.errors import BadRequest
from ballbench.findings.planning.blocks import Place
from ballbench.findings.planning.designs import TruthAt
from ballbench.findings.planning.surfaces import surface

SETTING = setting_of(TruthAt(40.25, 0.02, 0.02), 12, 3)
MEANS, SPREADS = (40.3, 40.46, 40.54), (0.01, 0.04, 0.09)


def _surface(contour_tests: int):  # type: ignore[no-untyped-def]
    return surface(
        SETTING.terms, SETTING.design, SETTING.truth, MEANS, SPREADS,
        tests=40, contour_tests=contour_tests, place=Place(1),
    )  # fmt: skip


def test_a_surface_falls_outward_and_is_finest_at_its_contours() -> None:
    """Chance of "met" falls with spread and toward the limit; places beside a contour get the further tests."""
    found = _surface(60)
    met = found.chance_met()
    assert met.shape == (3, 3)
    assert met[0, 0] > 0.95
    assert met[2].max() < 0.05
    assert np.all(np.diff(met, axis=1) <= 0.12)
    tests = np.array([row.tests for row in found.settings]).reshape(3, 3)
    assert set(tests.ravel()) <= {40, 100}
    crossed = (met[:, :-1] > 0.95) & (met[:, 1:] < 0.5)
    assert crossed.any()
    assert np.all(tests[:, :-1][crossed] == 100)
    assert np.all(tests[:, 1:][crossed] == 100)
    assert [row.truth.sd for row in found.settings[:3]] == list(SPREADS)


def test_the_grid_may_run_over_form() -> None:
    """Across form SDs the clause on the range decides: met for round balls, not for others; the SD stays as it was."""
    found = surface(
        SETTING.terms, SETTING.design, SETTING.truth, [40.25], [0.01, 0.12], "form_sd",
        tests=30, contour_tests=0, place=Place(1),
    )  # fmt: skip
    assert [row.truth.sd for row in found.settings] == [0.02, 0.02]
    round_, oval = found.settings
    assert round_.met.value > 0.9
    assert oval.met.value == 0.0
    assert {row.clause: row.not_met.value for row in oval.clauses}["range"] > 0.9


def test_an_empty_grid_is_refused() -> None:
    """No mean, no spread or a negative number of further tests (rule of this project)."""
    for means, spreads, more in (([], [0.1], 0), ([40.0], [], 0), ([40.0], [0.1], -1)):
        with pytest.raises(BadRequest):
            surface(SETTING.terms, SETTING.design, SETTING.truth, means, spreads, contour_tests=more)
