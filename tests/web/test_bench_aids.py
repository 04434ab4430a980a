"""The pages of the vee, the press and the ramp, and what stands behind them: nothing is kept, and nothing is lost."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from servers import Running, bench_server

from ballbench.workflows.bench_aids import MOST_ENTRIES, press_entries, roll_entries, vee_entries
from ballbench.workflows.opening import open_notebook

VEE = "product;ball;section;angle;setting;low;high\nCurlew;01;seam;90;summit;-0,012;0,018\n"
PRESS = (
    "product,ball,orientation,direction,load,preload,seconds,deformation\n"
    "Curlew,01,seam,forward,80,15,5,6.1\nCurlew,02,seam,forward,80,15,5,6.4\n"
)
ROLL = (
    "product,ball,orientation,direction,veer,slope,angle,ball_diameter\n"
    "Curlew,01,A,as placed,4.0,1000,3.0,40.1\nCurlew,01,A,turned,-3.2,,,\nCurlew,01,B,as placed,1.1,,,\n"
    "Curlew,01,B,turned,0.4,,,\nCurlew,01,C,as placed,2.0,,,\nCurlew,01,C,turned,-1.4,,,\n"
)
TYPED = {
    "vee": (VEE, lambda text: vee_entries(text, None, "")),
    "press": (PRESS, lambda text: press_entries(text, "")),
    "roll": (ROLL, lambda text: roll_entries(text, "")),
}
"""What is typed into each page, and what its command makes of it."""


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    """A server on an empty notebook."""
    notebook = open_notebook(tmp_path_factory.mktemp("notebook"))
    with bench_server(notebook) as running:
        yield running
    notebook.close()


@pytest.mark.parametrize("name", TYPED)
def test_the_answer_is_the_command_s_document_with_the_entries_as_read(server: Running, name: str) -> None:
    """Document, HTML and cells of a typed table; the notebook has no test afterwards."""
    text, read = TYPED[name]
    answer = server.post(f"/api/{name}", {"csv": text})
    assert answer.status == 200
    told = answer.json()
    assert told["document"] == json.loads(read(text).document)
    assert told["entries"][0]["ball"] == "01"
    assert '<svg class="chart"' in told["shown"]
    assert server.ask("GET", "/api/tests").json() == {"tests": []}


@pytest.mark.parametrize(
    ("path", "body", "where"),
    [
        ("/api/vee", {"csv": ""}, "entries.csv"),
        ("/api/vee", {"csv": VEE.replace("-0,012", "up")}, "entries.csv, line 2, column low"),
        ("/api/vee", {"csv": VEE, "lobes": 1}, "lobes"),
        ("/api/vee", {"csv": VEE, "spec": "/etc/passwd"}, "the requirement"),
        ("/api/press", {"csv": PRESS.replace("forward", "up")}, "entries.csv, line 2, column direction"),
        ("/api/press", {"csv": PRESS, "key": "x"}, "key"),
        ("/api/roll", {"csv": ROLL.replace(",A,turned", ",D,turned")}, "entries.csv, line 3, column orientation"),
        ("/api/roll", {"csv": ROLL, "spec": "/etc/passwd"}, "the requirement"),
        ("/api/press", {"csv": PRESS.splitlines()[0] + "\n" + "A,1,s,forward,8,1,5,1\n" * (MOST_ENTRIES + 1)},
         "entries.csv"),
    ],
)  # fmt: skip
def test_what_cannot_be_used_is_a_problem(server: Running, path: str, body: dict[str, Any], where: str) -> None:
    """422 with the place, as everywhere; a path is no requirement."""
    answer = server.post(path, body)
    assert answer.status == 422
    assert answer.headers["content-type"] == "application/problem+json"
    assert where in {fault["where"] for fault in answer.json()["faults"]}
    assert b"root:" not in answer.body


def test_words_of_a_person_stay_words(server: Running) -> None:
    """A make called <script> comes back as text in the HTML."""
    told = server.post("/api/vee", {"csv": VEE.replace("Curlew", "<script>alert(1)</script>")}).json()
    assert "<script>" not in told["shown"]
    assert "&lt;script&gt;" in told["shown"]


def says(part: Any) -> Any:
    """Wait for what a part of a page is to say."""
    return pytest.importorskip("playwright.sync_api").expect(part)


def last(page: Any, column: str) -> Any:
    """The last entry's field of that column."""
    return page.locator(".entry").last.locator(f"[data-column={column}]")


def whose(page: Any, column: str) -> Any:
    """The make or the number of the ball that was begun last, where entries stand together by ball."""
    return page.locator(".group").last.locator(f".whose [data-column={column}]")


