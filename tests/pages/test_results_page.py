"""The results page as a browser gets it: all in the address, wrong values said beside their field, every number a link."""

from __future__ import annotations

import re
from collections import Counter
from html import unescape
from html.parser import HTMLParser
from urllib.parse import urlencode

import pytest
from proofyard.access.seats import COOKIE, hash_of, named, new_token
from proofyard.answers.results import listed_shots
from proofyard.records import devices
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.conftest import ADDRESS, HOST, House

# The fixtures of the filled book are imported by name, and pytest hands them in by the same name.
# ruff: noqa: F811
from tests.results_for_tests import Filled, book, filled, filled_once, loosed  # noqa: F401
from tests.statements_for_tests import statements

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


WAYS = ("shares", "every-shot", "depth", "arrows", "left-out", "table")
PAGES = ("/results", *(f"/results/{way}" for way in WAYS))


def test_the_page_says_its_finding_first_then_plain_counts_then_shares_then_the_ways_on(viewer: TestClient) -> None:
    text = viewer.get("/results").text
    parts = ("finding", "tabs", "count__one", "caveats", "results__grid", "results__ways", "results__filters")
    places = [text.index("<h1>Results</h1>"), *(text.index(part, text.index("<h1>")) for part in parts)]
    assert places == sorted(places)
    finding = re.search(r'class="results__finding">([^<]*)<', text)
    assert finding and "the long needle bodkin went through 1.6" in finding[1]
    assert "chart__drawing" not in text, "charts have pages of their own"


def test_in_every_tab_of_the_demo_the_first_sentence_says_which_head_got_through_and_which_did_not(demo_house: House) -> None:
    """ "None of 6 shots" of one head answers nobody. Two heads side by side were picked for their difference: that is said next."""
    first = re.compile(r'results__finding">([^<]*)</p>\s*<p class="tools-quiet">([^<]*)<')
    said = {}
    for tab in ("plate-1.2", "plate-1.6", "scale-1", "mail"):
        found = first.search(demo_house.client("viewer").get(f"/results?panel_type={tab}").text)
        assert found, tab
        said[tab] = tuple(words.replace("\xa0", " ") for words in found.groups())
    for tab, (finding, then) in said.items():
        heads = [head for head in ("long needle bodkin", "short bodkin", "leaf", "barbed broadhead") if f"the {head}" in finding]
        assert len(heads) == 2 and "; the " in finding, tab
        assert "none" not in finding.split(";")[0], "what got through comes first"
        assert "a hint, not a finding" in then or "shown" in then.lower(), tab
    assert said["plate-1.2"] == (
        "At 80 to 105 J the short bodkin went through 1.2 mm one-piece plate in all 4 shots; the barbed broadhead in none of 3 shots.",
        "Few shots, and the two heads that differ most: a hint, not a finding. 95 % intervals: 47 to 100 % and 0 to 63 %.",
    )


def test_one_row_of_ways_leads_on_and_carries_the_settings(viewer: TestClient) -> None:
    text = viewer.get("/results?fair=any&edges=70,+100&head=needle").text
    (row,) = re.findall(r'<nav class="results__ways".*?</nav>', text, re.S)
    ways = re.findall(r'href="([^"]+)">([^<]+)<', row)
    said = [words.replace("\xa0", " ") for _, words in ways]
    assert said == ["Shares", "Every shot", "Depth", "Arrows", "Left out", "Table", "50 % energy", "Compare"]
    for href, words in ways:
        assert "fair=any" in href and "head=needle" in href and "edges=70%2C+100" in href and "panel_type=plate-1.6" in href, words
        assert viewer.get(href.replace("&amp;", "&")).status_code == 200


@pytest.mark.parametrize("page", PAGES)
def test_one_panel_type_is_shown_and_the_others_are_tabs(viewer: TestClient, page: str) -> None:
    text = viewer.get(page).text
    tabs = re.findall(r'class="results__tab" href="([^"]+)"( aria-current="page")?>([^<]+)<', text)
    assert [(words.replace("\xa0", " "), bool(here)) for _, here, words in tabs] == [
        ("1.6 mm one-piece plate", True),
        ("Mail", False),
        ("Scale", False),
    ]
    mail = viewer.get(tabs[1][0].replace("&amp;", "&")).text
    assert re.search(r'aria-current="page">Mail<', mail) and 'value="mail" selected' in mail


@pytest.mark.parametrize("page", PAGES)
def test_the_words_of_the_outcomes_stand_once_a_page_at_most(viewer: TestClient, page: str) -> None:
    text = viewer.get(page).text
    main = text.split('id="results-filters"')[0]
    assert main.count('class="outcome__key"') <= 1
    assert main.count('class="outcome__key"') == (page in ("/results", "/results/every-shot"))


