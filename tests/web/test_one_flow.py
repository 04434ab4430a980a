"""Qualify, plan, set up, measure, judge: one walk with the keyboard, in which no number is typed twice."""

from __future__ import annotations

import json
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from servers import Running, bench_server

from ballbench.workflows.opening import open_notebook

PATIENCE_MS = 180_000
"""A page that hangs ends the test with an error after so long; nothing is measured with it."""
BALL = re.compile(r"Ball (\d+) · ")
SIZES = {"01": 42.70, "02": 42.78, "03": 42.86}
"""True sizes of the balls of both boxes, mm: 0.08 apart, far beyond the noise of 0.01."""


@pytest.fixture(scope="module")
def walked(browser: Any, tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Running, Any]]:
    """The whole walk; the bench as it is at its end, and the page that was walked."""
    notebook = open_notebook(tmp_path_factory.mktemp("notebook"))
    with bench_server(notebook) as server:
        context = browser.new_context()
        page = context.new_page()
        page.set_default_timeout(PATIENCE_MS)
        said: list[str] = []
        page.on("pageerror", lambda error: said.append(str(error)))
        walk = Walk(page, f"http://{server.host}")
        walk.qualify()
        walk.keep()
        walk.plan()
        walk.set_up()
        walk.measure()
        assert said == []
        yield server, page
        context.close()
    notebook.close()


class Walk:
    """A person with a keyboard."""

    def __init__(self, page: Any, address: str) -> None:
        self.page = page
        self.address = address

    def fill(self, label: str, text: str, among: Any = None) -> None:
        """Type into the field of a label; what stood there is typed over."""
        (among or self.page).get_by_label(label, exact=False).first.fill(text)

    def read_all(self) -> None:
        """Begin a sitting and type what the display shows for every place, Enter after each, until none is left."""
        page = self.page
        page.get_by_role("link", name="Measure", exact=True).first.click()
        page.get_by_test_id("begin-go").wait_for()
        page.get_by_test_id("by").fill("Ada")
        page.keyboard.press("Enter")
        page.get_by_test_id("entry").wait_for()
        number = 0
        while True:
            page.wait_for_function(READY, arg=number)
            if page.get_by_test_id("done").is_visible():
                page.wait_for_function(SENT)
                return
            where = page.get_by_test_id("where").inner_text()
            ball = BALL.search(where)
            size = 42.7 if ball is None else SIZES[ball[1]]
            page.keyboard.type(f"{size + 0.01 * (number % 3 - 1):.2f}")
            page.keyboard.press("Enter")
            number += 1

    def follow(self, name: str) -> None:
        """Go where a link leads, and wait for its scripts: before that they do not listen to what is typed."""
        with self.page.expect_navigation():
            self.page.get_by_role("link", name=name, exact=True).click()

    def qualify(self) -> None:
        """Begin a repeat study of three balls, read twice by one person, with a steel ball; read it; finish it."""
        page = self.page
        page.goto(f"{self.address}/qualify")
        page.get_by_role("link", name="Begin a repeat study").click()
        self.follow("Golf ball")
        page.get_by_label("Quantity").select_option("diameter")
        self.fill("Display step", "0.01")
        self.fill("Make", "Curlew")
        self.fill("Box", "C-1", page.locator("#new-box"))
        self.fill("Balls", "3", page.locator("#amounts"))
        self.fill("Readings by each person", "2")
        self.fill("First person", "Ada")
        page.get_by_role("button", name="Add a reference piece").click()
        piece = page.locator("fieldset.reference")
        for label, text in (("Name", "steel ball"), ("Is", "42.7"), ("Standard uncertainty", "0.001")):
            self.fill(label, text, piece)
        self.fill("Your name", "Ada")
        page.get_by_role("button", name="Set it up").click()
        page.wait_for_url(re.compile(r"/tests/1$"))
        self.read_all()
        page.goto(f"{self.address}/tests/1/qualify")
        assert page.get_by_text("Hidden until the study is finished").is_visible()
        page.goto(f"{self.address}/tests/1#finish")
        page.get_by_role("button", name="Finish the test").click()
        page.wait_for_url(re.compile(r"/tests/1/qualify$"))

    def keep(self) -> None:
        """Keep what it found for the caliper."""
        self.page.get_by_role("button", name="Keep this for the instrument").click()
        self.page.wait_for_url(f"{self.address}/qualify")
        assert self.page.get_by_text("before this caliper, in these hands").is_visible()

    def plan(self) -> None:
        """Plan with that caliper; only what the make may be like is typed."""
        page = self.page
        page.get_by_role("navigation").get_by_role("link", name="Plan", exact=True).click()
        self.follow("Golf ball")
        assert "qualified" in page.get_by_label("Instrument").locator("option:checked").inner_text()
        for label, text in (("True mean", "42.78"), ("SD between balls", "0.03"), ("Balls of a make", "3"),
                            ("Places on a ball", "1")):  # fmt: skip
            self.fill(label, text)
        page.get_by_text("How it is simulated").click()
        self.fill("Simulated tests", "20")
        page.get_by_role("button", name="Plan it").click()
        page.wait_for_url(re.compile(r"/plans/1$"))

    def set_up(self) -> None:
        """Set up what was planned; only make and box are typed. Its bench sheet can be printed then.

        The piece that the caliper was qualified with is offered, comes with its numbers, and can be left out.
        """
        page = self.page
        self.follow("Set up this test")
        again, piece = page.get_by_role("button", name="Take the steel ball again"), page.locator(".reference")
        again.click()
        told = {name: piece.locator(f'[name="{name}"]').input_value() for name in ("name", "value", "u", "unit")}
        assert told == {"name": "steel ball", "value": "42.7", "u": "0.001", "unit": "mm"}
        assert not again.is_visible()
        piece.get_by_role("button", name="Leave it out").click()
        assert again.is_visible()
        self.fill("Make", "Dunlin", page.locator("#makes"))
        self.fill("Box", "D-1", page.locator(".box-of-balls"))
        page.get_by_role("button", name="Set it up").click()
        page.wait_for_url(re.compile(r"/tests/2$"))
        assert page.get_by_text("everything is as it was planned").is_visible()
        sheet = page.get_by_role("link", name="Bench sheet").get_attribute("href")
        assert page.request.get(f"{self.address}{sheet}").body().startswith(b"%PDF-")

    def measure(self) -> None:
        """Read the box and finish the test."""
        self.read_all()
        self.page.goto(f"{self.address}/tests/2#finish")
        self.page.get_by_role("button", name="Finish the test").click()
        self.page.wait_for_url(re.compile(r"/tests/2/judge$"))


