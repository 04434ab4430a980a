from __future__ import annotations

import io
import json
import math
import re
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest
from rich.console import Console
from tests.presentation.example_bounces import bounces

from ballbench.findings.bouncing.results import BounceFindings, Spread
from ballbench.findings.bouncing.words import bounce_sentences, spread_text
from ballbench.findings.footing import Footing
from ballbench.presentation.bounces_json import bounces_to_json
from ballbench.presentation.bounces_report import bounces_document
from ballbench.presentation.bounces_terminal import print_bounces
from ballbench.presentation.charts.bounce_picture import drops_picture, products_of, speed_picture
from ballbench.presentation.charts.layout import lay_out
from ballbench.presentation.charts.sheet import WIDTH, Sheet
from ballbench.presentation.document import Figure, walk
from ballbench.presentation.report_files import write_report
from ballbench.presentation.typst_text import typst_source


@pytest.fixture(scope="module")
def found() -> BounceFindings:
    return bounces()


def printed(found: BounceFindings, width: int = 80) -> str:
    out = io.StringIO()
    print_bounces(found, Console(file=out, width=width, force_terminal=False, legacy_windows=False))
    return out.getvalue()


def test_the_json_has_the_keys_of_its_format(found: BounceFindings) -> None:
    """Recordings with file, refused and drops; impacts_s, restitution, drop_height and rebound in each drop."""
    data = json.loads(bounces_to_json(found))
    assert data["format"] == "ballbench/bounces/1"
    assert data["seed"] == 1
    first, _, refused = data["recordings"]
    assert refused["refused"].startswith("No bouncing ball")
    assert refused["drops"] == []
    assert first["refused"] is None
    drop = first["drops"][0]
    assert len(drop["impacts_s"]) == 7
    assert {"value", "u", "impact_speed"} <= drop["restitution"][0].keys()
    assert drop["restitution"][0]["value"] == pytest.approx(found.recordings[0].drops[0].bounces[0].restitution.value)
    assert drop["drop_height"] == {"value": 305.0, "u": 1.0, "unit": "mm"}
    assert drop["rebound"]["unit"] == "mm"
    assert "picture" not in first
    assert len(json.loads(bounces_to_json(found, picture=True))["recordings"][0]["picture"]["times"]) == 2000


def test_what_is_not_known_is_null() -> None:
    """Without a drop height there is no rebound, and no first restitution."""
    data = json.loads(bounces_to_json(bounces(drop_height=False)))
    drop = data["recordings"][0]["drops"][0]
    assert (drop["rebound"], drop["drop_height"], data["balls"][0]["restitution"]) == (None, None, None)
    assert drop["restitution"][0]["impact"] == 2
    assert data["clauses"][0]["decision"] == "not tested"


@pytest.mark.parametrize("width", [60, 80, 120])
def test_the_terminal_says_the_answer_first(found: BounceFindings, width: int) -> None:
    """Balls, clauses, each drop with its reason, what was refused; no line is wider than the terminal."""
    text = printed(found, width)
    assert max(map(len, text.splitlines())) <= width
    flat = " ".join(text.split())
    assert flat.startswith("Invented data, for demonstration.")
    assert flat.index("Curlew, ball 01: rebound") < flat.index("Curlew_01.wav")
    assert "Drop 2: 7 impacts; not counted." in flat
    assert "fell from higher up" in flat
    assert "talk.wav: not used: No bouncing ball was heard; record again." in flat
    assert "1 drop left out, with the reason below." in flat
    assert "too few drops of ball 03 (2)" in flat


def test_nothing_heard_says_so() -> None:
    """Findings without any ball have one sentence, and the refusals."""
    none = bounces()
    bare = BounceFindings(none.recordings[2:], (), (), none.settings, 1, 1000, None, Footing())
    assert "talk.wav" in printed(bare)
    assert walk(bounces_document(bare), Figure) == ()


@pytest.mark.parametrize(
    ("spread", "limits", "text"),
    [
        (Spread(241.23, 1.0, 239.3, 243.2), (), "241.2 mm (239.3 to 243.2)"),
        (Spread(240.04, 5.0, 230.0, 250.0), (240.0,), "240.0 mm (230 to 250)"),
        (Spread(math.nan, math.nan, math.nan, math.nan), (), "not known mm"),
    ],
)
def test_numbers_are_no_finer_than_their_interval(spread: Spread, limits: tuple[float, ...], text: str) -> None:
    """Two figures of the half width, more where a limit would be crossed (the project's rule for intervals)."""
    shown = spread_text(spread, "mm", limits)
    if limits:
        value = float(shown.split()[0])
        assert (value - limits[0]) * (spread.value - limits[0]) > 0
    else:
        assert shown == text


def inside(sheet: Sheet) -> None:
    for text in sheet.texts:
        assert text.ends[0] >= -0.01, text
        assert text.ends[1] <= WIDTH + 0.01, text
        assert 0.0 < text.y < sheet.height
    for slant in sheet.slants:
        for value, y in ((slant.value, slant.y), (slant.to_value, slant.to_y)):
            assert -0.01 <= sheet.scale.pixel(value) <= WIDTH + 0.01
            assert 0.0 <= y <= sheet.height


