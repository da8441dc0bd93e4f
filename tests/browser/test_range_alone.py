"""The laptop is away, the page is reloaded, the finger slipped: nothing is lost, nothing twice, nothing rubbed out."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests import kit_for_tests as kit
from tests.browser.conftest import ShootingYard
from tests.browser.range_hands import Hand

Phone = Callable[..., Page]


@pytest.fixture
def wren(shooting_yard: ShootingYard, phone: Phone) -> Hand:
    return Hand(phone("Wren"), shooting_yard.server.address)


@pytest.mark.slow
def test_logging_goes_on_without_the_laptop_and_arrives_once(wren: Hand, shooting_yard: ShootingYard) -> None:
    wren.open().ready()
    labels = [wren.loose()]
    wren.in_the_book()
    shooting_yard.server.stop()
    labels += [wren.loose() for _ in range(2)]
    expect(wren.page.locator("[data-strip]")).to_contain_text("2 on this phone only")
    expect(wren.page.locator("[data-strip]")).to_contain_text("Laptop not reachable, keep logging")
    expect(wren.page.locator("[data-slot=shots] .row").first).to_contain_text("on this phone")
    wren.to_the_butt()
    wren.read("Opened")
    # The address entered again comes out of the phone's own cache, with all that was said.
    wren.open("/range")
    labels.append(wren.loose())
    shooting_yard.server.start()
    wren.tap("Try now")
    wren.in_the_book()
    assert shooting_yard.labels() == sorted(labels)
    assert shooting_yard.fact(labels[0]).outcome_low == 3
    with shooting_yard.book.read() as session:
        from proofyard.records.book import Revision
        from sqlalchemy import func, select

        ops = session.execute(select(func.count(), func.count(Revision.op_id.distinct())).where(Revision.noun == "shot")).one()
    assert tuple(ops) == (4, 4)


def test_a_phone_out_of_reach_says_what_to_do_if_the_laptop_has_a_new_address(wren: Hand, shooting_yard: ShootingYard) -> None:
    wren.open().ready()
    wren.loose()
    wren.in_the_book()
    away = wren.page.locator("[data-slot=away-box]")
    shooting_yard.server.stop()
    wren.loose()
    expect(wren.page.locator("[data-strip]")).to_contain_text("Laptop not reachable, keep logging")
    wren.page.locator("[data-strip] a", has_text="on this phone only").tap()
    expect(away).to_be_visible()
    away.locator("summary").tap()
    expect(away).to_contain_text(f"This phone knows the laptop as {shooting_yard.server.address}.")
    expect(away).to_contain_text("what this phone holds is safe")
    shooting_yard.server.start()
    wren.try_now()
    wren.in_the_book()
    expect(away).to_be_hidden()


def test_a_reply_that_was_lost_makes_no_second_shot(wren: Hand, shooting_yard: ShootingYard) -> None:
    wren.open().ready()
    lost: list[str] = []

    def take_it_and_say_nothing(route: object) -> None:
        if len(lost) < 2:
            route.fetch()  # the book has it; the phone never hears
            lost.append("once")
            route.abort()
        else:
            route.continue_()

    wren.page.route("**/api/ops", take_it_and_say_nothing)
    label = wren.loose()
    wren.in_the_book()
    assert len(lost) == 2 and shooting_yard.labels() == [label]


def test_a_double_tap_on_loosed_can_be_undone(wren: Hand, shooting_yard: ShootingYard) -> None:
    wren.open().ready()
    first, second = wren.loose(), wren.loose()
    wren.undo()
    shooting_yard.comes_to(second, voided=True)
    wren.in_the_book()
    expect(wren.page.locator("h1 [data-slot=label]")).not_to_have_text(second)
    expect(wren.page.locator("[name=arrow_build]:checked")).to_have_value(shooting_yard.arrows["8"].build)
    assert shooting_yard.labels() == [first]
    with shooting_yard.book.read() as session:
        from proofyard.records.notebook import revisions_of

        assert revisions_of(session, "shot", shooting_yard.fact(second).shot_id)[0].reason == "undone at once"


def test_an_undone_reading_comes_back_to_be_mended(wren: Hand, shooting_yard: ShootingYard) -> None:
    wren.open().ready()
    label = wren.loose()
    wren.to_the_butt()
    wren.read("Head through")
    expect(wren.page.locator("[data-slot=lead]")).to_have_text("No shot is unread")
    wren.undo()
    expect(wren.page.locator("h2#reading-title")).to_have_text(label)
    expect(wren.page.locator("[data-to-do=butt]")).to_contain_text("1")
    wren.key(re.compile("^Outcome, judged"), "Opened")
    wren.tap(f"Save {label}")
    shooting_yard.comes_to(label, hit="on_panel", outcome_low=3, outcome_high=3)
    wren.in_the_book()
    assert wren.page.locator("[data-needs-link]").is_hidden(), "our own earlier answer is no second opinion"


def test_a_shot_is_corrected_and_crossed_out_with_a_reason(wren: Hand, shooting_yard: ShootingYard) -> None:
    wren.open().ready()
    label = wren.loose()
    wren.tap_fold(re.compile("^End 1 so far"))
    wren.page.locator("[data-slot=shots] a").first.tap()
    wren.page.get_by_text("Correct this shot, or cross it out").tap()
    form = wren.page.locator("[data-correction]")
    form.get_by_label("Archer", exact=True).select_option(label="Tallow")
    wren.tap("Save the correction")
    expect(form.get_by_text("Enter why, for example").first).to_be_visible()
    form.get_by_label("Why").fill("wrong archer picked")
    wren.tap("Save the correction")
    shooting_yard.comes_to(label, archer="Tallow")
    wren.open(f"/range/butt#shot={shooting_yard.fact(label).shot_id}")
    wren.page.get_by_text("Correct this shot, or cross it out").tap()
    form = wren.page.locator("[data-correction]")
    form.get_by_label("Why").fill("logged twice")
    wren.tap("Cross it out")
    shooting_yard.comes_to(label, voided=True)
    assert shooting_yard.labels() == []


def test_a_half_filled_reading_outlives_a_reload(wren: Hand, shooting_yard: ShootingYard) -> None:
    wren.open().ready()
    label = wren.loose()
    wren.to_the_butt()
    wren.spot()
    wren.key(re.compile("^Outcome, judged"), "Opened")
    wren.more("Depth")
    wren.page.get_by_label("Tip past the rear face").fill("≥ 12")
    where = wren.page.locator("[data-slot=where]").inner_text()
    wren.in_the_book()
    wren.page.wait_for_timeout(500)  # the draft settles 300 ms after the last touch
    wren.page.reload()
    expect(wren.page.locator("[data-slot=where]")).to_have_text(where)
    expect(wren.page.locator("[name=outcome_low]:checked")).to_have_value("3")
    wren.tap(f"Save {label}")
    shooting_yard.comes_to(label, depth_m=0.012, depth_bound="at_least", outcome_low=3)


def test_a_typed_speed_outlives_a_reload(wren: Hand) -> None:
    wren.open().ready()
    wren.page.locator("[name=speed]").fill("52.6")
    wren.page.wait_for_timeout(500)
    wren.page.reload()
    expect(wren.page.locator("[name=speed]")).to_have_value("52.6")


def test_every_odd_loose_is_logged_as_what_it_was(wren: Hand, shooting_yard: ShootingYard) -> None:
    wren.open().ready()
    small = re.compile("Not a normal shot")
    wren.key(small, "Short draw")
    wren.page.locator("[name=speed]").fill("180 fps")
    wren.key(small, "Misread")
    short = wren.loose()
    wren.key(small, "Sighter")
    label = wren.page.locator("h1 [data-slot=label]").inner_text()
    wren.tap("Loosed, a sighter")
    expect(wren.page.locator("[data-undo]")).to_contain_text(label)
    wren.key(small, "Let down")
    wren.tap("Let down")
    expect(wren.page.locator("[data-undo]")).to_contain_text("let down by Wren")
    expect(wren.page.locator("[data-slot=shots] .row")).to_have_count(3)
    wren.in_the_book()
    facts = {one: shooting_yard.fact(one) for one in shooting_yard.labels()}
    assert facts[short].short_draw and facts[label].purpose == "sighter"
    assert sorted(one.purpose for one in facts.values()) == ["counted", "let_down", "sighter"]
    with shooting_yard.book.read() as session:
        from proofyard.records.speed_facts import speeds_of_shots

        assert [(round(one.value_m_s or 0, 2), one.left_out_reason) for one in speeds_of_shots(session)] == [(54.86, "misread")]
    expect(wren.page.locator("[data-to-do=butt]")).to_contain_text("1")


def test_the_bench_clears_what_was_left_open(wren: Hand, shooting_yard: ShootingYard) -> None:
    wren.open().ready()
    label = wren.loose()
    wren.to_the_butt()
    wren.spot()
    wren.key(re.compile("^Outcome, judged"), "Opened")
    wren.more()
    wren.key(re.compile("^or up to$"), "Point through")
    wren.tap(f"Save {label}")
    wren.page.locator(".masthead__link", has_text="Bench").tap()
    expect(wren.page.locator("[data-slot=lead]")).to_contain_text("1 shot still has to be checked from behind.")
    wren.tap("I have read this")
    wren.tap("Flexed and found sound")
    expect(wren.page.locator("[data-slot=arrows-box]")).to_be_hidden()
    wren.tap(f"Turn P3 round, start with {label}")
    wren.key(re.compile("What came through"), "Point through")
    wren.tap(f"Save {label}")
    expect(wren.page.locator("[data-slot=lead]")).to_contain_text("No shot has to be checked from behind.")
    fact = shooting_yard.comes_to(label, outcome_low=4, outcome_high=4, rear_check=False)
    told = kit.row(shooting_yard.book, "shot_reading", fact.shot_id)
    assert told.rear_check == 0, "somebody looked, which is not the same as nobody having asked"


def test_misses_need_no_place_and_spoiled_ones_a_reason(wren: Hand, shooting_yard: ShootingYard) -> None:
    wren.open().ready()
    missed, spoiled = wren.loose(), wren.loose()
    wren.to_the_butt()
    wren.key(re.compile("How it ended"), "Missed")
    expect(wren.page.locator(".outcomes")).to_be_hidden()
    wren.tap(f"Save {missed}")
    expect(wren.page.locator("h2#reading-title")).to_have_text(spoiled)
    wren.key(re.compile("How it ended"), "Spoiled")
    wren.tap(f"Save {spoiled}")
    expect(wren.page.get_by_text("Enter what spoiled it").first).to_be_visible()
    wren.page.locator("[name=why]").fill("hit the frame")
    wren.tap(f"Save {spoiled}")
    shooting_yard.comes_to(missed, hit="missed", outcome_low=None)
    shooting_yard.comes_to(spoiled, hit="spoiled", why="hit the frame")


def test_two_levels_that_are_no_neighbours_are_said_by_their_field_before_they_are_sent(wren: Hand, shooting_yard: ShootingYard) -> None:
    wren.open().ready()
    label = wren.loose()
    wren.to_the_butt()
    wren.spot()
    wren.key(re.compile("^Outcome, judged"), "Marked")
    wren.more()
    wren.key(re.compile("^or up to$"), "Opened")
    wren.tap(f"Save {label}")
    expect(wren.page.get_by_text("Choose two levels next to each other").first).to_be_visible()
    wren.key(re.compile("^or up to$"), "Dented")
    wren.tap(f"Save {label}")
    shooting_yard.comes_to(label, outcome_low=1, outcome_high=2)


def test_a_reading_without_a_outcome_level_says_what_is_missing(wren: Hand) -> None:
    wren.open().ready()
    label = wren.loose()
    wren.to_the_butt()
    wren.tap(f"Save {label}")
    expect(wren.page.get_by_text("Tap where it hit, or choose “Can’t tell”.").first).to_be_visible()
    expect(wren.page.get_by_text("Choose what it did.").first).to_be_visible()
    expect(wren.page.locator("[data-touch]")).to_be_focused()


def test_every_reading_of_the_book_can_be_given(wren: Hand, shooting_yard: ShootingYard) -> None:
    """Each field of a reading has a control, and what is said with it arrives."""
    from proofyard.records.columns import meanings
    from proofyard.records.shot import ShotReading

    wren.open().ready()
    label = wren.loose()
    wren.to_the_butt()
    names = set(meanings(ShotReading)) - {"place_known", "yaw"}  # yaw is read in a film, at a table
    there = set(wren.page.eval_on_selector_all("[data-reading] [name]", "all => all.map((one) => one.name)"))
    assert names <= there, names - there
    wren.spot()
    wren.key(re.compile("^Outcome, judged"), "Opened")
    wren.more("The arrow", "The armour", "How sure", "Fair hit")
    wren.key(re.compile("What the arrow did"), "Bounced back")
    wren.page.get_by_label("Bounced back by").fill("3 m")
    wren.page.locator("label", has_text="Record an incident").tap()
    wren.key(re.compile("^Head$"), "Point curled")
    wren.key(re.compile("^Head$"), "Loose")
    wren.key(re.compile("^Shaft$"), "Cracked")
    wren.page.get_by_label("Damage to the armour").fill("a crack of 12 mm")
    wren.key(re.compile("^How sure$"), "Fairly sure")
    wren.key(re.compile("Fair hit, overruled"), "Not fair")
    wren.page.get_by_label("Overruled because").fill("on the rivet line")
    wren.tap(f"Save {label}")
    shooting_yard.comes_to(label, arrow_did="bounced", bounced_m=3.0, head_fate=("curled", "loose"), shaft_fate=("cracked",))
    shooting_yard.comes_to(label, certainty="fairly", fair_overrule="not_fair", fair_reason="on the rivet line")
    with shooting_yard.book.read() as session:
        from proofyard.records.listing import all_of
        from proofyard.records.trial import Incident

        assert [(one.what, one.distance_m) for one in all_of(session, Incident)] == [("bounce_back", 3.0)]
