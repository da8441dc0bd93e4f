"""The evening sheet: the answer with its doubt, what is owed, what to shoot next; only what was known that evening."""

from __future__ import annotations

import re

import pytest
from starlette.testclient import TestClient

from server.findings.evening import read_evening
from server.records.trial_days import days_of
from server.storage import Storage
from tests import kit_for_tests as kit
from tests.bench.page_statements import counted
from tests.trials_for_tests import Shot, Two, plain_shots, shoot, yard_of_two


@pytest.fixture
def two(book: Storage) -> Two:
    return yard_of_two(book)


def day_of(book: Storage, trial: str) -> str:
    with book.read() as session:
        return days_of(session, trial_id=trial)[-1].day.id


def owed(page: str) -> str:
    part = page.split('id="evening-owed"')[1].split("</section>")[0]
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", part))


def test_the_answer_is_that_of_the_results_with_its_doubt(viewer: TestClient, book: Storage, two: Two) -> None:
    trial = shoot(book, two, [Shot(two.wren, "52.0 m/s", rung) for rung in "454344"], question="Does it get behind?")
    page = viewer.get(f"/sessions/{day_of(book, trial)}/evening")
    assert page.status_code == 200
    assert "<h1>Does it get behind?</h1>" in page.text
    assert "the long needle stood behind 1.2\u00a0mm one-piece plate in 5 of 6 shots, all on P1." in page.text
    assert "may lie anywhere from 41 to 99" in page.text and "That rests on this day’s shots: 6 counted of 6 loosed." in page.text


def test_what_the_bench_owes_is_each_want_once(viewer: TestClient, book: Storage, two: Two) -> None:
    trial = shoot(book, two)
    day = day_of(book, trial)
    setup = next(one.setup.id for one in _setups(book, trial))
    walk = kit.walk(book, setup, begun_at=kit.BEGAN + 86_400_000 * 11)
    yard = kit.Yard(two.tallow, two.bow, two.arrow, two.panel, two.stand, trial, day, setup, walk)
    later = kit.BEGAN + 86_400_000 * 11
    kit.shot(book, yard, label="A70", loosed_at=later)  # unread, and no speed of Tallow's
    behind = kit.shot(book, yard, label="A71", loosed_at=later + 60_000)
    kit.reading(book, behind, outcome_low="3", outcome_high="4", look_behind="yes", way_in="plate")
    said = owed(viewer.get(f"/sessions/{day}/evening").text)
    assert "1 Not read yet A70" in said and "1 Look behind on the bench A71" in said
    assert "1 Arrow to check before it flies again 7 (A71)" in said
    assert "2 Energy not measured: speeds to read of Tallow with Yew 95 A70, A71" in said
    kit.put(book, "arrow_check", {"arrow_build": two.arrow.build, "sound": "not_sound", "at": kit.BEGAN + 86_400_000 * 12})
    said = owed(viewer.get(f"/sessions/{day}/evening").text)
    assert "to check" not in said and "Arrow not sound: out of the quiver" in said


def _setups(book: Storage, trial: str) -> list:
    with book.read() as session:
        return [one for day in days_of(session, trial_id=trial) for one in day.setups]


def test_nothing_owed_is_said(viewer: TestClient, book: Storage, two: Two) -> None:
    trial = shoot(book, two)
    kit.put(book, "arrow_check", {"arrow_build": two.arrow.build, "sound": "sound", "at": kit.BEGAN + 86_400_000 * 12})
    assert "Nothing: all is read, every arrow that was loosed is checked." in viewer.get(f"/sessions/{day_of(book, trial)}/evening").text


def test_an_evening_knows_nothing_of_later_days(book: Storage, two: Two) -> None:
    trial = shoot(book, two, plain_shots(two.wren, "333333"))
    first = day_of(book, trial)
    later = kit.session(book, trial, day="2026-10-30")
    walk = kit.walk(book, kit.setup(book, later, two.thicker.build, distance="14 m", chronograph=two.chronograph, chronograph_at="2 m"))
    yard = kit.Yard(two.wren, two.bow, two.arrow, two.thicker, two.stand, trial, later, "", walk)
    kit.reading(book, kit.shot(book, yard), outcome_low="5", way_in="plate")
    with book.read() as session:
        evening, last = read_evening(session, first, reader="metric"), read_evening(session, later, reader="metric")
    assert evening is not None and last is not None
    assert "none of 6" in evening.answer and "6 counted of 6 loosed" in evening.rests_on
    assert "2 days" in last.rests_on and "of 7 loosed" in last.rests_on


