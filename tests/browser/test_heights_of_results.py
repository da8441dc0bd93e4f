"""Results and what they lead to are read without long scrolling: how high a first page may be, on a desktop and on a phone."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.demo_yard import DemoYard

pytestmark = pytest.mark.slow

TABS = ("plate-1.2", "plate-1.6", "scale-1", "mail")
# Asked for: 1,800 px on a desktop, 3,100 on a phone, of the demo.
MOST = {1280: 1800, 390: 3100}


def page_at(yard: DemoYard, chromium: Browser, width: int, address: str) -> Page:
    context = yard.context(chromium, "viewer", width=width, height=900)
    context.add_cookies([{"name": "theme", "value": "paper", "url": yard.address}])
    page = context.new_page()
    page.goto(yard.address + address)
    return page


@pytest.mark.parametrize("width", MOST)
@pytest.mark.parametrize("panel_type", TABS)
def test_the_first_page_is_no_higher_than_asked(demo_of_all: DemoYard, chromium: Browser, width: int, panel_type: str) -> None:
    page = page_at(demo_of_all, chromium, width, f"/results?panel_type={panel_type}")
    assert page.locator(".results__tab").count() == len(TABS)
    height, wide = page.evaluate("[document.documentElement.scrollHeight, document.documentElement.scrollWidth]")
    page.context.close()
    assert height <= MOST[width] and wide <= width


# What answers a further question is longer, and its first page is no book: 3,000 px and 5,000.
MOST_OF_ANSWERS = {1280: 3000, 390: 5000}


@pytest.mark.parametrize("width", MOST_OF_ANSWERS)
@pytest.mark.parametrize("address", ["/compare", "/fifty-percent", "/protection", "/arrow-damage", "/measures"])
def test_a_page_of_answers_folds_what_only_a_statistician_reads(demo_of_all: DemoYard, chromium: Browser, width: int, address: str) -> None:
    page = page_at(demo_of_all, chromium, width, address)
    height, wide = page.evaluate("[document.documentElement.scrollHeight, document.documentElement.scrollWidth]")
    page.context.close()
    assert height <= MOST_OF_ANSWERS[width] and wide <= width


@pytest.mark.parametrize(
    ("address", "folded"),
    [
        (
            "/compare",
            ("#on-plate-1_6-table", "#on-plate-1_6-pair-3 li", "#compare-each .tally", "#compare-left-out .row", "#compare-read p"),
        ),
        ("/fifty-percent", ("#on-plate-1_2-compared", "#more-needle-mail .facts", "#point-needle-mail", "#details-on-scale-1 > summary")),
        ("/protection", ("#protection-needle-table", "#protection-panels", "#protection-layers")),
        ("/arrow-damage", ("#arrow-damage-fates-plate-1_2", "#arrow-damage-through-plate-1_2", "#arrow-damage-pairs-mail")),
        ("/measures", ("section details.fold .chart__drawing",)),
    ],
)
def test_what_is_folded_on_a_screen_stands_on_paper(
    demo_of_all: DemoYard, chromium: Browser, address: str, folded: tuple[str, ...]
) -> None:
    page = page_at(demo_of_all, chromium, 1280, address)
    there = [page.locator(one).first for one in folded]
    assert [one.is_visible() for one in there] == [False] * len(there)
    page.emulate_media(media="print")
    for one in there:
        expect(one).to_be_visible()
    page.context.close()


@pytest.mark.parametrize("width", MOST)
def test_the_rear_face_is_one_line_down_a_band(demo_of_all: DemoYard, chromium: Browser, width: int) -> None:
    """Squares that were held stand before it, those that were through behind it, at one place in every row."""
    page = page_at(demo_of_all, chromium, width, "/results?panel_type=plate-1.6")
    places = page.evaluate(
        """() => [...document.querySelectorAll('.results__cell')].map((cell) => {
             const face = cell.querySelector('.results__in').getBoundingClientRect().left
               + parseFloat(getComputedStyle(cell.querySelector('.results__in'), '::before').left)
             const ends = (some) => [...cell.querySelectorAll(some)].map((one) => one.getBoundingClientRect())
             return [face, ...ends('.results__held .outcome__square').map((one) => one.right <= face + 1),
               ...ends('.results__through .outcome__square').map((one) => one.left >= face - 1)] })"""
    )
    page.context.close()
    assert len(places) == 12 and all(all(each) for _, *each in places)
    columns = {round(face) for face, *_ in places}
    assert len(columns) == (3 if width == 1280 else 1)


@pytest.mark.parametrize("width", [1280, 1024, 390, 360])
def test_no_count_is_cut_off_at_the_edge_of_its_cell(demo_of_all: DemoYard, chromium: Browser, width: int) -> None:
    """ "0 or 1 of 3" in the last band, which has the least room, is the longest of the demo."""
    page = page_at(demo_of_all, chromium, width, "/results?panel_type=plate-1.6")
    over = page.evaluate(
        """() => [...document.querySelectorAll('.results__count')].map((one) => {
             const cell = one.closest('.results__cell').getBoundingClientRect()
             return [one.innerText, one.getBoundingClientRect().right - cell.right] })"""
    )
    page.context.close()
    assert "0 or 1 of 3" in [words for words, _ in over] and [one for one in over if one[1] > 0] == []


def test_a_whole_cell_leads_to_its_shots(demo_of_all: DemoYard, chromium: Browser) -> None:
    page = page_at(demo_of_all, chromium, 1280, "/results?panel_type=plate-1.6")
    words = page.locator("#count-leaf-3").inner_text()
    page.locator(".results__cell").nth(8).click(position={"x": 40, "y": 60})
    assert "cell=leaf" in page.url and words == "0 or 1 of 3"
    assert page.locator("main .row").count() >= 3
    page.context.close()


@pytest.mark.parametrize("theme", ["paper", "sun"])
def test_six_headings_of_a_count_stand_clear_of_each_other_on_a_narrow_phone(demo_of_all: DemoYard, chromium: Browser, theme: str) -> None:
    page = page_at(demo_of_all, chromium, 360, "/results?panel_type=scale-1")
    page.context.add_cookies([{"name": "theme", "value": theme, "url": demo_of_all.address}])
    page.reload()
    boxes = page.evaluate(
        """() => [...document.querySelectorAll('.count__one--gaps')[0].querySelectorAll('thead tr:last-child th')].map((one) => {
             const words = document.createRange()
             words.selectNodeContents(one)
             const rows = [...words.getClientRects()].filter((box) => box.width > 1)
             return [Math.min(...rows.map((box) => box.left)), Math.max(...rows.map((box) => box.right)), rows[0].top, rows[0].bottom] })"""
    )
    page.context.close()
    assert len(boxes) == 6
    for n, (left, right, top, bottom) in enumerate(boxes):
        for other_left, other_right, other_top, other_bottom in boxes[:n]:
            beside = min(bottom, other_bottom) - max(top, other_top) > 4
            assert not beside or left - other_right >= 3 or other_left - right >= 3
