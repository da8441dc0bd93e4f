"""Drawings as files: an SVG that stands alone, a PNG, and who may have which."""

from __future__ import annotations

import re
import struct
from xml.etree import ElementTree

import pytest
from proofyard.exchange import drawing_png
from proofyard.exchange.drawing_files import FACES, SVG, standalone_svg
from proofyard.exchange.drawing_png import NoPng, png_of
from proofyard.pages.frame.rendering import environment
from proofyard.pages.parts.drawings import drawing_states
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit

PNG = b"\x89PNG\r\n\x1a\n"  # PNG (third edition), W3C Recommendation 2025, section 5.2
# SVG 2, W3C Candidate Recommendation, appendix L (property index): what may be said of a shape as an attribute
ATTRIBUTES = {"color", "fill", "stroke", "stroke-width", "stroke-dasharray", "font-size", "font-weight", "text-anchor", "paint-order"}


@pytest.fixture
def day(book: Storage) -> dict[str, str]:
    """A day of six shots with speeds: an arrow weighed, all on one panel, the last of them a misread speed."""
    yard = kit.yard(book, question="Does it get through?")
    shots = []
    for n, outcome_level in enumerate(("2", "3", "3", "4", "3", "4"), 1):
        shot = kit.shot(book, yard, label=f"A{n}")
        kit.reading(book, shot, x=f"{40 * n - 140} mm", y="0 mm", outcome_low=outcome_level)
        more = {"left_out_reason": "two flashes"} if n == 6 else {}
        kit.put(book, "speed_reading", {"shot": shot, "value": f"{52 + n / 10} m/s", "method": "chronograph", **more})
        shots.append(shot)
    return {"panel": yard.panel.build, "session": yard.session, "combination": kit.combination(book, yard.combination), "trial": yard.trial}


def addresses(day: dict[str, str]) -> list[str]:
    return [
        "/results/drawings/shares",
        "/results/drawings/outcomes",
        "/results/drawings/depth",
        f"/panels/{day['panel']}/drawings/face",
        f"/panels/{day['panel']}/drawings/order",
        f"/combinations/{day['combination']}/drawings/speeds",
        f"/sessions/{day['session']}/drawings/speeds",
    ]


def test_every_drawing_is_an_svg_that_needs_nothing_beside_it(owner: TestClient, day: dict[str, str]) -> None:
    for address in addresses(day):
        answer = owner.get(f"{address}.svg")
        assert answer.status_code == 200, address
        assert answer.headers["content-type"].startswith("image/svg+xml")
        assert answer.headers["content-disposition"].endswith(f'"{address.rpartition("/")[2]}.svg"')
        root = ElementTree.fromstring(answer.text)
        assert root.tag == f"{{{SVG}}}svg" and root.get("role") == "img"
        ids = [str(one.get("id")) for one in root.iter() if one.get("id")]
        assert len(ids) == len(set(ids))
        named = [str(root.get("aria-labelledby")), str(root.get("aria-describedby"))]
        told = {str(one.get("id")): one.text for one in root if one.tag in (f"{{{SVG}}}title", f"{{{SVG}}}desc")}
        assert [name for name in named if not told.get(name)] == [] and root.get("aria-labelledby") != root.get("aria-describedby")
        for one in root.iter():
            assert one.tag.rpartition("}")[2] not in ("a", "image", "style", "script", "foreignObject"), address
            href = one.get("href")
            assert href is None or (href.startswith("#") and href[1:] in ids), href
            assert not {"class", "style"} & set(one.attrib)
        assert "var(" not in answer.text and "url(" not in answer.text and "/static/" not in answer.text