def test_the_next_shots_are_those_that_lag_behind_whatever_came_of_them(book: Storage, two: Two) -> None:
    other = kit.arrow(book, "9", form="leaf", masses=("60.0 g",), diameter="10 mm")
    trial = shoot(book, two, enough="6 of each")
    day, setup = day_of(book, trial), _setups(book, trial)[0].setup.id
    for n, rung in enumerate("45"):
        walk = kit.walk(book, setup, begun_at=kit.BEGAN + 86_400_000 * 11 + n)
        loosed = kit.shot(book, kit.Yard(two.wren, two.bow, other, two.panel, two.stand, trial, day, setup, walk), walk_id=walk)
        kit.shot_speed(book, loosed, "52.0 m/s")
        kit.reading(book, loosed, outcome_low=rung, x=f"{-98 + 65 * n} mm", y="130 mm", place_known="yes", way_in="plate")
    with book.read() as session:
        found = read_evening(session, day, reader="metric")
    assert found is not None
    assert [(one.words.split(" at ")[0], one.why) for one in found.next_shots] == [("The leaf", "2 counted so far")]
    assert "You wanted: 6 of each." in found.next_lead


def test_a_closed_trial_leads_to_one_that_follows(archer: TestClient, book: Storage, two: Two) -> None:
    trial = shoot(book, two)
    kit.put(book, "trial", {"state": "closed"}, record_id=trial, base_rev=1)
    page = archer.get(f"/sessions/{day_of(book, trial)}/evening").text
    assert "The trial is closed" in page and f'href="/trials/{trial}/follow"' in page


def test_incidents_of_the_day_stand_there_in_words(viewer: TestClient, book: Storage, two: Two) -> None:
    trial = shoot(book, two)
    kit.put(book, "incident", {"session": day_of(book, trial), "what": "bounce_back", "distance": "6 m", "done": "<b>A net was hung.</b>"})
    page = viewer.get(f"/sessions/{day_of(book, trial)}/evening").text
    assert "Bounced back, 6\u00a0m" in page and "&lt;b&gt;A net was hung.&lt;/b&gt;" in page


def test_an_evening_without_a_shot(viewer: TestClient, book: Storage) -> None:
    day = kit.session(book, kit.trial(book))
    page = viewer.get(f"/sessions/{day}/evening")
    assert page.status_code == 200 and "No shots this day." in page.text and "No shots here yet" in page.text
    assert viewer.get("/sessions/none/evening").status_code == 404


def test_it_is_linked_from_the_day_and_from_the_trial(viewer: TestClient, book: Storage, two: Two) -> None:
    trial = shoot(book, two)
    link = f'href="/sessions/{day_of(book, trial)}/evening"'
    assert link in viewer.get(f"/sessions/{day_of(book, trial)}").text and link in viewer.get(f"/trials/{trial}").text


def test_few_statements_whatever_the_shots(viewer: TestClient, book: Storage, two: Two) -> None:
    trial = shoot(book, two, [Shot(two.wren, "52.0 m/s", "4")] * 12)
    address = f"/sessions/{day_of(book, trial)}/evening"
    viewer.get(address)
    with counted() as asked:
        viewer.get(address)
    assert len([one for one in asked if not one.startswith(("BEGIN", "PRAGMA"))]) <= 12


def test_a_trial_with_a_rule_has_its_next_shot_there(viewer: TestClient, book: Storage, two: Two) -> None:
    trial = shoot(book, two, [Shot(two.wren, "52.0 m/s", "4")], next_shot_rule="up_and_down")
    kit.put(book, "arrow_check", {"arrow_build": two.arrow.build, "sound": "sound", "at": kit.BEGAN + 86_400_000 * 12})
    kit.speeds(book, kit.Pairing(two.bow.build, two.arrow.build, two.wren), "52.0", "52.1", "51.9")
    page = viewer.get(f"/sessions/{day_of(book, trial)}/evening").text
    part = page.split('id="evening-next"')[1].split("</section>")[0]
    assert "By the trial’s rule, at 1.2\u00a0mm one-piece plate: Up and down" in part
    assert "Arrow 7" in part and "Wren" in part


def test_caveats_that_the_tool_found_stand_there(viewer: TestClient, book: Storage, two: Two) -> None:
    trial = shoot(book, two, [Shot(two.wren, "52.0 m/s", rung) for rung in "454344"], next_shot_rule="up_and_down")
    page = viewer.get(f"/sessions/{day_of(book, trial)}/evening").text
    assert "Energies chosen by the outcomes." in page.split('id="evening-caveats"')[1]
