"""Filmed drops as picture, page, text and JSON: what is drawn is what was found, and nothing leaves the sheet."""

from __future__ import annotations

import io
import math
import re
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from examples.recorded.clips import Scene
from rich.console import Console
from tests.findings.watching.made_films import places_in, read, track_of

from ballbench.findings.footing import Footing
from ballbench.findings.watching.results import DropFindings, FilmedClip
from ballbench.findings.watching.words import clip_sentence, drop_sentences
from ballbench.presentation.charts.drop_data import FilmChart
from ballbench.presentation.charts.drop_picture import film_picture, film_says, filmed_products
from ballbench.presentation.charts.layout import lay_out
from ballbench.presentation.charts.sheet import WIDTH
from ballbench.presentation.document import Figure, Table, walk
from ballbench.presentation.drops_report import drops_document
from ballbench.presentation.drops_terminal import print_drops
from ballbench.records import Bench
from ballbench.workflows.flight_settings import settings_of
from ballbench.workflows.flight_words import FlightWords


@pytest.fixture(scope="module")
def clip() -> FilmedClip:
    scene = Scene(rate=120.0)
    places, _ = places_in(scene, 0.05, np.random.default_rng(1))
    track = track_of(scene, places)
    assert not isinstance(track, str)
    found = read(track, "Curlew_1_an_uncommonly_long_name_of_a_clip.mp4", "305 mm")
    assert found.refused == ""
    return found


@pytest.fixture(scope="module")
def found(clip: FilmedClip) -> DropFindings:
    settings = settings_of(FlightWords("40 mm, 2.7 g", "305 mm"), Bench()).settings
    refused = FilmedClip("Dunlin_1.mp4", "", "Dunlin", "1", refused="nothing moves in the picture; choose another")
    many = tuple(replace(clip, ball=str(k)) for k in range(8))
    whole = DropFindings((*many, refused), (), (), settings, math.nan, 1, None, Footing(cautions=("Beware of it.",)))
    return replace(whole, sentences=drop_sentences(whole))


def test_what_is_drawn_is_what_was_found(found: DropFindings, clip: FilmedClip) -> None:
    """The level is the rebound, the impacts are those of the clip, the curve passes through the dots to 1 mm."""
    assert filmed_products(found) == ("Curlew",)
    chart = film_picture(found, "Curlew")
    assert isinstance(chart, FilmChart)
    assert len(chart.rows) == 6
    assert "8 drops of 8 balls, 6 shown" in chart.n_text
    row = chart.rows[0]
    assert clip.rebound is not None
    assert row.top[1] == clip.rebound.value
    assert [time for time, _ in row.impacts] == pytest.approx([hit.time - clip.impacts[0].time for hit in clip.impacts])
    times, heights = np.array([point for run in row.curve for point in run]).T
    used = [dot for dot in row.dots if dot.look == "used"]
    fast = np.interp([dot.time for dot in used], times, heights) - [dot.height for dot in used]
    assert np.median(np.abs(fast)) < 1.0
    assert "6 shown" in film_says(chart)


def test_nothing_leaves_the_sheet(found: DropFindings) -> None:
    """Every dot, line and word of the picture lies on it, and words of one row do not touch."""
    sheet = lay_out(film_picture(found, "Curlew"))
    for text in sheet.texts:
        assert text.ends[0] >= 0.0
        assert text.ends[1] <= WIDTH
        assert 0.0 <= text.y <= sheet.height
    for ball in sheet.balls:
        assert 0.0 <= sheet.scale.pixel(ball.value) <= WIDTH
        assert 0.0 <= ball.y <= sheet.height
    for slant in sheet.slants:
        assert 0.0 <= slant.y <= sheet.height
        assert 0.0 <= slant.to_y <= sheet.height
    level = {}
    for text in sheet.texts:
        level.setdefault(round(text.y), []).append(text.ends)
    for ends in level.values():
        ordered = sorted(ends)
        assert all(a[1] < b[0] for a, b in pairwise(ordered))


def test_the_report_holds_every_clip(found: DropFindings) -> None:
    """A picture with its table, a row a clip, and the refused one with its reason."""
    document = drops_document(found)
    assert len(walk(document, Figure)) == 1
    assert any(len(table.rows) == 8 for table in walk(document, Table))
    text = str(document)
    assert "nothing moves in the picture" in text
    assert "Beware of it." in text


@pytest.mark.parametrize("plain", [False, True])
def test_the_terminal_says_the_same_in_any_alphabet(found: DropFindings, *, plain: bool) -> None:
    """No line is wider than the console, and a console that knows only ASCII gets ASCII."""
    out = io.BytesIO()
    stream = io.TextIOWrapper(out, encoding="ascii" if plain else "utf-8")
    print_drops(found, Console(file=stream, width=72))
    stream.flush()
    text = out.getvalue().decode("ascii" if plain else "utf-8")
    assert max(map(len, text.splitlines())) <= 72
    assert "Dunlin_1.mp4: not used: nothing moves in the picture" in text


def test_numbers_in_sentences_are_no_finer_than_their_interval(found: DropFindings) -> None:
    """A picture's rebound of about 231 mm with an interval of about 1 mm is printed to a tenth."""
    said = clip_sentence(found.clips[0])
    assert re.search(r"rebound 2\d\d\.\d mm \(2\d\d\.\d to 2\d\d\.\d\)", said)


def test_paths_of_this_machine_do_not_come_out(found: DropFindings) -> None:
    """Only names of files are shown."""
    assert str(Path.cwd()) not in str(drops_document(found))
