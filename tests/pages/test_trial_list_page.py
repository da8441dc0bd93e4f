"""The list of trials, narrowed by its address: day, state, armour, head; each answer with how many trials have it."""

from __future__ import annotations

import html
import re
from collections.abc import Callable

from proofyard.access.seats import COOKIE, hash_of, named, new_token
from proofyard.records import devices
from proofyard.records.listing import all_of
from proofyard.records.shot_facts import ShotFact, shot_facts
from proofyard.records.trial import Trial
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.conftest import HOST, PORT, House


def listed(client: TestClient, query: str = "") -> set[str]:
    return set(re.findall(r'href="/trials/([0-9a-f-]{36})"', client.get(f"/trials{query}").text))


def offered(page: str, name: str) -> dict[str, str]:
    """Value -> words of one filter's answers, without the one that stands for all."""
    control = re.search(rf'<select[^>]*name="{name}".*?</select>', page, re.DOTALL)
    assert control is not None
    found = re.findall(r'<option value="([^"]*)"[^>]*>([^<]*)<', control[0])
    return {value: html.unescape(words) for value, words in found if value}


ValueOf = Callable[[ShotFact], str | None]


def test_each_filter_keeps_the_trials_that_a_person_would_pick_by_hand_and_its_answers_are_counted(demo_house: House) -> None:
    looks = demo_house.client("viewer")
    with demo_house.storage.read() as session:
        facts, states = shot_facts(session), {one.id: one.state for one in all_of(session, Trial)}
    of: dict[str, ValueOf] = {
        "day": lambda f: f.day,
        "armour": lambda f: f.construction,
        "head": lambda f: f.form,
        "state": lambda f: states[f.trial_id],
    }
    page = looks.get("/trials").text
    assert listed(looks) == set(states)
    for name, value_of in of.items():
        answers = offered(page, name)
        assert answers.keys() == {value_of(fact) for fact in facts} - {None}
        for value, words in answers.items():
            expected = {fact.trial_id for fact in facts if value_of(fact) == value}
            assert listed(looks, f"?{name}={value}") == expected, (name, value)
            assert words.endswith(f"({len(expected)})"), words
    assert any(len(listed(looks, f"?{name}={value}")) < 3 for name in of for value in offered(page, name))


def test_filters_add_up_and_an_answer_that_is_none_is_said_beside_its_control(demo_house: House) -> None:
    looks = demo_house.client("viewer")
    both = listed(looks, "?state=open") & listed(looks, "?armour=mail")
    got = looks.get("/trials?state=open&armour=mail").text
    assert listed(looks, "?state=open&armour=mail") == both and f"{len(both)} of 3 trials" in got
    wrong = looks.get("/trials?head=spoon")
    assert wrong.status_code == 422 and "is not one of the choices" in html.unescape(wrong.text)
    assert "No trial matches all of that" in looks.get("/trials?state=closed&armour=mail").text


def test_a_viewer_of_one_trial_learns_of_no_other_trials_days_or_armour(demo_house: House) -> None:
    with demo_house.storage.read() as session:
        mine = min(one.id for one in all_of(session, Trial))
    guest, token = demo_house.client(), new_token()
    with demo_house.storage.write() as session:
        devices.add_device(session, call_name="Rook", role="viewer", session_hash=hash_of(token), trial_id=mine)
    guest.cookies.set(named(COOKIE, f"{HOST}:{PORT}"), token)
    assert listed(guest) == {mine}
    asked = guest.get("/trials?armour=mail&day=2026-10-17")
    assert asked.status_code == 422 and "17 October" not in asked.text
    assert offered(asked.text, "armour").keys() == {"plate"} and offered(asked.text, "state").keys() == {"closed"}


def test_a_long_list_is_cut_into_pages_and_its_filters_count_all_of_it(house: House, book: Storage) -> None:
    kit.put_all(book, [("trial", {"question": f"Question {n}?", "state": "open" if n % 2 else "closed"}) for n in range(120)])
    looks = house.client("viewer")
    pages = [listed(looks, f"?page={n}") for n in (1, 2, 3)]
    assert [len(one) for one in pages] == [50, 50, 20] and len(set.union(*pages)) == 120
    first = looks.get("/trials").text
    assert "120 trials, 1 to 50 of 120" in first and offered(first, "state") == {"closed": "Closed (60)", "open": "Open (60)"}
    assert (
        len(listed(looks, "?state=open&page=2")) == 10 and "60 of 120 trials, 51 to 60 of 60" in looks.get("/trials?state=open&page=2").text
    )
