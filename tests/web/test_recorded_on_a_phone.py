from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from drop_sounds import START_S, drop_wav, silent_wav, truth
from films import filmed
from one_page import says
from phones import PATIENCE_MS, everybody, phone
from recorded_bench import bounce_test, sent_recording
from servers import Running, act, bench_server

from ballbench.workflows.opening import Notebook, open_notebook


@pytest.fixture(scope="module")
def notebook(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Notebook]:
    """A notebook with a test, a blind one, and one for films."""
    opened = open_notebook(tmp_path_factory.mktemp("notebook"))
    bounce_test(opened)
    bounce_test(opened, blind=True)
    bounce_test(opened)
    yield opened
    opened.close()


@pytest.fixture(scope="module")
def server(notebook: Notebook) -> Iterator[Running]:
    """The bench."""
    with bench_server(notebook) as running:
        yield running


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sound of a drop, as a file of the phone."""
    place = tmp_path_factory.mktemp("phone") / "drop.wav"
    place.write_bytes(drop_wav())
    return place


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A film of a drop, as a file of the phone."""
    place = tmp_path_factory.mktemp("phone") / "drop.mp4"
    filmed(place)
    return place


def sent(page: Any, server: Running, sound: Path, test: int = 1) -> None:
    """Send a sound to a test, and wait until it is read."""
    page.goto(f"http://{server.host}/tests/{test}/recordings")
    page.get_by_label("The ball").first.fill("40 mm, 2.7 g")
    page.get_by_label("Your name").fill("E")
    page.get_by_label("Recording", exact=True).set_input_files(sound)
    page.get_by_role("button", name="Send and read it").click()
    page.get_by_role("slider").first.wait_for()


def film_sent(page: Any, server: Running, film: Path, test: int = 1) -> Any:
    """Send a film to a test, wait until it is read, and give what is in hand on its drawing."""
    page.goto(f"http://{server.host}/tests/{test}/recordings")
    page.get_by_label("Read it by").select_option("watch")
    page.locator("#watch-ball").fill("40 mm, 2.7 g")
    page.get_by_label("Your name").fill("E")
    page.get_by_label("Recording", exact=True).set_input_files(film)
    page.get_by_role("button", name="Send and read it").click()
    hand = page.get_by_role("slider", name="Picture in hand")
    hand.wait_for()
    return hand


def in_hand(hand: Any) -> int:
    """The number of the picture in hand, from 1."""
    return int(hand.get_attribute("aria-valuenow"))


def counting(page: Any) -> int:
    """How many pictures count, as the page says it."""
    return int(page.locator("#film-words").inner_text().split()[0])


def pick(page: Any, number: int) -> Any:
    """One of the picks of the first drop."""
    return page.get_by_role("slider", name=f"Impact {number} of drop 1", exact=True)


def anew(page: Any) -> None:
    """Wait until it is worked out after a change."""
    page.get_by_text("Worked out anew, below.").wait_for()


def readings(server: Running, test: int = 1) -> list[dict[str, Any]]:
    """What the notebook has."""
    return list(server.ask("GET", f"/api/tests/{test}/bench").json()["readings"])


def picks_csv(server: Running) -> list[tuple[str, float]]:
    """What was picked, as it leaves the notebook: by whom, and when in the sound."""
    text = server.ask("GET", "/api/tests/1/files/picks.csv").body.decode()
    return [(row.split(",")[4], float(row.split(",")[3])) for row in text.splitlines()[1:]]


