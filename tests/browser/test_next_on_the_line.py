"""What comes next, on the phones: the plan shot by shot, skipped and undone, alone without the laptop; and a trial's rule."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect
from proofyard.records.plan_facts import planned_shots

from tests import kit_for_tests as kit
from tests.browser.conftest import ShootingYard
from tests.browser.every_page import violations
from tests.browser.range_hands import Hand

pytestmark = pytest.mark.long

Phone = Callable[..., Page]


def trial_of(yard: ShootingYard) -> str:
    with yard.book.read() as session:
        from proofyard.records.trial import Session as Day

        return str(session.get(Day, yard.session).trial_id)


@pytest.fixture
def planned(shooting_yard: ShootingYard) -> str:
    """A plan of three: arrows 8, 7 and 8 again, the second for Tallow. Gives the plan's id."""
    book = shooting_yard.book
    plan = kit.put(
        book,
        "plan",
        {"trial": trial_of(shooting_yard), "panel_build": shooting_yard.panel.build, "mixed": "heads", "rounds": "3", "seed": "1"},
    )
    order = (("8", "", "upper left, spot 1"), ("7", "Tallow", "middle, spot 2"), ("8", "", "lower right, spot 3"))
    for place, (tag, archer, spot) in enumerate(order, 1):
        more = {"archer": shooting_yard.archers[archer]} if archer else {}
        kit.put(
            book,
            "planned_shot",
            {"plan": plan, "place": str(place), "arrow_build": shooting_yard.arrows[tag].build, "aim_name": spot, **more},
        )
    return plan


@pytest.fixture
def wren(shooting_yard: ShootingYard, phone: Phone) -> Hand:
    return Hand(phone("Wren"), shooting_yard.server.address)


def line(hand: Hand, next_: str, plan: str) -> None:
    expect(hand.page.locator("[data-slot=next]")).to_have_text(next_)
    expect(hand.page.locator("[data-slot=plan-words]")).to_have_text(plan)


def test_the_line_says_the_planned_arrow_and_spot_and_a_loose_does_it(planned: str, wren: Hand, shooting_yard: ShootingYard) -> None:
    wren.open().ready()
    line(wren, "Next: arrow 8, upper left, spot 1,", "Planned shot 1")
    # Never a command: the words say when, and when is not the phone's to know.
    expect(wren.page.locator("[data-slot=when]")).to_have_text("when the line is clear")
    assert violations(wren.page) == () and wren.page.evaluate("document.documentElement.scrollWidth") <= 360
    first = wren.loose()
    line(wren, "Next: arrow 7, middle, spot 2,", "Planned shot 2: Tallow")
    expect(wren.page.locator("[name=archer]:checked")).to_have_value(shooting_yard.archers["Tallow"])
    wren.in_the_book()
    with shooting_yard.book.read() as session:
        assert [one.label for one in planned_shots(session, [planned])] == [first, None, None]


def test_the_page_stays_where_it_is_when_the_first_shot_brings_another_key(planned: str, wren: Hand) -> None:
    """The thumb's keys lie at the page's foot and stick to the window's: whoever looks at what comes next is not carried down to them."""
    wren.open().ready()
    wren.page.evaluate("scrollTo(0, 0)")
    box = wren.page.get_by_role("button", name="Loosed", exact=True).bounding_box()
    assert box is not None
    wren.page.touchscreen.tap(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)  # as a thumb does: a hand's tap scrolls first
    expect(wren.page.get_by_role("button", name="We’re at the butt")).to_be_visible()
    expect(wren.page.get_by_role("button", name="Loosed", exact=True)).to_be_focused()
    line(wren, "Next: arrow 7, middle, spot 2,", "Planned shot 2: Tallow")
    wren.in_the_book()
    assert wren.page.evaluate("scrollY") == 0


def test_another_arrow_or_archer_is_no_planned_shot(planned: str, wren: Hand, shooting_yard: ShootingYard) -> None:
    wren.open().ready()
    wren.key(re.compile("Arrow"), "7")
    line(wren, "Next: arrow 7,", "Planned shot 1 is arrow 8")
    wren.loose()
    wren.in_the_book()
    with shooting_yard.book.read() as session:
        assert [one.label for one in planned_shots(session, [planned])] == [None, None, None]
    expect(wren.page.locator("[data-slot=plan-words]")).to_have_text("Planned shot 1")


