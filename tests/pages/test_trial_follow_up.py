"""A trial that follows another: what is taken over, what must be said again, what is marked as changed, and what is refused."""

from __future__ import annotations

import re
from typing import Any

import pytest
from proofyard.records import listing
from proofyard.records.trial import CautionTick, Setup, Trial, TrialUses
from proofyard.records.trial import Session as Day
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.bench.page_statements import counted
from tests.trials_for_tests import Two, shoot, yard_of_two


@pytest.fixture
def two(book: Storage) -> Two:
    return yard_of_two(book)


def all_of(book: Storage, table: type) -> list[Any]:
    with book.read() as session:
        return list(listing.all_of(session, table))


def sent(page: str) -> dict[str, str | list[str]]:
    """What the form sends if nobody touches it."""
    form = page.split("<form", 1)[1] if "</form>" in page else page
    form = next(part for part in page.split("<form")[1:] if 'name="question"' in part).split("</form>")[0]
    found: dict[str, str | list[str]] = dict(
        re.findall(r'<input[^>]*?type="(?:hidden|text|date)"[^>]*? name="([^"]+)"[^>]*? value="([^"]*)"', form)
    )
    found |= dict(re.findall(r'<input[^>]*? name="([^"]+)" type="(?:text|date)"[^>]*? value="([^"]*)"', form))
    found |= dict(re.findall(r'<textarea[^>]*? name="([^"]+)"[^>]*>([^<]*)</textarea>', form))
    for name, options in re.findall(r'<select[^>]*? name="([^"]+)"[^>]*>(.*?)</select>', form, re.DOTALL):
        picked = re.findall(r'value="([^"]*)" selected', options)
        found[name] = picked[0] if picked else ""
    for kind, name, value in re.findall(r'<input[^>]*? type="(checkbox|radio)" name="([^"]+)" value="([^"]*)" checked', form):
        if kind == "radio":
            found[name] = value
        else:
            held = found.setdefault(name, [])
            assert isinstance(held, list)
            held.append(value)
    return found


def test_everything_is_taken_over_but_what_must_be_said_again(archer: TestClient, book: Storage, two: Two) -> None:
    before = shoot(
        book,
        two,
        question="Behind 1.2 mm?",
        held_fixed="14 m",
        enough="6 fair",
        near_opened="60 mm",
        spoils=["3", "4", "5"],
        prediction="Wren: all of them.",
        next_shot_rule="up_and_down",
        start_energy="80 J",
        stop_rule="shots",
        stop_shots="20",
    )
    form = sent(archer.get(f"/trials/{before}/follow").text)
    assert (form["question"], form["held_fixed"], form["enough"], form["through"]) == ("Behind 1.2 mm?", "14 m", "6 fair", "4")
    assert form["near_opened"] == "60 mm" and form["spoils"] == ["3", "4", "5"]
    assert form["prediction"] == "" and form["day-day"] == "" and form["day-place"] == "Orrisholt, lime-kiln yard"
    answer = archer.post(f"/trials/{before}/follow", data=form)
    assert answer.status_code == 303
    made = next(trial for trial in all_of(book, Trial) if trial.id != before)
    assert answer.headers["location"] == f"/trials/{made.id}"
    assert (made.follows_id, made.state, made.question, made.through, made.prediction) == (before, "planned", "Behind 1.2 mm?", "4", None)
    assert made.near_opened_m == pytest.approx(0.06)
    assert (made.next_shot_rule, made.start_energy_j, made.stop_rule, made.stop_shots) == ("up_and_down", pytest.approx(80), "shots", 20)
    used = {(one.noun, one.record_id) for one in all_of(book, TrialUses)}
    assert used == {("panel", two.panel.panel), ("stand", two.stand), ("bow", two.bow.bow), ("arrow", two.arrow.arrow)}
    assert [day.trial_id for day in all_of(book, Day)] == [before]  # no day was typed, so there is none


def test_a_day_brings_the_set_ups_at_the_newest_builds_and_no_caution(archer: TestClient, book: Storage, two: Two) -> None:
    before = shoot(book, two)
    newest = kit.put(book, "panel_build", {"panel": two.panel.panel, "number": "2", "work": "beaten_flat"})
    page = archer.get(f"/trials/{before}/follow").text
    assert "P1, build 2 at 14\u00a0m, on Frame (was P1; beaten flat since)" in page
    ticks = len(all_of(book, CautionTick))
    answer = archer.post(f"/trials/{before}/follow", data=sent(page) | {"day-day": "2026-11-07", "day-officer": "Marrow"})
    assert answer.status_code == 303
    made = answer.headers["location"].removeprefix("/trials/")
    (day,) = (one for one in all_of(book, Day) if one.trial_id == made)
    assert (day.day, day.officer) == ("2026-11-07", "Marrow")
    (setup,) = (one for one in all_of(book, Setup) if one.session_id == day.id)
    assert (setup.panel_build_id, setup.stand_id, setup.chronograph_id) == (newest, two.stand, two.chronograph)
    assert setup.distance_m == pytest.approx(14) and setup.chronograph_at_m == pytest.approx(2)
    assert len(all_of(book, CautionTick)) == ticks
    assert "not open yet: 0 of 5 cautions ticked" in archer.get(f"/trials/{made}").text


