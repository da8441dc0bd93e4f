"""Any figure as SVG: each shape as it is named, links and words for who can't see it, nothing hidden that is said nowhere else."""

from __future__ import annotations

from typing import Any
from xml.etree import ElementTree

import pytest
from proofyard.charts.figure import Circle, Figure, Glyph, Group, Path, Rect, Text, hidden, level
from proofyard.exchange.drawing_files import standalone_svg
from proofyard.pages.frame.rendering import environment

HOSTILE = '<b onload="go()">&'
SHOT = Group((Rect(1.04, 2.06, 3.0, 4.0, "chart__shot"), Glyph("outcome-3", 1.0, 2.0, 3.0, 3.0)), words=HOSTILE, href="/shots/1")
AXES = hidden([level(0.0, 9.96, 5.0, "chart__axis"), Text(HOSTILE, 4.0, 5.0, "chart__count", "middle")])


def drawn(*marks: Any, **more: Any) -> ElementTree.Element:
    figure = Figure("T", "What it shows.", 50.0, marks, **more)
    return ElementTree.fromstring(str(environment().globals["chart"](figure, "x")).replace("&nbsp;", " "))


def test_each_shape_is_drawn_where_it_stands_to_a_tenth() -> None:
    svg = drawn(SHOT, AXES, Circle(1.23, 4.56, 5.0, "chart__dot")).find("svg")
    assert svg is not None and svg.get("viewBox") == "0 0 340.0 50.0"
    (rect,), (circle,), (use,), (path,) = (list(svg.iter(tag)) for tag in ("rect", "circle", "use", "path"))
    assert (rect.get("x"), rect.get("y"), rect.get("class")) == ("1.0", "2.1", "chart__shot")
    assert (circle.get("cx"), circle.get("cy")) == ("1.2", "4.6")
    assert str(use.get("href")).endswith("#outcome-3")
    assert path.get("d") == "M0 5L10 5"


def test_a_mark_that_leads_somewhere_says_where_and_words_stay_words() -> None:
    svg = drawn(SHOT, AXES).find("svg")
    assert svg is not None
    (link,) = svg.iter("a")
    assert (link.get("href"), link.get("aria-label")) == ("/shots/1", HOSTILE)
    assert [one.text for one in link.iter("title")] == [HOSTILE]
    (words,) = svg.iter("text")
    assert words.text == HOSTILE and words.get("class") == "chart__mid chart__count"
    assert [one.get("aria-hidden") for one in svg if one.tag == "g"] == ["true"]


@pytest.mark.parametrize(("marks", "role"), [((SHOT,), "group"), ((AXES,), "img")])
def test_a_figure_with_links_is_a_group_of_them_and_any_other_an_image(marks: tuple[Group, ...], role: str) -> None:
    svg = drawn(*marks).find("svg")
    assert svg is not None and svg.get("role") == role
    told = {one.get("id"): one.text for one in svg}
    assert (told[svg.get("aria-labelledby")], told[svg.get("aria-describedby")]) == ("T", "What it shows.")


def test_a_figure_without_marks_is_its_words() -> None:
    figure = drawn()
    assert [one.text for one in figure] == ["What it shows."] and figure.find("svg") is None


def test_every_table_of_a_figure_is_under_it() -> None:
    figure = Figure("T", "W", 50.0, (AXES,), columns=("Shot",), rows=(("A1",),))
    text = str(environment().globals["chart_table"](figure, "x"))
    assert 'id="x-table"' in text and "A1" in text and "<summary>The same as a table</summary>" in text


def test_a_shape_without_a_look_is_still_dressed_as_a_file() -> None:
    figure = Figure("T", "W", 50.0, (Path("M0 0L1 1", "chart__face"), SHOT))
    svg = standalone_svg(str(environment().globals["chart"](figure, "x")), heading=["H"])
    assert 'stroke-width="5"' in svg and "<a" not in svg and "outcome-3" in svg
