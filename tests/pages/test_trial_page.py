"""A trial from question to closed: its forms, its prediction, its counts, and what still stands in the way of opening it."""

import re
from typing import Any

import pytest
from proofyard.records import listing
from proofyard.records.devices import now_ms
from proofyard.records.trial import Trial
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.statements_for_tests import statements

HOSTILE = '<script>alert("1")</script>'


def operation(page: str, action: str) -> str:
    """The operation id of the form that posts there."""
    form = page.split(f'action="{action}"', 1)[1]
    return re.search(r'name="operation" value="([^"]+)"', form).group(1)


def filled(page: str, action: str) -> dict[str, str]:
    """The hidden fields of the form that posts there."""
    form = page.split(f'action="{action}"', 1)[1].split("</form>")[0]
    return dict(re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', form))


def all_of(book: Storage, table: type) -> list[Any]:
    with book.read() as session:
        return list(listing.all_of(session, table))


def test_an_empty_book_says_how_to_begin(archer: TestClient) -> None:
    page = archer.get("/trials")
    assert page.status_code == 200
    assert "No trial yet" in page.text and 'href="/trials/new"' in page.text


def test_a_question_is_written_down_as_planned_and_led_to(archer: TestClient, book: Storage) -> None:
    form = archer.get("/trials/new").text
    sent = {
        "operation": operation(form, "/trials/new"),
        "question": "Needle or short bodkin through 1.6 mm?",
        "near_opened": "60",
        "enough": "8 in each",
    }
    answer = archer.post("/trials/new", data=sent)
    assert answer.status_code == 303
    (made,) = all_of(book, Trial)
    assert answer.headers["location"] == f"/trials/{made.id}"
    assert (made.state, made.near_opened_m) == ("planned", pytest.approx(0.06))
    page = archer.get(answer.headers["location"]).text
    assert "<h1>Needle or short bodkin through 1.6 mm?</h1>" in page and "Planned. No shots yet." in page
    assert "60\u00a0mm from any hit that opened" in page


def test_the_same_form_sent_twice_makes_one_trial(archer: TestClient, book: Storage) -> None:
    sent = {"operation": operation(archer.get("/trials/new").text, "/trials/new"), "question": "Twice?"}
    first, second = (archer.post("/trials/new", data=sent) for _ in range(2))
    assert first.status_code == second.status_code == 303
    assert first.headers["location"] == second.headers["location"]
    assert len(all_of(book, Trial)) == 1


def test_what_was_typed_stays_when_something_is_wrong(archer: TestClient, book: Storage) -> None:
    form = archer.get("/trials/new").text
    sent = {"operation": operation(form, "/trials/new"), "question": "Kept?", "near_opened": "16 ga", "prediction": "The needle\r\nat 80 J"}
    page = archer.post("/trials/new", data=sent)
    assert page.status_code == 422
    assert 'value="Kept?"' in page.text and 'value="16 ga"' in page.text and "at 80 J</textarea>" in page.text
    assert 'id="near_opened-error"' in page.text and 'href="#near_opened"' in page.text
    assert re.search(r"<title>\d+ fields? to check, ", page.text)
    assert all_of(book, Trial) == []


def test_the_form_says_its_defaults_and_what_standards_use_as_borrowed(archer: TestClient) -> None:
    page = archer.get("/trials/new").text
    assert "Mail:</b> 40\u00a0mm from any hit that opened" in page
    # NIJ 0101.06, 7.6.1 and 7.6.2, as quoted word for word in notes on it: 51 mm shot to shot, 51 or 76 mm to the edge.
    assert "borrowed" in page and "51 mm from an earlier hit, 51 or 76 mm from the edge" in page
    assert "7.6.1 and 7.6.2" in page and "from memory" not in page


def test_a_closed_trial_is_reopened_only_with_a_reason(archer: TestClient, book: Storage) -> None:
    trial = kit.trial(book)
    page = archer.get(f"/trials/{trial}").text
    archer.post(f"/trials/{trial}/state", data=filled(page, f"/trials/{trial}/state") | {"reason": "enough shots"})
    page = archer.get(f"/trials/{trial}").text
    assert "closed and takes no shots" in page and "enough shots" in page
    sent = filled(page, f"/trials/{trial}/state")
    refused = archer.post(f"/trials/{trial}/state", data=sent | {"reason": " "})
    assert refused.status_code == 422 and "Enter why it is reopened" in refused.text and 'id="reason-error"' in refused.text
    assert kit.row(book, "trial", trial).state == "closed"
    assert archer.post(f"/trials/{trial}/state", data=sent | {"reason": "reground heads"}).status_code == 303
    page = archer.get(f"/trials/{trial}").text
    assert "Reopened by Wren" in page and "“reground heads”" in page


def test_a_correction_sends_only_what_was_changed_so_that_another_change_stands_beside_it(archer: TestClient, book: Storage) -> None:
    trial = kit.trial(book, "Old question?", varied="bow")
    page = archer.get(f"/trials/{trial}/correct").text
    sent = filled(page, f"/trials/{trial}/correct") | {"question": "New question?", "varied": "bow", "prediction": ""}
    kit.put(book, "trial", {"varied": "bow, head"}, record_id=trial, base_rev=1)
    assert archer.post(f"/trials/{trial}/correct", data=sent).status_code == 303
    row = kit.row(book, "trial", trial)
    assert (row.question, row.varied) == ("New question?", "bow, head")
    assert "Two said" not in archer.get("/notebook").text


def test_the_prediction_says_who_when_and_whether_it_was_changed(archer: TestClient, book: Storage) -> None:
    trial = kit.trial(book, prediction="At 80 J the needle is through.")
    page = archer.get(f"/trials/{trial}").text
    assert "Not changed since." in page and "the first shot" not in page
    kit.put(book, "trial", {"prediction": "At 90 J."}, record_id=trial, base_rev=1)
    assert "Changed by Wren" in archer.get(f"/trials/{trial}").text


def test_counts_come_head_by_head_and_before_any_percentage(archer: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    for place, outcome_level in enumerate(("4", "2", "5")):
        kit.reading(book, kit.shot(book, yard), outcome_low=outcome_level, x=f"{-80 + 80 * place} mm", y="0 mm")
    kit.reading(book, kit.shot(book, yard), hit="missed")
    kit.shot(book, yard)
    page = archer.get(f"/trials/{yard.trial}").text
    assert "5 shots, 3 counted as fair hits" in page
    assert "long needle bodkin in 2 of 3" in page
    assert "3 of 5 shots were read as hits on the panel" in archer.get("/trials").text
    assert "Not counted: 1 unread, 1 missed." in page
    lead = page.split("<h1>")[1].split("</div>")[0]
    assert "%" not in lead


def test_a_trials_page_shows_each_panel_small_with_its_counts_and_leads_to_its_hits_in_order(archer: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    first = kit.reading(book, kit.shot(book, yard, label="A1"), outcome_low="3", x="-80 mm", y="10 mm")
    kit.reading(book, kit.shot(book, yard, label="A2"), outcome_low="2", x="-75 mm", y="10 mm")
    page = archer.get(f"/trials/{yard.trial}").text
    assert page.count('class="panel__drawing"') == 1 and "2 hits, 0 of 1 through" in page
    assert f'href="/panels/{yard.panel.build}"' in page
    panel = archer.get(f"/panels/{yard.panel.build}").text
    assert "not fair, 5\u00a0mm from A1" in panel and f'href="/shots/{first}"' in panel
    assert f'href="/results?trial={yard.trial}"' in page and f'href="/download?trial={yard.trial}"' in page


def test_a_part_stands_in_its_page_word_for_word(viewer: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    kit.read_shot(book, yard, x="0", y="0")
    for page, part in (
        (f"/trials/{yard.trial}", f"/trials/{yard.trial}"),
        ("/trials", "/trials"),
        (f"/sessions/{yard.session}", f"/sessions/{yard.session}/shots"),
        (f"/sessions/{yard.session}", f"/sessions/{yard.session}/cautions"),
        (f"/panels/{yard.panel.build}", f"/panels/{yard.panel.build}"),
        (f"/arrows/{yard.arrow.arrow}", f"/arrows/{yard.arrow.arrow}"),
    ):
        whole = viewer.get(page).text
        alone = viewer.get(part, headers={"HX-Request": "true"}).text
        assert "<html" not in alone and alone.strip() in whole, page


def test_a_viewer_is_offered_nothing_to_change(viewer: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    loosed = kit.read_shot(book, yard)
    for path in ("/trials", f"/trials/{yard.trial}", f"/sessions/{yard.session}", f"/shots/{loosed}", "/notebook"):
        main = viewer.get(path).text.split("<main")[1].split("</main>")[0]
        assert "<button" not in main and "/correct" not in main and "/new" not in main, path
    for path in (f"/trials/{yard.trial}/state", f"/sessions/{yard.session}/cautions", f"/shots/{loosed}/cross-out"):
        assert viewer.post(path, data={}).status_code == 403


def test_hostile_words_are_shown_as_words(archer: TestClient, book: Storage) -> None:
    trial = kit.trial(book, HOSTILE, prediction=HOSTILE, varied=HOSTILE)
    day = kit.session(book, trial, place=HOSTILE, officer=HOSTILE)
    paths = (
        "/trials",
        f"/trials/{trial}",
        f"/trials/{trial}/correct",
        f"/sessions/{day}",
        f"/sessions/{day}/correct",
        "/notebook",
        f"/trials/{trial}/sessions/new",
    )
    for path in paths:
        page = archer.get(path).text
        assert HOSTILE not in page and "&lt;script&gt;" in page, path


def test_statements_stay_within_twelve_whatever_the_shots(archer: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    loosed = [kit.read_shot(book, yard, x=f"{n * 10 - 100} mm", y="0") for n in range(20)]
    other = kit.yard(book, question="Another?")
    for n in range(3):
        kit.read_shot(book, other, x=f"{n * 10} mm", y="0")
    kit.put(book, "shot", {"archer": other.archer}, record_id=loosed[3], base_rev=1)
    archer.get("/trials")
    paths = (
        "/trials",
        f"/trials/{yard.trial}",
        f"/trials/{yard.trial}/correct",
        f"/sessions/{yard.session}",
        f"/sessions/{yard.session}/setups",
        f"/shots/{loosed[3]}",
        f"/panels/{yard.panel.build}",
        f"/arrows/{yard.arrow.arrow}",
        "/notebook",
        f"/shots/{loosed[3]}/correct",
    )
    for path in paths:
        with statements(book) as said:
            assert archer.get(path).status_code == 200
        assert len(said) <= 12, (path, len(said), said)


def test_what_there_is_not_is_said_in_words(archer: TestClient) -> None:
    for path in (
        "/trials/none",
        "/sessions/none",
        "/shots/none",
        "/panels/none",
        "/arrows/none",
        "/trials/none/correct",
        "/shots/none/correct",
    ):
        page = archer.get(path)
        assert page.status_code == 404 and "Traceback" not in page.text, path


def test_a_prediction_after_the_first_shot_says_so(archer: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    kit.put(book, "trial", {"prediction": "Before any."}, record_id=yard.trial, base_rev=1)
    kit.shot(book, yard, loosed_at=now_ms() + 1000)
    assert "before the first shot" in archer.get(f"/trials/{yard.trial}").text
    late = kit.yard(book, question="Late?")
    kit.read_shot(book, late)
    kit.put(book, "trial", {"prediction": "I knew it."}, record_id=late.trial, base_rev=1)
    assert "after the first shot" in archer.get(f"/trials/{late.trial}").text


def test_what_a_planned_trial_still_needs_stands_beside_the_key_that_opens_it(archer: TestClient, book: Storage) -> None:
    trial = kit.put(book, "trial", {"question": "Does it hold?", "state": "planned"})
    page = archer.get(f"/trials/{trial}").text
    needs = page[page.index('id="trial-next"') :].partition("</div>")[0]
    assert "Open this trial" in needs and "Choose its kit" in needs and "Add a session" in needs and "Say what you expect" in needs
    kit.put(book, "prediction", {"trial": trial, "archer": kit.archer(book, "Wren"), "says": "It holds."})
    page = archer.get(f"/trials/{trial}").text
    assert "Say what you expect" not in page[page.index('id="trial-next"') :].partition("</div>")[0]
