"""Which shots speak of a claim and what they say: undecided ones against either answer, gaps and unfair hits in neither."""

from __future__ import annotations

from typing import Any

import pytest
from proofyard.answers.claims.page import ClaimRead, read_claim
from proofyard.records.claim_facts import claims_of
from proofyard.records.devices import now_ms
from proofyard.shots.loosed import load_loosed
from proofyard.storage import Storage
from proofyard.wording.reasons.said import said

from tests import kit_for_tests as kit

FAIR = {"entry": "plate", "fair_overrule": "fair", "fair_reason": "laid out for this test"}
HOUR = 3_600_000
HOLDS: dict[str, Any] = {"claim_form": "holds", "one_in": "10", "heads": ["needle"], "construction": "plate"}


def yard_with_claim(book: Storage, **more: Any) -> kit.Yard:
    """A yard whose trial claims something of its bow, stated before any shot."""
    yard = kit.yard(book)
    body = {**HOLDS, "bow": yard.bow.bow, **more}
    kit.put(book, "claim", {"trial": yard.trial, **{name: value for name, value in body.items() if value is not None}})
    return yard


def shoot(book: Storage, yard: kit.Yard, *levels: str | None, arrow_build: str | None = None, **more: Any) -> list[str]:
    """Fair hits of these levels (None: still to check from behind), loosed after the claim."""
    made = []
    for level in levels:
        shot = kit.shot(book, yard, arrow_build=arrow_build, loosed_at=now_ms() + HOUR)
        open_rear = {"rear_check": "yes"} if level is None else {}
        kit.reading(book, shot, outcome_low=level, **{**FAIR, **open_rear, **more})
        made.append(shot)
    return made


def answer(book: Storage, yard: kit.Yard) -> ClaimRead:
    with book.read() as session:
        fact = claims_of(session, [yard.trial])[yard.trial]
        return read_claim(fact, load_loosed(session).of_trial(yard.trial).shots)


def test_four_of_four_through_is_no_and_says_how_many_get_through(book: Storage) -> None:
    yard = yard_with_claim(book)
    shoot(book, yard, "4", "5", "4", "4")
    found = answer(book, yard)
    assert (found.verdict, found.for_type, found.late) == ("no", "no", False)
    assert said(found.title) == (
        "No, not against the long needle bodkin: 4 of 4 got through, so at least 35\xa0% do (95\xa0% running bound)."
    )


def test_two_of_two_is_no_of_this_arrow_and_not_yet_of_the_type(book: Storage) -> None:
    """An independent computation: e_no 37.0 of two shots, 19.3 of one arrow's two for its type."""
    yard = yard_with_claim(book)
    shoot(book, yard, "4", "4")
    found = answer(book, yard)
    assert (found.verdict, found.for_type) == ("no", "not_yet")
    assert ", with arrow K1 on Panel 1." in said(found.title)
    assert "all on one panel" in said(found.limits[0])


def test_twelve_held_wait_for_eighteen_more(book: Storage) -> None:
    yard = yard_with_claim(book)
    shoot(book, yard, *["2"] * 12)
    found = answer(book, yard)
    assert found.verdict == "not_yet"
    assert "18 more shots with the long needle bodkin, none of them through, would settle it." in said(found.title)


def test_a_number_set_beforehand_is_judged_once_by_its_first_shots(book: Storage) -> None:
    yard = yard_with_claim(book, one_in="2", set_shots="5")
    shoot(book, yard, *["2"] * 4)
    assert answer(book, yard).verdict == "not_yet"
    shoot(book, yard, "1")
    assert answer(book, yard).verdict == "yes"
    shoot(book, yard, "4")
    assert answer(book, yard).verdict == "yes", "what comes after the set number changes no yes"


def test_stated_after_a_shot_it_is_a_lead_and_its_set_number_is_none(book: Storage) -> None:
    yard = kit.yard(book)
    for _ in range(5):
        shot = kit.shot(book, yard, loosed_at=now_ms() - HOUR)
        kit.reading(book, shot, outcome_low="2", **FAIR)
    kit.put(book, "claim", {"trial": yard.trial, **HOLDS, "one_in": "2", "set_shots": "5", "bow": yard.bow.bow})
    found = answer(book, yard)
    assert found.late and "a lead, not a test" in said(found.stated)
    assert found.found.asked.set_shots is None


def test_an_undecided_shot_counts_against_either_answer(book: Storage) -> None:
    """2 of 2 refutes 1 in 10, 2 of 3 does not: the third may have held. Decided as through it is 3 of 3: no."""
    yard = yard_with_claim(book)
    shoot(book, yard, "4", "4")
    shot = shoot(book, yard, None)[0]
    found = answer(book, yard)
    assert found.verdict == "not_yet" and found.found.could_change == 1
    assert any("1 undecided shot could change this." in said(one) for one in found.limits)
    kit.put(book, "shot_reading", {"outcome_low": "4", "outcome_high": "4", "rear_check": "no"}, record_id=shot, base_rev=1)
    assert answer(book, yard).verdict == "no"


