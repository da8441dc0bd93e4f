"""The owner's one-time link."""

import re

from proofyard.access.gate import OwnerLinks
from proofyard.access.seats import named
from proofyard.records import devices
from starlette.testclient import TestClient

from tests.conftest import House

COOKIE = named("proofyard_seat", "127.0.0.1:8014")


def test_opening_the_link_changes_nothing_and_its_button_makes_an_owner(house: House, stranger: TestClient) -> None:
    link = house.app.state.gate.owner_link()
    for _ in range(3):
        page = stranger.get(link)
        assert page.status_code == 200
        assert "set-cookie" not in page.headers
    assert f'action="{link}" method="post"' in page.text
    taken = stranger.post(link)
    assert (taken.status_code, taken.headers["location"]) == (303, "/")
    assert stranger.get("/phones").status_code == 200
    assert stranger.get("/api/ping").json()["letter"] == "C"


def test_the_link_works_once(house: House, stranger: TestClient) -> None:
    link = house.app.state.gate.owner_link()
    assert stranger.post(link).status_code == 303
    second = house.client()
    again = second.post(link)
    assert again.status_code == 404
    assert "has been used" in again.text
    assert COOKIE not in second.cookies
    assert second.get(link).status_code == 404


def test_a_newer_link_closes_the_one_before(house: House, stranger: TestClient) -> None:
    gate = house.app.state.gate
    older, newer = gate.owner_link(), gate.owner_link()
    assert stranger.post(older).status_code == 404
    assert stranger.post(newer).status_code == 303


def test_a_link_can_not_be_used_from_another_page(house: House, stranger: TestClient) -> None:
    link = house.app.state.gate.owner_link()
    assert stranger.post(link, headers={"Origin": "http://evil.example"}).status_code == 403
    assert stranger.post(link).status_code == 303


def test_a_guess_is_worth_nothing(house: House, stranger: TestClient) -> None:
    house.app.state.gate.owner_link()
    for guess in ("", "a", "a" * 32, "é", "%00"):
        assert stranger.post(f"/owner/{guess}").status_code in (404, 405)
    assert OwnerLinks().use("") is False


def test_a_link_is_long_enough_to_be_a_secret(house: House) -> None:
    links = {house.app.state.gate.owner_link() for _ in range(20)}
    assert len(links) == 20
    assert all(len(re.fullmatch(r"/owner/([\w-]+)", link)[1]) * 6 >= 128 for link in links)


def test_the_same_laptop_keeps_its_letter_and_gets_a_new_secret(house: House, owner: TestClient) -> None:
    before = owner.cookies[COOKIE]
    assert owner.post(house.app.state.gate.owner_link()).status_code == 303
    assert owner.cookies[COOKIE] != before
    assert owner.get("/api/ping").json()["letter"] == "A"
    with house.storage.read() as session:
        assert sum(one.role == "owner" for one in devices.devices(session)) == 1
    old = house.client()
    old.cookies.set(COOKIE, before, domain="127.0.0.1")
    assert old.get("/phones").status_code == 401


def test_an_archers_phone_can_become_the_owners_and_keeps_its_letter(house: House, archer: TestClient) -> None:
    archer.post(house.app.state.gate.owner_link())
    assert archer.get("/phones").status_code == 200
    assert archer.get("/api/ping").json()["letter"] == "B"


def test_an_owner_who_left_comes_back_with_a_new_link(house: House, owner: TestClient) -> None:
    left = owner.post("/leave")
    assert (left.status_code, left.headers["location"]) == (303, "/join")
    assert owner.get("/phones").status_code == 401
    owner.post(house.app.state.gate.owner_link())
    assert owner.get("/phones").status_code == 200
    assert owner.get("/api/ping").json()["letter"] == "C", "that seat was given up, so this is another"


def test_the_link_stands_in_no_other_form_and_is_not_kept(house: House, stranger: TestClient) -> None:
    link = house.app.state.gate.owner_link()
    page = stranger.get(link)
    assert page.text.count(link) == 1
    assert "no-store" in page.headers["cache-control"]
    assert page.headers["referrer-policy"] == "same-origin"
