"""Spots that keep hits fair, orders that stay balanced, and what stands in the way of either."""

from __future__ import annotations

import math
from collections import Counter
from itertools import pairwise

import pytest
from proofyard.answers.planning.aim_spots import aim_spots, no_longer_fair, side_words, spoilt_spots
from proofyard.answers.planning.making import Asked, make_plan
from proofyard.quantities.reason import because
from proofyard.records.panel import Panel
from proofyard.records.range_facts import CurrentArrow, current_arrows
from proofyard.records.shot_facts import shot_facts
from proofyard.shots.fair_hits import DEFAULTS, from_edge_m, mark_hits, rules_of
from proofyard.storage import Storage

from tests import kit_for_tests as kit

PLATE = DEFAULTS["plate"]


def sheet(outline: str = "rectangle", width_m: float | None = 0.3, height_m: float | None = 0.4) -> Panel:
    return Panel(id="p", rev=1, name="P", construction="plate", outline=outline, width_m=width_m, height_m=height_m)


def arrow(tag: str, form: str) -> CurrentArrow:
    return CurrentArrow(f"b{tag}", f"a{tag}", tag, form, None, 0, None, None, None, None)


ARROWS = (arrow("1", "needle"), arrow("2", "needle"), arrow("3", "short_bodkin"), arrow("4", "short_bodkin"), arrow("5", "leaf"))
ARCHERS = (("w", "Wren"), ("t", "Tallow"))


def asked(**more: object) -> Asked:
    given = {
        "mixed": "heads_archers",
        "rounds": 2,
        "archers": ARCHERS,
        "arrows": ARROWS,
        "bow_build_id": None,
        "on_spots": True,
        "seed": 5,
        **more,
    }
    return Asked(**given)


@pytest.mark.parametrize("outline", ["rectangle", "disc", "breastplate"])
@pytest.mark.parametrize("group_m", [0.0, 0.015])
def test_spots_lie_so_far_from_each_other_and_the_edge_that_any_hit_within_the_group_is_fair(outline: str, group_m: float) -> None:
    panel = sheet(outline)
    found = aim_spots(panel, PLATE, group_m=group_m)
    assert len(found.spots) >= 6
    for spot in found.spots:
        inside = from_edge_m((spot.x_m, spot.y_m), outline, width_m=panel.width_m, height_m=panel.height_m)
        assert inside is not None and inside - group_m >= PLATE.near_edge_m + PLATE.position_accuracy_m
    for n, one in enumerate(found.spots):
        for other in found.spots[n + 1 :]:
            away = math.hypot(one.x_m - other.x_m, one.y_m - other.y_m)
            assert away - 2 * group_m >= PLATE.near_opened_m + PLATE.position_accuracy_m
    assert len({spot.name for spot in found.spots}) == len(found.spots)


def test_hits_on_all_spots_are_found_fair_by_the_rules_themselves(book: Storage) -> None:
    """The two agree: what is drawn as fair is marked as fair, whatever the hits did."""
    yard = kit.yard(book)
    spots = aim_spots(sheet(), PLATE).spots
    for n, spot in enumerate(spots[:8]):
        shooting_end = kit.shooting_end(book, yard.setup, begun_at=1_793_000_000_000 + n * 600_000)
        shot = kit.shot(book, yard, shooting_end_id=shooting_end, loosed_at=1_793_000_000_000 + n * 600_000)
        kit.reading(book, shot, outcome_low="5", x=f"{spot.x_m * 1000:.1f} mm", y=f"{spot.y_m * 1000:.1f} mm")
    with book.read() as session:
        facts = shot_facts(session)
    marks = mark_hits(facts)
    assert [mark.answer for mark in marks.values()] == ["fair"] * 8


