"""What lies on the bench in the pictures: the invented winter league taken in, a test half read, a blind one begun.

Everything goes through the interface that the pages use, with fixed keys, times and seeds, so that the same version
gives the same pictures. Nothing was measured: every number comes from a seeded generator.
"""

from __future__ import annotations

import json
import urllib.request
import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np

__all__ = ["CLIENT", "NOW", "SOUND", "Interface", "Scene", "lay_out", "with_drops"]

LEAGUE = Path(__file__).parents[2] / "examples" / "winter-league"
SOUND = LEAGUE / "recordings" / "Curlew_07.m4a"
"""The invented sound of a drop."""
CLIENT = "7d2f6a4c-1b0d-4e5f-8a9b-0c1d2e3f4a5b"
BEGUN = datetime.fromisoformat("2026-11-21T18:00:00+01:00")
NOW = datetime.fromisoformat("2026-11-21T18:15:00+01:00")
"""What the clock shows in the pictures: soon after the last act."""

MAKES = {"Curlew": (40.240, 0.022, 0.014, 2.722), "Dunlin": (40.262, 0.026, 0.050, 2.716),
         "Plover": (40.473, 0.014, 0.010, 2.731)}  # fmt: skip
"""Mean diameter, SD between balls and SD of form in mm, and mean mass in g; near those of the league's own script."""
NOISE = {"diameter": 0.008, "mass": 0.006}
STEEL_MM = 38.10
EXTRA_CHECK = 31
"""Before the reading of this number the caliper is checked once more than planned."""

CALIPER = {"name": "caliper", "quantity": "diameter", "unit": "mm", "resolution": 0.01, "sd": 0.008, "dof": 20,
           "offset_sd": 0.012}  # fmt: skip
SCALE = {"name": "scale", "quantity": "mass", "unit": "g", "resolution": 0.01, "sd": 0.006, "dof": 15,
         "offset_sd": 0.004}  # fmt: skip
AXES = ("seam", "across", "free")
QUANTITIES = ({"name": "diameter", "axes": AXES, "instrument": "caliper"}, {"name": "mass", "instrument": "scale"})
STEEL_BALL = {"name": "steel ball", "quantity": "diameter", "value": STEEL_MM, "u": 0.001, "unit": "mm",
              "instrument": "caliper"}  # fmt: skip


class Interface:
    """The interface of a bench that is open.

    Parameters
    ----------
    address : str
        Where it is, on this machine.
    """

    def __init__(self, address: str) -> None:
        self._address = address
        self._acts = 0

    def act(self, path: str, **more: object) -> Any:
        """Do something, nine seconds after the act before, and give the reply."""
        self._acts += 1
        at = BEGUN + timedelta(seconds=9 * self._acts)
        sent = {"key": str(uuid.UUID(int=self._acts, version=4)), "client": CLIENT, "by": "E", "at": at.isoformat()}
        return self._ask(path, json.dumps({**sent, **more}).encode())

    def get(self, path: str) -> Any:
        """Give what stands there."""
        return self._ask(path, None)

    def _ask(self, path: str, body: bytes | None) -> Any:
        headers = {"Content-Type": "application/json"}
        request = urllib.request.Request(self._address + path, body, headers)  # noqa: S310 - the bench opened for it
        with urllib.request.urlopen(request) as answer:  # noqa: S310 - as above
            return json.load(answer)


@dataclass(frozen=True, slots=True)
class Scene:
    """Numbers in the notebook: the league, a test half read, a blind one, a quick check, a box, a study, a plan."""

    league: int
    half: int
    blind: int
    quick: int
    box: int
    study: int
    plan: int


def lay_out(bench: Interface) -> Scene:
    """Fill a new notebook."""
    league = bench.act("/api/example")["id"]
    quick = _quick_check(bench)
    blind = _set_up(bench, "Third boxes, read blind", ("Curlew", "Dunlin", "Plover"), 8, blind=True)
    half = _set_up(bench, "Second look at Curlew and Dunlin", ("Curlew", "Dunlin"), 12, blind=False)
    _read(bench, blind, ("Curlew", "Dunlin", "Plover"), 8, 32)
    _read(bench, half, ("Curlew", "Dunlin"), 12, 46)
    _amend(bench, half)
    study, plan = _qualified(bench)
    return Scene(league, half, blind, quick, _over_a_season(bench), study, plan)