def test_two_balls_are_turned_taken_away_and_typed_in_again(browser: Any, server: Running, tmp_path: Path) -> None:
    """Low, high, next ball: the form stands below at once; a fault stands at its field; the CSV brings it all back."""
    context = browser.new_context(accept_downloads=True)
    page, said = context.new_page(), []
    page.on("console", lambda one: said.append(one.text) if one.type in ("error", "warning") else None)
    page.goto(f"http://{server.host}/vee")
    for column, text in (
        ("product", "Curlew"),
        ("section", "seam"),
        ("low", "-0,012"),
        ("high", "0,018"),
        ("lobes", "3"),
    ):
        last(page, column).fill(text)
    says(page.locator("#told")).to_contain_text("form of the one ball")
    page.get_by_role("button", name="Next ball").click()
    says(last(page, "ball")).to_have_value("02")
    says(last(page, "section")).to_have_value("seam")
    last(page, "low").fill("0")
    last(page, "high").fill("up")
    page.get_by_role("button", name="What it tells").click()
    says(page.locator("#faults")).to_contain_text("Entry 2: Curlew, ball 02: High")
    assert all("422" in one for one in said)
    last(page, "high").fill("0,004")
    says(page.locator("#told figure")).to_contain_text("n = 2 balls")
    with page.expect_download() as coming:
        page.get_by_role("button", name="Take away as CSV").click()
    away = tmp_path / coming.value.suggested_filename
    coming.value.save_as(away)
    page.reload()
    says(page.locator(".entry")).to_have_count(2)  # kept in the tab
    again = context.new_page()
    again.goto(f"http://{server.host}/vee")
    says(again.locator(".entry")).to_have_count(1)  # a tab of its own
    again.get_by_label("Type in from CSV").set_input_files(away)
    says(again.locator(".entry")).to_have_count(2)
    says(last(again, "high")).to_have_value("0,004")
    says(again.locator("#told figure")).to_contain_text("n = 2 balls")
    context.close()


def test_a_ball_is_pressed_by_the_clock(browser: Any, server: Running) -> None:
    """The clock counts, says when to read, and fills the seconds; two balls give a mean for this rig only."""
    context = browser.new_context()
    page, said = context.new_page(), []
    page.on("console", lambda one: said.append(one.text) if one.type in ("error", "warning") else None)
    page.on("pageerror", lambda error: said.append(str(error)))
    page.goto(f"http://{server.host}/press")
    for field, text in (("Load", "80"), ("Preload", "15"), ("Seconds under load", "0.3")):
        page.locator("#common").get_by_label(field, exact=True).fill(text)
    for field, text in (("product", "Curlew"), ("orientation", "seam"), ("load", "80"), ("preload", "15")):
        last(page, field).fill(text)
    page.get_by_role("button", name="The load is on").click()
    says(page.locator("#clock-says")).to_have_text("Read the gauge now.")
    page.get_by_role("button", name="Read, stop the clock").click()
    assert float(last(page, "seconds").input_value()) >= 0.3
    says(last(page, "deformation")).to_be_focused()
    last(page, "seconds").fill("5")
    page.keyboard.press("Tab")
    last(page, "deformation").fill("6.1")
    page.get_by_role("button", name="Next ball").click()
    says(last(page, "load")).to_have_value("80")
    last(page, "seconds").fill("5")
    last(page, "deformation").fill("6.4")
    says(page.locator("#told")).to_contain_text("2 balls")
    says(page.locator("#told")).to_contain_text("this rig only")
    assert said == []
    context.close()


def test_a_ball_is_rolled_as_placed_and_turned(browser: Any, server: Running) -> None:
    """The next run of a ball is the turned one, then the next axis; what it tells stands below at once."""
    context = browser.new_context()
    page, said = context.new_page(), []
    page.on("console", lambda one: said.append(one.text) if one.type in ("error", "warning") else None)
    page.goto(f"http://{server.host}/roll")
    for label, text in (("Slope, along it", "1000"), ("Diameter of the ball", "40.1"), ("Angle of the slope", "3.0")):
        page.get_by_label(label).fill(text)
    seen = []
    for veer in ("4.0", "-3.2", "1.1"):
        seen.append((last(page, "orientation").input_value(), last(page, "direction").input_value()))
        whose(page, "product").fill("Curlew")
        last(page, "veer").fill(veer)
        page.get_by_role("button", name="Same ball again").click()
    assert seen == [("A", "as placed"), ("A", "turned"), ("B", "as placed")]
    says(page.locator("#told")).to_contain_text("Curlew")
    page.locator(".entry").last.get_by_role("button", name="Remove").click()
    page.get_by_role("button", name="Next ball").click()
    assert (whose(page, "ball").input_value(), last(page, "orientation").input_value()) == ("02", "A")
    assert said == []
    context.close()


def runs(balls: int, repeats: int) -> str:
    """A table of so many balls, each rolled so often, as placed and turned, about each of three axes."""
    lines = ["product,ball,orientation,direction,veer,slope,angle,ball_diameter"]
    for ball in range(1, balls + 1):
        for repeat in range(repeats):
            for axis in "ABC":
                for direction, veer in (("as placed", 3.0), ("turned", 1.0)):
                    lines.append(f"Curlew,{ball:02d},{axis},{direction},{veer + 0.2 * repeat:.1f},1000,3.0,40.1")
    return "\n".join(lines) + "\n"


