"""Terms and settings written down in the tests of planning themselves."""

from __future__ import annotations

from dataclasses import replace

from tests.findings.made_samples import clause_of, reading_of, requirement_of

from ballbench.findings.planning.designs import Design, Kit, Terms, TruthAt
from ballbench.findings.planning.testing import Setting
from ballbench.records import Bench, Instrument, default_instrument
from ballbench.specs import Clause, Requirement

__all__ = ["CALIPER", "FINE_STEP", "ROUGH", "UNKNOWN", "rules", "setting_of"]

CALIPER = Instrument("caliper", "diameter", "mm", 0.01, 0.008, 20.0, offset_sd=0.010)
FINE_STEP = replace(CALIPER, resolution=0.001)
"""The same with a display so fine that readings of round balls pass as continuous."""
ROUGH = Instrument("rule", "diameter", "mm", 0.1, 0.03, 20.0, offset_sd=0.010)
"""Shows tenths, so that its readings count as intervals."""
UNKNOWN = default_instrument("diameter", "mm", 0.01)
"""Nothing is known of it but its display step."""


def rules(*, axes: int = 4, allowed: int = 0, size: int | None = None) -> Requirement:
    """Give six clauses on diameters (five for one place), as the trade writes them; invented limits, mm."""
    clauses: list[Clause] = [
        clause_of(reading_of("min", "each", lower=40.0), identity="smallest"),
        clause_of(reading_of("max", "each", upper=40.6, allowed=allowed), identity="largest"),
        clause_of(reading_of("midrange" if axes > 1 else "mean", "mean", lower=40.0, upper=40.5), identity="mean"),
        clause_of(reading_of("midrange" if axes > 1 else "mean", "sd", upper=0.06), identity="sd"),
    ]
    if axes > 1:
        clauses += [
            clause_of(reading_of("range", "each", upper=0.25), identity="range"),
            clause_of(reading_of("range", "mean", upper=0.2), reading_of("range", "mean", upper=0.19), identity="both"),
        ]
    return requirement_of(*clauses, sample_size=size)


def setting_of(
    truth: TruthAt,
    balls: int = 24,
    axes: int = 4,
    repeats: int = 1,
    *,
    tool: Instrument = CALIPER,
    requirement: Requirement | None = None,
    named: bool = True,
    **bench: object,
) -> Setting:
    """Give a setting with one instrument; `bench` goes to `Bench`."""
    held = Bench({tool.name: replace(tool)}, **bench)  # type: ignore[arg-type]
    terms = Terms(requirement or rules(axes=axes), Kit("diameter", held))
    return Setting(terms, Design(balls, axes, repeats, named), truth)
