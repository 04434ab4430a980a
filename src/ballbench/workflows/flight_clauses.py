"""Clauses on rebound and restitution, held against flights, with what was said of the drop as the conditions."""

from __future__ import annotations

from collections.abc import Sequence

from ballbench.errors import Fault
from ballbench.findings.bouncing.balls import BallDraws
from ballbench.findings.bouncing.clauses import bounce_clauses, clauses_of
from ballbench.findings.bouncing.results import BounceClause
from ballbench.records import Bench
from ballbench.specs import Requirement
from ballbench.workflows.flight_settings import Prepared
from ballbench.workflows.flight_words import FlightWords
from ballbench.workflows.stated_quantities import stated_temperature

__all__ = ["flight_clauses"]


def flight_clauses(
    requirement: Requirement | None,
    draws: Sequence[BallDraws],
    said: FlightWords,
    prepared: Prepared,
    bench: Bench,
    *,
    accept_unverified: bool,
) -> tuple[BounceClause, ...]:
    """Hold balls against the clauses of a requirement that flights can answer.

    Parameters
    ----------
    requirement : Requirement or None
        None: nothing to hold against.
    draws : sequence of BallDraws
        Ball by ball.
    said : FlightWords
        Its drop height, surface and temperature are conditions; they come before those of the bench.
    prepared : Prepared
        What the flights were worked out with.
    bench : Bench
        Conditions that held.
    accept_unverified : bool
        Limits seen only in memory may decide.
    """
    if requirement is None:
        return ()
    return tuple(
        clauses_of(
            draws, bounce_clauses(requirement.clauses), bench, _conditions(said, prepared),
            prepared.settings.diameter.value, accept_unverified=accept_unverified,
        )
    )  # fmt: skip


def _conditions(said: FlightWords, prepared: Prepared) -> dict[str, str]:
    """Give what was said as conditions, in the units in which clauses are compared."""
    height = prepared.settings.drop_height
    facts = {} if height is None else {"drop_height": f"{height.value:.6g} mm"}
    facts |= {"surface": said.surface.strip()} if said.surface.strip() else {}
    if said.temperature.strip():
        warm = stated_temperature("option --temperature", said.temperature, 1.0)
        facts |= {} if isinstance(warm, Fault) else {"temperature": f"{warm.value:.4g} degC"}
    return facts
