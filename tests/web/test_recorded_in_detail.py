"""What is folded away on the pages of drops, in a browser: stated, refused at its field, kept, and cleared."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from one_page import says
from phones import everybody, phone
from servers import Running


def fold(page: Any) -> Any:
    """The fold of the method that is seen."""
    return page.locator("details.detail:visible")


def command(page: Any) -> str:
    """The line of the command, as it stands below the result."""
    page.get_by_text("The same on the command line").click()
    return str(page.locator("#told code").inner_text()).replace("\u00a0", " ").replace("\u2060", "")


@pytest.mark.parametrize("method", ["listen", "watch"])
def test_drag_and_latitude_are_stated_on_a_phone(
    browser: Any, server: Running, drop_files: dict[str, Path], method: str
) -> None:
    """Folded away, typed with a comma, refused at its field and mended; told, there after a reload, gone anew."""
    with phone(browser) as (page, said):
        page.goto(f"http://{server.host}/{method}")
        assert not page.get_by_label("Drag coefficient").is_visible(), "the page is short at first"
        page.get_by_label("The ball").fill("40 mm, 2.7 g")
        fold(page).locator("summary").click()
        page.get_by_label("Drag coefficient").fill("0.50 ± 0.05")
        page.get_by_label("Latitude of the place").fill("54,3")
        fold(page).locator("summary").click()
        says(fold(page).locator("summary")).to_contain_text("Stated: drag coefficient; latitude of the place.")
        page.locator("#file").set_input_files(drop_files[method])
        page.get_by_role("button", name="What it tells").click()
        page.locator("#faults a", has_text="Latitude of the place").click()
        assert page.evaluate("document.activeElement.id") == f"{method}-latitude", "unfolded, and in hand"
        beside = page.locator(f"#{method}-latitude + p.fault").inner_text().replace("\u00a0", " ")
        assert "Found '54,3'. Allowed: degrees such as 54.3" in beside
        assert "write a decimal point" in beside
        assert page.get_by_label("Drag coefficient").input_value() == "0.50 ± 0.05"
        page.get_by_label("Latitude of the place").fill("54.3")
        says(page.locator("#faults")).to_be_hidden()
        page.get_by_role("button", name="What it tells").click()
        page.locator("#told").get_by_text("restitution").first.wait_for()
        line = command(page)
        assert '--drag "0.50 ± 0.05"' in line
        assert '--latitude "54.3"' in line
        taken = page.locator("#told").inner_text().replace("\u00a0", " ")
        assert "smooth sphere" not in taken
        assert "covers most places" not in taken
        everybody(page)
        page.reload()
        says(fold(page).locator("summary")).to_contain_text("Stated: drag coefficient; latitude of the place.")
        assert page.locator(f"#{method}-drag").input_value() == "0.50 ± 0.05"
        page.get_by_role("button", name="Begin anew").click()
        assert page.locator(f"#{method}-drag").input_value() == ""
        says(fold(page).locator("summary")).not_to_contain_text("Stated")
        assert [one for one in said if "422" not in one] == []


def test_what_is_changed_afterwards_is_refused_at_its_field(
    browser: Any, server: Running, drop_files: dict[str, Path]
) -> None:
    """On the page of a test everything is worked out anew after a change; a slip there is said where it stands."""
    with phone(browser) as (page, said):
        page.goto(f"http://{server.host}/tests/1/recordings")
        page.locator("#listen-ball").fill("40 mm, 2.7 g")
        page.get_by_label("Your name").fill("E")
        page.get_by_label("Recording", exact=True).set_input_files(drop_files["listen"])
        page.get_by_role("button", name="Send and read it").click()
        page.get_by_role("slider").first.wait_for()
        before = page.locator("#values li").first.inner_text()
        fold(page).locator("summary").click()
        page.locator("#listen-drag").fill("rough")
        page.locator("#listen-contact_time").focus()
        page.locator("#listen-drag + p.fault").wait_for()
        says(page.locator("#told-part")).to_be_hidden()
        page.locator("#listen-drag").fill("0.9")
        page.locator("#listen-contact_time").focus()
        page.locator("#told-part").wait_for()
        assert page.locator("#values li").first.inner_text() != before
        page.locator("#listen-true_mass").select_option("yes")
        says(page.locator("#told")).to_contain_text("true mass, 2.7")
        assert [one for one in said if "422" not in one] == []


def test_of_a_photograph_that_cannot_be_read_no_outline_is_spoken_of(
    browser: Any, server: Running, tmp_path: Path
) -> None:
    """The reason stands there, and neither "below" nor "taken for granted" of something that is not."""
    (tmp_path / "ball.png").write_bytes(b"RIFF" + bytes(100))
    with phone(browser) as (page, said):
        page.goto(f"http://{server.host}/trace")
        page.get_by_label("Mean diameter").fill("40 mm")
        page.get_by_label("A photograph of the ball").set_input_files(tmp_path / "ball.png")
        page.get_by_role("button", name="What it tells").click()
        assert "allowed: a photograph" in page.get_by_role("alert").inner_text().replace("\u00a0", " ")
        assert not page.get_by_text("Look at the outline below").is_visible()
        assert page.get_by_text("Taken for granted").count() == 0
        assert said == []


def test_the_line_of_the_picture_in_hand_crosses_no_words(
    browser: Any, server: Running, drop_files: dict[str, Path]
) -> None:
    """At 390 px, wherever the hand is: no stroke of the line lies inside the box of a title or of a moment."""
    with phone(browser, "dark") as (page, said):
        page.goto(f"http://{server.host}/watch")
        page.get_by_label("The ball").fill("40 mm, 2.7 g")
        page.locator("#file").set_input_files(drop_files["watch"])
        page.get_by_role("button", name="What it tells").click()
        hand = page.get_by_role("slider", name="Picture in hand")
        hand.focus()
        for _ in range(6):
            page.keyboard.press("PageUp")
            crossed = page.evaluate(
                """() => {
                  const strokes = [...document.querySelector("#film path.now").getAttribute("d")
                    .matchAll(/M([\\d.]+),([\\d.]+)V([\\d.]+)/g)].map((one) => one.slice(1).map(Number));
                  const boxes = [...document.querySelectorAll("#film text")].map((one) => one.getBBox());
                  return strokes.length * 100 + strokes.filter(([x, top, bottom]) => boxes.some((box) =>
                    x > box.x && x < box.x + box.width && top < box.y + box.height && bottom > box.y)).length;
                }"""
            )
            assert crossed == 200, "two strokes, and none of them over words"
        assert said == []
