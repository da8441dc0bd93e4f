"""May a hit be counted: only by what was so before it, and "not known" where nobody can say."""

from typing import Any

import pytest
from proofyard.quantities.reason import Reason, because
from proofyard.records import devices
from proofyard.records.shot_facts import shot_facts
from proofyard.shots.fair_hits import BORROWED, DEFAULTS, FairMark
from proofyard.storage import Storage
from proofyard.wording.fairness import SORTS

from tests import kit_for_tests as kit
from tests.marks_for_tests import fair_marks


def marks(book: Storage) -> dict[str, tuple[str, Reason]]:
    with book.read() as session:
        facts = shot_facts(session)
        found = fair_marks(session, facts)
        return {f.label: (found[f.shot_id].answer, found[f.shot_id].reason) for f in facts if f.shot_id in found}


def hit(
    book: Storage,
    yard: kit.Yard,
    x: int,
    y: int,
    outcome_level: str = "4",
    *,
    label: str | None = None,
    shooting_end: str | None = None,
    arrow: str | None = None,
    **more: Any,
) -> str:
    arrow = arrow or kit.arrow(book).build  # a fresh arrow each, so that no arrow is spoilt by an earlier flight
    loosed = kit.shot(book, yard, label=label, arrow_build=arrow, **({"shooting_end_id": shooting_end} if shooting_end else {}))
    return kit.reading(book, loosed, outcome_low=outcome_level, x=f"{x} mm", y=f"{y} mm", **more)


def test_the_first_hit_is_fair(book: Storage) -> None:
    hit(book, kit.yard(book), 0, 0)
    assert marks(book) == {"A1": ("fair", because("fair_first_hit"))}


@pytest.mark.parametrize(
    ("away", "outcome_level", "answer"),
    [
        (18, "4", "not_fair"),
        (44, "4", "not_fair"),
        (48, "4", "not_known"),
        (52, "4", "not_known"),
        (56, "4", "fair"),
        (18, "2", "not_fair"),
        (31, "2", "fair"),
        (5, "1", "fair"),
    ],
)
def test_how_near_spoils_depends_on_what_the_earlier_hit_did(book: Storage, away: int, outcome_level: str, answer: str) -> None:
    yard = kit.yard(book)
    hit(book, yard, 0, 0, outcome_level)
    hit(book, yard, away, 0, "5")
    found = marks(book)
    assert found["A1"][0] == "fair"  # what comes later never spoils what came before
    assert found["A2"][0] == answer and found["A2"][1].parts["away_m"] == pytest.approx(away / 1000)


def test_the_mark_does_not_hang_on_how_the_hit_itself_turned_out(book: Storage) -> None:
    yard = kit.yard(book)
    hit(book, yard, 0, 0)
    second = hit(book, yard, 20, 0, "0")
    before = marks(book)["A2"]
    kit.put(book, "shot_reading", {"outcome_low": "5", "outcome_high": "5"}, record_id=second, base_rev=1)
    assert marks(book)["A2"] == before


def test_an_unread_shot_before_it_leaves_it_not_known_until_it_is_read(book: Storage) -> None:
    yard = kit.yard(book)
    first = kit.shot(book, yard, label="A1")
    hit(book, yard, 60, 0, label="A2")
    assert marks(book)["A2"] == ("not_known", because("fair_earlier_not_read", shot="A1", earlier=True))
    kit.reading(book, first, hit="missed")
    assert marks(book)["A2"][0] == "fair"


def test_a_place_that_nobody_knows_is_not_known(book: Storage) -> None:
    yard = kit.yard(book)
    kit.read_shot(book, yard)
    assert marks(book)["A1"] == ("not_known", because("fair_place_not_known"))


