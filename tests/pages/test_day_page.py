"""The day sheet: the answer with its uncertainty, what is still to do, what to shoot next; only what was known that day."""

from __future__ import annotations

import re
from typing import Any

import pytest
from proofyard.answers.day.page import read_day_report
from proofyard.pages.day.page import OTHERS
from proofyard.quantities.reason import because
from proofyard.records.trial_days import days_of
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.bench.page_statements import counted
from tests.trials_for_tests import Shot, Two, plain_shots, shoot, yard_of_two


@pytest.fixture
def two(book: Storage) -> Two:
    return yard_of_two(book)


def day_of(book: Storage, trial: str) -> str:
    with book.read() as session:
        return days_of(session, trial_id=trial)[-1].day.id


def still_to_do(page: str) -> str:
    part = page.split('id="day-still-to-do"')[1].split("</section>")[0]
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", part))


def test_the_answer_is_that_of_the_results_with_its_uncertainty(viewer: TestClient, book: Storage, two: Two) -> None:
    trial = shoot(book, two, [Shot(two.wren, "52.0 m/s", outcome_level) for outcome_level in "454344"], question="Does it get behind?")
    page = viewer.get(f"/sessions/{day_of(book, trial)}/day")
    assert page.status_code == 200
    assert "<p>Does it get behind?</p>" in page.text
    assert "the long needle bodkin went through 1.2\u00a0mm one-piece plate in 5 of 6 shots, all on P1." in page.text
    assert (
        "has a 95\u00a0% interval of 41 to 99\u00a0%" in page.text and "This rests on this day’s shots: 6 counted of 6 shots." in page.text
    )


def test_what_the_bench_still_has_to_do_is_each_want_once(viewer: TestClient, book: Storage, two: Two) -> None:
    trial = shoot(book, two)
    day = day_of(book, trial)
    setup = next(one.setup.id for one in _setups(book, trial))
    shooting_end = kit.shooting_end(book, setup, begun_at=kit.BEGAN + 86_400_000 * 11)
    yard = kit.Yard(two.tallow, two.bow, two.arrow, two.panel, two.stand, trial, day, setup, shooting_end)
    later = kit.BEGAN + 86_400_000 * 11
    kit.shot(book, yard, label="A70", loosed_at=later)  # unread, and no speed of Tallow's
    behind = kit.shot(book, yard, label="A71", loosed_at=later + 60_000)
    kit.reading(book, behind, outcome_low="3", outcome_high="4", rear_check="yes", entry="plate")
    said = still_to_do(viewer.get(f"/sessions/{day}/day").text)
    assert "1 Not read yet A70" in said and "1 Check from behind on the bench A71" in said
    assert "1 Arrow to check before it is shot again 7 (A71)" in said
    assert "2 Energy not measured: read speeds of Tallow with Yew 95 A70, A71" in said
    kit.put(book, "arrow_check", {"arrow_build": two.arrow.build, "sound": "not_sound", "at": kit.BEGAN + 86_400_000 * 12})
    said = still_to_do(viewer.get(f"/sessions/{day}/day").text)
    assert "Arrow to check" not in said and "1 Arrow not sound: keep out of the quiver 7 (A71)" in said


def _setups(book: Storage, trial: str) -> list[Any]:
    with book.read() as session:
        return [one for day in days_of(session, trial_id=trial) for one in day.setups]


def test_nothing_still_to_do_is_said(viewer: TestClient, book: Storage, two: Two) -> None:
    trial = shoot(book, two)
    kit.put(book, "arrow_check", {"arrow_build": two.arrow.build, "sound": "sound", "at": kit.BEGAN + 86_400_000 * 12})
    assert (
        "Nothing: all shots are read, and every arrow that was shot is checked." in viewer.get(f"/sessions/{day_of(book, trial)}/day").text
    )


def test_a_day_sheet_knows_nothing_of_later_days(book: Storage, two: Two) -> None:
    trial = shoot(book, two, plain_shots(two.wren, "333333"))
    first = day_of(book, trial)
    later = kit.session(book, trial, day="2026-10-30")
    shooting_end = kit.shooting_end(
        book, kit.setup(book, later, two.thicker.build, distance="14 m", chronograph=two.chronograph, chronograph_at="2 m")
    )
    yard = kit.Yard(two.wren, two.bow, two.arrow, two.thicker, two.stand, trial, later, "", shooting_end)
    kit.reading(book, kit.shot(book, yard), outcome_low="5", entry="plate")
    with book.read() as session:
        day_sheet, last = (
            read_day_report(session, first, reader="metric", others=OTHERS),
            read_day_report(session, later, reader="metric", others=OTHERS),
        )
    assert day_sheet is not None and last is not None
    assert (
        "none of 6" in day_sheet.answer
        and day_sheet.rests_on is not None
        and day_sheet.rests_on.parts["counts"] == day_sheet.rests_on.parts["shots"] == 6
    )
    assert last.rests_on is not None and (last.rests_on.parts["days"], last.rests_on.parts["shots"]) == (2, 7)


