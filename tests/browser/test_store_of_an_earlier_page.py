"""A phone comes from a day without internet after the laptop was upgraded: what it holds in earlier names goes into the book."""

from __future__ import annotations

import base64
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect
from proofyard.records.ids import new_id

from tests import kit_for_tests as kit
from tests.browser.conftest import ShootingYard
from tests.browser.range_hands import Hand
from tests.browser.range_photos import a_photo

Phone = Callable[..., Page]

# As the page before the renaming made its store and wrote in it (form 1 of operations): taken from that page's own scripts.
MAKE = """async ({ ops, drafts, photo }) => {
  const db = await new Promise((done, wrong) => {
    const asked = indexedDB.open('proofyard', 1);
    asked.onupgradeneeded = () => {
      asked.result.createObjectStore('ops', { keyPath: 'op_id' });
      asked.result.createObjectStore('drafts');
      asked.result.createObjectStore('kept');
      asked.result.createObjectStore('pictures', { keyPath: 'id' });
    };
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => wrong(asked.error);
  });
  const tx = db.transaction(['ops', 'drafts', 'kept', 'pictures'], 'readwrite');
  for (const op of ops) tx.objectStore('ops').put(op);
  for (const [key, draft] of drafts) tx.objectStore('drafts').put(draft, key);
  tx.objectStore('kept').put(ops.length, 'count');
  tx.objectStore('kept').put({ seq: 1, walks: [], shots: [], setups: [] }, 'snapshot');
  const bytes = Uint8Array.from(atob(photo.base64), (one) => one.charCodeAt(0));
  const { base64, ...rest } = photo;
  tx.objectStore('pictures').put({ ...rest, blob: new Blob([bytes], { type: 'image/png' }), type: 'image/png', bytes: bytes.length });
  await new Promise((done) => { tx.oncomplete = done; });
  db.close();
}"""
STORES = """() => new Promise((done) => {
  const asked = indexedDB.open('proofyard');
  asked.onsuccess = () => { done([...asked.result.objectStoreNames]); asked.result.close(); };
})"""


@pytest.fixture
def wren(shooting_yard: ShootingYard, phone: Phone) -> Hand:
    return Hand(phone("Wren"), shooting_yard.server.address)


def _op(n: int, noun: str, record: str, body: dict[str, Any], **more: Any) -> dict[str, Any]:
    now = 1_792_836_000_000 + 1000 * n
    made = {"op_id": new_id(), "action": "put", "noun": noun, "record_id": record, "base_rev": 0, "body": body, "reason": None}
    kept = {"state": "queued", "problems": [], "about": record, "words": noun, "n": n, "t_device": now, "made_at": now, "book": ""}
    return {**made, **kept, "clock_offset_ms": 0, "clock_error_ms": 5, **more}


def test_what_an_earlier_page_had_not_sent_is_sent_in_todays_names(wren: Hand, shooting_yard: ShootingYard, tmp_path: Path) -> None:
    wren.page.goto(wren.address + "/range-day-sheet")
    told = wren.page.evaluate("async () => (await fetch('/api/range')).json()")
    end, read, crossed, open_, photo = (new_id() for _ in range(5))
    letter = told["phone"]["letter"]
    who = {"archer": told["archers"][0]["id"], "bow_build": told["bows"][0]["build"], "arrow_build": told["arrows"][0]["build"]}
    shot = {"walk": end, **who, "purpose": "counted"}
    hit = {"hit": "fair_target", "x": "20", "y": "30", "place_known": "yes", "way_in": "plate", "outcome_low": "3", "outcome_high": "4"}
    ops = [
        _op(1, "walk", end, {"setup": told["setups"][0]["id"], "begun_at": 1_792_836_000_000}),
        *(
            _op(2 + n, "shot", one, {**shot, "label": f"{letter}{n + 1}", "position": n + 1})
            for n, one in enumerate((read, crossed, open_))
        ),
        _op(5, "shot_reading", read, {**hit, "look_behind": "yes"}),
        _op(6, "shot", crossed, {}, action="strike", reason="logged twice"),
    ]
    state = {"hit": "fair_target", "way_in": "panel_edge", "x": "5", "y": "6", "outcome_low": "1"}
    held = {"id": photo, "noun": "shot", "record": read, "taken_at": 1_792_836_000_000, "made_at": 1_792_836_000_000, "state": "queued"}
    bytes_ = base64.b64encode(a_photo(tmp_path / "hit.png").read_bytes()).decode()
    drafts = [[f"reading {open_}", {"state": state, "unknown": False, "byHand": True}]]
    photo_of_before = {**held, "sentence": "", "book": "", "rev": 0, "base64": bytes_}
    wren.page.evaluate(MAKE, {"ops": ops, "drafts": drafts, "photo": photo_of_before})

    wren.open()
    wren.in_the_book()
    assert shooting_yard.labels() == [f"{letter}1", f"{letter}3"]
    row = kit.row(shooting_yard.book, "shot_reading", read)
    assert (row.hit, row.entry, row.rear_check, row.outcome_high) == ("on_panel", "plate", 1, "4")
    assert kit.row(shooting_yard.book, "shot", crossed).voided_rev is not None
    assert kit.row(shooting_yard.book, "shot", open_).shooting_end_id == end
    assert kit.row(shooting_yard.book, "photo", photo).record_id == read
    wren.open(f"/range/butt#shot={open_}")
    form = wren.page.locator("form[data-reading]")
    expect(form.locator("[name=entry][value=panel_edge]")).to_be_checked()
    expect(form.locator("[name=hit][value=on_panel]")).to_be_checked()
    expect(form.locator("[name=x]")).to_have_value("5")
    assert sorted(wren.page.evaluate(STORES)) == ["drafts", "kept", "ops", "photos"], (
        "the earlier mark is gone, so nothing is renamed twice"
    )
