"""The pictures of an outline, its JSON, terminal text and report, from made outlines with known lobes."""

from __future__ import annotations

import base64
import io
import json
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image as Pictures
from rich.console import Console
from tests.findings.tracing.made_outlines import made_outline

from ballbench.findings.footing import Footing
from ballbench.findings.tracing.forms import SizeKnown, photo_outline, separation_of
from ballbench.findings.tracing.results import BallOutline, OutlineFindings, PhotoOutline, Shown, refused_photo
from ballbench.findings.tracing.words import form_text, outline_sentences
from ballbench.form.form_interval import FormFound
from ballbench.presentation.charts.layout import lay_out
from ballbench.presentation.charts.outline_picture import (
    RADIUS,
    SKIN,
    edge_picture,
    outline_picture,
    separation_picture,
)
from ballbench.presentation.charts.rendering import render
from ballbench.presentation.charts.sheet import NOTE, WIDTH, Sheet
from ballbench.presentation.document import Figure, walk
from ballbench.presentation.outlines_json import outlines_to_json
from ballbench.presentation.outlines_report import outlines_blocks, outlines_document
from ballbench.presentation.outlines_terminal import print_outlines
from ballbench.presentation.page import page_html
from ballbench.quantities.uncertain import Uncertain

LOBES = {3: (0.9, 1.2), 2: (0.4, 2.0), 5: (0.16, 0.4)}
SCALE = SizeKnown(scale=Uncertain(0.05, 5e-5, unit="mm/px"))


def jpeg(side: int) -> bytes:
    held = io.BytesIO()
    Pictures.fromarray(np.full((side, side), 200, np.uint8)).save(held, "JPEG")
    return held.getvalue()


def photo(lobes: dict[int, tuple[float, float]], *, turn: float = 0.0, **how: float) -> PhotoOutline:
    rng = np.random.default_rng(3)
    names = refused_photo(f"Dunlin_01_{turn:g}.jpg", "sha256:1", "", product="Dunlin", ball="01")
    found = photo_outline(names, made_outline(lobes, rng, turn=turn, **how), SCALE, 50.0, rng)  # type: ignore[arg-type]
    angle = np.arange(90) * 2 * math.pi / 90
    shown = Shown(jpeg(220), 220, 220, 110 + 93 * np.cos(angle), 110 - 93 * np.sin(angle), angle < 6.0)
    return PhotoOutline(**{name: getattr(found, name) for name in found.__dataclass_fields__} | {"shown": shown})


@pytest.fixture(scope="module")
def lobed() -> PhotoOutline:
    return photo(LOBES)


@pytest.fixture(scope="module")
def found(lobed: PhotoOutline) -> OutlineFindings:
    turned = [photo(LOBES, turn=turn) for turn in (50.0, 130.0)]
    read = (lobed, *turned)
    apart = separation_of(read, (0.0, 50.0, 130.0), 50.0, np.random.default_rng(1))
    bad = refused_photo("bad.jpg", "", "No ball was found: put the ball before a plain ground.")
    told = OutlineFindings(
        (*read, bad), (BallOutline("Dunlin", "01", read),), apart, (), 50.0, "mm", 1, None,
        Footing(False, ("Taken.",), ("Beware of the lamp.",), ("Read.",)), (("--scale", "0.05 mm/px"),),
    )  # fmt: skip
    return OutlineFindings(
        **{n: getattr(told, n) for n in told.__dataclass_fields__} | {"sentences": outline_sentences(told)}
    )


def on_the_sheet(sheet: Sheet) -> None:
    for text in sheet.texts:
        assert text.ends[0] >= 0.0
        assert text.ends[1] <= WIDTH
        assert NOTE / 2 <= text.y <= sheet.height
        assert text.size >= NOTE
    for slant in sheet.slants:
        assert 0.0 <= min(slant.value, slant.to_value) <= max(slant.value, slant.to_value) <= WIDTH
        assert 0.0 <= min(slant.y, slant.to_y) <= max(slant.y, slant.to_y) <= sheet.height
    for one in sheet.texts:
        for other in sheet.texts:
            if one is not other and abs(one.y - other.y) < NOTE:
                assert one.ends[1] <= other.ends[0] + 0.5 or other.ends[1] <= one.ends[0] + 0.5, (one.text, other.text)