def test_order_within_a_shooting_end_that_nobody_wrote_down_is_not_guessed(book: Storage) -> None:
    yard = kit.yard(book)
    a = kit.shot(book, yard, label="A1", arrow_build=kit.arrow(book).build, loosed_at=None)
    b = kit.shot(book, yard, label="B1", arrow_build=kit.arrow(book).build, loosed_at=None)
    for one, x in ((a, 0), (b, 20)):
        kit.reading(book, one, x=f"{x} mm", y="0")
    assert {k: v[0] for k, v in marks(book).items()} == {"A1": "not_known", "B1": "not_known"}
    for one, place in ((a, "2"), (b, "1")):
        kit.put(book, "shot", {"position": place}, record_id=one, base_rev=1)
    assert {k: v[0] for k, v in marks(book).items()} == {"A1": "not_fair", "B1": "fair"}


def test_earlier_hits_count_across_trials_but_not_across_builds(book: Storage) -> None:
    yard = kit.yard(book)
    hit(book, yard, 0, 0)
    later = kit.open_trial(book, "And with a heavier bow?")
    rev = kit.row(book, "session", later.session).rev
    kit.put(book, "session", {"day": "2026-10-31"}, record_id=later.session, base_rev=rev)
    shooting_end = kit.shooting_end(book, kit.setup(book, later.session, yard.panel.build))
    hit(book, yard, 10, 0, shooting_end=shooting_end)
    assert marks(book)["A2"] == ("not_fair", because("fair_too_near", shot="A1", away_m=pytest.approx(0.01), opened_ring=False))
    fresh = kit.put(book, "panel_build", {"panel": yard.panel.panel, "number": "2", "work": "beaten_flat"})
    hit(book, yard, 12, 0, shooting_end=kit.shooting_end(book, kit.setup(book, later.session, fresh)))
    assert marks(book)["A3"][0] == "fair"


def test_an_arrow_that_came_back_hurt_makes_the_next_hit_unfair_until_somebody_says_sound(book: Storage) -> None:
    yard = kit.yard(book)
    hit(book, yard, 0, 0, arrow=yard.arrow.build, head_fate=["curled"])
    hit(book, yard, 80, 0, arrow=yard.arrow.build)
    assert marks(book)["A2"] == ("not_fair", because("fair_arrow_hurt", shot="A1", fates=("curled",)))
    kit.checked_sound(book, yard.arrow.build, at=kit.BEGAN + 90_000)  # between the two
    assert marks(book)["A2"][0] == "fair"


def test_an_arrow_found_not_sound_makes_its_hit_unfair(book: Storage) -> None:
    yard = kit.yard(book)
    kit.checked_sound(book, yard.arrow.build, sound="not_sound", at=kit.BEGAN)
    hit(book, yard, 0, 0, arrow=yard.arrow.build)
    assert marks(book)["A1"][0] == "not_fair"


def test_a_check_counts_for_the_hits_after_it_and_for_none_before_it(book: Storage) -> None:
    """Looked at after A2 and found sound: A2 was shot with the curled point all the same. Found not sound after A1: A1 was fair."""
    yard = kit.yard(book)
    hit(book, yard, 0, 0, arrow=yard.arrow.build, head_fate=["curled"])
    hit(book, yard, 80, 0, arrow=yard.arrow.build)
    kit.checked_sound(book, yard.arrow.build, at=kit.BEGAN + 150_000)  # between A2 and the next
    hit(book, yard, -80, 0, arrow=yard.arrow.build)
    assert {label: answer for label, (answer, _) in marks(book).items()} == {"A1": "fair", "A2": "not_fair", "A3": "fair"}
    other = kit.arrow(book).build
    hit(book, yard, 0, 120, arrow=other)
    kit.checked_sound(book, other, sound="not_sound", at=kit.BEGAN + 270_000)
    assert marks(book)["A4"][0] == "fair"
    hit(book, yard, 80, 120, arrow=other)
    assert marks(book)["A5"][0] == "not_fair"


