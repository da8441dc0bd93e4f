"""A made recording with a known answer, opened on a phone: found, put right by finger and by keyboard, worked out, saved."""

from __future__ import annotations

import wave
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Page, expect
from proofyard.physics.air import speed_of_sound_m_s
from proofyard.records import listing
from proofyard.records.speed import SpeedReading

from tests import kit_for_tests as kit
from tests.browser.conftest import ShootingYard
from tests.browser.every_page import violations
from tests.physics.made_sound import made_sound

LOOSE_S, FLOWN_M, SPEED_M_S = 0.8, 23.0, 54.0
HEARD_S = FLOWN_M / SPEED_M_S + FLOWN_M / speed_of_sound_m_s(285.15)
Phone = Callable[..., Page]


def recording(file: Path, sound: np.ndarray, *, channels: int = 1) -> Path:
    """A WAV file of 16 bits at 48 kHz."""
    whole = np.clip(sound * 20_000, -32_767, 32_767).astype("<i2")
    with wave.open(str(file), "wb") as made:
        made.setnchannels(channels)
        made.setsampwidth(2)
        made.setframerate(48_000)
        made.writeframes(np.repeat(whole, channels).tobytes())
    return file


@pytest.fixture
def series(shooting_yard: ShootingYard) -> str:
    book = shooting_yard.book
    three = kit.Combination(kit.bow(book).build, shooting_yard.arrows["7"].build, shooting_yard.archers["Wren"])
    return kit.put(book, "speed_series", {"combination": kit.combination(book, three)})


def opened(page: Page, yard: ShootingYard, series: str, file: Path) -> Page:
    page.goto(f"{yard.server.address}/speeds/sound?series={series}")
    page.locator("[data-recording]").set_input_files(str(file))
    expect(page.locator("[data-recording-told]")).to_contain_text("Heard: release at")
    return page


def filled(page: Page) -> None:
    for name, text in (("distance", "23 m"), ("distance_off", "0"), ("temperature", "12 °C"), ("temperature_off", "0.5 °C")):
        page.locator(f"[name={name}]").fill(text)


def moment(page: Page, name: str) -> float:
    return float(page.locator(f"#speeds-worked [name={name}]").input_value())


def saved(yard: ShootingYard) -> list[SpeedReading]:
    with yard.book.read() as session:
        return list(listing.all_of(session, SpeedReading))


@pytest.mark.parametrize("channels", [1, 2])
def test_from_a_recording_to_the_speed_it_was_made_from(
    phone: Phone, shooting_yard: ShootingYard, series: str, tmp_path: Path, channels: int
) -> None:
    sound = made_sound(seed=50, hit_s=LOOSE_S + HEARD_S)
    page = opened(phone("Wren"), shooting_yard, series, recording(tmp_path / "loose.wav", sound, channels=channels))
    assert moment(page, "loose") == pytest.approx(LOOSE_S, abs=0.001)
    assert moment(page, "hit") == pytest.approx(LOOSE_S + HEARD_S, abs=0.001)
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    assert violations(page) == ()
    filled(page)
    page.get_by_role("button", name="Calculate").click()
    expect(page.locator("#worked-result")).to_contain_text("m/s ±")
    expect(page.locator("[data-trace]")).to_be_visible()
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator("#speeds-worked")).to_contain_text("Saved:")
    (row,) = saved(shooting_yard)
    assert row.method == "sound" and row.series_id == series
    assert row.value_m_s == pytest.approx(SPEED_M_S, rel=0.004)
    assert row.uncertainty_m_s is not None and abs((row.value_m_s or 0) - SPEED_M_S) < 4 * row.uncertainty_m_s < 2


def test_a_mark_is_moved_by_keyboard_to_an_echo_and_back(phone: Phone, shooting_yard: ShootingYard, series: str, tmp_path: Path) -> None:
    """An echo at 0.92 s, louder than the hit, isn't taken for it: Page Down goes back to it, Page Up on to the hit."""
    sound = made_sound(seed=4, echo=0.45, hit=0.08, hit_s=LOOSE_S + HEARD_S)
    page = opened(phone("Wren"), shooting_yard, series, recording(tmp_path / "echo.wav", sound))
    assert moment(page, "hit") == pytest.approx(LOOSE_S + HEARD_S, abs=0.001)
    assert page.locator("[name=times_off]").input_value() != ""
    page.locator("[data-recording]").focus()
    for _ in range(6):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.dataset.mark") == "hit":
            break
    assert page.evaluate("document.activeElement.dataset.mark") == "hit"
    page.keyboard.press("PageDown")
    assert moment(page, "hit") == pytest.approx(0.92, abs=0.002)
    page.keyboard.press("PageUp")
    assert moment(page, "hit") == pytest.approx(LOOSE_S + HEARD_S, abs=0.001)
    assert page.locator("[name=times_off]").input_value() == "", "a mark moved by hand is good to a finger only"
    before = moment(page, "hit")
    page.keyboard.press("ArrowRight")
    assert moment(page, "hit") == pytest.approx(before + 0.0005, abs=1e-6)
    page.keyboard.press("Shift+ArrowLeft")
    assert moment(page, "hit") == pytest.approx(before - 0.0045, abs=1e-6)
    slider = page.get_by_role("slider", name="Hit")
    assert float(slider.get_attribute("aria-valuenow") or 0) == pytest.approx(before - 0.0045, abs=1e-6)
    assert "seconds" in (slider.get_attribute("aria-valuetext") or "")