def test_a_planned_shot_is_skipped_by_a_tap_and_taken_in_again(planned: str, wren: Hand, shooting_yard: ShootingYard) -> None:
    wren.open().ready()
    wren.tap("Skip")
    line(wren, "Next: arrow 7, middle, spot 2,", "Planned shot 2: Tallow")
    wren.undo()
    line(wren, "Next: arrow 8, upper left, spot 1,", "Planned shot 1")
    wren.in_the_book()
    wren.tap("Skip")
    expect(wren.page.locator("[data-undo]")).to_contain_text("Planned shot 1 skipped")
    wren.in_the_book()
    with shooting_yard.book.read() as session:
        assert [one.planned.place for one in planned_shots(session, [planned]) if not one.planned.skipped] == [2, 3]


def test_the_plan_goes_on_without_the_laptop_and_an_undone_loose_is_next_again(
    planned: str, wren: Hand, shooting_yard: ShootingYard
) -> None:
    wren.open().ready()
    shooting_yard.server.stop()
    first = wren.loose()
    wren.undo()
    line(wren, "Next: arrow 8, upper left, spot 1,", "Planned shot 1")
    second = wren.loose()
    line(wren, "Next: arrow 7, middle, spot 2,", "Planned shot 2: Tallow")
    wren.open("/range")
    line(wren, "Next: arrow 7, middle, spot 2,", "Planned shot 2: Tallow")
    shooting_yard.server.start()
    wren.tap("Try now")
    wren.in_the_book()
    with shooting_yard.book.read() as session:
        assert [one.label for one in planned_shots(session, [planned])] == [second, None, None]
    assert first not in shooting_yard.labels()


def test_a_rule_picks_arrow_bow_and_archer_and_waits_for_what_came_out(wren: Hand, shooting_yard: ShootingYard) -> None:
    book, yard = shooting_yard.book, shooting_yard
    with book.read() as session:
        from proofyard.records.range_facts import current_bows

        weak, strong = (one.build for one in current_bows(session))
    arrow = yard.arrows["9"].build
    kit.mass_reading(book, arrow, "72 g")
    for bow, speed in ((weak, "48 m/s"), (strong, "55 m/s")):
        kit.speeds(book, kit.Combination(bow, arrow, yard.archers["Tallow"]), speed)
    trial = trial_of(yard)
    kit.put(
        book,
        "trial",
        {"next_shot_rule": "up_and_down", "start_energy": "80 J"},
        record_id=trial,
        base_rev=kit.row(book, "trial", trial).rev,
    )
    wren.open()
    line(wren, "Next: arrow 9,", "By the trial’s rule: Tallow, 82\u00a0lb bow")
    expect(wren.page.locator("[data-slot=plan-change]")).to_have_text("")
    expect(wren.page.locator("[data-slot=plan-waits]")).to_have_text(re.compile(r"^\(up-and-down method: the first shot with the .+\)$"))
    expect(wren.page.locator("[name=archer]:checked")).to_have_value(yard.archers["Tallow"])
    expect(wren.page.locator("[name=bow_build]:checked")).to_have_value(weak)
    expect(wren.page.get_by_role("button", name="Skip")).to_be_hidden()
    wren.tap("I have read this")
    label = wren.loose()
    expect(wren.page.locator("[data-slot=plan-words]")).to_have_text("Once the last is read, the rule says which")
    wren.to_the_butt()
    wren.read("Dented")
    wren.in_the_book()
    kit.checked_sound(book, arrow)
    wren.open("/range")
    # Stopped, so more: the stronger bow.
    line(wren, "Next: arrow 9,", "By the trial’s rule: Tallow, 112\u00a0lb bow")
    expect(wren.page.locator("[data-slot=plan-change]")).to_have_text(", not the 82\u00a0lb bow used before")
    expect(wren.page.locator("[data-slot=plan-waits]")).to_contain_text("was stopped, so this one is to have more energy)")
    expect(wren.page.locator("[name=bow_build]:checked")).to_have_value(strong)
    assert yard.fact(label).bow_build_id == weak


def test_with_no_energy_known_the_line_says_that_the_rule_has_none(wren: Hand, shooting_yard: ShootingYard) -> None:
    trial = trial_of(shooting_yard)
    kit.put(shooting_yard.book, "trial", {"next_shot_rule": "up_and_down"}, record_id=trial, base_rev=1)
    wren.open()
    expect(wren.page.locator("[data-slot=plan-words]")).to_have_text("The rule has no sound arrow with a known energy")


def aimed(yard: ShootingYard, *order: tuple[str, str, str, str]) -> str:
    """A plan of arrows at spots: tag, name, right and up of the middle. Gives its id."""
    plan = kit.put(
        yard.book, "plan", {"trial": trial_of(yard), "panel_build": yard.panel.build, "mixed": "heads", "rounds": "3", "seed": "1"}
    )
    for place, (tag, name, x, y) in enumerate(order, 1):
        kit.put(
            yard.book,
            "planned_shot",
            {"plan": plan, "place": str(place), "arrow_build": yard.arrows[tag].build, "aim_name": name, "aim_x": x, "aim_y": y},
        )
    return plan


