"""May a hit be counted: only by what was so before it, and "not known" where nobody can say."""

import pytest

from server.findings.fair_hits import SORTS, fair_marks
from server.findings.fair_rules import BORROWED, DEFAULTS
from server.records.shot_facts import shot_facts
from server.storage import Storage
from tests import kit_for_tests as kit


def marks(book: Storage) -> dict[str, tuple[str, str]]:
    with book.read() as session:
        facts = shot_facts(session)
        found = fair_marks(session, facts)
        return {f.label: (found[f.shot_id].answer, found[f.shot_id].reason) for f in facts if f.shot_id in found}


def hit(book: Storage, yard: kit.Yard, x: int, y: int, rung: str = "4", *, label: str | None = None, walk: str | None = None, arrow: str | None = None, **more) -> str:
    arrow = arrow or kit.arrow(book).build  # a fresh arrow each, so that no arrow is spoilt by an earlier flight
    loosed = kit.shot(book, yard, label=label, arrow_build=arrow, **({"walk_id": walk} if walk else {}))
    return kit.reading(book, loosed, outcome_low=rung, x=f"{x} mm", y=f"{y} mm", **more)


def test_the_first_hit_is_fair(book: Storage) -> None:
    hit(book, kit.yard(book), 0, 0)
    assert marks(book) == {"A1": ("fair", "first hit on this build")}


@pytest.mark.parametrize(
    ("away", "rung", "answer"),
    [(18, "4", "not_fair"), (44, "4", "not_fair"), (48, "4", "not_known"), (52, "4", "not_known"), (56, "4", "fair"), (18, "2", "not_fair"), (31, "2", "fair"), (5, "1", "fair")],
)
def test_how_near_spoils_depends_on_what_the_earlier_hit_did(book: Storage, away: int, rung: str, answer: str) -> None:
    yard = kit.yard(book)
    hit(book, yard, 0, 0, rung)
    hit(book, yard, away, 0, "5")
    found = marks(book)
    assert found["A1"][0] == "fair"  # what comes later never spoils what came before
    assert found["A2"][0] == answer and f"{away}\u00a0mm" in found["A2"][1]


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
    assert marks(book)["A2"] == ("not_known", "A1 before it is not read yet")
    kit.reading(book, first, hit="missed")
    assert marks(book)["A2"][0] == "fair"


def test_a_place_that_nobody_knows_is_not_known(book: Storage) -> None:
    yard = kit.yard(book)
    kit.read_shot(book, yard)
    assert marks(book)["A1"] == ("not_known", "its place is not known")


def test_order_within_a_walk_that_nobody_wrote_down_is_not_guessed(book: Storage) -> None:
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
    walk = kit.walk(book, kit.setup(book, later.session, yard.panel.build))
    hit(book, yard, 10, 0, walk=walk)
    assert marks(book)["A2"] == ("not_fair", "10\u00a0mm from A1")
    fresh = kit.put(book, "panel_build", {"panel": yard.panel.panel, "number": "2", "work": "beaten_flat"})
    hit(book, yard, 12, 0, walk=kit.walk(book, kit.setup(book, later.session, fresh)))
    assert marks(book)["A3"][0] == "fair"


def test_an_arrow_that_came_back_hurt_makes_the_next_hit_unfair_until_somebody_says_sound(book: Storage) -> None:
    yard = kit.yard(book)
    hit(book, yard, 0, 0, arrow=yard.arrow.build, head_fate=["curled"])
    hit(book, yard, 80, 0, arrow=yard.arrow.build)
    assert marks(book)["A2"] == ("not_fair", "arrow unsound: point curled at A1")
    kit.checked_sound(book, yard.arrow.build, at=kit.BEGAN + 90_000)  # between the two
    assert marks(book)["A2"][0] == "fair"