def test_a_hit_whose_fairness_is_open_may_leave_the_count(book: Storage) -> None:
    yard = yard_with_claim(book)
    shoot(book, yard, "4")
    shot = kit.shot(book, yard, loosed_at=now_ms() + HOUR)
    kit.reading(book, shot, outcome_low="4", entry="plate")  # no place: nobody can say whether it was fair
    head = answer(book, yard).found.heads[0]
    assert (head.for_no.through, head.for_no.shots, head.for_yes.through, head.for_yes.shots) == (1, 1, 2, 2)


@pytest.mark.parametrize(
    ("more", "why"),
    [
        ({"entry": "rivet"}, "1 through a gap"),
        ({"fair_overrule": "not_fair"}, "1 not fair"),
        ({"entry": "cant_tell"}, "1 where it went in can’t be told"),
    ],
)
def test_gaps_and_unfair_hits_count_in_neither_direction(book: Storage, more: dict[str, str], why: str) -> None:
    yard = yard_with_claim(book)
    shoot(book, yard, "4", **more)
    found = answer(book, yard)
    assert found.found.heads[0].shots == 0
    assert any(why in said(one) for one in found.limits)


def test_another_bow_another_head_another_plate_say_nothing_of_it(book: Storage) -> None:
    yard = yard_with_claim(book, thickness="1.6 mm")
    shoot(book, yard, "4", "4")  # the yard's panel has no nominal thickness
    assert answer(book, yard).found.heads[0].shots == 0
    other = yard_with_claim(book, heads=["leaf"])
    shoot(book, other, "4", "4")
    assert answer(book, other).found.heads[0].shots == 0
    elsewhere = yard_with_claim(book, bow=yard.bow.bow)
    shoot(book, elsewhere, "4", "4")
    assert answer(book, elsewhere).found.heads[0].shots == 0


def test_never_is_refuted_by_one_shot_on_that_panel(book: Storage) -> None:
    yard = yard_with_claim(book, claim_form="never", one_in=None)
    shoot(book, yard, *["3"] * 11)
    found = answer(book, yard)
    assert found.verdict == "not_yet" and found.for_type is None
    assert "none of 11 with the long needle bodkin, so at most 1 in 4 gets through" in said(found.title)
    shoot(book, yard, "4")
    found = answer(book, yard)
    assert found.verdict == "no"
    assert said(found.title).startswith("No, not on this panel, Panel ") and "1 of 12 shots got through" in said(found.title)


def test_four_heads_pay_for_each_other(book: Storage) -> None:
    """3 of 5 refutes alone (22.8), not as one of four heads, where 80 is asked for."""
    yard = yard_with_claim(book, heads=["needle", "leaf", "barbed", "short_bodkin"])
    shoot(book, yard, "4", "4", "4", "2", "2")
    found = answer(book, yard)
    assert found.verdict == "not_yet"
    assert "by itself no, as one of 4 heads not yet" in said(found.rows[0].told)


def test_at_an_energy_only_shots_on_its_side_count(book: Storage) -> None:
    yard = kit.yard(book)
    chrono, scale = kit.chronograph(book), kit.scale(book, accuracy="0.1 g")
    arrow = kit.arrow(book, masses=(), diameter="9.5 mm")
    kit.mass_reading(book, arrow.build, "72.4 g", instrument=scale)
    kit.speeds(book, kit.Combination(yard.bow.build, arrow.build, yard.archer), "52.4", "52.6", "52.9", instrument_id=chrono)
    near = {"trial": yard.trial, **HOLDS}
    claim = kit.put(book, "claim", {**near, "energy": "150 J"})
    setup = kit.setup(book, yard.session, yard.panel.build, chronograph=chrono, chronograph_at="2 m", distance="14 m")
    end = kit.shooting_end(book, setup)
    for _ in range(4):
        shot = kit.shot(book, yard, arrow_build=arrow.build, shooting_end_id=end, loosed_at=now_ms() + HOUR)
        kit.reading(book, shot, outcome_low="4", **FAIR)
    head = answer(book, yard).found.heads[0]
    assert (head.for_no.through, head.for_yes.shots, head.verdict) == (4, 0, "no"), "about 97 J, through: at 150 J all the more"
    kit.put(book, "claim", {"energy": "40 J"}, record_id=claim, base_rev=1)
    head = answer(book, yard).found.heads[0]
    assert (head.for_no.shots, head.for_yes.through) == (0, 4), "at 40 J they say nothing against it, and nothing for it"
    kit.put(book, "claim", {"energy": "97.5 J"}, record_id=claim, base_rev=2)
    found = answer(book, yard)
    assert found.found.heads[0].shots == 0 and any("4 too near the energy" in said(one) for one in found.limits)