@pytest.mark.parametrize(("width", "scheme"), [(390, "dark"), (390, "light"), (1440, "dark"), (1440, "light")])
def test_many_runs_are_short_on_a_phone(browser: Any, server: Running, tmp_path: Path, width: int, scheme: str) -> None:
    """48 runs of 4 balls: a line a run, other balls folded away; the order of the keyboard is that of the eye."""
    axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="LEFT OUT: axe is not installed")
    table = tmp_path / "runs.csv"
    table.write_text(runs(4, 2), encoding="utf-8")
    phone = width < 500
    context = browser.new_context(
        viewport={"width": width, "height": 844}, color_scheme=scheme, has_touch=phone, is_mobile=phone
    )
    page = context.new_page()
    page.goto(f"http://{server.host}/roll")
    page.get_by_label("Type in from CSV").set_input_files(table)
    says(page.locator(".entry")).to_have_count(48)
    says(page.locator("#told figure").first).to_be_visible()
    assert page.locator(".group").count() == 4
    assert page.locator(".group[open]").count() == 1
    assert page.evaluate("document.getElementById('rows').offsetHeight") < 1000, "as high as a phone, and a bit"
    assert page.locator("summary", has_text="Curlew, ball 04: 12 runs").is_visible()
    line = page.locator(".group[open] .entry").first
    tops = {round(box["y"]) for box in (part.bounding_box() for part in line.locator("select, input, button").all())}
    assert len(tops) == 1, "one line"
    whose(page, "product").focus()
    order = []
    for _ in range(6):
        order.append(page.evaluate("document.activeElement.dataset.column ?? document.activeElement.className"))
        page.keyboard.press("Tab")
    assert order == ["product", "ball", "orientation", "direction", "veer", "small remove"]
    page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
    assert page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth") == 0
    small = (
        "[...document.querySelectorAll('#rows button, #rows input, #rows select')]"
        ".filter(b => b.offsetHeight && (b.offsetHeight < 43.5 || b.offsetWidth < 43.5)).length"
    )
    assert page.evaluate(small) == 0
    found = axe.Axe().run(page, options={"resultTypes": ["violations"]})
    assert found.response["violations"] == [], found.generate_report()
    context.close()


def test_a_fault_of_a_run_that_is_folded_away_is_shown(browser: Any, server: Running, tmp_path: Path) -> None:
    """Its ball opens, and the summary leads to the field."""
    table = tmp_path / "runs.csv"
    table.write_text(runs(2, 1), encoding="utf-8")
    page = browser.new_page()
    page.goto(f"http://{server.host}/roll")
    page.get_by_label("Type in from CSV").set_input_files(table)
    says(page.locator(".group")).to_have_count(2)
    first = page.locator(".group").first
    first.locator("summary").click()
    first.locator("[data-column=veer]").nth(1).fill("left")
    first.locator("summary").click()
    page.get_by_role("button", name="What it tells").click()
    page.locator("#faults a", has_text="Entry 2: Curlew, ball 01: Veer").click()
    assert page.evaluate("document.activeElement.value") == "left"
    says(first.locator("[data-column=veer]").nth(1)).to_be_visible()
    page.close()


@pytest.mark.parametrize("name", TYPED)
def test_what_was_typed_stays_until_somebody_begins_anew(
    browser: Any, server: Running, tmp_path: Path, name: str
) -> None:
    """Rows, the common fields and the requirement are there after a reload; begun anew they are gone for good."""
    table = tmp_path / "typed.csv"
    table.write_text(TYPED[name][0], encoding="utf-8")
    page = browser.new_page()
    page.goto(f"http://{server.host}/{name}")
    page.get_by_label("Type in from CSV").set_input_files(table)
    says(page.locator("#told figure").first).to_be_visible()
    many = page.locator(".entry").count()
    options = page.locator("#spec option").evaluate_all("all => all.map(one => one.value)")
    page.locator("#spec").select_option(options[-1])
    page.locator("#u").fill("0.25")
    page.reload()
    says(page.locator(".entry")).to_have_count(many)
    assert (page.locator("#spec").input_value(), page.locator("#u").input_value()) == (options[-1], "0.25")
    page.get_by_role("button", name="Begin anew").click()
    assert "for good" in page.locator("#said").inner_text()
    assert page.locator(".entry").count() == many, "asked first"
    page.get_by_role("button", name="Clear it all the same").click()
    assert page.locator(".entry").count() == 1
    page.reload()
    says(page.locator(".entry")).to_have_count(1)
    assert (page.locator("#spec").input_value(), page.locator("#u").input_value()) == ("", "")
    page.close()