def test_the_next_shots_are_those_that_lag_behind_whatever_came_of_them(book: Storage, two: Two) -> None:
    other = kit.arrow(book, "9", form="leaf", masses=("60.0 g",), diameter="10 mm")
    trial = shoot(book, two, enough="6 of each")
    day, setup = day_of(book, trial), _setups(book, trial)[0].setup.id
    for n, outcome_level in enumerate("45"):
        shooting_end = kit.shooting_end(book, setup, begun_at=kit.BEGAN + 86_400_000 * 11 + n)
        loosed = kit.shot(
            book, kit.Yard(two.wren, two.bow, other, two.panel, two.stand, trial, day, setup, shooting_end), shooting_end_id=shooting_end
        )
        kit.shot_speed(book, loosed, "52.0 m/s")
        kit.reading(book, loosed, outcome_low=outcome_level, x=f"{-98 + 65 * n} mm", y="130 mm", place_known="yes", entry="plate")
    with book.read() as session:
        found = read_day_report(session, day, reader="metric", others=OTHERS)
    assert found is not None
    assert [(one.what.parts["who"], one.why) for one in found.next_shots] == [("the leaf", because("day_lagging", shots=2, undecided=0))]
    assert found.next_lead.code == "day_fewest" and found.next_lead.parts["enough"] == "6 of each"


def test_a_closed_trial_leads_to_one_that_follows(archer: TestClient, book: Storage, two: Two) -> None:
    trial = shoot(book, two)
    kit.put(book, "trial", {"state": "closed"}, record_id=trial, base_rev=1)
    page = archer.get(f"/sessions/{day_of(book, trial)}/day").text
    assert "The trial is closed" in page and f'href="/trials/{trial}/follow"' in page


def test_incidents_of_the_day_stand_there_in_words(viewer: TestClient, book: Storage, two: Two) -> None:
    trial = shoot(book, two)
    kit.put(book, "incident", {"session": day_of(book, trial), "what": "bounce_back", "distance": "6 m", "done": "<b>A net was hung.</b>"})
    page = viewer.get(f"/sessions/{day_of(book, trial)}/day").text
    assert "Bounced back, 6\u00a0m" in page and "&lt;b&gt;A net was hung.&lt;/b&gt;" in page


def test_a_day_sheet_without_a_shot(viewer: TestClient, book: Storage) -> None:
    day = kit.session(book, kit.trial(book))
    page = viewer.get(f"/sessions/{day}/day")
    assert page.status_code == 200 and "No shots this day." in page.text and "No shots yet." in page.text
    assert viewer.get("/sessions/none/day").status_code == 404


def test_it_is_linked_from_the_day_and_from_the_trial(viewer: TestClient, book: Storage, two: Two) -> None:
    trial = shoot(book, two)
    link = f'href="/sessions/{day_of(book, trial)}/day"'
    assert link in viewer.get(f"/sessions/{day_of(book, trial)}").text and link in viewer.get(f"/trials/{trial}").text


def test_few_statements_whatever_the_shots(viewer: TestClient, book: Storage, two: Two) -> None:
    trial = shoot(book, two, [Shot(two.wren, "52.0 m/s", "4")] * 12)
    address = f"/sessions/{day_of(book, trial)}/day"
    viewer.get(address)
    with counted(book) as asked:
        viewer.get(address)
    assert len(asked) <= 12, "\n".join(asked)


def test_a_trial_with_a_rule_has_its_next_shot_there(viewer: TestClient, book: Storage, two: Two) -> None:
    trial = shoot(book, two, [Shot(two.wren, "52.0 m/s", "4")], next_shot_rule="up_and_down")
    kit.put(book, "arrow_check", {"arrow_build": two.arrow.build, "sound": "sound", "at": kit.BEGAN + 86_400_000 * 12})
    kit.speeds(book, kit.Combination(two.bow.build, two.arrow.build, two.wren), "52.0", "52.1", "51.9")
    page = viewer.get(f"/sessions/{day_of(book, trial)}/day").text
    part = page.split('id="day-next"')[1].split("</section>")[0]
    assert "By the trial’s rule, at 1.2\u00a0mm one-piece plate: Up-and-down method" in part
    assert "Arrow 7" in part and "Wren" in part


def test_caveats_that_the_tool_found_stand_there(viewer: TestClient, book: Storage, two: Two) -> None:
    trial = shoot(book, two, [Shot(two.wren, "52.0 m/s", outcome_level) for outcome_level in "454344"], next_shot_rule="up_and_down")
    page = viewer.get(f"/sessions/{day_of(book, trial)}/day").text
    assert "<b>Energies chosen by the outcomes</b>" in page.split('id="day-caveats"')[1]