def test_the_skin_is_drawn_true_to_its_magnification(lobed: PhotoOutline) -> None:
    """Each stroke's end stands off the drawn circle as far as the outline does, on one scale (geometry), to 0.01 px."""
    chart = outline_picture(lobed)
    sheet = lay_out(chart)
    on_the_sheet(sheet)
    ink = [slant for slant in sheet.slants if slant.tone == "ink"]
    pixels = SKIN / chart.height
    middle = (chart.outer + chart.inner) / 2
    for slant, degrees, off in zip(ink, chart.degrees, chart.off, strict=True):
        assert off is not None
        x, y = slant.value - WIDTH / 2, 168.0 - slant.y
        assert math.hypot(x, y) == pytest.approx(RADIUS + (off - middle) * pixels, abs=0.01)
        assert math.degrees(math.atan2(y, x)) % 360 == pytest.approx(degrees % 360, abs=0.01)
    bar = next(line for line in sheet.lines if line.thickness == 2.4)
    assert bar.bottom - bar.top == pytest.approx(chart.bar * pixels)
    assert chart.bar_text == f"{chart.bar:g} mm"


def test_lobes_are_named_at_their_crests(lobed: PhotoOutline) -> None:
    """Three crests named 3 in the direction of cos(3 theta + 1.2) = 1; the highest lobes in the accent."""
    sheet = lay_out(outline_picture(lobed))
    names = [text for text in sheet.texts if text.text == "3" and text.tone == "accent"]
    angles = sorted(math.degrees(math.atan2(168.0 - one.y, one.x - WIDTH / 2)) % 120 for one in names)
    assert angles == pytest.approx([math.degrees(-1.2 / 3) % 120] * 3, abs=1.0)
    assert {"2", "5"} <= {text.text for text in sheet.texts}


def test_a_round_ball_is_drawn_round() -> None:
    """What noise alone shows fills a third of the skin's room at most (own rule), and nothing is named."""
    chart = outline_picture(photo({}))
    assert (chart.outer - chart.inner) * SKIN / chart.height <= SKIN / 2
    assert chart.crests == ()
    on_the_sheet(lay_out(chart))


def test_a_gap_is_left_open(lobed: PhotoOutline) -> None:
    """Where the edge was not seen no outline is drawn (definition)."""
    whole, part = (lay_out(outline_picture(one)) for one in (lobed, photo(LOBES, gap=(80.0, 110.0))))  # type: ignore[arg-type]
    assert len([s for s in part.slants if s.tone == "ink"]) < len([s for s in whole.slants if s.tone == "ink"])


def test_the_edge_stands_where_it_is_on_the_photograph(lobed: PhotoOutline) -> None:
    """Dots scale with the picture, hollow where the edge was filled in; the picture's own bytes are shown."""
    chart = edge_picture(lobed)
    sheet = lay_out(chart)
    on_the_sheet(sheet)
    (image,) = sheet.images
    assert base64.b64decode(image.url.partition(",")[2]) == chart.picture
    for ball, (x, y, kept) in zip(sheet.balls, chart.points, strict=True):
        assert ball.value - image.x == pytest.approx(x * image.width / chart.width)
        assert ball.y - image.y == pytest.approx(y * image.height / chart.height)
        assert (ball.look == "filled") == kept
    picture = render(chart)
    assert "data:image/jpeg;base64" in picture.svg
    assert picture.pdf.startswith(b"%PDF")
    shown = np.asarray(Pictures.open(io.BytesIO(picture.png(1.0))).convert("RGB"))
    assert np.all(np.abs(shown[60, 168].astype(int) - 200) <= 6)  # a gray of 200, as the photograph has it


