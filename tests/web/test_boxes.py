from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from servers import Running, act, bench_server, new_test

from ballbench.workflows.opening import open_notebook

QUANTITIES = [{"name": "mass", "axes": [], "instrument": "scale"}]
SCALE = [{"name": "scale", "quantity": "mass", "unit": "g", "resolution": 0.01}]


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Running]:
    """A bench with one test of two boxes, three balls each."""
    with closing(open_notebook(tmp_path)) as notebook, bench_server(notebook) as running:
        new_test(notebook)
        yield running


def set_up(server: Running, status: int = 201, **changes: Any) -> Any:
    """Set up a test of masses; give the answer."""
    asked = act(requirement="golf", invented=True, quantities=QUANTITIES, instruments=SCALE, seed=1, **changes)
    answer = server.post("/api/tests", asked)
    assert answer.status == status, answer.body
    return answer.json()


def weigh(server: Running, test: int) -> None:
    """Read every mass of a test."""
    for number, place in enumerate(server.ask("GET", f"/api/tests/{test}/bench").json()["places"]):
        if place["quantity"] == "mass":
            text = f"45.5{number % 5}"
            kept = server.post(f"/api/tests/{test}/readings", act(place=place["id"], text=text))
            assert kept.json()["status"] == "kept", kept.body


def test_a_box_is_tested_again_by_its_number(server: Running) -> None:
    """`boxes` beside `makes`: the box of the list, the same balls; its history then has both tests."""
    listed = server.ask("GET", "/api/boxes").json()["boxes"]
    assert [(one["box"]["make"], one["balls"], len(one["tests"])) for one in listed] == [
        ("Dunlin", 3, 1), ("Curlew", 3, 1),
    ]  # fmt: skip
    box = listed[1]["box"]["id"]
    made = set_up(server, boxes=[{"box": box}], makes=[{"make": "Plover", "boxes": [{"label": "P-1", "balls": 2}]}])
    assert [(one["make"], one["label"]) for one in made["boxes"]] == [("Curlew", "C-1"), ("Plover", "P-1")]
    weigh(server, made["id"])
    history = server.ask("GET", f"/api/boxes/{box}").json()
    assert [test["id"] for test in history["tests"]] == [1, made["id"]]
    first = {ball["id"] for ball in server.ask("GET", "/api/tests/1/bench").json()["balls"] if ball["make"] == "Curlew"}
    assert {ball["id"] for ball in history["balls"]} == first
    assert {len(ball["tests"]) for ball in history["balls"]} == {2}
    assert all(one["mean"] is not None for ball in history["balls"] for one in ball["tests"][1]["means"])


@pytest.mark.parametrize(
    ("boxes", "where"),
    [([{"box": 99}], "boxes 1"), ([{"box": 1}, {"box": 1}], "boxes 2"), ([{"box": 2**40}], "boxes 1"),
     ([{"box": "C-1"}], "box 1"), ([{"make": 1}], "box 1"), ([], "makes")],
)  # fmt: skip
def test_a_box_that_cannot_be_taken_is_said_with_its_place(server: Running, boxes: Any, where: str) -> None:
    """422 with the number of the entry in `boxes`, and nothing is set up."""
    faults = set_up(server, 422, boxes=boxes)["faults"]
    assert any(where in fault["where"] for fault in faults), faults
    assert len(server.ask("GET", "/api/tests").json()["tests"]) == 1


def test_a_blind_test_under_way_shows_neither_its_boxes_nor_what_it_read(server: Running) -> None:
    """Its own new box is nowhere; a box that others know has no line of it; both come when it is finished."""
    box = server.ask("GET", "/api/boxes").json()["boxes"][0]["box"]["id"]
    secret = [{"make": "Secret", "boxes": [{"label": "S-1", "balls": 3}]}]
    test = set_up(server, boxes=[{"box": box}], makes=secret, blind=True, title="Hidden look")["id"]
    weigh(server, test)
    shown = ("/boxes", f"/boxes/{box}", "/api/boxes", f"/api/boxes/{box}", "/tests/new?requirement=golf")
    for path in shown:
        answer = server.ask("GET", path)
        assert answer.status == 200
        for word in (b"Secret", b"Hidden look", b"45.5"):
            assert word not in answer.body, path
    for path in (f"/boxes/{box + 1}", f"/api/boxes/{box + 1}"):
        assert server.ask("GET", path).status == 404
    assert server.post(f"/api/tests/{test}/finish", act()).status == 200
    for path in shown[:1] + shown[2:3]:
        assert b"Secret" in server.ask("GET", path).body
    for path in shown[1:2] + shown[3:4]:
        answer = server.ask("GET", path)
        assert b"Hidden look" in answer.body
        assert b"45.5" in answer.body
    assert server.ask("GET", f"/boxes/{box + 1}").status == 200


def test_the_page_of_a_box_follows_what_is_read(server: Running) -> None:
    """Asked again after a reading it has the reading; a quantity that is none shows the first; Home leads there."""
    assert b"Numbers of this picture" not in server.ask("GET", "/boxes/1").body
    weigh(server, 1)
    for path in ("/boxes/1", "/boxes/1?quantity=mass", "/boxes/1?quantity=colour"):
        page = server.ask("GET", path)
        assert page.status == 200
        assert b"Mean mass, test by test" in page.body
    for path in ("/", "/tests"):
        assert b'href="/boxes"' in server.ask("GET", path).body
    for path in ("/boxes/99", "/boxes/0", "/boxes/nonsense", f"/boxes/{2**40}", "/api/boxes/99"):
        assert server.ask("GET", path).status in (404, 422)


def test_a_box_is_chosen_on_the_form(server: Running, browser: Any) -> None:
    """Ticked in the list, with nothing typed for a new make, it is set up; a fault stands at the box."""
    page = browser.new_page()
    page.goto(f"http://{server.host}/tests/new?requirement=golf")
    page.get_by_label("Your name").fill("E")
    page.get_by_label("Dunlin, D-1").check()
    for part in page.locator("fieldset.quantity").all():
        if part.get_attribute("data-quantity") != "mass":
            part.locator('[name="read"]').uncheck()
    mass = page.locator('fieldset[data-quantity="mass"]')
    mass.get_by_label("Display step").fill("0.01")
    assert "3 balls" in page.locator("#amount").inner_text()
    page.get_by_role("button", name="Set it up").click()
    fault = page.locator(".again p.fault")
    fault.wait_for()
    assert "whose tests hold invented data" in fault.inner_text()
    page.get_by_label("The data are invented").check()
    with page.expect_navigation():
        page.get_by_role("button", name="Set it up").click()
    made = server.ask("GET", "/api/tests/2/bench").json()
    assert (made["test"]["blind"], len(made["balls"])) == (True, 3)
    assert server.post("/api/tests/2/finish", act()).status == 200
    page.goto(f"http://{server.host}/tests/2")
    page.get_by_role("link", name="Dunlin, D-1").click()
    page.get_by_role("heading", name="Ball by ball").wait_for()
    page.close()
