"""At the butt the outcome stands under the picture, and where it went in is proposed; a sighter is asked about; the bench asks three
things; a shot goes to another panel by correction."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect
from proofyard.records.shot_facts import shot_facts

from tests import kit_for_tests as kit
from tests.browser.conftest import ShootingYard
from tests.browser.every_page import violations
from tests.browser.range_hands import Hand
from tests.marks_for_tests import fair_marks

pytestmark = pytest.mark.slow

Phone = Callable[..., Page]


@pytest.fixture
def wren(shooting_yard: ShootingYard, phone: Phone) -> Hand:
    return Hand(phone("Wren"), shooting_yard.server.address).open().ready()


def box_of(hand: Hand, selector: str) -> dict[str, float]:
    box = hand.page.locator(selector).first.bounding_box()
    assert box is not None, selector
    return dict(box)


def fair(yard: ShootingYard, label: str) -> str:
    with yard.book.read() as session:
        facts = shot_facts(session)
        return fair_marks(session, facts)[next(one.shot_id for one in facts if one.label == label)].answer


# The butt


def test_the_outcome_stands_straight_under_the_drawing_5_at_the_top_and_a_reading_is_three_taps(
    wren: Hand, shooting_yard: ShootingYard
) -> None:
    label = wren.loose()
    wren.to_the_butt()
    taps = wren.taps
    wren.spot(0.62, 0.4)
    figure, outcomes = box_of(wren, "[data-slot=figure]"), box_of(wren, ".outcomes")
    assert 0 <= outcomes["y"] - figure["y"] - figure["height"] <= 12, "nothing stands between"
    keys = [box_of(wren, f"label:has([name=outcome_low][value='{level}'])")["y"] for level in (5, 4, 3, 2, 1, 0)]
    face = box_of(wren, ".outcomes__face")["y"]
    assert keys == sorted(keys) and keys[1] < face < keys[2], "as in the charts"
    line = wren.page.locator("[data-slot=entry-box]")
    expect(line.locator("summary")).to_have_text(re.compile(r"Where it went in: (Plate|Ridge)\s+from the spot"))
    expect(line.locator("[name=entry]").first).to_be_hidden()
    wren.key(re.compile("^Outcome, judged"), "Dented")
    wren.tap(f"Save {label}")
    assert wren.taps - taps == 3
    assert shooting_yard.comes_to(label, outcome_low=2, outcome_high=2).entry in ("plate", "ridge")


def test_where_it_went_in_is_picked_by_hand_where_the_proposal_is_wrong(wren: Hand, shooting_yard: ShootingYard) -> None:
    label = wren.loose()
    wren.to_the_butt()
    wren.spot(0.62, 0.4)
    wren.tap_fold(re.compile("^Where it went in"))
    wren.key(re.compile("^Where it went in"), "Rolled edge")
    expect(wren.page.locator("[data-slot=entry-box] summary")).to_have_text(re.compile(r"^Where it went in: Rolled edge\s*$"))
    wren.key(re.compile("^Outcome, judged"), "Dented")
    wren.tap(f"Save {label}")
    shooting_yard.comes_to(label, entry="rolled_edge")


def test_left_and_down_need_no_minus_that_a_keypad_lacks(wren: Hand, shooting_yard: ShootingYard) -> None:
    label = wren.loose()
    wren.to_the_butt()
    wren.tap("Adjust")
    wren.page.get_by_label("Right of the middle").fill("52")
    wren.page.get_by_label("Above the middle").fill("31")
    wren.page.get_by_role("button", name="Other side").first.tap()
    expect(wren.page.locator("[data-slot=where]")).to_have_text("52 mm left, 31 mm up")
    assert violations(wren.page) == ()
    wren.key(re.compile("^Outcome, judged"), "Dented")
    wren.tap(f"Save {label}")
    assert shooting_yard.comes_to(label, outcome_low=2).x_m == pytest.approx(-0.052)
    pages = wren.page.evaluate("[...document.querySelectorAll('template')].map((one) => one.innerHTML).join(' ')")
    assert "≥" not in pages, "no field asks for what its keypad has not"


def test_the_name_of_a_spot_stands_clear_of_the_hit_on_it_and_of_the_words_beside_that(wren: Hand, shooting_yard: ShootingYard) -> None:
    """A hit right on spot 1, of two possible outcomes: two tiles, and what is written beside them keeps off both."""
    label, _ = wren.loose(), wren.loose()
    wren.to_the_butt()
    spot = wren.page.locator(".panel__aim")
    expect(spot.locator("text")).to_have_text("1")
    inside = spot.evaluate("""(one) => { const [ring, name] = [...one.children].map((part) => part.getBoundingClientRect())
      return Math.hypot(ring.x + ring.width / 2 - name.x - name.width / 2, ring.y + ring.height / 2 - name.y - name.height / 2) < 4 }""")
    assert inside, "with no hit on it the name stands in its ring"
    ring = box_of(wren, ".panel__aim circle")
    wren.page.touchscreen.tap(ring["x"] + ring["width"] / 2, ring["y"] + ring["height"] / 2)
    wren.key(re.compile("^Outcome, judged"), "Opened")
    wren.more()
    wren.key(re.compile("^or up to$"), "Point through")
    wren.tap(f"Save {label}")
    expect(wren.page.locator(".panel__tile--open")).to_have_count(2)
    clear = """() => {
      const boxes = (some) => [...document.querySelectorAll(some)].map((one) => one.getBoundingClientRect())
      const shared = (a, b, one, other) => Math.min(a[other], b[other]) - Math.max(a[one], b[one]) > 1
      const over = (a, b) => shared(a, b, 'left', 'right') && shared(a, b, 'top', 'bottom')
      const [tiles, words, names] = ['.panel__tile', '.panel__words', '.panel__spot'].map(boxes)
      return [words.length, names.length, [...words, ...names].some((one) => tiles.some((tile) => over(one, tile))),
        names.some((one) => words.some((other) => over(one, other)))] }"""
    assert wren.page.evaluate(clear) == [1, 1, False, False]
    wren.tap("Closer")
    assert wren.page.evaluate(clear) == [1, 1, False, False]


# Sighters


def test_a_sighter_that_left_no_mark_takes_no_other_hit_out_of_the_count(wren: Hand, shooting_yard: ShootingYard) -> None:
    wren.key("Not a normal shot", "Sighter")
    sighter = wren.page.locator("h1 [data-slot=label]").inner_text()
    wren.tap("Loosed, a sighter")
    expect(wren.page.locator("[data-undo]")).to_contain_text(f"{sighter} by")
    wren.page.wait_for_timeout(600)  # no bow is faster
    hit = wren.loose()
    wren.to_the_butt()
    question = wren.page.locator("[data-slot=sighter]")
    expect(question).to_be_empty()
    wren.read("Dented", 0.62, 0.4)
    wren.in_the_book()
    assert fair(shooting_yard, hit) == "not_known", "nobody knows where the sighter went"
    expect(question).to_contain_text(f"Sighter {sighter}: did it mark the panel?")
    assert violations(wren.page) == ()
    wren.tap("No mark")
    expect(question).to_be_empty()
    shooting_yard.comes_to(sighter, hit="missed", purpose="sighter")
    assert fair(shooting_yard, hit) == "fair"
    wren.undo()
    shooting_yard.comes_to(sighter, hit=None)
    expect(question).to_contain_text("did it mark the panel?")
    wren.tap(f"Yes, read {sighter}")
    expect(wren.page.locator("h2#reading-title")).to_have_text(sighter)


# The bench


def test_a_check_from_behind_asks_three_things_on_one_screen(wren: Hand, shooting_yard: ShootingYard) -> None:
    wren.page.set_viewport_size({"width": 390, "height": 844})
    label = wren.loose()
    wren.to_the_butt()
    wren.spot()
    wren.key(re.compile("^Outcome, judged"), "Opened")
    wren.more()
    wren.key(re.compile("^or up to$"), "Point through")
    wren.tap(f"Save {label}")
    wren.page.get_by_role("link", name="Bench").tap()
    wren.tap("I have read this")
    taps = wren.taps
    wren.tap(re.compile(f"start with {label}$"))
    form = wren.page.locator("[data-reading]")
    expect(form).to_contain_text(re.compile("At the butt: 3 Opened or 4 point through"))
    expect(form.locator(".outcomes label:visible")).to_have_text([re.compile(f"^{one}") for one in ("5 Head", "4 Point", "3 Opened")])
    expect(form.locator("[name=outcome_low]:checked")).to_have_count(0)
    assert violations(wren.page) == ()
    box, thumb = box_of(wren, ".bench__depth"), box_of(wren, "[data-thumb]")
    assert box["y"] >= 0 and box["y"] + box["height"] <= thumb["y"], "all three fit one screen"
    wren.tap(f"Save {label}")
    expect(form.get_by_text("Choose what it did.")).to_be_visible()  # two levels are no answer here
    wren.key(re.compile("What came through"), "Point through")
    wren.page.get_by_label("Tip past the rear face").fill("14")
    wren.key("Depth is", "at least")
    wren.tap(f"Save {label}")
    shooting_yard.comes_to(label, outcome_low=4, outcome_high=4, depth_m=pytest.approx(0.014), depth_bound="at_least", rear_check=False)
    assert wren.taps - taps == 5, "start, a Save too early, what came through, at least, Save"


# Correction


def test_a_shot_goes_to_another_panel_and_to_another_end_by_correction(wren: Hand, shooting_yard: ShootingYard) -> None:
    there = kit.setup(shooting_yard.book, shooting_yard.session, kit.panel(shooting_yard.book, "P5").build, distance="20 m")
    wren.tap("Stay on P3")
    first, second = wren.loose(), wren.loose()
    wren.in_the_book()
    end = shooting_yard.fact(first).shooting_end_id

    def move(label: str, to: str) -> None:
        wren.open(f"/range/butt#shot={shooting_yard.fact(label).shot_id}")
        wren.page.get_by_text("Correct this shot, or cross it out").tap()
        form = wren.page.locator("[data-correction]")
        box = form.get_by_label("Panel, set-up and end")
        words = next(one for one in box.locator("option").all_inner_texts() if re.search(to, one))
        box.select_option(label=words)
        form.get_by_label("Why").fill("logged to the wrong panel")
        wren.tap("Save the correction")

    move(first, "^A new end at P5")
    moved = shooting_yard.comes_to(first, setup_id=there, position=None)
    assert moved.shooting_end_id != end and shooting_yard.fact(second).shooting_end_id == end
    wren.in_the_book()
    move(second, rf"at P5.*: {first}$")
    assert shooting_yard.comes_to(second, setup_id=there).shooting_end_id == moved.shooting_end_id
    assert sorted(shooting_yard.labels()) == sorted([first, second])


# Units


def test_inch_pound_and_fps_hold_at_line_and_butt_and_the_other_phone_reads_as_typed(
    wren: Hand, shooting_yard: ShootingYard, phone: Phone
) -> None:
    wren.page.get_by_role("button", name="Inch, pound, fps").tap()
    expect(wren.page.get_by_role("button", name="Inch, pound, fps")).to_have_attribute("aria-pressed", "true")
    expect(wren.page.get_by_role("radio", name="fps")).to_be_checked()
    wren.page.locator("[name=speed]").fill("172")
    label = wren.loose()
    wren.to_the_butt()
    wren.spot(0.62, 0.4)
    expect(wren.page.locator("[data-slot=where]")).to_have_text(re.compile(r"^\d\.\d in right, \d\.\d in up$"))
    wren.key(re.compile("^Outcome, judged"), "Point through")
    wren.more("Depth")
    wren.page.get_by_label("Tip past the rear face").fill("0.5")
    wren.tap(f"Save {label}")
    read = shooting_yard.comes_to(label, depth_m=pytest.approx(0.0127), outcome_low=4)
    assert 0.01 < read.x_m < 0.1
    wren.in_the_book()
    rev = kit.row(shooting_yard.book, "shot_reading", read.shot_id).rev
    for hand in (wren, Hand(phone("Tallow"), shooting_yard.server.address)):
        hand.open(f"/range/butt#shot={read.shot_id}")
        hand.more("Depth")
        metric = hand is not wren
        expect(hand.page.get_by_label("Tip past the rear face")).to_have_value("0.5 in" if metric else "0.5")
        hand.tap(f"Save {label}")
        hand.in_the_book()
    assert kit.row(shooting_yard.book, "shot_reading", read.shot_id).rev == rev, "what was left alone is no correction"