def test_earlier_hits_take_their_room_and_those_with_no_place_are_counted(book: Storage) -> None:
    yard = kit.yard(book)
    kit.read_shot(book, yard, outcome_low="5", x="0", y="0")
    kit.read_shot(book, yard, outcome_low="1", x="80 mm", y="0")
    kit.read_shot(book, yard, outcome_low="4")
    with book.read() as session:
        facts = shot_facts(session)
        rules = rules_of(None, "plate")
    spoilt, unplaced = spoilt_spots(facts, rules)
    assert [(one.x_m, one.reach_m) for one in spoilt] == [(0.0, 0.05)] and unplaced == 1
    found = aim_spots(sheet(), rules, facts=facts)
    assert len(found.spots) < len(aim_spots(sheet(), rules).spots) or all(math.hypot(s.x_m, s.y_m) >= 0.055 for s in found.spots)
    assert all(math.hypot(spot.x_m, spot.y_m) >= 0.055 for spot in found.spots)
    assert no_longer_fair(0.03, 0.0, spoilt=spoilt, rules=rules) == because("no_longer_fair", label="A1", away_m=0.03)
    assert no_longer_fair(0.2, 0.0, spoilt=spoilt, rules=rules) is None is no_longer_fair(None, None, spoilt=spoilt, rules=rules)


def test_a_panel_of_no_size_or_too_small_has_no_spots_and_says_why() -> None:
    assert aim_spots(sheet(width_m=None), PLATE).why_none == because("panel_size_not_in_book")
    assert aim_spots(sheet(width_m=0.05, height_m=0.05), PLATE).why_none == because("no_spot_far_enough")


def test_sides_are_named_as_the_archer_sees_them() -> None:
    named = {side_words(sheet(), (x, y)) for x in (-0.1, 0.0, 0.1) for y in (-0.15, 0.0, 0.15)}
    assert named == {"upper left", "upper middle", "upper right", "left", "middle", "right", "lower left", "lower middle", "lower right"}


def test_every_form_and_archer_comes_once_a_round_and_arrows_take_turns() -> None:
    made = make_plan(asked(), aim_spots(sheet(), PLATE))
    assert not made.problems and len(made.shots) == 12
    forms = {one.build: one.form for one in ARROWS}
    for block in ("1", "2"):
        cells = Counter((forms[shot["arrow_build"]], shot["archer"]) for shot in made.shots if shot["block"] == block)
        assert len(cells) == 6 and set(cells.values()) == {1}
    uses = Counter(shot["arrow_build"] for shot in made.shots)
    assert [uses[one.build] for one in ARROWS[:4]] == [2, 2, 2, 2] and uses["b5"] == 4
    spots = [shot["aim_name"] for shot in made.shots]
    assert len(set(spots)) == 12
    assert all(a["place"] != b["place"] for a, b in pairwise(made.shots))


def test_heads_alone_or_arrows_alone_name_no_archer() -> None:
    heads = make_plan(asked(mixed="heads", on_spots=False), aim_spots(sheet(), PLATE))
    arrows = make_plan(asked(mixed="arrows", on_spots=False), aim_spots(sheet(), PLATE))
    assert (len(heads.shots), len(arrows.shots)) == (6, 10)
    assert all("archer" not in shot and "aim_x" not in shot for shot in (*heads.shots, *arrows.shots))
    assert set(Counter(shot["arrow_build"] for shot in arrows.shots).values()) == {2}


@pytest.mark.parametrize(
    ("more", "field", "said"),
    [
        ({"arrows": ()}, "arrows", "Choose the arrows"),
        ({"rounds": 30}, "rounds", "more than a day holds"),
        ({"rounds": 8}, "rounds", "has room for"),
    ],
)
def test_what_stands_in_the_way_is_said_by_the_field(more: dict[str, object], field: str, said: str) -> None:
    made = make_plan(asked(**more), aim_spots(sheet(), PLATE))
    assert made.shots == () and made.problems[0].field == field and said in made.problems[0].sentence


def test_only_sound_arrows_are_current_ones_that_a_plan_offers(book: Storage) -> None:
    yard = kit.yard(book)
    with book.read() as session:
        assert [one.build for one in current_arrows(session)] == [yard.arrow.build]
