"""Lists that grow with the book come a page at a time: each record stands on exactly one page, and the pages lead to each other."""

from __future__ import annotations

import re

import pytest
from proofyard.answers.bow import page as bow_page
from proofyard.answers.kit import kit_listed
from proofyard.answers.range import ends_to_pick
from proofyard.answers.session import page as sessions
from proofyard.pages.bow import page as bows
from proofyard.pages.frame import forms
from proofyard.pages.speeds import page as speeds
from proofyard.records import arrows_at_the_range, end_facts, kit_to_pick
from proofyard.shots import bow_speeds
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.conftest import House


@pytest.fixture
def demo(demo_house: House) -> TestClient:
    return demo_house.client("owner")


def _pages(client: TestClient, address: str, link: str) -> list[list[str]]:
    """What each page of a list leads to, page after page by its own link onwards."""
    found: list[list[str]] = []
    while address:
        answer = client.get(address)
        assert answer.status_code == 200 and len(found) < 40
        found.append(re.findall(link, answer.text))
        onwards = re.search(r'href="([^"]+)"[^>]*>Further in the list', answer.text)
        address = onwards[1].replace("&amp;", "&") if onwards else ""
    return found


def test_every_combination_stands_on_one_page_with_the_same_words(demo: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    link = r'href="/combinations/([0-9a-f-]{36})"'
    (whole,) = _pages(demo, "/combinations", link)
    assert len(whole) >= 10 and len(set(whole)) == len(whole)
    said = dict(re.findall(r'href="/combinations/([0-9a-f-]{36})"(.*?)</li>', demo.get("/combinations").text, re.DOTALL))
    monkeypatch.setattr(speeds, "A_PAGE", 4)
    parts = _pages(demo, "/combinations", link)
    assert [len(part) for part in parts[:-1]] == [4] * (len(parts) - 1) and len(parts) == -(-len(whole) // 4)
    assert [one for part in parts for one in part] == whole
    second = demo.get("/combinations?page=2").text
    assert f"5 to 8 of {len(whole)}" in second and "Page 2 of" in second
    for key, words in re.findall(r'href="/combinations/([0-9a-f-]{36})"(.*?)</li>', second, re.DOTALL):
        assert words == said[key], "what is said of a combination hangs on no other page"
    assert demo.get("/combinations?page=999").status_code == 200


def test_kit_shows_the_first_of_many_and_leads_to_the_rest(demo: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    link = r'href="/kit/arrow/([0-9a-f-]{36})"'
    whole = re.findall(link, demo.get("/kit").text)
    assert len(whole) >= 10
    monkeypatch.setattr(kit_listed, "A_PAGE", 4)
    first = demo.get("/kit").text
    assert re.findall(link, first) == whole[:4]
    assert "/kit?noun=arrow&amp;page=2" in first and "The next of" in first
    parts = _pages(demo, "/kit?noun=arrow", link)
    retired = _pages(demo, "/kit?noun=retired", link)
    assert sorted(one for part in (*parts, *retired) for one in part) == sorted(whole)
    assert all(len(part) <= 4 for part in parts)
    assert "kit-panel" not in demo.get("/kit?noun=arrow").text
    assert demo.get("/kit?noun=boat").status_code == 200 and "kit-panel" in demo.get("/kit?noun=boat").text


def test_a_select_of_very_many_answers_offers_some_and_always_the_one_that_was_picked(
    demo: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    def panels(address: str) -> tuple[list[str], str]:
        page = demo.get(address).text
        select = re.search(r'<select[^>]*name="panel".*?</select>', page, re.DOTALL)
        assert select
        return re.findall(r'<option value="([0-9a-f-]{36})"', select[0]), page

    every, page = panels("/results/shares")
    assert len(every) > 4 and "are listed" not in page
    monkeypatch.setattr(forms, "MOST_OFFERED", 3)
    some, page = panels("/results/shares")
    assert some == every[:3] and f"3 of {len(every)} are listed" in page
    picked, page = panels(f"/results/shares?panel={every[-1]}")
    assert picked == [*every[:3], every[-1]] and f'value="{every[-1]}" selected' in page


def _offered(page: str, name: str) -> list[str]:
    """The values of a select's options, or of a fieldset's ticks."""
    select = re.search(rf'<select[^>]*name="{name}".*?</select>', page, re.DOTALL)
    values = (
        re.findall(r'<option value="([0-9a-f-]{36})"', select[0])
        if select
        else re.findall(rf'name="{name}" value="([0-9a-f-]{{36}})"', page)
    )
    assert values, name
    return values


def test_of_very_much_kit_a_plan_offers_the_newest_and_what_its_trial_names_or_shot_at(
    owner: TestClient, book: Storage, monkeypatch: pytest.MonkeyPatch
) -> None:
    yard = kit.yard(book)
    kit.checked_sound(book, yard.arrow.build)
    others = [(kit.panel(book, f"Q{n}"), kit.arrow(book, f"1{n}", form="leaf")) for n in range(4)]
    page = owner.get(f"/trials/{yard.trial}/plan").text
    assert set(_offered(page, "plan-panel_build")) == {yard.panel.build, *(panel.build for panel, _ in others)}
    assert set(_offered(page, "plan-arrows")) == {yard.arrow.build, *(arrow.build for _, arrow in others)} and "Many arrows" not in page
    for module, name, most in (
        (kit_to_pick, "MOST_OFFERED", 2),
        (arrows_at_the_range, "MOST_ARROWS", 3),
        (arrows_at_the_range, "NEWEST_BUILDS", 1),
    ):
        monkeypatch.setattr(module, name, most)
    page = owner.get(f"/trials/{yard.trial}/plan").text
    assert set(_offered(page, "plan-panel_build")) == {yard.panel.build, others[2][0].build, others[3][0].build}
    assert (
        _offered(page, "plan-arrows") == [others[3][1].build]
        and "Many arrows are in use" in page
        and "are listed, and this trial’s own" in page
    )
    kit.put(book, "trial_uses", {"trial": yard.trial, "noun": "arrow", "record": yard.arrow.arrow})
    kit.put(book, "trial_uses", {"trial": yard.trial, "noun": "panel", "record": others[0][0].panel})
    page = owner.get(f"/trials/{yard.trial}/plan").text
    assert others[0][0].build in _offered(page, "plan-panel_build") and yard.arrow.build in _offered(page, "plan-arrows")


def test_very_much_kit_is_ticked_for_a_trial_from_the_newest_or_by_its_name(
    owner: TestClient, book: Storage, monkeypatch: pytest.MonkeyPatch
) -> None:
    yard = kit.yard(book)
    arrows = [kit.arrow(book, tag, form="leaf") for tag in ("Oak%1", "Ash 2", "Elm 3", "Elm 4")]
    address = f"/trials/{yard.trial}/kit"
    assert "Find by name" not in owner.get(address).text
    monkeypatch.setattr(kit_to_pick, "MOST_OFFERED", 2)
    page = owner.get(address).text
    assert _offered(page, "arrow") == [arrows[2].arrow, arrows[3].arrow] and "Find by name" in page
    found = owner.get(f"{address}?find=ASH")
    assert _offered(found.text, "arrow") == [arrows[1].arrow] and "Panels: none of that name" in found.text
    assert _offered(owner.get(f"{address}?find=k%25").text, "arrow") == [arrows[0].arrow], "a sign of the database is a sign here"
    operation = re.search(r'name="operation" value="([^"]+)"', found.text)
    assert operation is not None
    assert owner.post(address, data={"operation": operation[1], "arrow": [arrows[1].arrow]}).status_code == 303
    page = owner.get(address).text
    assert _offered(page, "arrow") == [arrows[1].arrow, arrows[2].arrow, arrows[3].arrow], "what is ticked always stands there"
    assert f'value="{arrows[1].arrow}" checked' in page
    assert owner.post(address, data={"operation": "01a10247-7580-72aa-9b56-000000000001", "arrow": ["none"]}).status_code == 422


def test_speeds_are_typed_for_the_newest_arrows_or_those_found_by_their_tag(
    owner: TestClient, book: Storage, monkeypatch: pytest.MonkeyPatch
) -> None:
    yard = kit.yard(book)
    arrows = [kit.arrow(book, tag, form="leaf") for tag in ("Oak 1", "Ash 2", "Elm 3", "Elm 4")]
    boxes = re.compile(r'name="speeds-([0-9a-f-]{36})"')
    assert len(boxes.findall(owner.get("/combinations/several").text)) == 5
    assert "Find arrows" not in owner.get("/combinations/new").text
    monkeypatch.setattr(kit_to_pick, "MOST_OFFERED", 2)
    newest = [arrows[2].build, arrows[3].build]
    for address, offered in (
        ("/combinations/several", boxes),
        ("/combinations/new", re.compile(r'<option value="([0-9a-f-]{36})">Elm|Ash|Oak')),
    ):
        page = owner.get(address).text
        assert "Find arrows by their tag" in page and [one for one in offered.findall(page) if one] == newest
    page = owner.get("/combinations/several?find=oak").text
    assert boxes.findall(page) == [arrows[0].build]
    assert arrows[0].build in owner.get("/combinations/new?find=oak").text
    operation = re.search(r'name="operation" value="([^"]+)"', page)
    assert operation is not None
    typed = {"operation": operation[1], "bow_build": yard.bow.build, "archer": yard.archer, f"speeds-{arrows[0].build}": "52.4 fast"}
    assert "52.4 fast" in (wrong := owner.post("/combinations/several", data=typed)).text and wrong.status_code == 422
    assert owner.post("/combinations/several", data={**typed, f"speeds-{arrows[0].build}": "52.4 52.6"}).status_code == 303


def test_a_bow_s_arrows_come_a_page_at_a_time(demo: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    bow = re.findall(r'href="(/kit/bow/[0-9a-f-]{36})"', demo.get("/kit").text)[0]
    address = re.findall(r'href="(/bows/[0-9a-f-]{36})"', demo.get(bow).text)[0]
    link = r'<a class="bow__link" href="/combinations/([0-9a-f-]{36})"'
    (whole,) = _pages(demo, address, link)
    assert len(whole) >= 5
    monkeypatch.setattr(bows, "A_PAGE", 2)
    parts = _pages(demo, address, link)
    assert [one for part in parts for one in part] == whole and len(parts) == -(-len(whole) // 2)


def test_of_very_many_arrows_a_bow_s_page_takes_the_newest_of_one_archer_and_says_so(
    demo: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    bow = re.findall(r'href="(/kit/bow/[0-9a-f-]{36})"', demo.get("/kit").text)[0]
    address = re.findall(r'href="(/bows/[0-9a-f-]{36})"', demo.get(bow).text)[0]
    link = r'<a class="bow__link" href="/combinations/([0-9a-f-]{36})"'
    whole = demo.get(address).text
    assert "the newest" not in whole
    for module in (bow_page, bow_speeds):
        monkeypatch.setattr(module, "MOST_ARROWS", 3)
    some = demo.get(address).text
    shown = re.findall(link, some)
    assert 1 < len(shown) <= 3 and set(shown) < set(re.findall(link, whole))
    assert re.search(r"Of \d+ arrows the newest 3 are in the table, the drawing and the fit\.", some)
    others = re.findall(r'href="(/bows/[^"]+\?archer=[^"#]+)', whole)
    assert sorted(others) == sorted(re.findall(r'href="(/bows/[^"]+\?archer=[^"#]+)', some))


def test_incidents_come_a_page_at_a_time_and_are_counted_over_all(
    owner: TestClient, book: Storage, monkeypatch: pytest.MonkeyPatch
) -> None:
    yard = kit.yard(book)
    for what in ("bounce_back", "near_miss", "near_miss"):
        kit.put(book, "incident", {"session": yard.session, "what": what})
    link = r'<li class="row[^"]*">(.*?)</li>'
    (whole,) = _pages(owner, "/incidents", link)
    monkeypatch.setattr(sessions, "INCIDENTS_A_PAGE", 1)
    parts = _pages(owner, "/incidents", link)
    assert len(whole) == 3 and [one for part in parts for one in part] == whole and [len(part) for part in parts] == [1, 1, 1]
    heading = re.search(r"<h1>.*?</h1>", owner.get("/incidents").text)
    assert heading is not None and heading[0] in owner.get("/incidents?page=2").text


def test_forms_of_a_day_offer_of_very_much_kit_the_trial_s_own_and_the_newest(
    owner: TestClient, book: Storage, monkeypatch: pytest.MonkeyPatch
) -> None:
    yard = kit.yard(book)
    shot = kit.read_shot(book, yard)
    others = [(kit.panel(book, f"Q{n}"), kit.arrow(book, f"1{n}", form="leaf")) for n in range(4)]
    rebuilt = kit.new_arrow_build(book, others[0][1])
    kit.trial(book)
    forms = {
        f"/sessions/{yard.session}/setups": ("panel_build", {yard.panel.build}, {panel.build for panel, _ in others}),
        f"/sessions/{yard.session}/setups/{yard.setup}": ("panel_build", {yard.panel.build}, {panel.build for panel, _ in others}),
        f"/shots/{shot}/correct": ("arrow_build", {yard.arrow.build}, {rebuilt.build, *(arrow.build for _, arrow in others)}),
        f"/sessions/{yard.session}/type-in": ("s1-arrow_build", {yard.arrow.build}, {rebuilt.build, *(arrow.build for _, arrow in others)}),
    }
    small = {address: owner.get(address).text for address in forms}
    for address, (name, own, of_others) in forms.items():
        assert set(_offered(small[address], name)) == own | of_others, address
        assert "Any other is ticked" not in small[address]
    elsewhere = [kit.setup(book, kit.session(book, kit.trial(book)), panel.build) for panel, _ in others]
    ends = re.compile(r'<option value="new:([0-9a-f-]{36})"')
    correct = f"/shots/{shot}/correct"
    assert set(ends.findall(owner.get(correct).text)) == {yard.setup, *elsewhere}
    monkeypatch.setattr(end_facts, "MOST_SETUPS", 1)
    monkeypatch.setattr(ends_to_pick, "MOST_SETUPS", 1)
    page = owner.get(correct).text
    assert set(ends.findall(page)) == {yard.setup, elsewhere[-1]} and "Of other open trials the newest" in page
    for module, constant, most in (
        (kit_to_pick, "MOST_OFFERED", 1),
        (arrows_at_the_range, "MOST_ARROWS", 3),
        (arrows_at_the_range, "NEWEST_BUILDS", 1),
    ):
        monkeypatch.setattr(module, constant, most)
    for address, (name, own, of_others) in forms.items():
        page = owner.get(address).text
        offered = set(_offered(page, name))
        assert own < offered and len(offered & of_others) < len(of_others) and "Any other is ticked in the trial’s planned kit" in page, (
            address
        )
    assert len(_offered(owner.get("/trials/new").text, "follows")) == 1
    assert "open that trial and tap “Start a follow-up trial”" in owner.get("/trials/new").text
    kept = owner.get(f"/trials/new?follows={yard.trial}").text
    assert yard.trial in _offered(kept, "follows")