def test_from_a_phone_to_the_findings(browser: Any, server: Running, sound: Path) -> None:
    """A sound is sent, a pick is mended by keyboard, its value is kept, and it is judged with the others."""
    with phone(browser) as (page, said):
        sent(page, server, sound)
        assert page.get_by_role("slider").count() == len(truth().times)
        before = float(pick(page, 2).get_attribute("aria-valuenow"))
        value = page.locator("#values li").first.inner_text()
        pick(page, 2).focus()
        for key in ("ArrowRight", "ArrowRight", "Shift+ArrowRight", "ArrowLeft"):
            page.keyboard.press(key)
        assert float(pick(page, 2).get_attribute("aria-valuenow")) == pytest.approx(before + 0.0011, abs=1e-7)
        anew(page)
        assert page.locator("#values li").first.inner_text() != value
        assert "Less sure" not in page.locator("#values li").first.inner_text()
        assert "put there by hand" in pick(page, 2).get_attribute("aria-valuetext")
        assert page.evaluate("document.activeElement.dataset.impact") == "1", "the pick is still in hand"
        page.get_by_role("button", name="Keep as reading").click()
        page.get_by_text("Kept as reading of Ball 01 (Curlew), rebound height").wait_for()
        (reading,) = readings(server)
        assert reading["text"] in page.locator("#kept-said").inner_text()
        assert said == []
        assert any(by == "E" and abs(time - before - 0.0011) < 1e-6 for by, time in picks_csv(server))
        for place in server.ask("GET", "/api/tests/1/bench").json()["places"]:
            text = "0.901" if place["quantity"] == "bounce_restitution" else "231.0"
            if not place["filled"]:
                assert (
                    server.post("/api/tests/1/readings", act(place=place["id"], text=text)).json()["status"] == "kept"
                )
        page.goto(f"http://{server.host}/tests/1/judge")
        page.get_by_text("Curlew", exact=False).first.wait_for()
        assert "a ball rises to between 220 mm and 260 mm" in page.locator("main").inner_text().replace("\u00a0", " ")
        findings = server.ask("GET", "/api/tests/1/findings").json()
        (clause,) = [one for one in findings["products"][0]["clauses"] if one["id"] == "rebound"]
        assert clause["decision"] == "met"
        page.goto(f"http://{server.host}/tests/1/recordings")
        assert "Kept from it: ball 01, rebound height" in page.locator("#kept").inner_text().replace("\u00a0", " ")


def test_a_film_from_a_phone_to_the_findings(browser: Any, server: Running, film: Path) -> None:
    """A film is sent, a picture left out by keyboard and one mended by finger; kept, it stands in the findings."""
    with phone(browser) as (page, said):
        told: list[Any] = []
        page.on("response", lambda answer: told.append(answer) if answer.url.endswith("/told") else None)
        hand = film_sent(page, server, film, 3)
        many, value = counting(page), told[-1].json()["values"][0]["value"]
        hand.focus()
        page.keyboard.press("Home")
        for key in ("PageUp", "PageUp", "ArrowRight"):
            page.keyboard.press(key)
        assert in_hand(hand) == 22
        assert "mm high" in hand.get_attribute("aria-valuetext")
        page.keyboard.press("Delete")
        assert "left out by hand" in hand.get_attribute("aria-valuetext")
        film_anew(page)
        assert counting(page) == many - 1
        dragged(page, page.locator("#piece"), 0, -60)
        assert "put there by hand" in hand.get_attribute("aria-valuetext")
        film_anew(page)
        assert counting(page) == many
        assert "1 was marked by hand" in page.locator("#film-words").inner_text()
        off = float(hand.get_attribute("aria-valuetext").split(" mm above the flights")[0].split()[-1])
        assert off > 5.0, "dragged to where the ball is not"
        assert told[-1].json()["values"][0]["value"] != value, "and the value is another one"
        page.get_by_role("button", name="This one as it was found").click()
        page.get_by_role("button", name="Leave this picture out").click()
        film_anew(page)
        page.get_by_role("button", name="Keep as reading").click()
        page.get_by_text("Kept as reading of Ball").wait_for()
        assert said == []
        rows = server.ask("GET", "/api/tests/3/files/marks.csv").body.decode().splitlines()
        assert [row.split(",")[2:7] for row in rows[1:]] == [["leave out", "", "", "", "E"]]
        kept = page.locator("#kept-said").inner_text().replace("\u00a0", " ")
        page.locator("#kept").get_by_text("Kept from it: ball").wait_for()
        page.get_by_role("button", name="Read it: drop.mp4").click()
        page.get_by_text("It was read; what it tells stands below.").wait_for()
        assert "1 was marked by hand" in page.locator("#film-words").inner_text(), "opened as it was kept"
        text = readings(server, 3)[-1]["text"]
        assert text in kept
        page.goto(f"http://{server.host}/tests/3/judge")
        page.get_by_text("Curlew", exact=False).first.wait_for()
        (clause,) = [
            one for one in server.ask("GET", "/api/tests/3/findings").json()["products"][0]["clauses"]
            if one["id"] == "rebound"
        ]  # fmt: skip
        assert clause["as_read"]["value"] == pytest.approx(float(text), abs=0.05), "the one reading of the one ball"


def film_anew(page: Any) -> None:
    """Wait until a film is worked out after a change."""
    page.locator("#film-said").get_by_text("Worked out anew, below.").wait_for()