READY = """(number) => {
  const part = (name) => document.querySelector(`[data-testid="${name}"]`);
  const shown = (element) => element && element.offsetParent !== null;
  if (shown(part("done"))) return true;
  if (!shown(part("entry")) || document.activeElement !== part("entry") || part("entry").value !== "") return false;
  if (number > 0 && document.body.dataset.where === part("where").textContent) return false;
  document.body.dataset.where = part("where").textContent;
  return true;
}"""
"""Another place is in hand than the one before, its entry is empty and hears the keyboard; or nothing is left."""


SENT = "() => document.querySelector('.reading.kept') && !document.querySelector('.reading.waits')"
"""What was typed is in the notebook."""


def files(server: Running, test: int, folder: Path) -> dict[str, Path]:
    """Take the files of a test away, as a browser does."""
    found = {}
    for name in ("readings.csv", "bench.toml", "requirement.toml", "balls.csv", "corrections.csv"):
        answer = server.ask("GET", f"/api/tests/{test}/files/{name}")
        if answer.status == 200:
            found[name] = folder / name
            found[name].write_bytes(answer.body)
    return found


def test_no_number_of_the_instrument_is_typed_twice(walked: tuple[Running, Any], tmp_path: Path) -> None:
    """The bench file of the judged test has the numbers that the study found, to the last digit."""
    server, _ = walked
    found = server.ask("GET", "/api/tests/1/qualification").json()["instrument"]
    kept = server.ask("GET", "/api/instruments").json()["qualified"][0]["instrument"]
    judged = tomllib.loads(files(server, 2, tmp_path)["bench.toml"].read_text(encoding="utf-8"))["instrument"]
    assert judged["caliper"]["resolution"] == 0.01
    own = judged["caliper"]
    assert own["repeatability"] == {"sd": kept["sd"], "dof": kept["dof"], "includes_rounding": True}
    assert own["calibration"] == {"offset": kept["offset"], "offset_sd": kept["offset_sd"]}
    for part in ("repeatability", "calibration"):  # the document is written to ten figures
        assert {name: found[part][name] for name in own[part]} == pytest.approx(own[part], rel=1e-9)
    assert found["repeatability"]["sd"] > 0.0
    assert found["assumed"] is False
    assert server.ask("GET", "/api/plans/1").json()["instrument"] == found


def test_the_findings_are_those_of_the_command_line(walked: tuple[Running, Any], tmp_path: Path) -> None:
    """Byte for byte those of `ballbench judge` on the files of the test."""
    server, _ = walked
    own = files(server, 2, tmp_path)
    test = next(one for one in server.ask("GET", "/api/tests").json()["tests"] if one["id"] == 2)
    seed = server.ask("GET", "/api/tests/2/bench").json()["test"]["seed"]
    program = [sys.executable, "-c", "from ballbench.cli.main import run; run()"]
    given = {"--bench": "bench.toml", "--spec": "requirement.toml", "--balls": "balls.csv"}
    options = [part for option, name in given.items() for part in (option, str(own[name]))]
    told = [*program, "judge", str(own["readings.csv"]), *options, "--seed", str(seed), "--json", "-"]
    out = subprocess.run(told, capture_output=True, check=True).stdout
    assert server.ask("GET", "/api/tests/2/findings").body == out
    assert json.loads(out)["products"][0]["product"] == "Dunlin"
    assert test["read"] == test["planned"] == 3


def test_the_test_and_its_plan_lead_to_each_other(walked: tuple[Running, Any]) -> None:
    """The page of the test names its plan and nothing that is otherwise; the plan names the test."""
    server, page = walked
    page.goto(f"http://{server.host}/tests/2")
    assert page.locator("#planned a").get_attribute("href") == "/plans/1"
    assert page.get_by_text("everything is as it was planned").is_visible()
    assert server.ask("GET", "/api/plans").json()["plans"][0]["tests"][0][0] == 2
