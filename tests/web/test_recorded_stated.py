"""What a page states beside a recording of a drop: the findings of the command, its refusals, one naming."""

from __future__ import annotations

import csv
import functools
import html
import io
import json
import re
import shlex
from dataclasses import fields
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from drop_sounds import RESTITUTION, drop_wav
from examples.recorded import photos
from examples.recorded.photos import Ball, Lens, Scene
from recorded_bench import STATED, places_of, send_file, sent_recording
from servers import Running, act

from ballbench.cli.failures import guarded
from ballbench.cli.main import app
from ballbench.errors import BadRequest
from ballbench.physics.vertical_flight import Faller
from ballbench.records import Bench
from ballbench.workflows.flight_settings import settings_of
from ballbench.workflows.flight_words import FlightWords

EVERYTHING = {
    **STATED, "surface": "steel block", "contact_time": "1.4 ± 0.2 ms", "drag": "0.55 ± 0.02", "temperature": "12 degC",
    "pressure": "870 hPa", "humidity": "80 %", "latitude": "46.8 S", "altitude": "1300 m", "true_mass": "yes",
}  # fmt: skip
"""A felt-like ball of a known mass, in a cold hall in the mountains of the south."""


def told(server: Running, method: str, file: Path, stated: dict[str, str]) -> Any:
    """What the page is told."""
    answer = send_file(server, f"/api/{method}", stated, file.read_bytes(), file.name)
    assert answer.status == 200, answer.body
    return answer.json()


def same(one: Any, other: Any, where: str = "") -> None:
    """Two documents have the same shape and words, and numbers that agree to 1e-9."""
    if isinstance(one, dict):
        assert one.keys() == other.keys(), where
        for key in one:
            same(one[key], other[key], f"{where}.{key}")
    elif isinstance(one, list):
        assert len(one) == len(other), where
        for number, pair in enumerate(zip(one, other, strict=True)):
            same(*pair, f"{where}[{number}]")
    elif isinstance(one, float):
        assert one == pytest.approx(other, rel=1e-9, abs=1e-9), where
    else:
        assert one == other, where