def test_every_mark_has_its_own_ink_written_on_it(owner: TestClient, day: dict[str, str]) -> None:
    """No sheet stands beside the file, and without ink a line of an SVG is not drawn at all (SVG 2, section 13.2: stroke none)."""
    for address in addresses(day):
        root = ElementTree.fromstring(owner.get(f"{address}.svg").text)
        shapes = [one for one in root.iter() if one.tag.rpartition("}")[2] in ("path", "rect", "circle")]
        drawn = [
            one
            for one in shapes
            if one.get("fill", "").startswith(("#", "none", "currentColor")) or one.get("stroke", "").startswith(("#", "currentColor"))
        ]
        assert [ElementTree.tostring(one) for one in shapes if one not in drawn] == []
        for one in root.iter():
            for name, value in one.attrib.items():
                assert name not in ATTRIBUTES or value.strip(), (one.tag, name)


def test_a_drawing_says_what_was_counted_and_when(owner: TestClient, day: dict[str, str]) -> None:
    text = owner.get("/results/drawings/shares.svg").text
    words = " ".join(one.text or "" for one in ElementTree.fromstring(text).iter(f"{{{SVG}}}text"))
    assert "Heads: share through" in words and "Through means point through" in words and "Drawn on" in words
    assert re.search(r"Counted: \d+ of 6 shots", words)


def test_a_view_is_drawn_as_its_address_asks(owner: TestClient, day: dict[str, str]) -> None:
    assert "share opened" in owner.get("/results/drawings/shares.svg?through=3").text.lower()
    other = owner.get("/results/drawings/shares.svg?head=blunt")
    assert other.status_code == 404 or "share through" in other.text


def test_a_png_is_that_drawing_in_points(owner: TestClient, day: dict[str, str]) -> None:
    for address in addresses(day):
        svg = ElementTree.fromstring(owner.get(f"{address}.svg").text)
        answer = owner.get(f"{address}.png")
        assert answer.status_code == 200 and answer.headers["content-type"] == "image/png", address
        assert answer.content.startswith(PNG)
        wide, high = struct.unpack(">II", answer.content[16:24])  # IHDR comes first: section 11.2.1
        assert (wide, high) == tuple(1.5 * int(str(svg.get(name))) for name in ("width", "height"))


def test_without_the_package_the_page_offers_the_svg_alone(owner: TestClient, day: dict[str, str], monkeypatch: pytest.MonkeyPatch) -> None:
    address = f"/panels/{day['panel']}"
    assert f'href="{address}/drawings/order.png"' in owner.get(address).text
    monkeypatch.setattr(drawing_png, "find_spec", lambda name: None)
    drawing_png.makes_png.cache_clear()
    page = owner.get(address).text
    assert f'href="{address}/drawings/order.svg"' in page and "order.png" not in page
    assert ">PNG<" not in page and "pip install" not in page, "nothing about packages on a page that a phone shows"
    refused = owner.get(f"{address}/drawings/order.png")
    drawing_png.makes_png.cache_clear()
    assert refused.status_code == 404 and "Take the SVG" in refused.text and "pip install" not in refused.text


def test_a_machine_without_a_typeface_gives_no_drawing_without_words(monkeypatch: pytest.MonkeyPatch) -> None:
    drawing_png._faces.cache_clear()
    monkeypatch.setattr(drawing_png, "WORDS", drawing_png.WORDS.replace("{faces}", "No Such Face").replace("{words}", ""))
    with pytest.raises(NoPng, match="typeface"):
        png_of("<svg xmlns='http://www.w3.org/2000/svg'/>")
    drawing_png._faces.cache_clear()


def test_an_address_that_names_no_drawing_is_not_found(owner: TestClient, day: dict[str, str]) -> None:
    panel = f"/panels/{day['panel']}/drawings"
    for address in (
        "/results/drawings/shares",
        "/results/drawings/nothing.svg",
        f"{panel}/shares.svg",
        f"{panel}/order.gif",
        "/combinations/none/drawings/speeds.svg",
    ):
        assert owner.get(address).status_code == 404, address


def test_an_empty_book_has_nothing_to_draw(owner: TestClient) -> None:
    assert owner.get("/results/drawings/shares.svg").status_code == 404