def with_drops(bench: Interface) -> int:
    """Set up a test of rebound and restitution, which a phone takes; give its number."""
    phone = {"name": "phone", "quantity": "rebound", "unit": "mm", "resolution": 0.1, "sd": 0.8, "dof": 20}
    made = bench.act(
        "/api/tests", title="Drops of Curlew", requirement=(LEAGUE / "league-ball.toml").read_text(encoding="utf-8"),
        makes=[{"make": "Curlew", "boxes": [{"label": "C-6", "balls": 6}]}], instruments=(phone,),
        quantities=[{"name": "rebound", "repeats": 2, "instrument": "phone"}],
        conditions={"drop_height": "305 mm", "surface": "steel block"}, invented=True, seed=20261128,
    )  # fmt: skip
    return int(made["id"])


def _set_up(bench: Interface, title: str, makes: Sequence[str], balls: int, *, blind: bool) -> int:
    bought = {"bought": "2026-11-14", "where": "harbour shop", "price": "9.50"}
    boxes = [{"make": make, "boxes": [{"label": f"{make[0]}-3", "balls": balls, **bought}]} for make in makes]
    made = bench.act(
        "/api/tests", title=title, requirement=(LEAGUE / "league-ball.toml").read_text(encoding="utf-8"), makes=boxes,
        quantities=QUANTITIES, instruments=(CALIPER, SCALE), references=(STEEL_BALL,), blind=blind, invented=True,
        seed=20261121, reference_c=23.0, expansion=9e-5, expansion_relative_sd=0.2,
    )  # fmt: skip
    return int(made["id"])


def _qualified(bench: Interface) -> tuple[int, int]:
    """Study a caliper with two people, keep what it tells, and plan a test with it; give study and plan."""
    requirement = (LEAGUE / "league-ball.toml").read_text(encoding="utf-8")
    made = bench.act(
        "/api/tests", title="Repeat study: digital caliper", requirement=requirement, purpose="repeat study",
        people=("Ada", "Ben"), makes=[{"make": "Curlew", "boxes": [{"label": "C-5", "balls": 5}]}],
        quantities=[{"name": "diameter", "axes": ["seam"], "repeats": 3, "instrument": "digital caliper"}],
        instruments=[{"name": "digital caliper", "quantity": "diameter", "unit": "mm", "resolution": 0.01}],
        references=[{**STEEL_BALL, "instrument": "digital caliper"}], invented=True, seed=20261127,
    )  # fmt: skip
    at = f"/api/tests/{made['id']}"
    for place in bench.get(f"{at}/bench")["places"]:
        text = f"{STEEL_MM:.2f}" if place["reference"] is not None else _text(place, "Curlew")
        bench.act(f"{at}/readings", place=place["id"], text=text, by=place["person"] or "Ada")
    bench.act(f"{at}/finish")
    kept = bench.act(f"{at}/qualification")["qualification"]["id"]
    planned = bench.act(
        "/api/plans", requirement="table-tennis-plastic", quantity="diameter", qualification=kept, true_mean="40.26",
        true_sd="0.025", true_form_sd="0.03", balls=(6, 12, 24), axes=(3,), tests=200, gains=True, seed=20261127,
    )  # fmt: skip
    return int(made["id"]), int(planned["plan"])