@pytest.mark.parametrize("method", ["listen", "watch"])
def test_the_command_that_a_page_shows_gives_the_same_findings(
    server: Running, drop_files: dict[str, Path], method: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """The line that stands below the result, typed with the file's name, prints the document of the page, to 1e-9."""
    stated = {**EVERYTHING, "spec": "table-tennis-plastic", **({"ruler": "1.15 mm/px"} if method == "watch" else {})}
    reply = told(server, method, drop_files[method], stated)
    line = reply["document"]["command"]
    (shown,) = re.findall(r'<code class="command">(.*?)</code>', reply["shown"])
    assert html.unescape(re.sub(r"<[^>]*>", "", shown)).strip() == line, "the page shows it, to be copied as it is"
    words = [str(drop_files[method]) if word in {"FILES", "CLIPS"} else word for word in shlex.split(line)[1:]]
    capsys.readouterr()
    assert guarded(functools.partial(app, [*words, "--json", "-"])) == 0
    same(json.loads(capsys.readouterr().out), reply["document"])
    for name, text in EVERYTHING.items():
        said = "--true-mass" if name == "true_mass" else f'--{name.replace("_", "-")} "{text}"'
        assert said in line, name


def test_the_line_below_a_photograph_gives_the_same_findings(
    server: Running, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Typed with the photograph's name it prints the document of the page."""
    ball = Ball(20.0, (photos.Lobe(3, 0.05, 0.3),), 1000.0)
    scene = Scene(640, 480, Lens(9000.0, 320.0, 240.0), (ball,))
    photo = photos.saved(photos.photographed(scene, np.random.default_rng(1)), tmp_path / "Curlew_07.png")
    reply = told(server, "trace", photo, {"diameter": "40.00 ± 0.02 mm", "distance": "1.0 m"})
    (shown,) = re.findall(r'<code class="command">(.*?)</code>', reply["shown"])
    line = html.unescape(re.sub(r"<[^>]*>", "", shown)).strip()
    assert '--diameter "40.00 ± 0.02 mm"' in line
    words = [str(photo) if word == "PHOTO..." else word for word in shlex.split(line)[1:]]
    capsys.readouterr()
    assert guarded(functools.partial(app, [*words, "--json", "-"])) == 0
    same(json.loads(capsys.readouterr().out), reply["document"])


@pytest.mark.parametrize(
    ("method", "names"),
    [("listen", sorted(EVERYTHING.keys() - {"ball", "drop_height", "surface", "humidity"})),
     ("watch", ["contact_time", "latitude"])],
)  # fmt: skip
def test_what_is_stated_reaches_the_number(
    server: Running, drop_files: dict[str, Path], method: str, names: list[str]
) -> None:
    """Each statement by itself moves the rebound or its uncertainty; humidity moves the air by 0.3 % at most."""
    of = {
        "listen": lambda one: one["recordings"][0]["drops"][0]["rebound"],
        "watch": lambda one: one["clips"][0]["rebound"],
    }
    base = of[method](told(server, method, drop_files[method], STATED)["document"])
    for name in names:
        more = {**STATED, name: EVERYTHING[name], **({"latitude": "10"} if name == "altitude" else {})}
        moved = of[method](told(server, method, drop_files[method], more)["document"])
        assert (moved["value"], moved["u"]) != (base["value"], base["u"]), name


IN_THE_MOUNTAINS = Faller(2.74e-3, 0.040, 0.62, 0.974, 9.802)
"""Rough, at 1900 m and 46.8 degrees, by 12 degC and 800 hPa: 80000 Pa / (287.05 J/(kg K) 285.15 K) is 0.977 kg/m3, less
0.003 for half of the vapour that it can hold (gas law, both from memory); gravity of GRS 1980 less free air."""
OF_THE_MOUNTAINS = {
    **STATED, "drop_height": "305.0 ± 0.2 mm", "ball": "40.00 mm, 2.740 g", "true_mass": "yes", "drag": "0.62 ± 0.02",
    "temperature": "12 ± 1 degC", "pressure": "800 ± 2 hPa", "humidity": "50 %", "latitude": "46.8",
    "altitude": "1900 m",
}  # fmt: skip


def test_a_rough_ball_in_the_mountains_is_told_as_it_was_where_that_is_stated(server: Running) -> None:
    """Simulated with known truth, three drops: stated, restitution at every impact is held, and surer than unstated."""
    plain = {name: text for name, text in OF_THE_MOUNTAINS.items() if name in {"ball", "drop_height"}}
    for seed in (11, 12, 13):
        sound = drop_wav(seed, ball=IN_THE_MOUNTAINS)
        held, unstated = (
            send_file(server, "/api/listen", stated, sound).json()["document"]["recordings"][0]["drops"][0]
            for stated in (OF_THE_MOUNTAINS, plain)
        )
        for one, other, true in zip(held["restitution"], unstated["restitution"], RESTITUTION, strict=False):
            assert abs(one["value"] - true) < 2.0 * one["u"], (seed, one, true)
            assert one["u"] < other["u"]
        off, usual = (abs(drop["restitution"][3]["value"] - RESTITUTION[3]) for drop in (held, unstated))
        assert off < usual / 2.0, "what was not said of air and ball was most of the error"


BAD = {
    "ball": "40 mm", "drop_height": "305", "contact_time": "1 s", "drag": "rough", "temperature": "12 mm",
    "pressure": "1 m", "humidity": "50", "latitude": "54,3", "altitude": "12,5 m",
}  # fmt: skip


@pytest.mark.parametrize("method", ["listen", "watch"])
def test_a_number_with_a_fault_is_refused_in_the_words_of_the_command(server: Running, method: str) -> None:
    """All at once, each at its option; the same words as the command's, which come from the same place."""
    answer = send_file(server, f"/api/{method}", BAD, drop_wav())
    assert answer.status == 422, answer.body
    with pytest.raises(BadRequest) as refused:
        settings_of(FlightWords(**BAD), Bench())  # type: ignore[arg-type]
    words = [(one.where, one.found, one.allowed, one.todo) for one in refused.value.faults]
    assert [
        tuple(one[part] for part in ("where", "found", "allowed", "todo")) for one in answer.json()["faults"]
    ] == words
    assert {where for where, *_ in words} == {f"option --{name.replace('_', '-')}" for name in BAD}
    wrong = send_file(server, f"/api/{method}", {**STATED, "true_mass": "no"}, drop_wav())
    assert wrong.json()["faults"][0]["where"] == "option --true-mass"


def test_pages_interface_and_command_have_one_name_for_each_statement(server: Running) -> None:
    """Fields of the page, of the form of the interface and of what is said of a flight; each names its option."""
    shapes = server.ask("GET", "/api/openapi.json").json()
    flight = {one.name for one in fields(FlightWords)}
    for method, more in (("listen", set()), ("watch", {"ruler"})):
        page = server.ask("GET", f"/{method}").body.decode()
        stated = re.findall(r'data-stated="(\w+)" data-where="option --([\w-]+)"', page)
        assert {name for name, _ in stated} == flight | more | {"spec"}
        assert all(option == name.replace("_", "-") for name, option in stated)
        ref = shapes["paths"][f"/api/{method}"]["post"]["requestBody"]["content"]["multipart/form-data"]["schema"][
            "$ref"
        ]
        form = shapes["components"]["schemas"][ref.rpartition("/")[2]]
        assert set(form["properties"]) == flight | more | {"file", "spec", "picks"}
        assert form["required"] == ["file"]


def test_what_is_stated_is_kept_with_the_reading(server: Running) -> None:
    """recordings.csv has every statement, so that a stranger can state it again; it is told in the same words."""
    digest = sent_recording(server, 1, drop_wav())
    asked = {"method": "listen", "stated": EVERYTHING, "picks": None}
    found = server.post(f"/api/tests/1/recordings/{digest}/told", asked).json()
    value = next(one for one in found["values"] if one["quantity"] == "rebound")
    place = places_of(server, 1, "rebound")[0]["id"]
    kept = server.post(f"/api/tests/1/recordings/{digest}/readings", act(**asked, place=place, value=value["name"]))
    assert kept.json()["status"] == "kept", kept.body
    rows = csv.DictReader(io.StringIO(server.ask("GET", "/api/tests/1/files/recordings.csv").body.decode()))
    (row,) = [one for one in rows if one["method"]]
    assert json.loads(row["stated"]) == EVERYTHING
    assert json.loads(row["told"])["result"] == pytest.approx(value["value"], abs=1e-9)


@pytest.mark.parametrize(("method", "name"), [("listen", "a.wav"), ("watch", "a.mp4"), ("trace", "a.png")])
def test_of_a_file_that_cannot_be_used_nothing_is_taken_for_granted(server: Running, method: str, name: str) -> None:
    """Neither on the page nor in the document; and the page speaks of no outline."""
    stated = {"diameter": "40 mm"} if method == "trace" else STATED
    reply = send_file(server, f"/api/{method}", stated, b"RIFF" + bytes(200), name).json()
    assert reply["refused"]
    assert (reply["document"]["assumptions"], reply["view"]["kind"]) == ([], "none")
    for words in ("Taken for granted", "on the command line", "stands with each"):
        assert words not in reply["shown"].replace("\u00a0", " ")