def test_alike_set_ups_are_offered_once_and_retired_kit_not_at_all(archer: TestClient, book: Storage, two: Two) -> None:
    before = shoot(book, two)
    day = next(one.id for one in all_of(book, Day))
    kit.setup(book, day, two.panel.build, stand_id=two.stand, distance="14 m", angle="0", chronograph=two.chronograph, chronograph_at="2 m")
    kit.setup(book, day, two.thicker.build, stand_id=two.stand)
    kit.put(book, "bow", {"retired": "yes"}, record_id=two.bow.bow, base_rev=1)
    kit.put(book, "panel", {"retired": "yes"}, record_id=two.thicker.panel, base_rev=1)
    page = archer.get(f"/trials/{before}/follow").text
    form = sent(page)
    assert len(form["setups"]) == 1 and f"bow:{two.bow.bow}" not in form["kit"]
    assert "Yew 95, retired" in page and page.count("P1 at 14") == 1
    refused = archer.post(f"/trials/{before}/follow", data=form | {"kit": [f"bow:{two.bow.bow}"]})
    assert refused.status_code == 422 and "has been retired since" in refused.text and len(all_of(book, Trial)) == 1


def test_what_is_wrong_is_said_by_its_field_and_what_was_typed_stays(archer: TestClient, book: Storage, two: Two) -> None:
    before = shoot(book, two)
    form = sent(archer.get(f"/trials/{before}/follow").text)
    answer = archer.post(
        f"/trials/{before}/follow", data=form | {"question": "", "near_dented": "wide", "day-day": "next week", "day-place": "Elsewhere"}
    )
    assert answer.status_code == 422 and len(all_of(book, Trial)) == 1
    for control in ("question", "near_dented", "day-day"):
        assert f'href="#{control}"' in answer.text and f'id="{control}-error"' in answer.text
    assert 'value="wide"' in answer.text and 'value="next week"' in answer.text and 'value="Elsewhere"' in answer.text
    # What was changed says what it was, on the form too.
    assert "Changed. It was: Does the needle get behind it?" in answer.text


def test_the_same_form_sent_twice_makes_one_trial(archer: TestClient, book: Storage, two: Two) -> None:
    before = shoot(book, two)
    form = sent(archer.get(f"/trials/{before}/follow").text) | {"day-day": "2026-11-07"}
    first, second = (archer.post(f"/trials/{before}/follow", data=form) for _ in range(2))
    assert first.headers["location"] == second.headers["location"]
    assert len(all_of(book, Trial)) == 2 and len(all_of(book, Day)) == 2


def test_both_trials_say_what_changed(archer: TestClient, book: Storage, two: Two) -> None:
    before = shoot(book, two)
    form = sent(archer.get(f"/trials/{before}/follow").text)
    form |= {
        "question": "And with a cold bow?",
        "near_opened": "80 mm",
        "kit": [one for one in form["kit"] if not one.startswith("arrow:")],
    }
    made = archer.post(f"/trials/{before}/follow", data=form).headers["location"].removeprefix("/trials/")
    for page in (archer.get(f"/trials/{made}").text, archer.get(f"/trials/{before}").text):
        part = page.split('id="trial-before"')[1]
        assert '<span class="tools-unseen">was </span>Does the needle get behind it?' in part
        assert '<span class="tools-unseen">now </span>And with a cold bow?' in part
        assert "the default of the construction" in part and "80\u00a0mm" in part
    assert f"/trials/compare?trial={before}&amp;trial={made}" in archer.get(f"/trials/{made}").text
    assert "Planned kit" in archer.get(f"/trials/{made}").text


def test_nothing_is_marked_where_nothing_changed(archer: TestClient, book: Storage, two: Two) -> None:
    before = shoot(book, two)
    made = archer.post(f"/trials/{before}/follow", data=sent(archer.get(f"/trials/{before}/follow").text)).headers["location"]
    assert "Changed from the trial before" not in archer.get(made).text


def test_it_takes_an_archer_and_a_trial_that_is_there(archer: TestClient, viewer: TestClient, book: Storage, two: Two) -> None:
    before = shoot(book, two)
    assert viewer.get(f"/trials/{before}/follow").status_code == 403
    assert archer.get("/trials/none/follow").status_code == 404


def test_few_statements_whatever_the_kit(archer: TestClient, book: Storage, two: Two) -> None:
    before = shoot(book, two)
    archer.get(f"/trials/{before}/follow")
    for page in (f"/trials/{before}/follow", f"/trials/{before}"):
        with counted(book) as asked:
            assert archer.get(page).status_code == 200
        assert len(asked) <= 12, "\n".join(asked)


def test_what_a_trial_is_to_use_can_be_changed_and_changed_back(archer: TestClient, book: Storage, two: Two) -> None:
    trial = kit.trial(book)
    other = kit.bow(book, "Elm 80")

    def keep(**ticks: list[str]) -> int:
        operation = re.search(r'name="operation" value="([^"]+)"', archer.get(f"/trials/{trial}/kit").text)
        assert operation is not None
        return archer.post(f"/trials/{trial}/kit", data={"operation": operation.group(1), **ticks}).status_code

    def uses() -> set[str]:
        return {one.record_id for one in all_of(book, TrialUses) if one.trial_id == trial}

    assert keep(bow=[two.bow.bow], arrow=[two.arrow.arrow]) == 303 and uses() == {two.bow.bow, two.arrow.arrow}
    assert "Yew 95" in archer.get(f"/trials/{trial}").text.split("Planned kit")[1]
    assert keep(bow=[other.bow]) == 303 and uses() == {other.bow}
    assert keep(bow=[two.bow.bow, other.bow]) == 303 and uses() == {two.bow.bow, other.bow}
    page = archer.get(f"/trials/{trial}/kit").text
    assert f'value="{two.bow.bow}" checked' in page and f'value="{two.arrow.arrow}" checked' not in page
    assert keep(bow=["none"]) == 422 and uses() == {two.bow.bow, other.bow}
    assert keep() == 303 and uses() == set()