@pytest.mark.parametrize("way", WAYS)
def test_a_way_on_says_its_name_and_is_a_part_for_htmx(viewer: TestClient, way: str) -> None:
    query = "?fair=any&edges=70,+100"
    page, piece = viewer.get(f"/results/{way}{query}"), viewer.get(f"/results/{way}{query}", headers=PART)
    assert page.status_code == piece.status_code == 200
    assert piece.text.strip() in page.text and "<html" not in piece.text
    asking = [attrs for _, attrs in Tags(piece.text).tags if "hx-get" in attrs]
    assert [(one["href"], one["hx-get"]) for one in asking] == [(f"/results/{way}{query}", f"/results/{way}{query}")]
    wrong = viewer.get(f"/results/{way}?edges=60,80")
    assert wrong.status_code == 422 and 'id="edges-error"' in wrong.text and 'value="60,80"' in wrong.text


def test_there_is_no_other_way_on(viewer: TestClient) -> None:
    assert viewer.get("/results/nowhere").status_code == 404


def test_settings_of_an_archer_come_first_and_methods_behind_one_fold(viewer: TestClient) -> None:
    text = viewer.get("/results").text
    form = text[text.index('id="results-form"') :]
    archers, methods = form.split('id="results-methods"')
    for name in ("trial", "panel", "bow", "head", "through", "fair", "at", "edges"):
        assert f'name="{name}"' in archers, name
    for name in ("axis", "rows", "row_edges", "method", "alike", "pool"):
        assert f'name="{name}"' in methods and f'name="{name}"' not in archers, name


def test_a_reader_of_foot_pounds_gets_them_on_every_page_of_results(viewer: TestClient) -> None:
    viewer.cookies.set("units", "imperial")
    for page in PAGES:
        text = viewer.get(page).text.split('id="results-filters"')[0]
        seen = re.sub(r"<[^>]+>", " ", text[text.index("<h1>") :]).replace("\xa0", " ")
        assert not re.search(r"\d J\b|, J\b|\d mm\b(?! one-piece)", seen), (
            page,
            re.search(r".{40}(\d J\b|, J\b|\d mm\b(?! one-piece))", seen),
        )
        assert "ft·lbf" in seen or page in ("/results/arrows", "/results/left-out"), page


def test_every_number_leads_to_its_shots_and_every_shot_to_its_page(viewer: TestClient, filled: Filled) -> None:
    hrefs = {href for page in PAGES for href in Tags(viewer.get(page).text).hrefs()}
    lists = [href for href in hrefs if href.startswith("/results/shots")]
    assert len(lists) >= 12 + 12 + 30
    for href in lists:
        listed = viewer.get(href)
        assert listed.status_code == 200, href
        assert any(shot.startswith("/shots/") for shot in Tags(listed.text).hrefs()), href
    assert f"/shots/{filled.shots['A1']}" in hrefs


def test_a_count_and_its_list_say_the_same(viewer: TestClient) -> None:
    found = [
        pair
        for page in ("/results", "/results/table")
        for pair in re.findall(
            r'id="count-[^"]*" href="([^"]*)"[^>]*>(?:\d+ (?:or|to) )?\d+ of (\d+)<', viewer.get(page + "?edges=60,+97.3,+130").text
        )
    ]
    assert len(found) >= 16
    for href, count in found:
        listed = viewer.get(href.replace("&amp;", "&")).text.split('id="not-known"')[0]
        assert len(re.findall(r'class="row__link"', listed)) == int(count)


@pytest.mark.parametrize(
    ("name", "value", "said"),
    [
        ("edges", "60,80", "one number or two"),
        ("edges", "<script>", "says “at most”"),
        ("depth", "16 ga", "is a gauge"),
        ("bow", "<b>nobody</b>", "No shot for"),
        ("trial", "' or 1=1 --", "No shot for"),
        ("fair", "perhaps", "is not one of the choices"),
        ("entry", "\x00", "is not one of the choices"),
        ("method", "bayes", "is not one of the choices"),
        ("head", "spoon", "No shot has that head"),
        ("through", "6", "is not one of the choices"),
    ],
)
def test_a_bad_value_is_said_twice_beside_the_rest_as_asked(viewer: TestClient, name: str, value: str, said: str) -> None:
    query = {"construction": "plate", "through": "depth", "depth": "20 mm", "edges": "70, 90, 110"} | {name: value}
    got = viewer.get("/results?" + urlencode(query))
    assert got.status_code == 422
    assert re.search(r"<title>\d+ fields? to check, ", got.text)
    assert f'href="#{name}"' in got.text and f'id="{name}-error"' in got.text, "in the summary and by the field"
    assert got.text.count(said) == 2
    assert '<option value="plate" selected>' in got.text
    if name != "edges":
        assert 'value="70, 90, 110"' in got.text
    assert "<script>" not in got.text.split("<body")[1]
    assert 'class="results__grid' in got.text, "the page still shows what it can"


