"""Where a reader begins, and what a phone chose for itself."""

import pytest
from starlette.testclient import TestClient

from tests.conftest import House


def test_each_begins_where_they_belong(house: House) -> None:
    assert house.client("stranger").get("/").headers["location"] == "/join"
    for role in ("owner", "archer", "viewer"):
        assert '<h1 id="home-title">Five steps to the first shot</h1>' in house.client(role).get("/").text


def test_a_light_is_kept_on_the_phone_and_let_go_again(stranger: TestClient) -> None:
    chosen = stranger.post("/theme", data={"theme": "dark", "next": "/join?a=1"})
    assert (chosen.status_code, chosen.headers["location"]) == (303, "/join?a=1")
    assert 'data-theme="dark"' in stranger.get("/join").text
    stranger.post("/theme", data={"theme": "follow", "next": "/join"})
    assert "data-theme" not in stranger.get("/join").text


def test_units_are_kept_on_the_phone(archer: TestClient) -> None:
    archer.post("/units", data={"units": "imperial"})
    assert archer.cookies["units"] == "imperial"
    assert archer.post("/units", data={"units": "furlongs"}).status_code == 422


@pytest.mark.parametrize(
    "elsewhere", ["http://evil.example/", "//evil.example", "/\\evil.example", "javascript:alert(1)", "trials", "", "/a\r\nSet-Cookie: x=y"]
)
def test_a_choice_never_leads_elsewhere(stranger: TestClient, elsewhere: str) -> None:
    answer = stranger.post("/theme", data={"theme": "sun", "next": elsewhere})
    assert answer.headers["location"] == "/"
    assert "x=y" not in str(answer.headers)


def test_a_light_that_we_do_not_have_is_refused(stranger: TestClient) -> None:
    assert stranger.post("/theme", data={"theme": "<b>"}).status_code == 422
    assert stranger.post("/theme").status_code == 422
    assert "theme" not in stranger.cookies