def planned_rows(yard: ShootingYard, plan: str) -> list[tuple[int, str | None, bool]]:
    with yard.book.read() as session:
        return [(one.planned.place, one.label, bool(one.planned.skipped)) for one in planned_shots(session, [plan])]


def test_after_shots_outside_the_plan_the_planned_one_stands_ready_again(planned: str, wren: Hand, shooting_yard: ShootingYard) -> None:
    wren.open().ready()
    for tag in ("9", "10"):
        wren.key(re.compile("Arrow"), tag)
        line(wren, f"Next: arrow {tag},", "Planned shot 1 is arrow 8")
        wren.loose()
        line(wren, "Next: arrow 8, upper left, spot 1,", "Planned shot 1")
    first = wren.loose()
    wren.in_the_book()
    assert planned_rows(shooting_yard, planned)[0] == (1, first, False)


def test_two_phones_out_of_order_both_come_back_to_the_plan(planned: str, wren: Hand, shooting_yard: ShootingYard, phone: Phone) -> None:
    tallow = Hand(phone("Tallow"), shooting_yard.server.address).open().ready("Tallow", "82")
    wren.open().ready()
    for tag in ("10", "7"):  # one outside the plan, one planned for the second shot
        tallow.key(re.compile("Arrow"), tag)
        tallow.loose()
        line(tallow, "Next: arrow 8, upper left, spot 1,", "Planned shot 1")
    tallow.in_the_book()
    line(wren, "Next: arrow 8, upper left, spot 1,", "Planned shot 1")
    first = wren.loose()
    wren.in_the_book()
    for hand in (wren, tallow):
        line(hand, "Next: arrow 7, middle, spot 2,", "Planned shot 2: Tallow")
        expect(hand.page.locator("[data-slot=when]")).to_have_text("once it is fetched and checked")
    kit.checked_sound(shooting_yard.book, shooting_yard.arrows["7"].build)
    expect(wren.page.locator("[data-slot=when]")).to_have_text("when the line is clear")
    second = tallow.loose()
    tallow.in_the_book()
    assert [label for _, label, _ in planned_rows(shooting_yard, planned)] == [first, second, None]


def test_a_skip_that_the_laptop_took_back_is_next_again_on_the_phone_that_skipped(
    planned: str, wren: Hand, shooting_yard: ShootingYard
) -> None:
    wren.open().ready()
    wren.tap("Skip")
    line(wren, "Next: arrow 7, middle, spot 2,", "Planned shot 2: Tallow")
    wren.in_the_book()
    with shooting_yard.book.read() as session:
        shot = planned_shots(session, [planned])[0].planned
    kit.put(shooting_yard.book, "planned_shot", {"skipped": "no"}, record_id=shot.id, base_rev=shot.rev)
    line(wren, "Next: arrow 8, upper left, spot 1,", "Planned shot 1")
    wren.open("/range")
    line(wren, "Next: arrow 8, upper left, spot 1,", "Planned shot 1")
    wren.tap("Skip")
    line(wren, "Next: arrow 7, middle, spot 2,", "Planned shot 2: Tallow")
    wren.in_the_book()
    assert planned_rows(shooting_yard, planned)[0] == (1, None, True)


def test_the_line_gives_the_spot_in_millimetres_and_the_ring_of_that_number_lies_there(wren: Hand, shooting_yard: ShootingYard) -> None:
    """The panel has an aim spot of its own called 1, elsewhere; of the plan, spot 1 is its second shot."""
    aimed(
        shooting_yard,
        ("8", "upper right, spot 11", "41 mm", "79 mm"),
        ("7", "left, spot 1", "-60 mm", "0"),
        ("9", "middle, spot 2", "0", "0"),
    )
    wren.open().ready()
    line(wren, "Next: arrow 8, upper right, spot 11 (41 mm right, 79 mm up),", "Planned shot 1")
    wren.loose()
    expect(wren.page.locator("[data-slot=next]")).to_have_text("Next: arrow 7, left, spot 1 (60 mm left),")
    # So high that the strip and the keys that stay lie over nothing: what slides under them is, for a while, a small target.
    wren.page.set_viewport_size({"width": 360, "height": 1400})
    assert violations(wren.page) == () and wren.page.evaluate("document.documentElement.scrollWidth") <= 360
    wren.to_the_butt()
    rings = wren.page.evaluate("""[...document.querySelectorAll(".panel__aim")].map((one) =>
        [one.textContent,
          Number(one.querySelector("circle").getAttribute("cx")), Number(one.querySelector("circle").getAttribute("cy"))])""")
    with shooting_yard.book.read() as session:
        from proofyard.answers.range.kit import setup_for_phone
        from proofyard.records.range_facts import open_setups

        drawing = setup_for_phone(open_setups(session)[0], [])["drawing"]
    per_m, (middle_x, middle_y) = drawing["units_per_m"], drawing["middle"]
    assert sorted(name for name, _, _ in rings) == ["1", "11", "2"]
    for name, x_m, y_m in (("11", 0.041, 0.079), ("1", -0.06, 0.0), ("2", 0.0, 0.0)):
        assert [name, pytest.approx(middle_x + x_m * per_m), pytest.approx(middle_y - y_m * per_m)] in rings


