"""The gallery: every photo that a reader may see, with what it shows."""

from __future__ import annotations

import re

from proofyard.access.seats import hash_of, new_token
from proofyard.records import devices
from proofyard.records.photo_facts import is_of_trial, placed_photos
from proofyard.records.shot_facts import shot_facts

from tests.conftest import House
from tests.pages.test_fifty_percent_page import said

SHOWN = r'<img class="photos__small" src="/photos/([^/]+)/small"'


def test_every_placed_photo_is_shown_once_and_leads_to_its_shot_and_a_guest_sees_those_of_one_trial(demo_house: House) -> None:
    viewer = demo_house.client("viewer")
    with demo_house.storage.read() as session:
        placed = [fact.photo for fact in placed_photos(session)]
        trial = next(fact.trial_id for fact in shot_facts(session) if fact.label == "A4")
        mine = {photo.id for photo in placed if is_of_trial(session, photo, trial)}
    page = viewer.get("/photos/all").text
    assert sorted(re.findall(SHOWN, page)) == sorted(photo.id for photo in placed)
    assert f"{len(placed)} photos, the newest first" in said(page)
    for photo in placed:
        assert photo.noun != "shot" or f'href="/shots/{photo.record_id}"' in page
    assert 0 < len(mine) < len(placed)
    assert set(re.findall(SHOWN, viewer.get(f"/photos/all?trial={trial}").text)) == mine
    token = new_token()
    with demo_house.storage.write() as session:
        devices.add_device(session, call_name="Rook", role="viewer", session_hash=hash_of(token), trial_id=trial)
    demo_house.tokens["guest"] = token
    guest = demo_house.client("guest")
    assert set(re.findall(SHOWN, guest.get("/photos/all").text)) == mine
    for href in re.findall(r'href="(/(?:shots|panels|photos)/[^"]+)"', guest.get("/photos/all").text):
        assert guest.get(href).status_code == 200, href


def test_a_trial_that_there_is_not_is_said_by_the_list_of_trials(demo_house: House) -> None:
    got = demo_house.client("viewer").get("/photos/all?trial=none&page=x")
    assert got.status_code == 422 and 'href="#trial"' in got.text and 'href="#page"' in got.text
