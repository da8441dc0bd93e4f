"""Text that happens to look like JSON is text: in every note, on the page that corrects it, where two said different things."""

from __future__ import annotations

from collections.abc import Mapping

import pytest
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.pages.whole_forms import Form, forms_on

pytestmark = pytest.mark.slow

LOOKS_LIKE_JSON = ("[1]", "[]", "[3, 4]", '["3", "4"]', "{}", "null", '"x"', "[abc", "[[", "no", "yes")


@pytest.fixture
def shot(book: Storage) -> str:
    return kit.read_shot(book, kit.yard(book))


def the_form(page: str, action: str) -> Form:
    return next(one for one in forms_on(page) if one.action == action)


def said(form: Form) -> dict[str, str | list[str]]:
    """What a form would send; a list where several may be picked."""
    return {
        name: one.picked if len(one.options) > 1 and one.kind == "checkbox" else one.picked[0]
        for name, one in form.controls.items()
        if one.picked
    }


# Where a note stands, the page that corrects it, and a mistake in another of its fields.
NOTED = {
    "a shot": ("shot", "note", "/shots/{}/correct", "note", {"position": "first"}),
    "a reading": ("shot_reading", "note", "/shots/{}/correct", "reading-note", {"reading-depth": "deep"}),
    "a panel": ("panel", "departures", "/kit/panel/{}/correct", "departures", {"mass": "heavy"}),
    "a trial": ("trial", "held_fixed", "/trials/{}/correct", "held_fixed", {"near_opened": "wide"}),
    "a session": ("session", "weather", "/sessions/{}/correct", "weather", {"temperature": "warm"}),
}


@pytest.mark.parametrize("text", LOOKS_LIKE_JSON)
@pytest.mark.parametrize("where", NOTED)
def test_a_note_can_be_corrected_whatever_it_looks_like(archer: TestClient, book: Storage, shot: str, where: str, text: str) -> None:
    noun, field, address, name, mistake = NOTED[where]
    record = shot if noun in ("shot", "shot_reading") else next(iter(ids(book, noun)))
    kit.put(book, noun, {field: text}, record_id=record, base_rev=kit.row(book, noun, record).rev)
    action = address.format(record)
    page = archer.get(action)
    assert page.status_code == 200
    form = said(the_form(page.text, action))
    assert form[name] == text
    answer = archer.post(action, data=form | mistake)
    assert answer.status_code == 422
    assert said(the_form(answer.text, action))[name] == text
    assert archer.post(action, data=form | {name: text + " "}).status_code == 303
    assert getattr(kit.row(book, noun, record), field) == text


def ids(book: Storage, noun: str) -> list[str]:
    from proofyard.records import listing
    from proofyard.records.nouns import TABLES

    with book.read() as session:
        return [one.id for one in listing.all_of(session, TABLES[noun])]


def clash(book: Storage, shot: str, stands: Mapping[str, object], offered: Mapping[str, object]) -> None:
    """Both said of the reading by people who had not seen what the other said."""
    rev = kit.row(book, "shot_reading", shot).rev
    kit.put(book, "shot_reading", stands, record_id=shot, base_rev=rev)
    assert kit.ask(book, "shot_reading", offered, record_id=shot, base_rev=rev).clashes


@pytest.mark.parametrize("text", LOOKS_LIKE_JSON)
def test_of_two_notes_the_one_that_is_picked_stands_as_it_was_typed(archer: TestClient, book: Storage, shot: str, text: str) -> None:
    clash(book, shot, {"note": "bent over"}, {"note": text})
    (told,) = archer.get("/api/range").json()["clashes"]
    assert (told["stands"]["say"], told["offered"]["say"]) == ("bent over", text)
    page = archer.get(f"/shots/{shot}").text
    assert f"Take {text}".replace('"', "&#34;") in page
    action = next(one.action for one in forms_on(page) if "/clashes/" in one.action)
    assert archer.post(action, data={**said(the_form(page, action)), "choice": "offered"}).status_code == 303
    assert kit.row(book, "shot_reading", shot).note == text


def test_what_is_several_travels_as_a_list_and_is_said_in_words(archer: TestClient, book: Storage, shot: str) -> None:
    clash(book, shot, {"head_fate": ["curled"]}, {"head_fate": []})
    (told,) = archer.get("/api/range").json()["clashes"]
    assert (told["stands"]["say"], told["offered"]["say"]) == (["curled"], [])
    page = archer.get(f"/shots/{shot}").text
    assert "Take left empty" in page
    action = next(one.action for one in forms_on(page) if "/clashes/" in one.action)
    assert archer.post(action, data={**said(the_form(page, action)), "choice": "offered"}).status_code == 303
    assert kit.row(book, "shot_reading", shot).head_fate in (None, "[]")


def test_the_notebook_says_a_note_of_two_brackets(archer: TestClient, book: Storage, shot: str) -> None:
    kit.put(book, "shot", {"note": "[]"}, record_id=shot, base_rev=kit.row(book, "shot", shot).rev)
    assert "[]" in archer.get("/notebook").text


def test_what_was_changed_from_the_trial_before_is_told_in_words(archer: TestClient, book: Storage) -> None:
    before = kit.trial(book, varied="[1]", spoils=["3", "4"])
    action = f"/trials/{before}/follow"
    form = said(the_form(archer.get(action).text, action))
    assert form["varied"] == "[1]"
    answer = archer.post(action, data=form | {"varied": "[2]", "spoils": ["4"], "question": ""})
    assert answer.status_code == 422
    assert "Changed. It was: [1]" in answer.text
    assert "Changed. It was: Opened (3), Point through (4)" in answer.text


def test_an_outcome_that_is_none_is_a_mistake_beside_its_field(archer: TestClient, book: Storage) -> None:
    before = kit.trial(book)
    answer = archer.post(f"/trials/{before}/follow", data={"spoils": "x"})
    assert answer.status_code == 422
    assert "“x” is not one of" in answer.text and "The question is needed." in answer.text
