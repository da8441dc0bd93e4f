"""Cards to lay over a film: a transparent ground, everything in the title-safe box, and words that stay words."""

from __future__ import annotations

import io
from collections.abc import Callable
from xml.etree import ElementTree

import pytest
from PIL import Image
from proofyard.exchange.drawing_png import png_of
from proofyard.exchange.shot_cards import HIGH, SAFE_X, SAFE_Y, WIDE, CardWords, lower_third, shot_card
from proofyard.pages.film.shot_cards import in_lines

from tests.conftest import House
from tests.demo_for_tests import called

LONG = CardWords(
    "A1234567890",
    "A person with a long name, a bow with a very long name of its own, arrow 1234, long needle bodkin at a panel whose name goes on, "
    "WIDE CAPITALS WWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWW",
    "1,234 J at the target; point through (4), 12 mm past the rear face, stuck in the armour, and more than there is room for",
)
SHORT = CardWords("A1", "Wren <b> & Tallow", '98 J "at the target"')
BOTH = pytest.mark.parametrize("draw", [lower_third, shot_card])


def points(svg: str) -> Image.Image:
    return Image.open(io.BytesIO(png_of(svg, zoom=1.0)))


@BOTH
@pytest.mark.parametrize("words", [SHORT, LONG])
def test_all_that_is_drawn_lies_in_the_title_safe_box_on_a_transparent_ground(draw: Callable[..., str], words: CardWords) -> None:
    image = points(draw(words, in_lines))
    assert (image.size, image.mode) == ((WIDE, HIGH), "RGBA")
    left, top, right, foot = image.getchannel("A").getbbox() or (0, 0, 0, 0)
    assert left >= SAFE_X and top >= SAFE_Y and right <= WIDE - SAFE_X and foot <= HIGH - SAFE_Y
    assert image.getpixel((0, 0))[3] == 0 and image.getpixel((WIDE - 1, HIGH - 1))[3] == 0


@BOTH
def test_the_words_end_within_their_strip(draw: Callable[..., str]) -> None:
    """Ink further right than the strip's padding would be words that ran out of it."""
    image = points(draw(LONG, in_lines)).convert("RGBA")
    left, top, right, foot = image.getchannel("A").getbbox() or (0, 0, 0, 0)
    edge = image.crop((right - 12, top + 2, right - 2, foot - 2)).convert("L")
    assert edge.getextrema()[0] > 200


@BOTH
def test_signs_of_xml_are_words(draw: Callable[..., str]) -> None:
    root = ElementTree.fromstring(draw(SHORT, in_lines))
    said = " ".join(text.text or "" for text in root.iter("{http://www.w3.org/2000/svg}text"))
    assert "Wren <b> & Tallow" in said and '98 J "at the target"' in said


def test_the_demos_shot_has_its_cards_and_its_place_in_film(demo_house: House) -> None:
    owner = demo_house.client("owner")
    with demo_house.storage.read() as session:
        shot = called(session)["dent with a print"]
    page = owner.get(f"/shots/{shot}").text
    assert "In film" in page and "SIDE0001.MP4" in page and f"/shots/{shot}/cards/lower-third.svg" in page
    svg = owner.get(f"/shots/{shot}/cards/lower-third.svg")
    assert svg.headers["content-type"] == "image/svg+xml" and ">B1</text>" in svg.text
    large = owner.get(f"/shots/{shot}/cards/card.png?large")
    assert Image.open(io.BytesIO(large.content)).size == (2 * WIDE, 2 * HIGH)
    assert owner.get(f"/shots/{shot}/cards/banner.svg").status_code == 404
