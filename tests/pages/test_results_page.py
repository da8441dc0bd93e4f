"""The results page as a browser gets it: all in the address, wrong values said beside their field, every number a link."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from html.parser import HTMLParser
from urllib.parse import urlencode

import pytest
from sqlalchemy import event
from sqlalchemy.engine import Engine
from starlette.testclient import TestClient

from server.access.sessions import COOKIE, hash_of, named, new_token
from server.records import devices
from server.storage import Storage
from tests import kit_for_tests as kit
from tests.conftest import ADDRESS, HOST, House

# The fixtures of the filled book are imported by name, and pytest hands them in by the same name.
# ruff: noqa: F811
from tests.results_for_tests import Filled, book, filled, filled_once, loosed  # noqa: F401

PART = {"HX-Request": "true"}


class Tags(HTMLParser):
    """Every start tag with its attributes, in order."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str]]] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, {name: value or "" for name, value in attrs}))

    def hrefs(self) -> set[str]:
        return {attrs["href"] for tag, attrs in self.tags if tag == "a" and "href" in attrs}


@contextmanager
def statements() -> Iterator[list[str]]:
    said: list[str] = []

    def hear(_c: object, _cursor: object, statement: str, *_: object) -> None:
        said.append(statement)

    event.listen(Engine, "before_cursor_execute", hear)
    try:
        yield said
    finally:
        event.remove(Engine, "before_cursor_execute", hear)


def test_the_page_says_its_finding_first_then_picture_then_table(viewer: TestClient) -> None:
    text = viewer.get("/results").text
    places = [text.index(part) for part in ("<h1>", 'class="chart__picture"', 'class="tally"', 'id="results-left-out"')]
    assert places == sorted(places)
    assert "the long needle stood behind 1.6" in text


def test_every_number_leads_to_its_shots_and_every_shot_to_its_page(viewer: TestClient, filled: Filled) -> None:
    hrefs = Tags(viewer.get("/results").text).hrefs()
    lists = [href for href in hrefs if href.startswith("/results/shots")]
    assert len(lists) >= 12 + 12
    for href in lists:
        listed = viewer.get(href)
        assert listed.status_code == 200, href
        assert any(shot.startswith("/shots/") for shot in Tags(listed.text).hrefs()), href
    assert f"/shots/{filled.shots['A1']}" in hrefs


def test_a_count_and_its_list_say_the_same(viewer: TestClient) -> None:
    text = viewer.get("/results?edges=60,+97.3,+130").text
    found = re.findall(r'class="tally__count" id="count-[^"]*" href="([^"]*)">(?:\d+ (?:or|to) )?\d+ of (\d+)<', text)
    assert len(found) >= 8
    for href, count in found:
        listed = viewer.get(href.replace("&amp;", "&")).text.split('id="not-known"')[0]
        assert len(re.findall(r'class="row__link"', listed)) == int(count)


@pytest.mark.parametrize(
    ("name", "value", "said"),
    [
        ("edges", "60,80", "one number or two"),
        ("edges", "<script>", "says “at most”"),
        ("depth", "16 ga", "is a gauge"),
        ("bow", "<b>nobody</b>", "has no shot for"),
        ("trial", "' or 1=1 --", "has no shot for"),
        ("fair", "perhaps", "none of the answers"),
        ("way", "\x00", "none of the answers"),
        ("method", "bayes", "none of the answers"),
        ("head", "spoon", "No shot in the book has that head"),
        ("through", "6", "none of the answers"),
    ],
)
def test_a_bad_value_is_said_twice_beside_the_rest_as_asked(viewer: TestClient, name: str, value: str, said: str) -> None:
    query = {"construction": "plate", "through": "depth", "depth": "20 mm", "edges": "70, 90, 110"} | {name: value}
    got = viewer.get("/results?" + urlencode(query))
    assert got.status_code == 422
    assert "<title>Error: " in got.text
    assert f'href="#{name}"' in got.text and f'id="{name}-error"' in got.text, "in the summary and by the field"
    assert got.text.count(said) == 2
    assert '<option value="plate" selected>' in got.text
    if name != "edges":
        assert 'value="70, 90, 110"' in got.text
    assert "<script>" not in got.text.split("<body")[1]
    assert 'class="tally"' in got.text, "the page still shows what it can"


def test_settings_stand_in_the_form_as_they_were_asked(viewer: TestClient) -> None:
    text = viewer.get("/results?head=needle&head=barbed&fair=any&through=body_line&method=exact&pool=yes&edges=66+ft%C2%B7lbf,+120").text
    chosen = [(a["name"], a["value"]) for tag, a in Tags(text).tags if tag == "input" and "checked" in a]
    assert Counter(chosen) == Counter(
        [("head", "needle"), ("head", "barbed"), ("fair", "any"), ("through", "body_line"), ("method", "exact"), ("alike", "0.2"), ("pool", "yes"), ("at", "chronograph")]
    )
    assert 'value="66 ft·lbf, 120"' in text
    assert "exact, Clopper and Pearson" in text


