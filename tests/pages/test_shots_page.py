"""The page of all shots: what its address asks for, how many match, and the same as a file; a viewer of one trial sees that trial's."""

from __future__ import annotations

import csv
import re
from collections.abc import Callable
from urllib.parse import urlencode

import pytest
from proofyard.access.seats import COOKIE, hash_of, named, new_token
from proofyard.answers.shots.page import read_shots
from proofyard.records import devices
from proofyard.records.photo_facts import shots_with_photos
from proofyard.records.shot_facts import ShotFact, shot_facts
from proofyard.storage import Storage
from sqlalchemy import text
from starlette.testclient import TestClient

from tests.conftest import HOST, PORT, House
from tests.pages.test_fifty_percent_page import said
from tests.statements_for_tests import statements


def labels(page: str) -> list[str]:
    return re.findall(r'<li class="row[^"]*" id="shot-[^"]+"><span class="row__mark">([^<]+)<', page)


@pytest.fixture
def facts(demo_house: House) -> list[ShotFact]:
    with demo_house.storage.read() as session:
        return shot_facts(session)


@pytest.fixture
def looks(demo_house: House) -> TestClient:
    return demo_house.client("viewer")


def rows(client: TestClient, query: str) -> list[dict[str, str]]:
    got = client.get(f"/shots.csv?{query}")
    assert got.status_code == 200 and got.headers["content-type"].startswith("text/csv")
    return list(csv.DictReader(got.text.splitlines()))


def test_each_filter_takes_the_shots_that_a_person_would_pick_by_hand(looks: TestClient, facts: list[ShotFact], demo_house: House) -> None:
    loosed = [fact for fact in facts if fact.purpose != "let_down"]
    first = loosed[0]
    with demo_house.storage.read() as session:
        with_photo = shots_with_photos(session)
    picked: dict[tuple[tuple[str, str], ...], Callable[[ShotFact], bool]] = {
        (("arrow", first.arrow_id),): lambda f: f.arrow_id == first.arrow_id,
        (("bow", first.bow_id), ("archer", first.archer_id)): lambda f: (f.bow_id, f.archer_id) == (first.bow_id, first.archer_id),
        (("day", first.day), ("trial", first.trial_id)): lambda f: f.day == first.day and f.trial_id == first.trial_id,
        (("panel", first.panel_id),): lambda f: f.panel_id == first.panel_id,
        (("one_head", first.head_id or ""),): lambda f: f.head_id == first.head_id,
        (("head", "leaf"), ("head", "barbed")): lambda f: f.form in ("leaf", "barbed"),
        (("outcome", "3"),): lambda f: f.outcome_low is not None and f.outcome_low <= 3 <= (f.outcome_high or f.outcome_low),
        (("outcome", "missed"), ("outcome", "unread")): lambda f: f.purpose == "counted" and f.hit in ("missed", None),
        (("entry", "ridge"),): lambda f: f.entry == "ridge",
        (("photo", "yes"),): lambda f: f.shot_id in with_photo,
    }
    for pairs, by_hand in picked.items():
        expected = {fact.shot_id for fact in loosed if by_hand(fact)}
        found = {row["shot_id"] for row in rows(looks, urlencode(pairs))}
        assert found == expected, pairs
        assert 0 < len(expected) < len(loosed), f"{pairs} tells nothing apart"


def test_the_file_has_what_the_page_shows_in_its_order_and_in_the_columns_of_the_whole_download(looks: TestClient) -> None:
    query = "head=needle&energy_from=80&sort=energy"
    page, found = looks.get(f"/shots?{query}"), rows(looks, query)
    assert labels(page.text) == [row["shot_label"] for row in found] and len(found) > 5
    energies = [float(row["energy_at_target_j"]) for row in found]
    assert energies == sorted(energies, reverse=True) and min(energies) >= 80
    whole = looks.get("/download/shots.csv").text.splitlines()
    assert list(found[0]) == next(csv.reader(whole[:1]))
    assert f"{len(found)} of " in said(page.text)
    sheet = looks.get(f"/shots.csv?{query}&form=spreadsheet")
    assert sheet.content.startswith(b"\xef\xbb\xbf") and "shots_spreadsheet.csv" in sheet.headers["content-disposition"]


