"""Chances over a grid of true means and true spreads, with more tests where a contour passes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from ballbench.errors import BadRequest, Fault
from ballbench.findings.planning.blocks import Place, Progress, block_sizes, running
from ballbench.findings.planning.chances import SettingChances, check_tests, outcomes_of, summary
from ballbench.findings.planning.designs import Design, Terms, TruthAt
from ballbench.findings.planning.outcomes import join
from ballbench.findings.planning.testing import Setting
from ballbench.statistics.study import Floats

__all__ = ["LEVELS", "Surface", "surface"]

LEVELS = (0.5, 0.8, 0.95)
"""Chances of "met" whose contours are drawn."""


@dataclass(frozen=True, slots=True)
class Surface:
    """Chances over a grid.

    Parameters
    ----------
    across : str
        ``sd`` or ``form_sd``: what the second side of the grid is.
    means, spreads : tuple of float
        Base unit of the quantity.
    settings : tuple of SettingChances
        Row by row: for each mean every spread.
    """

    across: Literal["sd", "form_sd"]
    means: tuple[float, ...]
    spreads: tuple[float, ...]
    settings: tuple[SettingChances, ...]

    def chance_met(self) -> Floats:
        """Chance of "met" at each (mean, spread)."""
        values = [setting.met.value for setting in self.settings]
        return np.array(values).reshape(len(self.means), len(self.spreads))


def surface(
    terms: Terms, design: Design, truth: TruthAt, means: Sequence[float], spreads: Sequence[float],
    across: Literal["sd", "form_sd"] = "sd", tests: int = 100, contour_tests: int = 300, seed: int = 1,
    place: Place | None = None, progress: Progress | None = None,
) -> Surface:  # fmt: skip
    """Simulate a grid of true means and spreads.

    Parameters
    ----------
    terms, design : Terms, Design
        What is planned.
    truth : TruthAt
        What does not vary over the grid.
    means, spreads : sequences of float
        True means, and true values of `across`; base unit.
    across : str
        ``sd`` or ``form_sd``.
    tests : int
        Simulated at each place of the grid.
    contour_tests : int
        So many more where a contour of chance 0.5, 0.8 or 0.95 of "met" passes: between two neighbours, or inside the
        interval of the place itself; 0: none.
    seed, place, progress
        As for `chances.chances`; `progress` starts again for the further tests.

    Returns
    -------
    Surface
        The same for the same arguments, wherever it ran.

    Raises
    ------
    BadRequest
        An empty side of the grid, counts below their least, or as `chances.chances`.
    """
    check_tests(tests)
    if len(means) == 0 or len(spreads) == 0 or contour_tests < 0:
        given = f"{len(means)} means, {len(spreads)} spreads, {contour_tests} tests more at contours"
        raise BadRequest(Fault("surface", given, "one mean, one spread, 0 tests more, or more", "give the grid"))
    rows_at, columns_at = tuple(map(float, means)), tuple(map(float, spreads))
    at = [replace(truth, mean=mean, **{across: spread}) for mean in rows_at for spread in columns_at]
    settings = [Setting(terms, design, one) for one in at]
    with running(place or Place(), progress) as run:
        found = outcomes_of(settings, [tests] * len(settings), seed, run)
        first = [summary(setting, one) for setting, one in zip(settings, found, strict=True)]
        where = _contours(first, len(means), len(spreads)).ravel() & (contour_tests > 0)
        more = [contour_tests if here else 0 for here in where]
        start = len(block_sizes(tests, design.balls))
        further = outcomes_of(settings, more, seed, run, start) if any(more) else [None] * len(settings)
    both = [join([a, b]) if a is not None and b is not None else a for a, b in zip(found, further, strict=True)]
    rows = tuple(summary(setting, one) for setting, one in zip(settings, both, strict=True))
    return Surface(across, rows_at, columns_at, rows)


def _contours(settings: Sequence[SettingChances], rows: int, columns: int) -> NDArray[np.bool_]:
    """Places of the grid beside which, or inside whose interval, a contour passes; (rows, columns)."""
    met = np.array([s.met.value for s in settings]).reshape(rows, columns)
    low = np.array([s.met.low for s in settings]).reshape(rows, columns)
    high = np.array([s.met.high for s in settings]).reshape(rows, columns)
    out = np.zeros(met.shape, bool)
    for level in LEVELS:
        out |= (low < level) & (level < high)
        above = met >= level
        for crossed, one, other in (
            (above[1:] != above[:-1], np.s_[1:], np.s_[:-1]),
            (above[:, 1:] != above[:, :-1], np.s_[:, 1:], np.s_[:, :-1]),
        ):
            out[one] |= crossed
            out[other] |= crossed
    return out