def test_the_form_is_a_plain_get(viewer: TestClient) -> None:
    forms = [attrs for tag, attrs in Tags(viewer.get("/results").text).tags if tag == "form" and attrs.get("id") == "results-form"]
    assert [(form["action"], form["method"]) for form in forms] == [("/results", "get")]


def test_the_part_is_a_piece_of_the_page_and_only_for_htmx(viewer: TestClient) -> None:
    query = "?fair=any&edges=70,+100"
    page, piece = viewer.get("/results" + query), viewer.get("/results/found" + query, headers=PART)
    assert piece.status_code == 200
    assert piece.text.strip() in page.text
    sent_on = viewer.get("/results/found" + query)
    assert (sent_on.status_code, sent_on.headers["location"]) == (303, "/results" + query)


def test_what_htmx_fetches_has_a_plain_address_and_a_target(viewer: TestClient) -> None:
    tags = Tags(viewer.get("/results").text).tags
    ids = Counter(attrs["id"] for _, attrs in tags if "id" in attrs)
    assert [one for one, count in ids.items() if count > 1] == []
    asking = [attrs for _, attrs in tags if "hx-get" in attrs]
    assert asking
    for attrs in asking:
        assert attrs.get("href") or attrs.get("action")
        assert attrs["hx-target"].removeprefix("#") in ids
        assert "[" not in attrs["hx-trigger"]
    assert not any("style" in attrs or any(name.startswith("on") for name in attrs) for _, attrs in tags)


@pytest.mark.parametrize("address", ["/results", "/results/shots?out=not_fair", "/download", "/download/dictionary"])
def test_a_page_takes_at_most_twelve_statements_whatever_the_rows(viewer: TestClient, address: str) -> None:
    viewer.get(address)
    with statements() as said:
        assert viewer.get(address).status_code == 200
    assert len(said) <= 12, "\n".join(line[:90] for line in said)


def test_an_address_that_names_no_list_says_so(viewer: TestClient) -> None:
    for query in ("out=nothing", "cell=spoon:70-90", "cell=needle:90-70", "cell=needle", "cell=%00"):
        got = viewer.get(f"/results/shots?{query}")
        assert got.status_code == 422
        assert "Go back to the table" in got.text


def test_lists_say_what_became_of_shots_without_a_rung(viewer: TestClient) -> None:
    assert "over the top" in viewer.get("/results/shots?out=missed").text
    struck = viewer.get("/results/shots?out=struck").text
    assert "row--struck" in struck and "A72" in struck
    assert "Unread" in viewer.get("/results/shots?out=unread").text


def test_a_new_shot_is_there_at_the_next_look(viewer: TestClient, book: Storage, filled: Filled) -> None:
    before = viewer.get("/results/found", headers=PART).text
    assert "72 loosed" in before
    with book.read() as session:
        from server.records.listing import all_of
        from server.records.trial import Walk

        walk = all_of(session, Walk)[0].id
    kit.put(
        book, "shot",
        {"label": "B1", "walk": walk, "bow_build": filled.bows["Elm bow"].build, "arrow_build": filled.arrows["leaf", "Elm bow"].build, "archer": filled.archers["Wren"], "purpose": "counted"},
    )  # fmt: skip
    after = viewer.get("/results/found", headers=PART).text
    assert "73 loosed" in after


def test_a_stranger_sees_no_results_and_takes_none_home(stranger: TestClient) -> None:
    for address in ("/results", "/results/found", "/results/shots", "/download", "/download/shots.csv", "/download/dictionary"):
        assert stranger.get(address).status_code in (401, 303)


def test_a_viewer_of_one_trial_gets_that_trial_on_page_and_in_file(house: House, filled: Filled) -> None:
    token = new_token()
    with house.storage.write() as session:
        devices.add_device(session, call_name="Guest", role="viewer", trial_id=filled.other_trial, session_hash=hash_of(token))
    guest = house.client()
    guest.cookies.set(named(COOKIE, ADDRESS), token, domain=HOST)
    page = guest.get("/results").text
    assert "A69" in page and "1.6 mm plate" not in page
    assert "A53" not in guest.get("/download/shots.csv").text
    assert "A69" in guest.get("/download/shots.csv").text
    assert "A53" not in guest.get("/results/shots?out=partial").text
    other = guest.get("/results?trial=" + filled.trial)
    assert other.status_code == 422 and "A53" not in other.text
