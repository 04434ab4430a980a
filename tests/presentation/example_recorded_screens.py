"""Made-up data of the pages of recordings and of the ramp."""

from __future__ import annotations

from dataclasses import replace

from ballbench.presentation.screens.home import RequirementChoice
from ballbench.presentation.screens.recorded import StatedField
from ballbench.presentation.screens.recorded_page import (
    KeptRecording,
    MethodChoice,
    PlaceChoice,
    RecordedPage,
    RecordingsOfTest,
    recorded_html,
    recordings_html,
)
from ballbench.presentation.screens.roll_page import RollPage, roll_html
from ballbench.records.ball_test import BallTest
from ballbench.workflows.roll import roll_typed

__all__ = ["recorded_pages"]

RUNS = """product,ball,orientation,direction,veer,slope,angle,ball_diameter
{0}Curlew,01,A,as placed,4.0,1000,3.0,40.1
{0}Curlew,01,A,turned,-3.2,,,
{0}Curlew,01,B,as placed,1.1,,,
{0}Curlew,01,B,turned,0.4,,,
{0}Curlew,01,C,as placed,2.0,,,
{0}Curlew,01,C,turned,-1.4,,,
"""


def recorded_pages(
    name: str, choices: tuple[RequirementChoice, ...], test: BallTest, blind: BallTest, finished: BallTest
) -> dict[str, str]:
    """Write the pages; `name` stands wherever a person's own words do."""
    own = name.replace('"', '""').replace(",", "")
    rolled = "\n".join(",".join(f'"{cell}"' for cell in line.split(",")) for line in RUNS.format(own).splitlines())
    caution = ("Drop from a fixed stand, never from a chair or ladder.",)
    listen = MethodChoice(
        "listen", "A sound of the drop", "audio/*,video/*", ("rebound", "bounce_restitution"),
        (StatedField("ball", "The ball", "Diameter and mass", f"{name}40 mm, 2.7 g"),
         StatedField("drop_height", "Drop height", "Such as 305 mm"),
         StatedField("drag", "Drag coefficient", "Such as 0.50; empty: a smooth sphere", f"{name}0.5", detail=True),
         StatedField("true_mass", "What the mass is", "By a balance, or not", "yes",
                     (("", "What a balance shows"), ("yes", "The true mass")), detail=True)),
    )  # fmt: skip
    trace = replace(
        listen, name="trace", words="A photograph of the ball", accept="image/*", quantities=("outline_form",)
    )
    alone = RecordedPage(listen, "Listen to a drop", "A phone hears every impact.", ("Lay the phone down.",), caution)
    recordings = (
        KeptRecording("b" * 64, f"{name}hall.m4a", f"{name}E", "20 November 2026, 19:12", 2_500_000),
        KeptRecording("a" * 64, "drop.wav", "E", "20 November 2026, 19:02", 300_000, ("ball 01, rebound height",),
                      '{"listen": [[0.5, 0.9]], "watch": [[0.2]]}'),
    )  # fmt: skip
    places = (("rebound height", (PlaceChoice(7, "rebound", f"Ball 02 ({name}Curlew), rebound height"),)),)
    several = RecordingsOfTest(test, (listen, trace), places, recordings, caution)
    hidden = (("rebound height", (PlaceChoice(7, "rebound", "Ball 02, rebound height"),)),)
    return {
        "listen": recorded_html(replace(alone, requirements=choices)),
        "trace": recorded_html(replace(alone, method=trace, head="Trace a ball")),
        "recordings": recordings_html(several),
        "recordings-hidden": recordings_html(replace(several, test=blind, places=hidden, recordings=recordings[1:])),
        "recordings-finished": recordings_html(replace(several, test=finished)),
        "recordings-none": recordings_html(replace(several, methods=(), places=(), recordings=())),
        "roll": roll_html(RollPage(choices, caution)),
        "roll-told": roll_html(RollPage(choices, caution, roll_typed(rolled))),
    }