def test_an_arrow_found_not_sound_makes_its_hit_unfair(book: Storage) -> None:
    yard = kit.yard(book)
    kit.checked_sound(book, yard.arrow.build, sound="not_sound", at=kit.BEGAN)
    hit(book, yard, 0, 0, arrow=yard.arrow.build)
    assert marks(book)["A1"][0] == "not_fair"


def test_near_the_edge_is_not_fair(book: Storage) -> None:
    yard = kit.yard(book)
    panel = kit.row(book, "panel", yard.panel.panel)
    kit.put(book, "panel", {"width": "300 mm", "height": "400 mm"}, record_id=panel.id, base_rev=panel.rev)
    hit(book, yard, 140, 0)
    hit(book, yard, 0, 170)
    assert marks(book) == {"A1": ("not_fair", "10\u00a0mm from the panel’s edge"), "A2": ("not_known", "30\u00a0mm from the panel’s edge: nearer the limit than a finger’s error")}


def test_small_plates_are_told_apart_by_what_the_reader_called_them(book: Storage) -> None:
    yard = kit.yard(book, construction="lamellar")
    hit(book, yard, 0, 0, plate="row 3, plate 5")
    hit(book, yard, 60, 0, plate="Row 3, plate 5")
    hit(book, yard, -60, 0, plate="row 3, plate 4")
    found = marks(book)
    assert found["A2"] == ("not_fair", "same plate as A1") and found["A3"][0] == "fair"


def test_an_opened_ring_reaches_its_neighbours(book: Storage) -> None:
    yard = kit.yard(book, construction="mail")
    hit(book, yard, 0, 0, "3")
    hit(book, yard, 20, 0, "3")
    assert marks(book)["A2"] == ("not_fair", "in an opened ring’s reach, 20\u00a0mm from A1")


def test_a_hit_that_may_be_anothers_is_not_known(book: Storage) -> None:
    yard = kit.yard(book)
    other = hit(book, yard, 0, 0, label="A7")
    hit(book, yard, 90, 0, label="B5", may_be_shot=other)
    assert marks(book)["B5"] == ("not_known", "may be the hit of A7")


def test_an_overrule_is_stored_and_the_worked_out_mark_is_kept_beside_it(book: Storage) -> None:
    yard = kit.yard(book)
    hit(book, yard, 0, 0)
    hit(book, yard, 20, 0, fair_overrule="fair", fair_reason="plate was beaten flat there")
    with book.read() as session:
        facts = shot_facts(session)
        mark = fair_marks(session, facts)[facts[1].shot_id]
    assert mark.answer == "fair" and mark.overruled and mark.worked_out.startswith("not_fair")


def test_a_trial_sets_its_own_distances(book: Storage) -> None:
    yard = kit.yard(book)
    kit.put(book, "trial", {"near_opened": "10 mm", "finger": "1 mm"}, record_id=yard.trial, base_rev=kit.row(book, "trial", yard.trial).rev)
    hit(book, yard, 0, 0)
    hit(book, yard, 20, 0)
    assert marks(book)["A2"][0] == "fair"


def test_misses_and_let_downs_have_no_mark_and_spoil_nothing(book: Storage) -> None:
    yard = kit.yard(book)
    kit.read_shot(book, yard, hit="missed")
    kit.shot(book, yard, purpose="let_down")
    hit(book, yard, 0, 0)
    assert marks(book) == {"A3": ("fair", "first hit on this build")}


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
    assert marks(book)["A1"] == ("not_known", "B1 of about the same time is not read yet")


def test_near_the_edge_of_a_round_panel_is_not_fair_though_its_square_is_wide(book: Storage) -> None:
    yard = kit.yard(book)
    panel = kit.row(book, "panel", yard.panel.panel)
    kit.put(book, "panel", {"width": "400 mm", "height": "400 mm", "outline": "disc"}, record_id=panel.id, base_rev=panel.rev)
    hit(book, yard, 130, 130)  # 184 mm from the middle of a disc of 200 mm
    assert marks(book)["A1"] == ("not_fair", "16\u00a0mm from the panel’s edge")