def test_the_way_typed_after_the_recording_tells_more_noises_apart(
    phone: Phone, shooting_yard: ShootingYard, series: str, tmp_path: Path
) -> None:
    """A knock 0.3 s before the loose: without the way other pairs would do, and it says so; a mark put by hand stays put."""
    sound = made_sound(seed=50, hit_s=LOOSE_S + HEARD_S, echo=0.45)
    page = opened(phone("Wren"), shooting_yard, series, recording(tmp_path / "knock.wav", sound))
    told = page.locator("[data-recording-told]")
    expect(told).to_contain_text("other pairs of noises would do nearly as well")
    expect(told).to_contain_text("Type how far the arrow flew")
    assert float(page.locator("[name=times_off]").input_value()) > 0.05
    filled(page)
    page.locator("[name=temperature]").press("Tab")
    expect(told).not_to_contain_text("Type how far the arrow flew")
    assert moment(page, "hit") == pytest.approx(LOOSE_S + HEARD_S, abs=0.001)
    page.locator("[data-mark=loose]").focus()
    page.keyboard.press("ArrowRight")
    by_hand = moment(page, "loose")
    page.locator("[name=distance]").fill("22 m")
    page.locator("[name=distance]").press("Tab")
    page.wait_for_timeout(300)
    assert moment(page, "loose") == by_hand and page.locator("[name=times_off]").input_value() == ""


def test_a_touch_drags_a_mark_and_the_box_moves_it_too(phone: Phone, shooting_yard: ShootingYard, series: str, tmp_path: Path) -> None:
    page = opened(phone("Wren"), shooting_yard, series, recording(tmp_path / "a.wav", made_sound(seed=50)))
    close = page.locator("[data-view=loose]")
    close.scroll_into_view_if_needed()
    box = close.bounding_box()
    assert box is not None
    # The close view shows 80 ms, the mark in its middle: a quarter of the width further right is 20 ms later.
    page.mouse.move(box["x"] + box["width"] * 0.6, box["y"] + box["height"] / 2)
    page.mouse.down()
    page.mouse.move(box["x"] + box["width"] * 0.75, box["y"] + box["height"] / 2, steps=4)
    page.mouse.up()
    assert moment(page, "loose") == pytest.approx(LOOSE_S + 0.020, abs=0.002)
    page.locator("#speeds-worked [name=loose]").fill("0,8100 s")
    assert float(page.locator("[data-mark=loose]").get_attribute("aria-valuenow") or 0) == pytest.approx(0.81, abs=1e-6)
    whole = page.locator("[data-view=whole]")
    whole.scroll_into_view_if_needed()
    box = whole.bounding_box()
    assert box is not None
    # 2 s are shown; a tap near 1.23 s snaps to the noise that was heard there.
    page.mouse.click(box["x"] + box["width"] * 1.24 / 2, box["y"] + box["height"] / 2)
    assert moment(page, "hit") == pytest.approx(1.23, abs=0.001)


def test_what_is_no_recording_says_so_and_the_boxes_still_work(
    phone: Phone, shooting_yard: ShootingYard, series: str, tmp_path: Path
) -> None:
    page = phone("Wren")
    page.goto(f"{shooting_yard.server.address}/speeds/sound?series={series}")
    noise = tmp_path / "note.txt"
    noise.write_text("no sound")
    page.locator("[data-recording]").set_input_files(str(noise))
    expect(page.locator("[data-recording-told]")).to_contain_text("can’t be opened as a sound")
    page.locator("[data-recording]").set_input_files(str(recording(tmp_path / "still.wav", np.zeros(48_000))))
    expect(page.locator("[data-recording-told]")).to_contain_text("Nothing can be heard")
    page.locator("[data-recording]").set_input_files(str(recording(tmp_path / "one.wav", made_sound(seed=1, hit=0.0))))
    expect(page.locator("[data-recording-told]")).to_contain_text("were not found: fewer than two noises")
    filled(page)
    page.locator("#speeds-worked [name=loose]").fill("0.8")
    page.locator("#speeds-worked [name=hit]").fill("1.2935")
    page.get_by_role("button", name="Calculate").click()
    expect(page.locator("#worked-result")).to_contain_text("m/s ±")


def test_without_script_the_two_moments_are_typed(phone: Phone, shooting_yard: ShootingYard, series: str) -> None:
    page = phone("Wren", script=False)
    page.goto(f"{shooting_yard.server.address}/speeds/sound?series={series}")
    filled(page)
    page.locator("[name=loose]").fill("0.8")
    page.locator("[name=hit]").fill(f"{LOOSE_S + HEARD_S:.4f}")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator("#speeds-worked")).to_contain_text("Saved: 54.0")
    assert [row.method for row in saved(shooting_yard)] == ["sound"]


def test_nothing_but_loudness_leaves_the_phone(phone: Phone, shooting_yard: ShootingYard, series: str, tmp_path: Path) -> None:
    page, sent = phone("Wren"), []
    page.on("request", lambda request: sent.append((request.method, request.url, request.post_data or "")))
    file = recording(tmp_path / "a.wav", made_sound(seed=50))
    opened(page, shooting_yard, series, file)
    posts = [(url, body) for method, url, body in sent if method == "POST"]
    assert [url.rsplit("/", 1)[1] for url, _ in posts] == ["sound-levels"]
    assert len(posts[0][1]) < file.stat().st_size / 5 and posts[0][1].startswith('{"step_s":0.0005,"levels":[')
