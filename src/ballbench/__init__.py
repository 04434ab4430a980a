"""Measure samples of sports balls and say, clause by clause, what the readings can and cannot show.

The public names load what they need when they are first used, so that importing the package costs nothing.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from ballbench.errors import BadInput, BallbenchError
    from ballbench.workflows.compare import CompareRequest, compare
    from ballbench.workflows.judge import JudgeRequest, judge

__all__ = ["BadInput", "BallbenchError", "CompareRequest", "JudgeRequest", "__version__", "compare", "judge"]

__version__ = "0.1.0"

_HOMES = {
    "BadInput": "ballbench.errors",
    "BallbenchError": "ballbench.errors",
    "CompareRequest": "ballbench.workflows.compare",
    "JudgeRequest": "ballbench.workflows.judge",
    "compare": "ballbench.workflows.compare",
    "judge": "ballbench.workflows.judge",
}


def __getattr__(name: str) -> Any:
    """Load a public name from its home."""
    if name not in _HOMES:
        raise AttributeError(f"module 'ballbench' has no attribute {name!r}")
    return getattr(import_module(_HOMES[name]), name)
