"""A prediction was made beforehand if no shot had been loosed yet, whenever the shots were typed in."""

from datetime import datetime, timedelta

import pytest
from proofyard.records.devices import now_ms
from proofyard.records.listing import all_of
from proofyard.records.plan_facts import predictions_of
from proofyard.records.trial import Trial
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit

HOUR = 3_600_000
BOTH = ("/trials/{}", "/trials/{}/plan")


def expected(book: Storage, yard: kit.Yard) -> None:
    kit.put(book, "trial", {"prediction": "Half of them."}, record_id=yard.trial, base_rev=kit.row(book, "trial", yard.trial).rev)
    kit.put(book, "prediction", {"trial": yard.trial, "archer": yard.archer, "says": "Half of them."})


def yard_of_day(book: Storage, day: str) -> kit.Yard:
    yard = kit.yard(book)
    kit.put(book, "session", {"day": day}, record_id=yard.session, base_rev=1)
    return yard


def day(ago: int) -> str:
    return (datetime.now() - timedelta(days=ago)).date().isoformat()


def test_a_prediction_typed_after_the_day_but_before_the_paper_log_was_not_made_beforehand(
    viewer: TestClient, archer: TestClient, book: Storage
) -> None:
    yard = yard_of_day(book, day(1))
    expected(book, yard)
    kit.shot(book, yard, loosed_at=None)  # on paper: no time, only its day
    assert "after the first shot" in viewer.get(f"/trials/{yard.trial}").text
    for page in BOTH:
        text = archer.get(page.format(yard.trial)).text
        assert "before the first shot" not in text and "after 1 shot" in text


def test_on_the_very_day_of_a_paper_log_nobody_can_say(archer: TestClient, book: Storage) -> None:
    yard = yard_of_day(book, day(0))
    expected(book, yard)
    kit.shot(book, yard, loosed_at=None)
    for page in BOTH:
        text = archer.get(page.format(yard.trial)).text
        assert "before the first shot" not in text and "when it was loosed is not recorded" in text


@pytest.mark.parametrize(("loosed", "before"), [(-HOUR, False), (HOUR, True)])
def test_a_phones_shot_counts_by_when_it_was_loosed_however_late_it_came(
    archer: TestClient, book: Storage, loosed: int, before: bool
) -> None:
    yard = yard_of_day(book, day(0))
    expected(book, yard)
    kit.shot(book, yard, loosed_at=now_ms() + loosed)
    for page in BOTH:
        text = archer.get(page.format(yard.trial)).text
        assert ("before the first shot" in text) is before


def test_what_the_book_had_already_came_before_whatever_a_phones_clock_says(archer: TestClient, book: Storage) -> None:
    yard = yard_of_day(book, day(0))
    kit.shot(book, yard, loosed_at=now_ms() + 24 * HOUR)
    expected(book, yard)
    for page in BOTH:
        assert "before the first shot" not in archer.get(page.format(yard.trial)).text


def test_a_let_down_is_no_shot_here_either(archer: TestClient, book: Storage) -> None:
    yard = yard_of_day(book, day(0))
    kit.shot(book, yard, purpose="let_down", loosed_at=now_ms() - HOUR)
    expected(book, yard)
    kit.shot(book, yard, loosed_at=now_ms() + HOUR)
    for page in BOTH:
        assert "before the first shot" in archer.get(page.format(yard.trial)).text


def test_the_demos_predictions_were_made_before_its_invented_days(demo_book: Storage) -> None:
    with demo_book.read() as session:
        said = [one for trial in all_of(session, Trial) for one in predictions_of(session, trial.id)]
        assert said and all(one.shots_before == one.unclear == 0 for one in said)
        assert all(datetime.fromtimestamp(one.said_at / 1000).date().isoformat() < "2026-10-17" for one in said)


def test_what_was_expected_in_figures_stands_beside_what_was_found(archer: TestClient, book: Storage) -> None:
    """Four of four through: 47 % or more by mid-P, so 10 % was too few; no energy was measured, so there is no 50 % energy."""
    yard = yard_of_day(book, day(0))
    body = {"trial": yard.trial, "archer": yard.archer, "says": "Hardly any.", "share": "10 %", "fifty_percent_energy": "90 J"}
    kit.put(book, "prediction", body)
    path = f"/trials/{yard.trial}"
    assert "expected</b> 10" not in archer.get(path).text, "nothing was shot"
    for _ in range(4):
        shot = kit.shot(book, yard, loosed_at=now_ms() + HOUR)
        kit.reading(book, shot, outcome_low="4", entry="plate", fair_overrule="fair", fair_reason="laid out for this test")
    said = archer.get(path).text.replace("\xa0", " ")
    assert "10 % through. Found: long needle bodkin 4 of 4 (47 to 100 %: more than expected)." in said
    assert "a 50 % energy of 90 J. These shots give no 50 % energy yet." in said
