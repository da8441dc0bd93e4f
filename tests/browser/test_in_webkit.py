"""The phones' pages in WebKit, the engine of iPhones: a loose, a reading, shots out of reach, a page that the phone threw away."""

from __future__ import annotations

import re
import time
from collections.abc import Iterator

import pytest

from tests.browser.conftest import ShootingYard
from tests.browser.webkit import WebKitHand, not_here, webkit, webkit_driver
from tests.conftest import missing

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def driver() -> Iterator[str]:
    if lacks := not_here():
        missing(f"not installed: {', '.join(lacks)}")
    with webkit_driver() as found:
        yield found


@pytest.fixture
def wren(driver: str, shooting_yard: ShootingYard) -> Iterator[WebKitHand]:
    with webkit(driver) as browser:
        hand = WebKitHand(browser, shooting_yard.server.address, shooting_yard.server.let_in("Wren")).open()
        hand.tap("I have read this")
        hand.tap("^Wren", "label")
        hand.tap("^112", "label")
        yield hand


def loose(hand: WebKitHand) -> str:
    label = hand.sees("h1 [data-slot=label]", ".").text
    time.sleep(0.6)  # two taps within half a second are one: no bow is faster
    hand.tap("^Loosed$")
    hand.sees("[data-undo]", f"{label} by Wren")
    return label


def test_a_loose_and_its_reading_reach_the_book(wren: WebKitHand, shooting_yard: ShootingYard) -> None:
    label = loose(wren)
    shooting_yard.comes_to(label)
    wren.tap("at the butt$")
    drawing = wren.sees("[data-drawing]", "")
    wren.browser.execute_script("arguments[0].scrollIntoView({ block: 'center' })", drawing)
    drawing.click()
    wren.tap("2 Dented", "label")
    wren.tap(f"^Save {label}")
    fact = shooting_yard.comes_to(label, outcome_low=2)
    assert fact.x_m is not None and abs(fact.x_m) < 0.05


def test_an_undone_shot_is_crossed_out(wren: WebKitHand, shooting_yard: ShootingYard) -> None:
    label = loose(wren)
    shooting_yard.comes_to(label)
    wren.tap(f"^Undo {label}")
    shooting_yard.comes_to(label, voided=True)


def test_shots_out_of_reach_outlive_a_page_that_was_thrown_away(wren: WebKitHand, shooting_yard: ShootingYard) -> None:
    """The laptop is gone, two arrows fly, the phone throws the page away; when the laptop is back, both are in the book once."""
    first = loose(wren)
    shooting_yard.comes_to(first)
    shooting_yard.server.stop()
    wren.tap(re.compile("^(8|9|10)"), "label")
    second = loose(wren)
    wren.tap(re.compile("^(9|10)"), "label")
    third = loose(wren)
    wren.sees("[aria-label='Where the shots are']", "2 on this phone")
    wren.thrown_away()
    shooting_yard.server.start()
    wren.open()
    for label in (second, third):
        shooting_yard.comes_to(label)
    wren.sees("[aria-label='Where the shots are']", "All in the book")
    assert shooting_yard.labels() == sorted([first, second, third])


def test_line_butt_and_bench_fit_and_no_script_fails(wren: WebKitHand, shooting_yard: ShootingYard) -> None:
    """A fault of a script is shown on the page, so none may be; nothing is wider than the screen."""
    for place in ("/range", "/range/butt", "/range/bench"):
        wren.open(place)
        assert wren.browser.execute_script("return document.documentElement.scrollWidth <= innerWidth")
        assert "This page has a fault" not in wren.says()
