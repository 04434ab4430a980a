"""Everything that ballbench raises on purpose.

::

    BallbenchError
    ├── BadInput (ValueError)            something the person gave cannot be used; holds faults
    │   ├── BadReadings                  a readings file
    │   ├── BadCorrections               a corrections file
    │   ├── BadBalls                     a ball-facts file
    │   ├── BadBench                     a bench file
    │   ├── BadChecks                    a log of instrument checks
    │   ├── BadRequirement               a requirement file
    │   ├── BadRecording                 a sound, a photograph or a clip
    │   ├── BadNotebook                  a notebook
    │   ├── NotFound (LookupError)       something that the notebook does not hold
    │   ├── Conflict                     something that was done meanwhile stands against it
    │   └── BadRequest                   an option, an argument or an entry
    └── NotConverged (ArithmeticError)   an iteration ended without an answer

Every fault says where, what was found, what is allowed and what to do. The shells map a class to an exit status;
nothing here knows about a screen.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

__all__ = [
    "BadBalls",
    "BadBench",
    "BadChecks",
    "BadCorrections",
    "BadInput",
    "BadNotebook",
    "BadReadings",
    "BadRecording",
    "BadRequest",
    "BadRequirement",
    "BallbenchError",
    "Conflict",
    "Fault",
    "NotConverged",
    "NotFound",
]

_PRINTED = 50


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong with an input.

    Parameters
    ----------
    where : str
        File, and line and column where known, such as ``"box.csv, line 7, column value"``.
    found : str
        What stands there, quoted as the person wrote it.
    allowed : str
        The rule, as a sentence part: ``"a number such as 40.12"``.
    todo : str
        The next step for the person, an imperative.
    """

    where: str
    found: str
    allowed: str
    todo: str

    def __str__(self) -> str:
        """One line: where, found, allowed, what to do."""
        return f"{self.where}: found {self.found}; allowed: {self.allowed}; {self.todo}"


class BallbenchError(Exception):
    """Root of everything that ballbench raises on purpose."""


class BadInput(BallbenchError, ValueError):
    """Something that the person gave cannot be used.

    Parameters
    ----------
    faults : iterable of Fault
        All that is wrong, in the order of the input; never empty.
    more : int
        How many further faults were found but not kept.
    """

    def __init__(self, faults: Fault | Iterable[Fault], more: int = 0) -> None:
        self.faults: tuple[Fault, ...] = (faults,) if isinstance(faults, Fault) else tuple(faults)
        self.more = more
        super().__init__(self.faults, more)

    def __str__(self) -> str:
        """Every fault on a line of its own, at most 50 of them, then how many more there are."""
        lines = [str(fault) for fault in self.faults[:_PRINTED]]
        left = len(self.faults) - len(lines) + self.more
        return "\n".join([*lines, f"and {left} more of such faults"] if left else lines)


class BadReadings(BadInput):
    """A readings file cannot be used."""


class BadCorrections(BadInput):
    """A corrections file cannot be used."""


class BadBalls(BadInput):
    """A ball-facts file cannot be used."""


class BadBench(BadInput):
    """A bench file cannot be used."""


class BadChecks(BadInput):
    """A log of instrument checks cannot be used."""


class BadRequirement(BadInput):
    """A requirement file cannot be used."""


class BadRecording(BadInput):
    """A sound, a photograph or a clip cannot be used."""


class BadNotebook(BadInput):
    """A notebook cannot be opened or written."""


class NotFound(BadInput, LookupError):
    """The notebook holds no such thing."""


class Conflict(BadInput):
    """What was done meanwhile stands against it."""


class BadRequest(BadInput):
    """An option, an argument or an entry cannot be used."""


class NotConverged(BallbenchError, ArithmeticError):
    """An iteration ended without an answer.

    Parameters
    ----------
    what : str
        The computation that failed.
    measure : float
        The convergence measure it reached.
    needed : float
        The value it had to reach.
    """

    def __init__(self, what: str, measure: float, needed: float) -> None:
        self.what, self.measure, self.needed = what, measure, needed
        super().__init__(what, measure, needed)

    def __str__(self) -> str:
        """Say what did not converge and by how much."""
        return f"{self.what} did not converge: reached {self.measure:.3g}, needed {self.needed:.3g}"