def test_forms_in_words() -> None:
    """Value and interval to the decimals that the uncertainty supports; a bound where the lower end is 0."""
    told = FormFound("minimum zone", 0.036, 0.0342, 0.0271, 0.0410, 0.0035, 0.01, told=True)
    assert form_text(told, "mm") == "0.034 mm (0.027 to 0.041)"
    bound = FormFound("minimum zone", 0.006, 0.001, 0.0, 0.0082, 0.002, 0.01, told=False)
    assert form_text(bound, "mm") == "at most 0.0082 mm"


def test_the_terminal_says_all_of_it(found: OutlineFindings) -> None:
    """Form, all circles, what was not used with its reason, assumptions and cautions; no line beyond the width."""
    held = io.StringIO()
    print_outlines(found, Console(file=held, width=80, force_terminal=False))
    text = held.getvalue()
    for words in (
        "The ball alone",
        "minimum circumscribed",
        "bad.jpg: No ball was found",
        "Taken.",
        "Beware of the lamp.",
    ):
        assert words in text
    assert max(map(len, text.splitlines())) <= 80
    assert "(Dunlin_01_50.jpg)" in " ".join(text.split())


def test_the_report_is_a_page_that_loads_nothing(found: OutlineFindings) -> None:
    """Two figures a photograph and one of the ball alone; pictures stand in the page; what was refused is listed."""
    document = outlines_document(found)
    assert len(walk(document, Figure)) == 2 * 3 + 1
    page = page_html(document)
    assert "://" not in page.replace("http://www.w3.org", "")
    assert page.count("data:image/jpeg;base64") == 3
    assert "img-src data:" in page
    assert "No ball was found" in page
    assert "--scale &#34;0.05" in page
    assert document.blocks[: len(outlines_blocks(found))] == outlines_blocks(found)


def test_that_no_photograph_could_be_used_is_said_first() -> None:
    """Terminal, report and JSON begin with it; each reason follows, once, before what was taken for granted."""
    why = "No ball was found: put the ball before a plain ground."
    bad = tuple(refused_photo(name, "", why, product="Curlew", ball="1") for name in ("a.jpg", "b.jpg"))
    none = OutlineFindings(bad, (), None, (), 50.0, "px", 1, None, Footing(assumptions=("Taken.",)))
    none = replace(none, sentences=outline_sentences(none))
    out = io.StringIO()
    print_outlines(none, Console(file=out, width=200, color_system=None))
    _, first, *rest = [line.strip() for line in out.getvalue().splitlines() if line.strip()]
    assert first == "No photograph could be used; why, and what to do, stands with each."
    assert rest[:3] == ["Not used", f"a.jpg: {why}", f"b.jpg: {why}"]
    assert out.getvalue().count(why) == 2
    lead, heading, listed = outlines_blocks(none)
    assert (lead.text, heading.text) == (first, "Not used")  # type: ignore[union-attr]
    assert listed.items == (f"a.jpg: {why}", f"b.jpg: {why}")  # type: ignore[union-attr]
    assert json.loads(outlines_to_json(none))["sentences"] == [first]


def test_the_json_holds_what_was_found(found: OutlineFindings) -> None:
    """Numbers of the JSON are those of the findings, and a refused photograph has none (contract)."""
    told = json.loads(outlines_to_json(found))
    zone = told["photos"][0]["form"]["minimum_zone"]
    assert zone["value"] == pytest.approx(found.photos[0].forms[1].value, rel=1e-9)
    assert told["photos"][3]["refused"].startswith("No ball")
    assert told["photos"][3]["lobes"] == []
    assert told["separation"]["turns_deg"] == [0.0, 50.0, 130.0]
    assert told["filter"]["cutoff_upr"] == 50.0


def test_the_ball_alone_is_drawn_without_edge_points(found: OutlineFindings) -> None:
    """There is no edge of the ball alone, only harmonics (definition)."""
    assert found.separation is not None
    chart = separation_picture(found.separation, 20.0)
    assert chart.points == ()
    on_the_sheet(lay_out(chart))


def test_nothing_of_this_machine_stands_in_the_page(found: OutlineFindings) -> None:
    """No folder of this machine is in the report (rule of this project)."""
    assert str(Path(__file__).resolve().parents[2]) not in page_html(outlines_document(found))