def test_settings_stand_in_the_form_as_they_were_asked(viewer: TestClient) -> None:
    text = viewer.get("/results?head=needle&head=barbed&fair=any&through=body_line&method=exact&pool=yes&edges=66+ft%C2%B7lbf,+120").text
    chosen = [(a["name"], a["value"]) for tag, a in Tags(text).tags if tag == "input" and "checked" in a]
    assert Counter(chosen) == Counter(
        [
            ("head", "needle"),
            ("head", "barbed"),
            ("fair", "any"),
            ("through", "body_line"),
            ("method", "exact"),
            ("alike", "0.2"),
            ("pool", "yes"),
            ("at", "chronograph"),
        ]
    )
    assert 'value="66 ft·lbf, 120"' in text
    assert "exact, Clopper and Pearson" in viewer.get("/results/table?method=exact").text


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


@pytest.mark.parametrize("address", [*PAGES, "/results/shots?out=not_fair", "/download", "/download/dictionary"])
def test_a_page_takes_at_most_twelve_statements_whatever_the_rows(viewer: TestClient, book: Storage, address: str) -> None:
    viewer.get(address)
    with statements(book) as said:
        assert viewer.get(address).status_code == 200
    assert len(said) <= 12, "\n".join(line[:90] for line in said)


def test_an_address_that_names_no_list_says_so(viewer: TestClient) -> None:
    for query in ("out=nothing", "cell=spoon:70-90", "cell=needle:90-70", "cell=needle", "cell=%00"):
        got = viewer.get(f"/results/shots?{query}")
        assert got.status_code == 422
        assert "Go back to the table" in got.text


def test_a_long_list_comes_in_parts_each_shot_once(viewer: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    def labels(page: str) -> list[str]:
        return re.findall(r'href="/shots/([0-9a-f-]{36})', page)

    cells = re.findall(r'href="(/results/shots\?[^"]*cell=[^"]*)"', viewer.get("/results/table?fair=fair").text)
    for address in ("/results/shots", *(unescape(one) for one in cells[:4])):
        whole = labels(viewer.get(address).text)
        assert "Page 1 of" not in viewer.get(address).text
        monkeypatch.setattr(listed_shots, "A_PAGE", 7)
        page, found = viewer.get(address).text, []
        while True:
            found += labels(page)
            further = re.search(r'href="([^"]*)"[^>]*>Further in the list', page)
            if not further:
                break
            page = viewer.get(unescape(further[1])).text
        assert found == whole and len(whole) == len(set(whole)) > (20 if address == "/results/shots" else 0)
        monkeypatch.undo()


def test_a_part_that_is_no_number_is_said_and_the_first_is_shown(viewer: TestClient) -> None:
    got = viewer.get("/results/shots?page=last")
    assert got.status_code == 422 and "“last”" in got.text
    assert "/shots/" in got.text and "A1<" in got.text


def test_lists_say_what_became_of_shots_without_a_outcome_level(viewer: TestClient) -> None:
    assert "over the top" in viewer.get("/results/shots?out=missed").text
    voided = viewer.get("/results/shots?out=voided").text
    assert "row--voided" in voided and "A72" in voided
    assert "Unread" in viewer.get("/results/shots?out=unread").text


def test_a_new_shot_is_there_at_the_next_look(viewer: TestClient, book: Storage, filled: Filled) -> None:
    before = viewer.get("/results/found", headers=PART).text
    shots = re.search(r"Counted: \d+ of (\d+) shots", before)
    assert shots
    with book.read() as session:
        from proofyard.records.listing import all_of
        from proofyard.records.trial import ShootingEnd

        shooting_end = all_of(session, ShootingEnd)[0].id
    kit.put(
        book,
        "shot",
        {
            "label": "B1",
            "shooting_end": shooting_end,
            "bow_build": filled.bows["Elm bow"].build,
            "arrow_build": filled.arrows["leaf", "Elm bow"].build,
            "archer": filled.archers["Wren"],
            "purpose": "counted",
        },
    )
    after = viewer.get("/results/found", headers=PART).text
    assert f" of {int(shots[1]) + 1} shots" in after


def test_a_stranger_sees_no_results_and_takes_none_home(stranger: TestClient) -> None:
    for address in (*PAGES, "/results/found", "/results/shots", "/download", "/download/shots.csv", "/download/dictionary"):
        assert stranger.get(address).status_code in (401, 303)


def test_a_viewer_of_one_trial_gets_that_trial_on_page_and_in_file(house: House, filled: Filled) -> None:
    token = new_token()
    with house.storage.write() as session:
        devices.add_device(session, call_name="Guest", role="viewer", trial_id=filled.other_trial, session_hash=hash_of(token))
    guest = house.client()
    guest.cookies.set(named(COOKIE, ADDRESS), token, domain=HOST)
    page = guest.get("/results/table").text
    assert "A69" in page and "1.6 mm plate" not in page
    assert "A53" not in guest.get("/download/shots.csv").text
    assert "A69" in guest.get("/download/shots.csv").text
    assert "A53" not in guest.get("/results/shots?out=partial").text
    other = guest.get("/results?trial=" + filled.trial)
    assert other.status_code == 422 and "A53" not in other.text