def dragged(page: Any, part: Any, across: float, down: float) -> None:
    """Drag a finger over a part of the page, from its middle."""
    part.scroll_into_view_if_needed()
    box = part.bounding_box()
    line = page.context.new_cdp_session(page)
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    line.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": [{"x": x, "y": y}]})
    for step in range(1, 6):
        points = [{"x": x + across * step / 5, "y": y + down * step / 5}]
        line.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": points})
    line.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})


def test_a_picture_is_chosen_by_finger_and_by_mouse(browser: Any, server: Running, film: Path) -> None:
    """A tap takes the picture that is nearest, buttons go on from there, and what is in doubt is gone to."""
    for width in (390, 1440):
        with phone(browser, "dark", width) as (page, said):
            hand = film_sent(page, server, film, 2)
            box = hand.bounding_box()
            for share in (0.3, 0.8):
                hand.click(position={"x": box["width"] * share, "y": 300})
                many = int(hand.get_attribute("aria-valuemax"))
                along = (box["width"] * share - 46) / (box["width"] - 56)
                assert in_hand(hand) == pytest.approx(many * along, abs=0.1 * many)
            before = in_hand(hand)
            page.get_by_role("button", name="Picture after").click()
            page.get_by_role("button", name="Picture after").click()
            page.get_by_role("button", name="Picture before").click()
            assert in_hand(hand) == before + 1
            for _ in range(8):
                page.get_by_role("button", name="½ px up").click()
            film_anew(page)
            says(page.locator("#film-words")).to_contain_text("1 was marked by hand")
            hand.focus()
            page.keyboard.press("End")
            doubted = []
            for _ in range(4):
                page.keyboard.press("n")
                doubted.append(in_hand(hand))
            assert before + 1 in doubted, "the place that was moved by 4 px is in doubt"
            page.get_by_role("button", name="All back to what was found").click()
            says(page.locator("#film-reset")).to_be_disabled()
            says(page.locator("#film-words")).not_to_contain_text("by hand")
            assert said == []


def test_a_mark_with_which_nothing_can_be_worked_out_stays_to_be_mended(
    browser: Any, server: Running, film: Path
) -> None:
    """Pictures left out until no flight is left: the page says why, and what was marked can be taken back."""
    with phone(browser) as (page, said):
        hand = film_sent(page, server, film, 2)
        many = int(hand.get_attribute("aria-valuemax"))
        hand.focus()
        page.keyboard.press("Home")
        for _ in range(many):
            page.keyboard.press("Delete")
            page.keyboard.press("ArrowRight")
        film_anew(page)
        says(page.get_by_role("alert")).to_be_visible()
        assert hand.is_visible()
        page.get_by_role("button", name="All back to what was found").click()
        says(page.get_by_role("alert")).to_be_hidden()
        says(page.locator("#film-reset")).to_be_disabled()
        assert said == []


def test_keys_add_and_take_away_and_go_back(browser: Any, server: Running, sound: Path) -> None:
    """Delete takes a pick away, A adds one, Home and End go along them, and what was found comes back."""
    with phone(browser, "dark", 1440) as (page, said):
        sent(page, server, sound, 2)
        found = [one.get_attribute("aria-valuenow") for one in page.get_by_role("slider").all()]
        pick(page, 1).focus()
        page.keyboard.press("End")
        assert page.evaluate("document.activeElement.dataset.impact") == str(len(found) - 1)
        page.keyboard.press("Delete")
        anew(page)
        assert [one.get_attribute("aria-valuenow") for one in page.get_by_role("slider").all()] == found[:-1]
        page.keyboard.press("Home")
        page.keyboard.press("a")
        says(page.locator(".impact")).to_have_count(len(found), timeout=PATIENCE_MS)
        assert float(found[0]) < float(pick(page, 2).get_attribute("aria-valuenow")) < float(found[1])
        assert page.evaluate("document.activeElement.dataset.impact") == "1", "the new one is in hand"
        page.get_by_role("button", name="Back to what was found").click()
        says(page.locator("#pick-reset")).to_be_disabled(timeout=PATIENCE_MS)
        assert [one.get_attribute("aria-valuenow") for one in page.get_by_role("slider").all()] == found
        assert page.get_by_role("button", name="Back to what was found").is_disabled()
        page.evaluate("document.getElementById('place').selectedOptions[0].dataset.u = '0.05'")
        page.locator("#place").dispatch_event("change")
        page.locator("#values li", has_text="Less sure than the instrument was set up to be").first.wait_for()
        assert "set up with 0.05 mm" in page.locator("#values li").first.inner_text().replace("\u00a0", " ")
        assert said == []


