"""An instrument as JSON: its entry of a bench file, numbers in the base unit of its quantity."""

from __future__ import annotations

from ballbench.presentation.json_text import Json
from ballbench.records.bench import Instrument

__all__ = ["instrument_json"]


def instrument_json(tool: Instrument) -> Json:
    """Give an instrument as an object with the names of a bench file."""
    return {
        "name": tool.name,
        "quantity": tool.quantity,
        "unit": tool.unit,
        "resolution": tool.resolution,
        "repeatability": {"sd": tool.sd, "dof": tool.dof, "includes_rounding": True},
        "calibration": {"offset": tool.offset, "offset_sd": tool.offset_sd, "scale_sd": tool.scale_sd},
        "zeroed": tool.zeroed,
        "display": tool.display,
        "assumed": tool.assumed,
    }