def test_near_the_edge_is_not_fair(book: Storage) -> None:
    yard = kit.yard(book)
    panel = kit.row(book, "panel", yard.panel.panel)
    kit.put(book, "panel", {"width": "300 mm", "height": "400 mm"}, record_id=panel.id, base_rev=panel.rev)
    hit(book, yard, 140, 0)
    hit(book, yard, 0, 170)
    assert marks(book) == {
        "A1": ("not_fair", because("fair_from_the_edge", away_m=pytest.approx(0.01))),
        "A2": ("not_known", because("fair_near_the_limit_from_the_edge", away_m=pytest.approx(0.03))),
    }


def test_small_plates_are_known_by_what_the_reader_called_them(book: Storage) -> None:
    yard = kit.yard(book, construction="lamellar")
    hit(book, yard, 0, 0, plate="row 3, plate 5")
    hit(book, yard, 60, 0, plate="Row 3, plate 5")
    hit(book, yard, -60, 0, plate="row 3, plate 4")
    found = marks(book)
    assert found["A2"] == ("not_fair", because("fair_same_plate", shot="A1")) and found["A3"][0] == "fair"


def test_an_opened_ring_reaches_its_neighbours(book: Storage) -> None:
    yard = kit.yard(book, construction="mail")
    hit(book, yard, 0, 0, "3")
    hit(book, yard, 20, 0, "3")
    assert marks(book)["A2"] == ("not_fair", because("fair_too_near", shot="A1", away_m=pytest.approx(0.02), opened_ring=True))


def test_a_hit_that_may_be_anothers_is_not_known(book: Storage) -> None:
    yard = kit.yard(book)
    other = hit(book, yard, 0, 0, label="A7")
    hit(book, yard, 90, 0, label="B5", may_be_shot=other)
    assert marks(book)["B5"] == ("not_known", because("fair_may_be_the_hit_of", shot="A7"))


def test_an_overrule_is_stored_and_the_worked_out_mark_is_kept_beside_it(book: Storage) -> None:
    yard = kit.yard(book)
    hit(book, yard, 0, 0)
    hit(book, yard, 20, 0, fair_overrule="fair", fair_reason="plate was beaten flat there")
    with book.read() as session:
        facts = shot_facts(session)
        mark = fair_marks(session, facts)[facts[1].shot_id]
    assert mark.answer == "fair" and mark.overruled and isinstance(mark.worked_out, FairMark) and mark.worked_out.answer == "not_fair"


def test_a_trial_sets_its_own_distances(book: Storage) -> None:
    yard = kit.yard(book)
    kit.put(
        book,
        "trial",
        {"near_opened": "10 mm", "position_accuracy": "1 mm"},
        record_id=yard.trial,
        base_rev=kit.row(book, "trial", yard.trial).rev,
    )
    hit(book, yard, 0, 0)
    hit(book, yard, 20, 0)
    assert marks(book)["A2"][0] == "fair"


def test_a_trials_distance_from_a_dent_is_not_that_from_an_opening(book: Storage) -> None:
    yard = kit.yard(book)
    rev = kit.row(book, "trial", yard.trial).rev
    kit.put(
        book, "trial", {"near_opened": "60 mm", "near_dented": "10 mm", "position_accuracy": "1 mm"}, record_id=yard.trial, base_rev=rev
    )
    hit(book, yard, 0, 0, "2")
    hit(book, yard, 20, 0, "2")
    hit(book, yard, -40, 0, "2")
    assert [marks(book)[label][0] for label in ("A1", "A2", "A3")] == ["fair", "fair", "fair"]


def test_a_hit_whose_outcome_is_open_leaves_the_next_open_where_its_levels_disagree(book: Storage) -> None:
    """Dented or opened: 40 mm away a dent says nothing, an opening says no; 18 mm away both say no."""
    yard = kit.yard(book)
    hit(book, yard, 0, 0, "2", outcome_high="3", rear_check="yes")
    hit(book, yard, 40, 0, "1")
    hit(book, yard, -18, 0, "1")
    found = marks(book)
    assert found["A2"] == ("not_known", because("fair_earlier_outcome_open", shot="A1", away_m=pytest.approx(0.04)))
    assert found["A3"][0] == "not_fair"