def test_a_pick_is_dragged_over_the_sound_and_finer_over_the_magnified_piece(
    browser: Any, server: Running, sound: Path
) -> None:
    """A pick follows the way of the hand: coarse over the whole sound, over 20 ms where it is magnified."""
    with phone(browser, "light", 1440) as (page, said):
        sent(page, server, sound, 2)
        start = float(pick(page, 3).get_attribute("aria-valuenow"))
        whole = page.locator("#wave").bounding_box()
        seconds = [float(part) for part in page.locator("#wave-words").inner_text().split() if part[0].isdigit()]
        box = pick(page, 3).bounding_box()
        middle = box["x"] + box["width"] / 2
        page.mouse.move(middle, box["y"] + 20)
        page.mouse.down()
        page.mouse.move(middle + 30, box["y"] + 20, steps=5)
        page.mouse.up()
        after = float(pick(page, 3).get_attribute("aria-valuenow"))
        assert after - start == pytest.approx(30 / whole["width"] * (seconds[1] - seconds[0]), rel=0.02)
        anew(page)
        fine = page.locator("#close").bounding_box()
        page.mouse.move(fine["x"] + fine["width"] / 2, fine["y"] + 40)
        page.mouse.down()
        page.mouse.move(fine["x"] + fine["width"] / 2 - 50, fine["y"] + 40, steps=5)
        page.mouse.up()
        moved = float(pick(page, 3).get_attribute("aria-valuenow")) - after
        assert moved == pytest.approx(-50 / fine["width"] * 0.020, rel=0.02)
        assert said == []


def test_a_finger_drags_a_pick_on_a_phone(browser: Any, server: Running, sound: Path) -> None:
    """A touch on the magnified piece moves the pick in hand, and the page does not scroll away under it."""
    with phone(browser) as (page, said):
        sent(page, server, sound, 2)
        page.locator("#close").scroll_into_view_if_needed()
        before, top = float(pick(page, 1).get_attribute("aria-valuenow")), page.evaluate("scrollY")
        box = page.locator("#close").bounding_box()
        line = page.context.new_cdp_session(page)
        x, y = box["x"] + box["width"] / 2, box["y"] + 60
        line.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": [{"x": x, "y": y}]})
        for step in range(1, 6):
            points = [{"x": x + 8 * step, "y": y + 10 * step}]
            line.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": points})
        line.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
        moved = float(pick(page, 1).get_attribute("aria-valuenow")) - before
        assert moved == pytest.approx(40 / box["width"] * 0.020, rel=0.05)
        assert page.evaluate("scrollY") == top
        assert said == []


def test_an_odd_value_is_asked_about_on_the_page(browser: Any, server: Running, sound: Path) -> None:
    """In a blind test it is told only to be far from this box; kept when it is confirmed, left when it is not."""
    with phone(browser) as (page, said):
        sent(page, server, sound, 2)
        pick(page, 2).focus()
        for _ in range(12):
            page.keyboard.press("PageDown")
        anew(page)
        before = len(readings(server, 2))
        page.get_by_role("button", name="Keep as reading").click()
        ask = page.get_by_role("alertdialog")
        ask.wait_for()
        assert "far from this box, look again" in ask.inner_text()
        page.get_by_role("button", name="Leave it").click()
        assert not ask.is_visible()
        assert len(readings(server, 2)) == before
        page.get_by_role("button", name="Keep as reading").click()
        page.get_by_role("button", name="Keep it as read").click()
        page.get_by_text("Kept as reading of Ball").wait_for()
        assert len(readings(server, 2)) == before + 1
        assert "Curlew" not in page.locator("main").inner_text()
        assert "hidden make, ball 0" in page.locator("#told").inner_text()
        assert said == []


def test_a_recording_in_which_nothing_is_heard_can_be_picked_by_hand(
    browser: Any, server: Running, tmp_path: Path
) -> None:
    """The reason and the next step are said; a person picks a drop of two impacts, and is told what it comes to."""
    (tmp_path / "quiet.wav").write_bytes(silent_wav())
    with phone(browser) as (page, said):
        page.goto(f"http://{server.host}/listen")
        page.get_by_label("The ball").fill("40 mm, 2.7 g")
        page.get_by_label("Drop height").fill("305 mm")
        page.get_by_label("A sound of the drop").set_input_files(tmp_path / "quiet.wav")
        page.get_by_role("button", name="What it tells").click()
        assert "record again" in page.get_by_role("alert").inner_text()
        page.get_by_role("button", name="Pick a drop").click()
        page.get_by_role("button", name="Add an impact").click()
        says(page.locator(".impact")).to_have_count(2, timeout=PATIENCE_MS)
        anew(page)
        page.get_by_text("Worked out anew").wait_for()
        assert not page.get_by_role("alert").is_visible()
        assert "rebound" in page.locator("#told").inner_text()
        assert said == []


