"""The requirement and the bench file that a request names, read together: the one declares quantities for the other."""

from __future__ import annotations

from pathlib import Path

from ballbench.records import Bench, read_bench
from ballbench.specs import Requirement, find_requirement

__all__ = ["rule_and_bench"]


def rule_and_bench(spec: str | None, bench: Path | None) -> tuple[Requirement | None, Bench]:
    """Read the requirement and the bench file.

    Parameters
    ----------
    spec : str or None
        An id of the catalogue, or a file; None: none.
    bench : Path or None
        A bench file; None: an empty bench.

    Raises
    ------
    BadInput
        One of them cannot be used.
    """
    requirement = find_requirement(spec) if spec is not None else None
    declared = {clause.quantity: clause.base_unit for clause in requirement.clauses} if requirement else {}
    return requirement, read_bench(bench, declared) if bench is not None else Bench()
