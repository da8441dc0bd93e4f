"""Where every page leads: the masthead, the second row, what stands under More, units and light in the foot."""

from __future__ import annotations

import re

import pytest
from proofyard.pages.frame.places import BOOK_PLACES, FAMILIES, UNDER_MORE, family_of, place_at
from proofyard.pages.frame.rendering import Frame, mid_sentence
from starlette.testclient import TestClient

from tests.conftest import House


def row(text: str, block: str) -> list[str]:
    return re.findall(rf'class="{block}__link" href="([^"]+)"', text)


@pytest.mark.parametrize("role", ["owner", "archer", "viewer"])
def test_every_place_that_is_offered_opens(house: House, role: str) -> None:
    client = house.client(role)
    offered = [*row(client.get("/more").text, "row"), *(place.href for place in Frame("x", role=role).places)]
    for family in FAMILIES.values():
        offered += [place.href for place in Frame("x", role=role, path=family.places[0].href).siblings]
    assert len(set(offered)) > 12
    for href in set(offered):
        assert client.get(href).status_code == 200, href


def test_under_more_stand_guide_methods_notebook_photos_incidents_and_phones(owner: TestClient, viewer: TestClient) -> None:
    under = set(row(owner.get("/more").text, "row"))
    assert {"/guide", "/methods", "/notebook", "/photos", "/incidents", "/phones"} <= under
    assert under == {place.href for family in UNDER_MORE for place in family.places}
    assert not {"/phones", "/photos", "/health"} & set(row(viewer.get("/more").text, "row"))


def test_a_page_with_siblings_has_a_second_row_and_marks_itself_in_it(owner: TestClient) -> None:
    page = owner.get("/what-if").text
    assert row(page, "siblings") == [
        "/results",
        "/fifty-percent",
        "/protection",
        "/pool",
        "/arrow-damage",
        "/measures",
        "/compare",
        "/what-if",
        "/another-bow",
        "/blunt",
    ]
    assert re.findall(r'siblings__link" href="([^"]+)" aria-current="page"', page) == ["/what-if"]
    topic = owner.get("/methods/flight").text
    assert re.findall(r'siblings__link" href="([^"]+)" aria-current="true"', topic) == ["/methods"]
    assert row(owner.get("/kit/start").text, "siblings") == []


@pytest.mark.parametrize(("path", "key"), [("/guide/glossary", "glossary"), ("/guide/blunt", "guide"), ("/methods/air", "methods")])
def test_a_page_stands_at_the_nearest_place_of_its_family(path: str, key: str) -> None:
    family = family_of(path)
    place = family and place_at(path, family.places)
    assert place is not None and place.key == key


def test_no_page_belongs_to_two_families() -> None:
    hrefs = [place.href for family in FAMILIES.values() for place in family.places]
    assert len(hrefs) == len(set(hrefs))
    assert len({place.key for place in BOOK_PLACES}) == 6


def test_units_and_light_stand_in_the_foot_off_the_range(archer: TestClient) -> None:
    for path in ("/trials", "/methods", "/kit"):
        foot = archer.get(path).text.partition("<footer")[2]
        assert 'action="/units"' in foot and 'action="/theme"' in foot
        assert re.search(r'value="metric" aria-pressed="true"', foot)
    archer.post("/units", data={"units": "imperial", "next": "/more"})
    assert re.findall(r'value="(\w+)" aria-pressed="true"', archer.get("/more").text.partition("<footer")[0]) == ["imperial"]
    assert 'action="/units"' not in archer.get("/range").text.partition("<footer")[2].partition("</footer")[0]


def test_a_title_begins_small_after_a_comma_unless_it_is_a_name() -> None:
    assert [mid_sentence(title) for title in ("New bow", "Old Meg", "Results: 3", "P5")] == ["new bow", "Old Meg", "results: 3", "P5"]