def test_a_sound_that_belongs_to_no_test_leaves_as_json(browser: Any, server: Running, sound: Path) -> None:
    """What is taken away is the document of the command, with the picks as they stand."""
    with phone(browser) as (page, _):
        page.goto(f"http://{server.host}/listen")
        page.get_by_label("The ball").fill("40 mm, 2.7 g")
        page.get_by_label("A sound of the drop").set_input_files(sound)
        page.get_by_role("button", name="What it tells").click()
        pick(page, 1).wait_for()
        with page.expect_download() as waiting:
            page.get_by_role("button", name="Take away as JSON").click()
        document = json.loads(Path(waiting.value.path()).read_text("utf-8"))
        assert document["format"] == "ballbench/bounces/1"
        impacts = document["recordings"][0]["drops"][0]["impacts_s"]
        assert impacts == pytest.approx(truth().times + START_S, abs=5e-4)


@pytest.mark.parametrize("of_a_test", [False, True], ids=["alone", "of a test"])
def test_sent_again_a_sound_is_as_it_was_mended(browser: Any, server: Running, sound: Path, of_a_test: bool) -> None:
    """A pick that was taken away stays away when something else is stated and the same file is sent again."""
    with phone(browser) as (page, said):
        if of_a_test:
            sent(page, server, sound, 2)
        else:
            page.goto(f"http://{server.host}/listen")
            page.get_by_label("The ball").fill("40 mm, 2.7 g")
            page.get_by_label("A sound of the drop").set_input_files(sound)
            page.get_by_role("button", name="What it tells").click()
        pick(page, 1).wait_for()
        found = page.get_by_role("slider").count()
        pick(page, found).focus()
        page.keyboard.press("Delete")
        anew(page)
        page.get_by_label("Drop height").first.fill("305 mm")
        page.get_by_role("button", name="Send and read it" if of_a_test else "What it tells").click()
        page.get_by_text("It was read; what it tells stands below.").wait_for()
        says(page.locator(".impact")).to_have_count(found - 1)
        page.get_by_role("button", name="Back to what was found").click()
        says(page.locator(".impact")).to_have_count(found, timeout=PATIENCE_MS)
        assert said == []


def test_what_is_missing_is_said_beside_its_field(browser: Any, server: Running, sound: Path) -> None:
    """No file, then no ball: the summary takes the focus, and leads to the field."""
    with phone(browser) as (page, said):
        page.goto(f"http://{server.host}/listen")
        page.get_by_role("button", name="What it tells").click()
        page.locator("#faults a").click()
        assert page.evaluate("document.activeElement.id") == "file"
        page.get_by_label("A sound of the drop").set_input_files(sound)
        page.get_by_role("button", name="What it tells").click()
        page.locator("#faults a", has_text="The ball").click()
        assert page.evaluate("document.activeElement.id") == "listen-ball"
        page.goto(f"http://{server.host}/tests/2/recordings")
        page.get_by_label("Your name").fill("E")
        page.get_by_label("Recording", exact=True).set_input_files(sound)
        page.get_by_role("button", name="Send and read it").click()
        page.locator("#faults a", has_text="The ball").click()
        assert page.evaluate("document.activeElement.id") == "listen-ball", "and not the film's field of that name"
        assert [one for one in said if "422" not in one] == []


def test_a_film_that_is_too_large_is_not_sent(browser: Any, server: Running, tmp_path: Path) -> None:
    """65 MiB: the page says how much it may be and what to do, and nothing goes over the line."""
    with (tmp_path / "long.mp4").open("wb") as film:
        film.truncate(65 * 1024**2)
    with phone(browser) as (page, said):
        page.goto(f"http://{server.host}/watch")
        asked: list[str] = []
        page.on("request", lambda request: asked.append(request.url) if request.method == "POST" else None)
        page.get_by_label("A film of the drop").set_input_files(tmp_path / "long.mp4")
        page.get_by_role("button", name="What it tells").click()
        assert "at most 64 MiB" in page.locator("#faults").inner_text().replace("\u00a0", " ")
        assert (asked, said) == ([], [])