def test_fifty_stand_on_a_page_and_all_pages_together_are_all_shots_once(looks: TestClient, facts: list[ShotFact]) -> None:
    shots = [fact.label for fact in facts if fact.purpose != "let_down"]
    pages = [labels(looks.get(f"/shots?page={n}&sort=oldest").text) for n in (1, 2, 3, 4)]
    assert [len(page) for page in pages[:3]] == [50, 50, len(shots) - 100]
    assert pages[0] + pages[1] + pages[2] == shots
    assert pages[3] == pages[2]  # after the last one comes the last one
    first = looks.get("/shots").text
    assert "page=2" in first and f"All {len(shots)} shots." in said(first)


def test_words_are_looked_for_in_notes_and_damage_whatever_their_accents_and_beginnings(
    demo_house: House, looks: TestClient, facts: list[ShotFact]
) -> None:
    one = next(fact for fact in facts if fact.outcome_low == 3)
    with demo_house.storage.write() as session:
        session.execute(text("update shot_reading set damage = 'Crème split from the edge' where id = :id"), {"id": one.shot_id})
    for typed in ("creme EDGE", "Crè spl", f"split {one.label.lower()}", f"{one.panel_name} split opened"):
        assert [row["shot_label"] for row in rows(looks, urlencode({"text": typed}))] == [one.label], typed
    assert rows(looks, "text=no+such+word+anywhere") == []
    assert "No shot matches all of that." in looks.get("/shots?text=nowhere").text


def test_what_cant_be_used_is_said_by_its_field_and_what_was_typed_stays(looks: TestClient) -> None:
    got = looks.get("/shots?energy_from=much&panel=none&page=x&outcome=9")
    assert got.status_code == 422 and 'value="much"' in got.text
    for field in ("energy_from", "panel", "page", "outcome"):
        assert f'href="#{field}' in got.text and f'id="{field}"' in got.text, field
    assert looks.get("/shots.csv?energy_from=much").status_code == 303


def test_a_viewer_of_one_trial_finds_only_its_shots_and_no_other_name(demo_house: House, facts: list[ShotFact]) -> None:
    trial = facts[-1].trial_id
    panels = {fact.panel_name for fact in facts if fact.trial_id == trial}
    other = next(fact for fact in facts if fact.trial_id != trial and fact.panel_name not in panels)
    guest, token = demo_house.client(), new_token()
    with demo_house.storage.write() as session:
        devices.add_device(session, call_name="Rook", role="viewer", session_hash=hash_of(token), trial_id=trial)
    guest.cookies.set(named(COOKIE, f"{HOST}:{PORT}"), token)
    mine = {fact.shot_id for fact in facts if fact.trial_id == trial and fact.purpose != "let_down"}
    assert {row["shot_id"] for row in rows(guest, "")} == mine
    page = guest.get("/shots")
    assert f"All {len(mine)} shots." in said(page.text)
    assert other.question not in page.text and other.panel_name not in re.findall(r"<option[^>]*>([^<]+)<", page.text)
    assert guest.get(f"/shots?panel={other.panel_id}").status_code == 422


def test_trials_panels_arrows_and_heads_lead_to_all_their_shots(demo_house: House, facts: list[ShotFact]) -> None:
    first, archer = facts[0], demo_house.client("archer")
    for page, query in {
        f"/trials/{first.trial_id}": f"trial={first.trial_id}",
        f"/panels/{first.panel_build_id}": f"panel={first.panel_id}",
        f"/arrows/{first.arrow_id}": f"arrow={first.arrow_id}",
        f"/kit/head/{first.head_id}": f"one_head={first.head_id}",
        f"/kit/bow/{first.bow_id}": f"bow={first.bow_id}",
    }.items():
        assert f'href="/shots?{query}"' in archer.get(page).text, page
        assert labels(archer.get(f"/shots?{query}").text)


def test_it_takes_as_many_statements_whatever_is_asked(demo_book: Storage) -> None:
    counts = []
    for query in ({}, {"sort": ["energy"], "energy_from": ["60"], "photo": ["yes"], "text": ["plate"]}):
        with statements(demo_book) as said:
            read_shots(demo_book, query, reader="metric")
        counts.append(len(said))
    assert counts[0] == counts[1] <= 12