def _over_a_season(bench: Interface) -> int:
    """Test one box of Curlew in September and again in November, when its balls are smaller; give its number."""
    new = {"makes": [{"make": "Curlew", "boxes": [{"label": "C-4", "balls": 12, "bought": "2026-09-04",
                                                   "where": "harbour shop", "price": "12.50"}]}]}  # fmt: skip
    box = 0
    tests = (("09-12", "New in September", 0.0, 20260912), ("11-14", "After two months of play", 0.05, 20261114))
    for day, title, shrunk, seed in tests:
        chosen = {"boxes": [{"box": box}]} if box else new
        at = f"2026-{day}T18:00:00+01:00"
        made = bench.act(
            "/api/tests", title=title, requirement=(LEAGUE / "league-ball.toml").read_text(encoding="utf-8"), **chosen,
            quantities=QUANTITIES, instruments=(CALIPER, SCALE), invented=True, seed=seed, at=at,
        )  # fmt: skip
        box = made["boxes"][0]["id"]
        for place in bench.get(f"/api/tests/{made['id']}/bench")["places"]:
            text = _text(place, "Curlew")
            text = f"{float(text) - shrunk:.2f}" if place["quantity"] == "diameter" else text
            bench.act(f"/api/tests/{made['id']}/readings", place=place["id"], text=text, at=at)
        bench.act(f"/api/tests/{made['id']}/finish", at=at)
    return box


def _read(bench: Interface, test: int, makes: Sequence[str], balls: int, count: int) -> None:
    """Read the first places in their order, the steel ball once more after 31; at its planned place it fails then.

    The caliper is zeroed, and passes the next check.
    """
    at = f"/api/tests/{test}"
    bench.act(f"{at}/sittings", kind="bench", air_c=21.5, ball_c=21.0)
    state = bench.get(f"{at}/bench")
    first = min(ball["id"] for ball in state["balls"])
    for index, place in enumerate(state["places"][:count]):
        if index == EXTRA_CHECK:
            bench.act(f"{at}/readings", place=state["places"][0]["id"], text=f"{STEEL_MM:.2f}")
        if place["reference"] is None:
            make = makes[(place["ball"] - first) // balls]
            bench.act(f"{at}/readings", place=place["id"], text=_text(place, make))
        elif place["axis"] == "middle":
            bench.act(f"{at}/readings", place=place["id"], text=f"{STEEL_MM + 0.06:.2f}")
            bench.act(f"{at}/marks", kind="zeroed", note="caliper")
            bench.act(f"{at}/readings", place=place["id"], text=f"{STEEL_MM + 0.01:.2f}")
        else:
            bench.act(f"{at}/readings", place=place["id"], text=f"{STEEL_MM:.2f}")


def _text(place: Mapping[str, Any], make: str) -> str:
    """Give what the display shows of a ball at one place, the same whatever was read before."""
    mean, ball_sd, form_sd, mass = MAKES[make]
    of_ball = np.random.default_rng(place["ball"])
    own, form = of_ball.standard_normal(), of_ball.standard_normal(len(AXES))
    noise = NOISE[place["quantity"]] * np.random.default_rng([place["ball"], place["order"]]).standard_normal()
    if place["quantity"] == "mass":
        return f"{mass + 0.015 * own + noise:.2f}"
    return f"{mean + ball_sd * own + form_sd * form[AXES.index(place['axis'])] + noise:.2f}"


def _amend(bench: Interface, test: int) -> None:
    """Correct one reading, and take the last one back."""
    at = f"/api/tests/{test}"
    readings = [one for one in bench.get(f"{at}/bench")["readings"] if one["ball"] is not None]
    right = f"{float(readings[2]['text']) + 0.09:.2f}"
    said = {"action": "correct", "text": right, "reason": "last digit misread; the display is on the video"}
    bench.act(f"{at}/corrections", reading=readings[2]["id"], **said)
    bench.act(f"{at}/taken-back", reading=readings[-1]["id"])


def _quick_check(bench: Interface) -> int:
    made = bench.act(
        "/api/quick-checks", requirement="table-tennis-plastic", quantity="diameter",
        ball="Ball B of the final (invented)",
        instrument={key: value for key, value in CALIPER.items() if key not in {"name", "quantity"}},
        texts=("40.51", "40.57", "40.53"), axes=AXES, note="Second set; hall at 21 °C",
    )  # fmt: skip
    return int(made["id"])