@pytest.mark.parametrize(("width", "scheme"), [(390, "light"), (1440, "dark")])
def test_the_editor_of_films_is_usable_by_everybody(
    browser: Any, server: Running, film: Path, width: int, scheme: str
) -> None:
    """With a picture left out and a place put by hand."""
    with phone(browser, scheme, width) as (page, said):
        hand = film_sent(page, server, film, 2)
        hand.focus()
        page.keyboard.press("Delete")
        page.get_by_role("button", name="Picture after").click()
        page.get_by_role("button", name="½ px left").click()
        film_anew(page)
        everybody(page)
        assert said == []


@pytest.mark.parametrize(("width", "scheme"), [(390, "dark"), (1440, "light")])
def test_the_editor_is_usable_by_everybody(browser: Any, server: Running, sound: Path, width: int, scheme: str) -> None:
    """With everything on it: no sideways scroll, nothing that axe finds, buttons that a finger hits."""
    with phone(browser, scheme, width) as (page, said):
        sent(page, server, sound, 2)
        pick(page, 2).focus()
        page.keyboard.press("PageDown")
        anew(page)
        everybody(page)
        assert said == []


def test_the_list_of_recordings_follows_what_others_do(browser: Any, server: Running, sound: Path) -> None:
    """A recording that is sent from elsewhere comes into the list and its number, and what is typed stays."""
    with phone(browser) as (page, said):
        page.goto(f"http://{server.host}/tests/1/recordings")
        page.locator("#listen-ball").fill("41 mm, 2.8 g")
        before = page.locator("#kept-part > p").inner_text()
        sent_recording(server, 1, sound.read_bytes() + b"\0\0", "from elsewhere.wav")
        page.get_by_role("link", name="from elsewhere.wav").wait_for()
        assert page.locator("#kept-part > p").inner_text() != before
        count = len({one["digest"] for one in server.ask("GET", "/api/tests/1/recordings").json()["recordings"]})
        assert page.locator("#kept-part > p").inner_text().replace("\u00a0", " ").startswith(f"{count} recording")
        assert page.locator("#listen-ball").input_value() == "41 mm, 2.8 g"
        page.get_by_role("button", name="Read it: from elsewhere.wav").click()
        page.get_by_role("slider").first.wait_for()
        assert said == []


def test_what_was_typed_is_there_after_a_reload(browser: Any, server: Running) -> None:
    """On a page of its own until somebody begins anew, and on that of a test until a value is kept."""
    with phone(browser) as (page, said):
        page.goto(f"http://{server.host}/listen")
        page.get_by_label("The ball").fill("40 mm, 2.7 g")
        page.get_by_label("Hold it against a requirement").select_option("table-tennis-plastic")
        page.reload()
        assert page.get_by_label("The ball").input_value() == "40 mm, 2.7 g"
        assert page.get_by_label("Hold it against a requirement").input_value() == "table-tennis-plastic"
        assert "choose the recording again" in page.locator("#said").inner_text()
        page.get_by_role("button", name="Begin anew").click()
        page.reload()
        assert page.get_by_label("The ball").input_value() == ""
        page.goto(f"http://{server.host}/tests/1/recordings")
        page.get_by_label("Read it by").select_option("watch")
        page.locator("#watch-ball").fill("40 mm, 2.7 g")
        page.reload()
        assert (page.get_by_label("Read it by").input_value(), page.locator("#watch-ball").input_value()) == (
            "watch", "40 mm, 2.7 g",
        )  # fmt: skip
        assert page.locator("#watch-ball").is_visible()
        page.goto(f"http://{server.host}/watch")
        assert page.get_by_label("The ball").input_value() == "", "a page of its own"
        assert said == []


def test_a_reason_is_said_once(browser: Any, server: Running, tmp_path: Path) -> None:
    """Of a recording that is refused, in its place of its own and nowhere else on the page."""
    (tmp_path / "quiet.wav").write_bytes(silent_wav())
    with phone(browser) as (page, _):
        page.goto(f"http://{server.host}/listen")
        page.get_by_label("The ball").fill("40 mm, 2.7 g")
        page.get_by_label("A sound of the drop").set_input_files(tmp_path / "quiet.wav")
        page.get_by_role("button", name="What it tells").click()
        reason = page.get_by_role("alert").inner_text().split(";")[0]
        assert page.locator("main").inner_text().count(reason) == 1