def test_arcs_stand_as_high_as_the_ball_rose(found: BounceFindings) -> None:
    """The tops of two flights have the ratio of their heights, and each arc begins and ends at an impact (geometry)."""
    chart = drops_picture(found, "Curlew")
    sheet = lay_out(chart)
    inside(sheet)
    arcs = [slant for slant in sheet.slants if slant.tone == "soft"]
    row = chart.rows[0]
    floor = next(slant.y for slant in sheet.slants if slant.tone == "line")
    tops = []
    for begin, end in pairwise(row.impacts):
        own = [arc for arc in arcs[: 14 * len(row.heights)] if begin - 1e-9 <= arc.value and arc.to_value <= end + 1e-9]
        assert own[0].value == pytest.approx(begin)
        assert own[-1].to_value == pytest.approx(end)
        tops.append(floor - min(arc.to_y for arc in own))
    for top, height in zip(tops, row.heights, strict=True):
        assert top / tops[0] == pytest.approx(height / row.heights[0], rel=1e-9)


def test_texts_of_a_row_do_not_touch(found: BounceFindings) -> None:
    """Restitutions that stand on one line leave room between them, and n is printed."""
    for product in products_of(found):
        sheet = lay_out(drops_picture(found, product))
        lines: dict[float, list[tuple[float, float]]] = {}
        for text in sheet.texts:
            lines.setdefault(round(text.y, 3), []).append(text.ends)
        for ends in lines.values():
            for (_, right), (left, _) in pairwise(sorted(ends)):
                assert left >= right
        assert any(text.text.startswith("n = ") for text in sheet.texts)


@pytest.mark.parametrize("count", [6, 14, 40])
def test_every_restitution_is_printed_or_counted(found: BounceFindings, count: int) -> None:
    """Of impacts that get closer and closer all numbers stand under theirs, or it is said how many have no room."""
    gaps = [0.45 * 0.9**k for k in range(count - 1)]
    times = tuple(sum(gaps[:k]) for k in range(count))
    texts = (*(f"0.{900 + k}" for k in range(count - 1)), "")
    chart = drops_picture(found, "Curlew")
    row = replace(chart.rows[0], impacts=times, u=(1e-5,) * count, heights=(200.0,) * (count - 1), texts=texts)
    sheet = lay_out(replace(chart, rows=(row,), axis=replace(chart.axis, low=-0.1, high=times[-1] + 0.1)))
    printed = {text.text for text in sheet.texts} & set(texts)
    said = [text.text for text in sheet.texts if "for which there is no room" in text.text]
    left_out = int(said[0].split()[0]) if said else 0
    assert len(printed) + left_out == count - 1
    assert (left_out == 0) == (count == 6)
    for one, other in pairwise(
        sorted((text for text in sheet.texts if text.text in printed), key=lambda t: (t.y, t.x))
    ):
        assert one.y != other.y or one.ends[1] <= other.ends[0]


def test_every_impact_is_a_dot_between_the_ends_of_its_interval(found: BounceFindings) -> None:
    """As many dots as restitutions of drops that count; lower restitution stands lower."""
    chart = speed_picture(found, "Dunlin")
    assert chart is not None
    assert len(chart.dots) == 12
    sheet = lay_out(chart)
    inside(sheet)
    assert len(sheet.balls) == 12
    order = sorted(zip(chart.dots, sheet.balls, strict=True), key=lambda pair: pair[0].value)
    assert [ball.y for _, ball in order] == sorted((ball.y for _, ball in order), reverse=True)
    assert {ball.look for dot, ball in order if dot.first} == {"hollow"}


def test_a_long_evening_is_cut_and_said() -> None:
    """More than eight drops: the picture shows eight and says of how many."""
    many = bounces(drops=12)
    chart = drops_picture(many, "Curlew")
    assert len(chart.rows) == 8
    assert chart.n_text == "n = 12 drops of 1 ball, 8 shown"


def test_drops_of_a_ball_are_counted_through_its_recordings(found: BounceFindings) -> None:
    """Three recordings of a drop each: rows of a picture that can be told apart, in a column that cuts long names."""
    one = found.recordings[0]
    files = tuple(
        replace(one, file=f"Curlew_01_{k}.wav", drops=(replace(drop, number=1),)) for k, drop in enumerate(one.drops)
    )
    chart = drops_picture(replace(found, recordings=files), "Curlew")
    assert [row.label for row in chart.rows] == ["ball 01, drop 1", "ball 01, drop 2", "ball 01, drop 3"]


def test_why_a_recording_was_refused_is_said_once(found: BounceFindings) -> None:
    """A recording whose drops do not count gives its reason in one place of page, paper and terminal."""
    why = "the first flight is longer than a fall from the drop height allows; left out"
    bad = replace(found.recordings[0], refused=f"no drop in it counts; {why}", notes=(why,), drops=tuple(
        replace(drop, counted=False, notes=(why,)) for drop in found.recordings[0].drops
    ))  # fmt: skip
    told = replace(found, recordings=(*found.recordings, bad))
    told = replace(told, sentences=bounce_sentences(told))
    assert printed(told, 400).count(why) == 1
    assert typst_source(bounces_document(told), "", lambda _: "picture.pdf").count(why) == 1


def test_the_report_is_a_page_and_a_pdf(found: BounceFindings, tmp_path: Path) -> None:
    """Both are written; the page holds sentences, digests, the command, the cautions, and a picture a product twice."""
    files = write_report(bounces_document(found), tmp_path, "listen")
    page = Path(files.page).read_text(encoding="utf-8")
    assert Path(files.pdf).read_bytes().startswith(b"%PDF")
    words = re.sub(r"\s+", " ", page)
    for part in (found.sentences[0].split(":")[0], "sha256:abab", "Drop from a fixed stand.", "--seed 1", "Not used"):
        assert part in words
    assert len(walk(bounces_document(found), Figure)) == 5  # Dunlin has too few drops for one of its clause
