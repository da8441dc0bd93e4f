"""The four corners of a panel's photo, set by touch: a magnifier shows what the finger hides."""

from __future__ import annotations

import io

from PIL import Image
from playwright.sync_api import Page, expect
from proofyard.exchange.photos import keep
from proofyard.records import devices
from proofyard.records.ids import new_id

from tests.browser.conftest import Phone, ShootingYard


def a_photo(yard: ShootingYard) -> str:
    out = io.BytesIO()
    Image.new("RGB", (800, 1000), "grey").save(out, "JPEG")
    with yard.book.read() as session:
        owner = next(one for one in devices.devices(session) if one.role == "owner")
    kept = keep(yard.book, out.getvalue(), photo_id=new_id(), device_id=owner.id, body={"noun": "panel_build", "record": yard.panel.build})
    return kept.photo.id


class Touch:
    """One that rests, moves and is lifted, which a tap can't."""

    def __init__(self, page: Page) -> None:
        self._session = page.context.new_cdp_session(page)

    def does(self, kind: str, *at: float) -> None:
        points = [dict(zip("xy", at, strict=True))] if at else []
        self._session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})


def test_a_touch_on_the_photo_shows_the_place_under_it_and_lifting_sets_the_corner(phone: Phone, shooting_yard: ShootingYard) -> None:
    page = phone("Wren")
    page.goto(f"{shooting_yard.server.address}/panels/{shooting_yard.panel.build}/photograph/{a_photo(shooting_yard)}")
    photo, loupe = page.locator("[data-corners]"), page.locator("[data-loupe]")
    expect(page.get_by_role("status").filter(has_text="Tap the top left corner")).to_be_visible()
    photo.scroll_into_view_if_needed()
    box = photo.bounding_box()
    assert box is not None
    x, y = box["x"] + 0.1 * box["width"], box["y"] + 0.1 * box["width"]
    touch = Touch(page)
    touch.does("touchStart", x, y)
    expect(loupe).to_be_visible()
    touch.does("touchMove", box["x"] + 0.2 * box["width"], y)
    left, *_ = (float(one) for one in (loupe.get_attribute("viewBox") or "").split())
    assert abs(left + 6 - 20) < 1, "it shows the place under the finger"
    touch.does("touchEnd")
    expect(loupe).to_be_hidden()
    assert abs(float(page.locator("[data-corner='0']").input_value()) - 20) < 1
    expect(page.locator("[data-corners-told]")).to_contain_text("top left is set")
    page.touchscreen.tap(box["x"] + 0.9 * box["width"], y)
    assert abs(float(page.locator("[data-corner='2']").input_value()) - 90) < 1, "a tap sets one corner, not two"
    assert page.locator("[data-corner='4']").input_value() == ""