def test_pages_ask_for_their_drawings(owner: TestClient, day: dict[str, str]) -> None:
    for page, drawing in (
        (f"/panels/{day['panel']}", "drawn-order"),
        (f"/combinations/{day['combination']}", "drawn-speeds"),
        (f"/sessions/{day['session']}", "drawn-speeds"),
    ):
        text = owner.get(page).text
        assert f'<figure class="chart" id="{drawing}">' in text and f'id="{drawing}-table"' in text, page
        for address in re.findall(r'href="(/[^"]+/drawings/[^"]+)"', text):
            assert owner.get(address).status_code == 200, address


def test_the_left_out_speed_is_on_the_drawing_and_in_no_mean(owner: TestClient, day: dict[str, str]) -> None:
    for address in (f"/combinations/{day['combination']}", f"/sessions/{day['session']}"):
        told = owner.get(f"{address}/drawings/speeds.svg").text
        assert "left out: two flashes" in told and "; 1 left out" in told
        assert "mean 52.3 m/s" in told  # of 52.1 to 52.5; with the sixth it would be 52.4 (52.35)


def test_a_drawing_of_nothing_is_a_sentence_and_no_empty_frame() -> None:
    for name, states in drawing_states().items():
        none, one, many = (str(environment().globals["chart"](state, "x")) for state in states)
        assert "<svg" not in none and re.search(r"<p>[^<]*: no [^<]*\.</p>", none), name
        for drawn in (one, many):
            assert drawn.count("<svg ") == 1 and len(shapes(standalone_svg(drawn, heading=["H"]), "text")) > 2, name


# The maker itself


def figure(inside: str) -> str:
    return f'<figure><svg class="chart__drawing" viewBox="0 0 100 50"><title id="t">T</title><desc id="d">D</desc>{inside}</svg></figure>'


def shapes(svg: str, tag: str) -> list[dict[str, str]]:
    return [dict(one.attrib) for one in ElementTree.fromstring(svg).iter(f"{{{SVG}}}{tag}")]


def test_values_come_from_the_sheets_as_they_are_in_print() -> None:
    svg = standalone_svg(
        figure('<path class="chart__face" d="M0 0H9"/><g class="outcome--4"><rect class="chart__shot"/></g><rect class="chart__shot"/>'),
        heading=["H"],
    )
    face = next(one for one in shapes(svg, "path"))
    assert face["stroke"] == "#000" and face["stroke-width"] == "5", "print's ink, and the later rule's width"
    dark, none = (one for one in shapes(svg, "rect") if "stroke-width" in one)
    assert dark["fill"] == "#54514b", "an outcome level's tile, from the element around"
    assert none["fill"] == "none", "what var() falls back to"


def test_a_nearer_rule_outranks_a_plain_one() -> None:
    svg = standalone_svg(figure('<text class="chart__count" x="1" y="1">5</text><text x="1" y="9">plain</text>'), heading=["H"])
    heading, count, plain = shapes(svg, "text")
    assert count["font-size"] == "15" and count["font-weight"] == "700" and plain["font-size"] == "13.5"
    assert "DejaVu Sans" in FACES and FACES.endswith("sans-serif")


def test_markup_in_words_stays_words() -> None:
    svg = standalone_svg(figure("<text>a &lt;b&gt; &amp;&nbsp;c</text>"), heading=["<script>alert(1)</script>"], notes=["& more"])
    assert "<script>" not in svg and "&lt;script&gt;" in svg and ElementTree.fromstring(svg) is not None
    with pytest.raises(ValueError):
        standalone_svg("<figure></figure>", heading=[])


def test_a_clipped_edge_is_drawn_with_its_own_glyph(owner: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    loosed = kit.shot(book, yard, label="A1")
    kit.reading(book, loosed, hit="partial", outcome_low=None, x="150 mm", y="0 mm", why="clipped the right edge")
    page = owner.get(f"/panels/{yard.panel.build}").text
    assert page.count("1 A1: clipped the edge, no outcome") >= 2 and "1 A1: not read yet" not in page
    face = page.partition('class="panel__drawing"')[2].partition("</svg>")[0]
    assert "panel__clipped" in face and "#partial" in face and "#unread" not in face
