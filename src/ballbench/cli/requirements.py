"""`specs`: list, show and check requirements."""

from __future__ import annotations

from pathlib import Path

from ballbench.presentation.requirement_view import print_checked, print_overview, print_requirement
from ballbench.workflows.requirements import check, overview, show

__all__ = ["run_check", "run_list", "run_show"]


def run_list() -> None:
    """List the catalogue."""
    print_overview(overview())


def run_show(spec: str) -> None:
    """Show one requirement."""
    print_requirement(show(spec))


def run_check(path: Path) -> int:
    """Check files; 2 when one of them cannot be used, else 0."""
    checked = check(path)
    print_checked(checked)
    return 2 if any(item.faults for item in checked) else 0
