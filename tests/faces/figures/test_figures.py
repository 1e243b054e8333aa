"""Figures: the same data give the same bytes, nothing hangs on colour alone, nothing is lost without a word."""

from __future__ import annotations

import random
import re
from datetime import date
from itertools import pairwise
from xml.etree import ElementTree

import pytest

from geneticlog.faces.figures import style
from geneticlog.faces.figures import style as figures
from geneticlog.faces.figures.classes import CrossMark, _draw_cross, composition_figure, cross_figure
from geneticlog.faces.figures.history import Dot, Series, history_figure
from geneticlog.faces.figures.length import FishMark, LengthPanel, SizeBand, bin_edges, length_figure
from geneticlog.faces.figures.sizes import SizeRow, sizes_figure
from geneticlog.faces.figures.style import PAGE, PHONE, Drawing, FigureSize, drawn_at, inline

SVG = "{http://www.w3.org/2000/svg}"
TAXA = {"taxon": "Florida", "other_taxon": "northern"}


BANDS = (
    SizeBand("young", 0, 12, 4, 2, 0.2, 0.1, 0.4, False),
    SizeBand("adult", 12, None, 6, 1, None, None, None, False),
)
FISH = (FishMark(9.5, 0.1, "intergrade"), FishMark(10, 0.3, "intergrade", True), FishMark(None, 0.9, "F1"))


def a_length_figure(n_surveys: int = 2) -> Drawing:
    panels = [LengthPanel(str(2027 - n_surveys + at), FISH, BANDS) for at in range(n_surveys)]
    return length_figure(panels, [(9.5, 1), (10.0, 5), (14.0, 2)], [9.5, 10.0], unit="in", **TAXA)


