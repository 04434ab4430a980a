from __future__ import annotations

import io
import re
from types import ModuleType

import pytest
from PIL import Image

from ballbench.findings.comparisons import Comparison
from ballbench.findings.results import Findings
from ballbench.presentation.charts.chart_data import Chart
from ballbench.presentation.charts.clause_pictures import clause_strip, every_ball
from ballbench.presentation.charts.comparison_pictures import balls_by_product, differences
from ballbench.presentation.charts.drawing import draw
from ballbench.presentation.charts.layout import lay_out
from ballbench.presentation.charts.product_pictures import decision_marks
from ballbench.presentation.charts.rendering import render
from ballbench.presentation.marks import MARKS, mark_svg
from ballbench.presentation.tokens import DARK, LIGHT, contrast


@pytest.fixture(scope="module")
def charts(example: ModuleType, findings: Findings, comparison: Comparison) -> list[Chart]:
    made = [clause_strip(example.LARGEST, 24), every_ball(example.VARIATION_NOT_MET, 0.05), differences(comparison)]
    made += [balls_by_product(comparison), decision_marks(findings.products)]
    return [chart for chart in made if chart is not None]


def test_definitions_hold_the_schema(charts: list[Chart]) -> None:
    """Every picture's definition passes the drawing library's own schema in full."""
    for chart in charts:
        assert draw(lay_out(chart), LIGHT).to_dict(validate=True)["layer"]


def test_picture_carries_its_numbers_as_text(example: ModuleType) -> None:
    """The numbers of a strip are text in its SVG, 12 px or more, in the bundled typeface."""
    chart = clause_strip(example.LARGEST, 24)
    assert chart is not None
    svg = render(chart).svg
    for words in ("40.39 mm (40.36 to 40.42)", "as read 40.41", "whole ball 40.37 to 40.47", "n = 24 balls"):
        assert f">{words}</text>" in svg
    assert {float(size) for size in re.findall(r'font-size="([\d.]+)px"', svg)} <= {12.0, 13.0}
    assert set(re.findall(r'font-family="([^"]*)"', svg)) == {"Liberation Sans"}


def test_bar_is_drawn_to_scale(example: ModuleType) -> None:
    """In the rendered SVG the bar spans the same share of the band as its values do of the limits."""
    chart = clause_strip(example.MEAN, 24)
    assert chart is not None
    svg = render(chart).svg
    spans = [tuple(map(float, pair)) for pair in re.findall(r'd="M([\d.]+),[\d.]+h([\d.]+)v', svg)]
    (band, wide), (bar, long) = spans[:2]
    assert long / wide == pytest.approx((40.252 - 40.190) / 0.5, abs=2e-3)
    assert (bar - band) / wide == pytest.approx((40.190 - 40.0) / 0.5, abs=2e-3)


def test_inline_picture_follows_the_colours_of_its_page(charts: list[Chart]) -> None:
    """An inline SVG names colour tokens, no colours; it holds its words and no address."""
    for chart in charts:
        svg = render(chart).inline_svg('says "what" it <shows>')
        assert not re.search(r"#[0-9a-f]{6}", svg)
        assert "var(--ink)" in svg
        assert 'aria-label="says &quot;what&quot; it &lt;shows&gt;"' in svg
        assert "//" not in svg


def test_text_of_a_picture_is_never_taken_for_markup(comparison: Comparison, example: ModuleType) -> None:
    """A product's name with tags, quotes and colours stays the text that it is."""
    odd = example.product('<b class="x">"#1d2530" 1.23456</b>')
    chart = decision_marks((odd,))
    assert chart is not None
    svg = render(chart).inline_svg("odd")
    assert "<b" not in svg
    assert "1.23456" in svg
    assert "#1d2530" in svg
    assert comparison.products


def test_same_picture_gives_the_same_bytes(charts: list[Chart]) -> None:
    """SVG and PDF of a picture depend on nothing but its data."""
    for chart in charts:
        one, other = render(chart), render(chart)
        assert (one.svg, one.pdf) == (other.svg, other.pdf)
        assert one.pdf.startswith(b"%PDF-")


def test_png_is_as_large_as_asked(charts: list[Chart]) -> None:
    """A PNG at scale 2 is twice as wide as the picture, and not empty."""
    image = Image.open(io.BytesIO(render(charts[0]).png(2.0)))
    assert image.width == 672
    assert len(image.getcolors(100_000) or []) > 10


def test_pictures_are_readable_in_grey(charts: list[Chart]) -> None:
    """Turned to grey, band, bar, ball and limit line of both palettes still differ from each other in brightness."""
    assert charts
    for palette in (LIGHT, DARK):
        for one, other in (("band", "accent"), ("accent", "ink"), ("band", "limit"), ("card", "limit")):
            assert contrast(palette[one], palette[other]) > 1.5


def test_marks_are_drawn_without_text_and_in_the_tokens() -> None:
    """A mark is shape alone: the word stands beside it, not in it; on paper it has colours, on a page tokens."""
    for decision in MARKS:
        assert "<text" not in mark_svg(decision)
        assert "var(--ink)" in mark_svg(decision)
        assert LIGHT["ink"] in mark_svg(decision, LIGHT)
    assert "stroke-dasharray" in mark_svg("not tested")


@pytest.mark.parametrize("palette", [LIGHT, DARK], ids=["light", "dark"])
def test_colours_have_the_contrast_of_wcag(palette: dict[str, str]) -> None:
    """WCAG 2.2: text 4.5 to 1 on every ground it stands on (1.4.3), lines that carry meaning 3 to 1 (1.4.11)."""
    for ground in ("paper", "card", "band"):
        for text in ("ink", "soft"):
            assert contrast(palette[text], palette[ground]) >= 4.5
        for line in ("limit", "accent"):
            assert contrast(palette[line], palette[ground]) >= 3.0
    for ground in ("paper", "card"):
        assert contrast(palette["accent"], palette[ground]) >= 4.5
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)