def test_an_arrow_read_as_broken_is_not_next_on_any_phone_until_it_is_mended(
    planned: str, wren: Hand, shooting_yard: ShootingYard, phone: Phone
) -> None:
    """Arrow 8 is planned for the first and the third shot, and breaks at the first."""
    tallow = Hand(phone("Tallow"), shooting_yard.server.address).open().ready("Tallow", "82")
    wren.open().ready()
    first = wren.loose()
    wren.loose()
    wren.in_the_book()
    wren.to_the_butt()
    shooting_yard.server.stop()  # the reading phone knows at once, by itself
    wren.spot()
    wren.key(re.compile("^Outcome, judged"), "Marked")
    wren.more("The arrow")
    wren.key("Shaft", "Broken behind the head")
    wren.tap(f"Save {first}")
    expect(wren.page.locator("[data-undo]")).to_contain_text(f"{first}: 1 marked")
    wren.page.locator(".masthead__link", has_text="Line").tap()
    wren.tap("We’re back")
    said = "Planned shot 3 waits: arrow 8 is not sound."
    line(wren, "Next: arrow 9,", said)
    expect(wren.page.get_by_role("group", name="Arrow").locator("label", has_text="8, not sound")).to_have_count(1)
    shooting_yard.server.start()
    wren.try_now()
    wren.in_the_book()
    line(wren, "Next: arrow 9,", said)
    expect(tallow.page.locator("[data-slot=plan-words]")).to_have_text(said)
    wren.page.locator(".masthead__link", has_text="Bench").tap()
    row = wren.page.locator(f"[data-row='{shooting_yard.arrows['8'].build}']")
    expect(row).to_contain_text(f"not sound as {first} was read")
    row.get_by_role("button", name="Flexed and found sound").tap()
    wren.in_the_book()
    expect(tallow.page.locator("[data-slot=plan-words]")).to_have_text("Planned shot 3")
    expect(tallow.page.locator("[data-slot=next]")).to_have_text("Next: arrow 8, lower right, spot 3,")


def test_a_planned_shot_whose_arrow_was_built_again_waits_and_the_next_goes_on(
    planned: str, wren: Hand, shooting_yard: ShootingYard
) -> None:
    kit.new_arrow_build(shooting_yard.book, shooting_yard.arrows["8"])
    wren.open().ready("Tallow", "112")
    line(wren, "Next: arrow 7, middle, spot 2,", "Planned shot 2: Tallow")
    expect(wren.page.locator("[data-slot=plan-waits]")).to_have_text("Planned shot 1 waits: arrow 8 has been retired or rebuilt.")


def test_a_plan_that_names_a_bow_says_so_and_says_when_it_changes(wren: Hand, shooting_yard: ShootingYard) -> None:
    from proofyard.records.range_facts import current_bows

    plan = aimed(shooting_yard)
    with shooting_yard.book.read() as session:
        weak, strong = (one.build for one in current_bows(session))
    for place, (tag, bow) in enumerate((("8", strong), ("7", weak)), 1):
        kit.put(
            shooting_yard.book,
            "planned_shot",
            {"plan": plan, "place": str(place), "arrow_build": shooting_yard.arrows[tag].build, "bow_build": bow},
        )
    wren.open().ready()
    line(wren, "Next: arrow 8,", "Planned shot 1: 112\u00a0lb bow")
    wren.loose()
    line(wren, "Next: arrow 7,", "Planned shot 2: 82\u00a0lb bow")
    expect(wren.page.locator("[data-slot=plan-change]")).to_have_text(", not the 112\u00a0lb bow used before")
    expect(wren.page.locator("[name=bow_build]:checked")).to_have_value(weak)
    expect(wren.page.locator("#told")).to_have_text("Planned shot 2: 82\u00a0lb bow, not the 112\u00a0lb bow used before")
    wren.key(re.compile("Bow"), "112")
    line(wren, "Next: arrow 7,", "Planned shot 2 is arrow 7, 82\u00a0lb bow")
