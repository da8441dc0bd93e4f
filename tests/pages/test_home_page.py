"""The first page: five steps ticked as they are done, then the newest day, what is still to do, and each trial in a line."""

from __future__ import annotations

import re

import pytest
from proofyard.answers.claims.page import read_claim
from proofyard.answers.home.begun import read_begun, work_of
from proofyard.answers.home.first_steps import read_first_steps
from proofyard.records.range_facts import current_arrows
from proofyard.records.shot_facts import shot_facts
from proofyard.records.still_to_do import arrows_shot_since_a_check, open_shots
from proofyard.records.trial import STATES
from proofyard.shots.loosed import load_loosed
from proofyard.shots.soundness import soundness
from proofyard.storage import Storage
from proofyard.views.counted import standing
from proofyard.views.settings import ViewSettings, through_bounds_of, through_of
from proofyard.wording.reasons.said import said
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.conftest import House


def words_of(page: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", page))


def steps_done(book: Storage) -> tuple[str, ...]:
    with book.read() as session:
        return tuple(step.key for step in read_first_steps(session).steps if step.done)


def test_an_empty_book_shows_five_steps_and_one_main_key(owner: TestClient, book: Storage) -> None:
    page = owner.get("/").text
    titles = re.findall(r"<h2>([^<]+)", page)
    assert titles == ["Set up the kit", "Plan a trial", "Connect the phones", "Tick the cautions and name the set-up", "Go to the line"]
    assert re.findall(r'button--main" href="([^"]+)"', page) == ["/kit/start"]
    assert "eight minutes" in page and "Next: set up the kit." in page


def test_steps_are_ticked_as_they_are_done(book: Storage, house: House) -> None:
    assert "kit" not in steps_done(book) and "trial" not in steps_done(book)
    yard = kit.yard(book)
    assert steps_done(book) == ("kit", "trial", "phones", "day")
    page = house.client("archer").get("/").text
    assert re.findall(r'button--main" href="([^"]+)"', page) == ["/range"]
    assert "Four are done. Next: go to the line." in page and page.count(" (done)") == 4
    with book.read() as session:
        day = next(step for step in read_first_steps(session).steps if step.key == "day")
    assert day.href == f"/sessions/{yard.session}" and day.found == "5 cautions ticked, 1 set-up"


def test_a_day_whose_cautions_are_not_ticked_says_what_it_lacks(book: Storage) -> None:
    yard = kit.yard(book)
    with book.read() as session:
        from proofyard.records.listing import belonging
        from proofyard.records.trial import CautionTick

        tick = belonging(session, CautionTick, "session_id", yard.session)[0]
    kit.void(book, "caution_tick", tick.id)
    with book.read() as session:
        found = read_first_steps(session)
    day = next(step for step in found.steps if step.key == "day")
    assert not day.done and day.found == "4 of 5 cautions ticked" and found.next == "day"


def test_a_viewer_is_offered_no_step_to_take(viewer: TestClient, book: Storage) -> None:
    assert "home__act" not in viewer.get("/").text


def test_the_first_shot_turns_the_page_over(archer: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    shot = kit.shot(book, yard)
    page = archer.get("/").text
    assert "Five steps" not in page and "Hit to record at the butt" in page
    part = archer.get("/", headers={"HX-Request": "true"}).text
    assert part.lstrip().startswith("<div") and 'id="home-begun"' in part
    kit.reading(book, shot, outcome_low="4")
    assert "at the butt" not in archer.get("/").text
    with book.read() as session:
        assert shot_facts(session)[0].read


def test_the_strips_hold_every_counted_shot_once_and_say_the_share_of_the_trial_page(demo_book: Storage) -> None:
    with demo_book.read() as session:
        begun = read_begun(session, states=STATES, judge=read_claim)
        loosed = load_loosed(session)
    assert begun is not None and len(begun.trials) == 3
    for trial in begun.trials:
        mine = [s for s in loosed.shots if s.fact.trial_id == trial.trial_id and standing(s, ViewSettings()) in (None, "not_measured")]
        assert sum(piece.shots for strip in trial.strips for piece in (*strip.held, *strip.through)) == len(mine)
        through = through_of(loosed.trials[trial.trial_id])
        assert sum(piece.shots for strip in trial.strips for piece in strip.through) == sum(
            through_bounds_of(shot.fact, through)[0] for shot in mine
        )


def test_the_line_of_a_trial_names_panel_type_and_bow_and_pools_neither(demo_house: House) -> None:
    page = words_of(demo_house.client("viewer").get("/").text)
    assert (
        "1.2 mm one-piece plate, Corbel 145: long needle bodkin 1 of 1 through, short bodkin 2 of 2, leaf 2 of 2, barbed broadhead 0 of 2."
        in page
    )
    assert "Trial 3 · Open · 17 October 2026 · 1.6 mm one-piece plate · Ashen 82, Bracken 112 and Corbel 145" in page
    assert "too few shots a head to give a percentage" in page


def test_the_line_of_a_trial_that_claims_something_is_the_answer_that_its_own_page_has(demo_house: House, demo_book: Storage) -> None:
    with demo_book.read() as session:
        loosed = load_loosed(session)
        begun = read_begun(session, states=STATES, judge=read_claim)
    assert begun is not None and len(loosed.claims) == 1
    (trial_id,) = loosed.claims
    owner = demo_house.client("owner")
    seen = {one.trial_id: one for one in begun.trials}
    assert [one.trial_id for one in begun.trials if one.claimed] == [trial_id] and len(seen) == 3
    answer = said(seen[trial_id].answer[0].words)
    assert answer.startswith("No, not against the long needle bodkin") and len(seen[trial_id].answer) == 1
    for path in ("/", f"/trials/{trial_id}", f"/results?trial={trial_id}"):
        assert " ".join(answer.split()) in words_of(owner.get(path).text), path


def test_what_is_still_to_do_counts_all_days_and_leads_an_older_one_to_its_own_page(demo_book: Storage) -> None:
    with demo_book.read() as session:
        facts = shot_facts(session)
    work = {one.sort: one for one in work_of(facts, ["2", "3"], day="2026-10-17")}
    assert (work["unread"].count, work["unread"].which, work["unread"].href) == (3, "A82, B68, B69 on K2", "/range/butt")
    assert work["rear_check"].count == sum(fact.rear_check for fact in facts)
    assert work["arrows"].which == "2 and 3"
    older = work_of([fact for fact in facts if fact.day == "2026-10-10"], [], day="2026-10-17")
    assert [one.href.startswith("/sessions/") for one in older] == [True]


@pytest.mark.parametrize("role", ["owner", "archer", "viewer"])
def test_all_links_of_the_first_page_open(demo_house: House, role: str) -> None:
    client = demo_house.client(role)
    links = set(re.findall(r'href="(/[^"#]*)"', client.get("/").text.partition("<main")[2].partition("</main")[0]))
    assert len(links) >= 5
    for link in links:
        assert client.get(link).status_code == 200, link


def test_the_first_page_reads_the_newest_trials_alone_and_says_how_many_there_are(owner: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    kit.shot(book, yard)
    for n in range(13):
        kit.trial(book, f"Question {n}?")
    page = owner.get("/").text
    assert page.count('class="home__title"') == 12 and "All 14 trials" in page
    assert "Question 12?" in page and "Question 0?" not in page and "Does the long needle" not in page
    assert "Hit to record at the butt" in page, "what is open is open whatever its trial"


def test_arrows_to_check_are_those_that_every_other_page_says_want_a_check(demo_book: Storage) -> None:
    with demo_book.read() as session:
        every = [one.build for one in current_arrows(session) if soundness(one) == "to_check"]
        asked = [one.build for one in arrows_shot_since_a_check(session) if soundness(one) == "to_check"]
        whole = [fact for fact in shot_facts(session) if fact.unread or (fact.rear_check and fact.hit is not None)]
        assert asked == every and [one.label for one in open_shots(session)] == [fact.label for fact in whole]
