"""What temperature does to a length that is read with a steel instrument: one equation for the whole house."""

from __future__ import annotations

from typing import Any

__all__ = ["SCALE_TEMPERATURE", "STEEL_EXPANSION", "thermal_change"]

SCALE_TEMPERATURE = 20.0
"""degC, at which lengths of instruments hold (ISO 1, from memory)."""
STEEL_EXPANSION = 11.5e-6
"""1/K, the caliper's own; JCGM 100:2008, H.1 (steel gauge block, second-hand)."""


def thermal_change(*, instrument: Any, ball: Any, reference: Any, expansion: Any, steel: Any = STEEL_EXPANSION) -> Any:
    """Give the relative change from a length as read to the length at the reference temperature.

    Parameters
    ----------
    instrument, ball, reference : float or array
        Temperatures, degC: of the instrument, of the ball, and that at which the requirement holds.
    expansion, steel : float or array
        Linear expansion of the ball and of the instrument, 1/K.

    Returns
    -------
    float or array
        To be multiplied by the length; first order in the expansions (JCGM 100:2008, H.1).
    """
    return steel * (instrument - SCALE_TEMPERATURE) - expansion * (ball - reference)
