"""What to beware of: the balls' own cautions, those of the tests that were made, and the standing of the result.

Common cautions of the trade, no source; local rules and licensed practice come first.
"""

from __future__ import annotations

from collections.abc import Iterable

from ballbench.records.test_order import caution_for
from ballbench.specs import Requirement

__all__ = ["cautions_for"]

STANDING = (
    "Results of a home bench are not an approval: the governing body's current text and its accredited laboratories "
    "decide. Follow local rules; ask the competition's referee, the national association or an accredited laboratory."
)
PUBLISHING = (
    "Before publishing: say what was bought, when and how many; keep facts apart from opinion. "
    "This is not legal advice."
)


def cautions_for(requirement: Requirement | None, quantities: Iterable[str]) -> tuple[str, ...]:
    """Give the cautions to print with a result, safety first.

    Parameters
    ----------
    requirement : Requirement or None
        Its own cautions come first.
    quantities : iterable of str
        What was measured.
    """
    own = requirement.cautions if requirement is not None else ()
    tests = [caution for name in quantities if (caution := caution_for(name))]
    return tuple(dict.fromkeys((*own, *tests, STANDING, PUBLISHING)))
