"""A day of a trial: its cautions before any shot, its set-ups, incidents and the order of its ends."""

import re

from proofyard.records.trial import CAUTIONS, CautionTick, Incident, Setup
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.pages.test_trial_page import all_of, filled, operation


def test_a_session_begins_with_today_and_opens_when_all_five_are_ticked(archer: TestClient, book: Storage) -> None:
    trial = kit.trial(book)
    page = archer.get(f"/trials/{trial}/sessions/new").text
    assert re.search(r'type="date" value="20\d\d-\d\d-\d\d"', page)
    sent = filled(page, f"/trials/{trial}/sessions/new") | {
        "day": "2026-10-24",
        "place": "Orrisholt",
        "officer": "Wren",
        "temperature": "52 °F",
    }
    there = archer.post(f"/trials/{trial}/sessions/new", data=sent).headers["location"]
    page = archer.get(there).text
    assert "24 October 2026, Orrisholt" in page and "52 °F (11.1\u00a0°C)" in page
    assert "Not open: 0 of 5 cautions ticked" in page and "local law come first" in page
    some = list(CAUTIONS)[:2]
    archer.post(f"{there}/cautions", data={"operation": operation(page, f"{there}/cautions"), "caution": some})
    page = archer.get(there).text
    assert page.count("Ticked by Wren") == 2 and "Not open: 2 of 5" in page
    sent_twice = {"operation": operation(page, f"{there}/cautions"), "caution": list(CAUTIONS)}
    for _ in range(2):
        assert archer.post(f"{there}/cautions", data=sent_twice).status_code == 303
    page = archer.get(there).text
    assert "all ticked, this session is open" in page and page.count("Ticked by Wren") == 5
    assert len(all_of(book, CautionTick)) == 5


def test_no_tick_no_shot(archer: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    day = kit.session(book, yard.trial, ticked=False)
    there = kit.shooting_end(book, kit.setup(book, day, yard.panel.build))
    page = archer.get(f"/sessions/{day}").text
    archer.post(
        f"/sessions/{day}/cautions", data={"operation": operation(page, f"/sessions/{day}/cautions"), "caution": list(CAUTIONS)[:4]}
    )
    body = {
        "label": "A1",
        "shooting_end": there,
        "bow_build": yard.bow.build,
        "arrow_build": yard.arrow.build,
        "archer": yard.archer,
        "purpose": "counted",
    }
    refused = kit.ask(book, "shot", body)
    assert not refused.taken and "cautions" in refused.problems[0].sentence
    page = archer.get(f"/sessions/{day}").text
    archer.post(
        f"/sessions/{day}/cautions", data={"operation": operation(page, f"/sessions/{day}/cautions"), "caution": list(CAUTIONS)[4:]}
    )
    assert kit.ask(book, "shot", body).taken


def test_a_set_up_is_added_and_corrected(archer: TestClient, book: Storage) -> None:
    panel, stand = kit.panel(book, "P3"), kit.stand(book, "S1")
    day = kit.session(book, kit.trial(book))
    action = f"/sessions/{day}/setups"
    page = archer.get(action).text
    assert "P3, one-piece plate" in page
    wrong = archer.post(action, data=filled(page, action) | {"panel_build": panel.build, "stand": stand, "distance": "1,234"})
    assert wrong.status_code == 422 and 'value="1,234"' in wrong.text
    sent = filled(wrong.text, action) | {"panel_build": panel.build, "stand": stand, "distance": "15 yd", "angle": "0"}
    assert archer.post(action, data=sent).status_code == 303
    (made,) = all_of(book, Setup)
    assert "P3 at 13.72\u00a0m, on S1" in archer.get(f"/sessions/{day}").text
    action = f"/sessions/{day}/setups/{made.id}"
    sent = filled(archer.get(action).text, action) | {"panel_build": panel.build, "stand": stand, "distance": "14 m", "angle": "0"}
    assert archer.post(action, data=sent).status_code == 303
    assert "P3 at 14\u00a0m" in archer.get(f"/sessions/{day}").text


def test_an_incident_is_written_down_with_its_shot(archer: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    loosed = kit.read_shot(book, yard)
    action = f"/sessions/{yard.session}/incidents"
    page = archer.get(f"/sessions/{yard.session}").text
    sent = filled(page, action) | {"incident-shot": loosed, "incident-distance": "6", "incident-done": "Line moved back."}
    refused = archer.post(action, data=sent)
    assert refused.status_code == 422 and "Line moved back." in refused.text and 'id="incident-what-error"' in refused.text
    sent |= filled(refused.text, action) | {"incident-what": "bounce_back"}
    for _ in range(2):
        assert archer.post(action, data=sent).status_code == 303
    assert len(all_of(book, Incident)) == 1
    assert "Bounced back, 6\u00a0m" in archer.get(f"/sessions/{yard.session}").text
    assert "Bounced back, 6\u00a0m" in archer.get(f"/shots/{loosed}").text


def test_the_order_of_a_shooting_end_is_asked_and_never_guessed(archer: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    one, two = kit.shot(book, yard, label="A1"), kit.shot(book, yard, label="B1")
    action = f"/sessions/{yard.session}/order"
    page = archer.get(f"/sessions/{yard.session}").text
    assert "Set the order of these hits" in page and "Not read yet: A1, B1." in page
    twice = archer.post(action, data=filled(page, action) | {f"order-{one}": "1", f"order-{two}": "1"})
    assert twice.status_code == 422 and "1 stands twice" in twice.text
    assert archer.post(action, data=filled(twice.text, action) | {f"order-{one}": "2", f"order-{two}": "1"}).status_code == 303
    assert (kit.row(book, "shot", one).position, kit.row(book, "shot", two).position) == (2, 1)
    page = archer.get(f"/sessions/{yard.session}").text
    assert "Say in which order" not in page
    shooting_end = page.split("<h3")[1]
    assert shooting_end.index(">B1<") < shooting_end.index(">A1<")
