"""From the first page, four presses at most lead to the answer; what is typed is no press. And another bow's page is not high."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from zipfile import is_zipfile

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from tests.browser.demo_yard import DemoYard

pytestmark = pytest.mark.slow
MOST = 4
MOST_OF_A_TASK = 5  # that ends with a file in somebody’s hand


class Presses:
    """Presses what can be seen, and counts."""

    def __init__(self, page: Page) -> None:
        self.page, self.count = page, 0

    def press(self, what: Locator) -> None:
        expect(what).to_be_visible()
        what.click()
        self.count += 1


@pytest.fixture(params=[1280, 390])
def hand(demo_of_all: DemoYard, chromium: Browser, request: pytest.FixtureRequest) -> Iterator[Presses]:
    context = demo_of_all.context(chromium, "viewer", width=request.param, height=900)
    page = context.new_page()
    page.goto(demo_of_all.address + "/")
    yield Presses(page)
    context.close()


def results(hand: Presses, beside: str) -> None:
    hand.press(hand.page.get_by_role("navigation", name="Main").get_by_role("link", name="Results"))
    hand.press(hand.page.locator("#siblings").get_by_role("link", name=beside, exact=True))


def first_sentence(hand: Presses) -> Locator:
    return hand.page.locator(".layout__lead p").first


def test_what_would_a_160_lb_bow_do(hand: Presses) -> None:
    results(hand, "Another bow")
    hand.page.get_by_label("Draw weight").fill("160 lb")
    hand.page.get_by_label("Mass of the arrow").fill("80 g")
    hand.page.get_by_label("Distance, in metres").fill("30 m")
    hand.press(hand.page.get_by_role("button", name="Calculate"))
    expect(first_sentence(hand)).to_have_text(
        re.compile(r"An arrow of 80.g from a bow of 160.lb \(712.N\) should leave at \d+.m/s \(\d+ to \d+\) and reach 30.m with \d+.J")
    )
    assert hand.count <= MOST


def test_what_does_a_kilogram_a_square_metre_buy(hand: Presses) -> None:
    results(hand, "Protection for weight")
    expect(first_sentence(hand)).to_contain_text("J per kg/m²")
    assert hand.count <= MOST


def test_which_head_and_why(hand: Presses) -> None:
    """Which: the finding of the results. Why: which measure explains, or that so few heads can't tell."""
    hand.press(hand.page.get_by_role("navigation", name="Main").get_by_role("link", name="Results"))
    expect(hand.page.locator("main")).to_contain_text(re.compile("bodkin|leaf|broadhead"))
    hand.press(hand.page.locator("#siblings").get_by_role("link", name="Measures", exact=True))
    expect(first_sentence(hand)).to_contain_text(re.compile("so few heads|explains|orders", re.IGNORECASE))
    assert hand.count <= MOST


def test_is_it_enough(hand: Presses) -> None:
    hand.press(hand.page.get_by_role("main").get_by_role("link", name=re.compile("Is 1.6.mm plate enough")))
    expect(hand.page.locator("main")).to_contain_text(re.compile(r"\bNo\b|not yet|yes, as far as asked", re.IGNORECASE))
    assert hand.count <= MOST


def test_the_shot_where_the_bodkin_split_a_plate_and_its_photo(hand: Presses) -> None:
    """What is looked for is typed as one says it; then only the photos of it, the best of them, and its shot."""
    box = hand.page.get_by_role("search").locator("input[name=q]")  # at the foot of a phone's pages
    hand.press(box)
    box.fill("bodkin split plate")
    box.press("Enter")
    main = hand.page.locator("main")
    hand.press(main.get_by_role("link", name=re.compile(r"^Photos \d+")))
    hand.press(main.get_by_role("link", name=re.compile(r"^Photo of ")).first)
    expect(main.locator("img").first).to_be_visible()
    hand.press(main.get_by_role("link", name=re.compile(r"^To shot ")).first)
    expect(main).to_contain_text(re.compile("bodkin", re.IGNORECASE))
    expect(main).to_contain_text(re.compile("opened|through", re.IGNORECASE))
    assert hand.count <= MOST


def test_hand_trial_3_to_somebody_without_the_laptop(hand: Presses, tmp_path: Path) -> None:
    """From the first page to the file saved, and read where there is no laptop and no network."""
    question = re.compile(r"Is 1.6.mm plate enough")
    hand.page.set_default_timeout(60_000)  # the first report of a server works out all that it draws
    hand.press(hand.page.get_by_role("main").get_by_role("link", name=question).first)
    hand.press(hand.page.get_by_role("main").get_by_role("link", name="Report", exact=True))
    with hand.page.expect_download() as coming:
        hand.press(hand.page.get_by_role("link", name="Download the report"))
    file = tmp_path / "report.html"
    coming.value.save_as(file)
    hand.page.context.set_offline(True)
    hand.page.goto(file.as_uri())
    expect(hand.page.get_by_role("heading", level=1)).to_have_text(question)
    expect(hand.page.get_by_role("heading", name="1. Answer")).to_be_visible()
    assert hand.count <= MOST_OF_A_TASK


def test_open_everything_in_pandas_and_in_r(hand: Presses, tmp_path: Path) -> None:
    """From the first page to the zip on the disk, and to the lines that open it; that these run: test_opened_in_pandas_and_r.py."""
    hand.page.set_default_timeout(60_000)
    hand.press(hand.page.get_by_role("navigation", name="Main").get_by_role("link", name="Data"))
    if not hand.page.get_by_role("button", name="Download the package").is_visible():
        hand.press(hand.page.locator("#siblings").get_by_role("link", name="Download", exact=True))
    with hand.page.expect_download() as coming:
        hand.press(hand.page.get_by_role("button", name="Download the package"))
    coming.value.save_as(tmp_path / "package.zip")
    assert is_zipfile(tmp_path / "package.zip")
    hand.press(hand.page.get_by_role("main").get_by_role("link", name="in pandas and in R"))
    expect(hand.page.get_by_role("heading", level=1)).to_have_text("The data package in pandas and in R")
    expect(hand.page.locator("pre").first).to_contain_text("import pandas as pd")
    assert hand.page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    assert hand.count <= MOST


@pytest.mark.parametrize(("width", "most"), [(1280, 3000), (390, 5000)])
def test_another_bows_page_is_no_higher_than(demo_of_all: DemoYard, chromium: Browser, width: int, most: int) -> None:
    context = demo_of_all.context(chromium, "viewer", width=width, height=900)
    page = context.new_page()
    page.goto(f"{demo_of_all.address}/another-bow?weight=160+lb&mass=80+g&distance=30+m")
    height, wide = page.evaluate("[document.documentElement.scrollHeight, document.documentElement.scrollWidth]")
    context.close()
    assert height <= most and wide <= width
