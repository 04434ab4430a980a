"""Planning: how a test would end, before a ball is read.

The operating characteristic by the engine that judges: tests are simulated and judged as a real one would be.
"""

from __future__ import annotations

from ballbench.findings.planning.axes_of_form import ShapeCaught, shapes_caught
from ballbench.findings.planning.blocks import Place, Progress
from ballbench.findings.planning.chances import ClauseChances, SettingChances, Share, chances
from ballbench.findings.planning.designs import Design, Kit, Terms, TruthAt
from ballbench.findings.planning.surfaces import LEVELS, Surface, surface
from ballbench.findings.planning.telling_apart import TellingApart, Two, tell_apart
from ballbench.findings.planning.testing import Setting
from ballbench.findings.planning.worth import Gain, HowMany, smallest_design, what_it_would_buy

__all__ = [
    "LEVELS",
    "ClauseChances",
    "Design",
    "Gain",
    "HowMany",
    "Kit",
    "Place",
    "Progress",
    "Setting",
    "SettingChances",
    "ShapeCaught",
    "Share",
    "Surface",
    "TellingApart",
    "Terms",
    "TruthAt",
    "Two",
    "chances",
    "shapes_caught",
    "smallest_design",
    "surface",
    "tell_apart",
    "what_it_would_buy",
]
