"""A panel that is built again in the middle of a trial: the new set-up is offered, and nothing goes to the old build unsaid."""

from __future__ import annotations

import html
import re

import pytest
from proofyard.records import listing
from proofyard.records.trial import Setup
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.pages.drawn_forms import send


@pytest.fixture
def yard(book: Storage) -> kit.Yard:
    return kit.yard(book)


def rebuilt(archer: TestClient, yard: kit.Yard) -> str:
    """The panel beaten flat, through its form; gives where that leads."""
    answer = send(archer, f"/kit/panel/{yard.panel.panel}/rebuild", work="beaten_flat")
    assert answer.status_code == 303, answer.text
    return str(answer.headers["location"])


def offers(page: str) -> list[str]:
    return [html.unescape(one) for one in re.findall(r'href="(/sessions/[^"]*\?like=[^"]*)"', page)]


def setups(book: Storage) -> list[Setup]:
    with book.read() as session:
        return list(listing.all_of(session, Setup))


def test_a_new_build_offers_the_set_up_as_it_stands_with_that_build(archer: TestClient, book: Storage, yard: kit.Yard) -> None:
    before = setups(book)[0]
    for page in (f"/kit/panel/{yard.panel.panel}", f"/sessions/{yard.session}"):
        assert not offers(archer.get(page).text)
    went = rebuilt(archer, yard)
    page = archer.get(went).text
    assert f'id="{went.partition("#")[2]}"' in page and "shots logged there go to build 1" in page
    (offer,) = offers(page)
    assert offers(archer.get(f"/sessions/{yard.session}").text) == [offer]
    assert send(archer, offer, f"/sessions/{yard.session}/setups").status_code == 303
    (after,) = [one for one in setups(book) if one.id != before.id]
    newest = kit.row(book, "panel_build", after.panel_build_id)
    assert (newest.panel_id, newest.number) == (yard.panel.panel, 2)
    assert (after.stand_id, after.distance_m, after.angle_rad) == (before.stand_id, before.distance_m, before.angle_rad)
    for shown in (f"/kit/panel/{yard.panel.panel}", f"/sessions/{yard.session}"):
        assert not offers(archer.get(shown).text)


def test_the_phones_list_tells_builds_apart_and_says_where_shots_go(archer: TestClient, book: Storage, yard: kit.Yard) -> None:
    name = kit.row(book, "panel", yard.panel.panel).name
    (told,) = archer.get("/api/range").json()["setups"]
    assert (told["panel_name"], told["older"]) == (name, "")
    rebuilt(archer, yard)
    (told,) = archer.get("/api/range").json()["setups"]
    assert told["panel_name"] == f"{name}, build 1" and told["panel_words"].startswith(f"{name}, build 1, ")
    assert told["older"] == (
        f"{name} is build 2 now. Shots logged here go to build 1. Add a set-up with build 2 on the page of this day before you shoot at it."
    )
    send(archer, offers(archer.get(f"/sessions/{yard.session}").text)[0], f"/sessions/{yard.session}/setups")
    new, old = archer.get("/api/range").json()["setups"]
    assert (new["panel_name"], new["older"], old["panel_name"]) == (f"{name}, build 2", "", f"{name}, build 1")
    assert "Pick the set-up with build 2" in old["older"]
    log = archer.get("/log").text
    assert f">{name}, build 2, " in log and f">{name}, build 1, " in log


def test_nothing_is_offered_for_a_day_that_is_over(archer: TestClient, book: Storage, yard: kit.Yard) -> None:
    later = kit.session(book, yard.trial, day="2027-01-09")
    rebuilt(archer, yard)
    assert not offers(archer.get(f"/sessions/{yard.session}").text)
    at_work = kit.setup(book, later, yard.panel.build)
    assert [one.rpartition("=")[2] for one in offers(archer.get(f"/kit/panel/{yard.panel.panel}").text)] == [at_work]
    kit.put(book, "trial", {"state": "closed"}, record_id=yard.trial, base_rev=kit.row(book, "trial", yard.trial).rev)
    assert not offers(archer.get(f"/kit/panel/{yard.panel.panel}").text)


def test_a_viewer_is_told_and_offered_nothing_to_press(archer: TestClient, viewer: TestClient, yard: kit.Yard) -> None:
    rebuilt(archer, yard)
    page = viewer.get(f"/kit/panel/{yard.panel.panel}").text
    assert "shots logged there go to build 1" in page and not offers(page)
    assert not offers(viewer.get(f"/sessions/{yard.session}").text)