def test_one_phones_clock_does_not_order_anothers_shots(book: Storage) -> None:
    """Both in one end, neither placed: each phone's own moment says nothing of the other's."""
    yard = kit.yard(book)
    with book.write() as session:
        devices.add_device(session, call_name="Wren", role="archer")
        devices.add_device(session, call_name="Tallow", role="archer")
    hit(book, yard, 0, 0, label="A1")
    hit(book, yard, 18, 0, label="B1")
    found = marks(book)
    assert (found["A1"][0], found["B1"][0]) == ("not_known", "not_known")


def test_misses_and_let_downs_have_no_mark_and_spoil_nothing(book: Storage) -> None:
    yard = kit.yard(book)
    kit.read_shot(book, yard, hit="missed")
    kit.shot(book, yard, purpose="let_down")
    hit(book, yard, 0, 0)
    assert marks(book) == {"A3": ("fair", because("fair_first_hit"))}


def test_a_spoiled_earlier_shot_spoils_no_spot_and_leaves_none_open(book: Storage) -> None:
    """It struck the frame or flew apart: what it left on the panel is not a hit’s mark. With a place and without one."""
    yard = kit.yard(book)
    kit.read_shot(book, yard, hit="spoiled", why="struck the frame")
    kit.read_shot(book, yard, hit="spoiled", why="clipped the line", x="2 mm", y="0")
    hit(book, yard, 0, 0)
    assert marks(book) == {"A3": ("fair", because("fair_first_hit"))}


def test_the_borrowed_distances_are_those_that_others_quote_and_say_where_from() -> None:
    # NIJ 0101.03/.04 era as quoted in a book extract: 5 cm from a prior hit, 7.6 cm from the edge
    assert (BORROWED[0].between_m, BORROWED[0].edge_m) == (0.050, 0.076)
    assert all(one.source for one in BORROWED)
    assert all(0.02 <= rules.near_opened_m <= 0.1 and rules.near_dented_m <= rules.near_opened_m for rules in DEFAULTS.values())


def test_every_reason_is_of_a_named_sort_without_its_shot_and_its_millimetres(book: Storage) -> None:
    yard = kit.yard(book)
    hit(book, yard, 0, 0)
    hit(book, yard, 20, 0)
    hit(book, yard, 68, 0)
    kit.read_shot(book, yard)
    with book.read() as session:
        facts = shot_facts(session)
        marks = fair_marks(session, facts)
    assert [marks[f.shot_id].sort for f in facts] == ["fair", "near", "limit", "place"]
    assert all(mark.sort in SORTS for mark in marks.values())


def test_an_unread_shot_of_about_the_same_time_leaves_it_not_known(book: Storage) -> None:
    yard = kit.yard(book)
    kit.shot(book, yard, label="B1", loosed_at=None)
    loosed = kit.shot(book, yard, label="A1", arrow_build=kit.arrow(book).build, loosed_at=None)
    kit.reading(book, loosed, x="0", y="0")
    assert marks(book)["A1"] == ("not_known", because("fair_earlier_not_read", shot="B1", earlier=False))


def test_near_the_edge_of_a_round_panel_is_not_fair_though_its_square_is_wide(book: Storage) -> None:
    yard = kit.yard(book)
    panel = kit.row(book, "panel", yard.panel.panel)
    kit.put(book, "panel", {"width": "400 mm", "height": "400 mm", "outline": "disc"}, record_id=panel.id, base_rev=panel.rev)
    hit(book, yard, 130, 130)  # 184 mm from the middle of a disc of 200 mm
    assert marks(book)["A1"] == ("not_fair", because("fair_from_the_edge", away_m=pytest.approx(0.016, abs=0.0005)))
