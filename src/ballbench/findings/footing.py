"""What a result rests on: the same for every way of measuring."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Footing"]


@dataclass(frozen=True, slots=True)
class Footing:
    """What a result rests on, and what a reader must know beside it.

    Parameters
    ----------
    invented : bool
        The data are invented; every output says so.
    assumptions : tuple of str
        What was taken for granted.
    cautions : tuple of str
        What to beware of: first the dangers at the bench, last how far a home bench's word goes.
    notes : tuple of str
        How the data were read, and what else belongs to the result as a whole.
    """

    invented: bool = False
    assumptions: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