FIGURES = {
    "length": a_length_figure,
    "composition": lambda: composition_figure([("young", {"northern": 3, "F1": 1}), ("adult", {})], **TAXA),
    "cross": lambda: cross_figure([CrossMark(0.5, 1, "F1"), CrossMark(0, 0, "northern")], **TAXA),
    "history": lambda: history_figure(
        [Series("whole lake", (Dot(date(2024, 4, 1), "A", 0.2, 0.1, 0.4, 9),
                               Dot(date(2026, 4, 1), "B", None, None, None, 0)))],
        [date(2025, 6, 1)], taxon="Florida",
    ),
    "sizes": lambda: sizes_figure(
        [SizeRow("whole lake", 9, 0.3, 0.2, 0.4, True, 0.1, 0.05, 0.2),
         SizeRow("under 8 in (young)", 2, 0.5, None, None, False, words="too few fish")],
        taxon="Florida", now="2026", then="2024",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", FIGURES)
def test_a_figure_is_the_same_bytes_each_time_and_holds_no_date(name: str) -> None:
    first = FIGURES[name]()
    assert FIGURES[name]() is first  # a page, its paper and its files ask for the same figure
    style._drawn.cache_clear()
    assert FIGURES[name]() == first
    assert first.name == name
    assert "<dc:date>" not in first.svg
    assert "<metadata>" not in first.svg
    assert first.png.startswith(b"\x89PNG")


@pytest.mark.parametrize("name", FIGURES)
def test_the_two_drawings_of_a_figure_share_no_identity(name: str) -> None:
    drawing = FIGURES[name]()
    page, phone = (re.findall(r'\sid="([^"]+)"', svg) for svg in (drawing.svg, drawing.svg_phone))
    assert len(page) == len(set(page))
    assert not set(page) & set(phone)
    assert set(re.findall(r'(?:xlink:href="#|url\(#)([^")]+)', drawing.svg)) <= set(page)


@pytest.mark.parametrize("name", FIGURES)
def test_a_figure_holds_real_text_and_draws_each_pattern_once(name: str) -> None:
    for svg in (FIGURES[name]().svg, FIGURES[name]().svg_phone):
        root = ElementTree.fromstring(svg)
        words = [one for one in root.iter(f"{SVG}text") if (one.text or "").strip()]
        assert len(words) > 3
        sizes = [
            float(found)
            for found in re.findall(r"font: (?:\w+ )?([\d.]+)px|font-size: ([\d.]+)px", svg)
            for found in found
            if found
        ]
        assert min(sizes) >= figures.LEAST_TYPE
        patterns = [ElementTree.tostring(one) for one in root.iter(f"{SVG}pattern")]
        assert len(patterns) == len({re.sub(rb'id="[^"]*"', b"", one) for one in patterns})
        assert all(len(one) < 400 for one in patterns)
        assert "<style" not in svg  # it would hold for the whole page that the figure stands in


def test_the_sizes_name_their_numbers_and_their_fish_where_they_stand() -> None:
    svg = FIGURES["sizes"]().svg
    for words in ("30 % (20 to 40 %)", "9 fish", "2026", "2024", "too few fish"):
        assert f">{words}</text>" in svg


def test_fish_under_one_mark_are_counted() -> None:
    drawn = cross_figure([CrossMark(0, 0, "northern")] * 35 + [CrossMark(0.5, 1, "F1")], **TAXA)
    assert ">35 fish</text>" in drawn.svg
    panel = LengthPanel("2026", tuple(FishMark(9.5, 0.0, "northern") for _ in range(7)), BANDS)
    assert ">7</text>" in length_figure([panel], [(9.5, 7)], [9.5] * 7, unit="in", **TAXA).svg


def test_more_than_two_surveys_get_a_panel_each() -> None:
    assert "2026, n 2" in a_length_figure(3).svg
    assert "2024, every fish" not in a_length_figure(3).svg
    assert "2025, every fish" in a_length_figure(2).svg


def test_a_figure_in_a_page_has_its_words_and_no_address() -> None:
    drawing = a_length_figure()
    markup = inline(drawing.svg, 'of "<b>" & more', "t1")
    assert markup.startswith('<svg role="img" aria-labelledby="t1"')
    assert '<title id="t1">of &quot;&lt;b&gt;&quot; &amp; more</title>' in markup
    assert "http" not in markup


def test_the_words_of_a_figure_name_what_is_not_drawn() -> None:
    assert "1 fish with a result but without a length are not drawn" in a_length_figure().alternative


def test_every_kind_differs_in_mark_in_hatch_and_in_lightness() -> None:
    kinds = [figures.NORTHERN, figures.INTERGRADE, figures.UNDETERMINED, figures.FLORIDA, figures.FIRST_CROSS]
    assert len({kind.mark for kind in kinds}) == len(kinds)
    assert len({kind.hatch for kind in kinds}) == len(kinds)

    def lightness(colour: str) -> float:
        red, green, blue = (int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5))
        return 0.2126 * red**2.2 + 0.7152 * green**2.2 + 0.0722 * blue**2.2

    ordered = sorted(lightness(kind.face) for kind in kinds)
    assert all(high - low > 0.05 for low, high in pairwise(ordered))


@pytest.mark.parametrize(
    ("unit", "lengths"),
    [("in", [4.5, 23.9]), ("mm", [87, 627]), ("cm", [8.7, 62.7]), ("in", [12.0]), ("mm", [10, 1200])],
)
def test_bins_hold_every_length_and_are_few(unit: str, lengths: list[float]) -> None:
    edges = bin_edges([(length, 1) for length in lengths], unit)
    assert edges[0] <= min(lengths)
    assert edges[-1] > max(lengths)
    assert len(edges) <= 36


def test_the_panels_own_taxa_take_the_two_ends() -> None:
    assert figures.kind_of("smallmouth", "spotted", "smallmouth") == figures.NORTHERN
    assert figures.kind_of("spotted", "spotted", "smallmouth") == figures.FLORIDA
    assert figures.kind_of(None, "spotted", "smallmouth") == figures.UNDETERMINED


@pytest.mark.parametrize("size", [PAGE, PHONE], ids=["page", "phone"])
@pytest.mark.parametrize("seed", range(6))
def test_no_name_of_a_class_stands_on_a_fish(size: FigureSize, seed: int) -> None:
    chance = random.Random(seed)
    fish = []
    for _ in range(30):  # invented: many fish about the place where F2 are expected
        q = min(1.0, max(0.0, chance.gauss(0.5, 0.15)))
        fish.append(CrossMark(q, min(2 * q, 2 - 2 * q, max(0.0, chance.gauss(0.5, 0.1))), "intergrade"))
    with drawn_at(size):
        figure = _draw_cross(fish, "Florida", "northern", size)
        figure.draw_without_rendering()
    axes = figure.axes[0]
    spots = axes.transData.transform([(one.q, one.heterozygosity) for one in fish])
    for name in axes.texts:
        if name.get_text().endswith(" fish"):
            continue  # the number of fish under one mark stands close above it
        box = name.get_window_extent()
        covered = [(x, y) for x, y in spots if box.x0 <= x <= box.x1 and box.y0 <= y <= box.y1]
        assert not covered, name.get_text()
