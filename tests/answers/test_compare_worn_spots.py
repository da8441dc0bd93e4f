"""Does an earlier hit nearby matter: which shots stand on which side, and what is said of so few. Worked by hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest
from proofyard.answers.compare.worn_spots import EARLIER_HIT, WornSpots, nearness, worn_spots_of
from proofyard.quantities.reason import because
from proofyard.shots.fair_hits import FairMark
from proofyard.shots.loosed import Loosed, LoosedShot
from proofyard.statistics.wear import CAVEAT
from proofyard.wording.fairness import SORTS
from proofyard.wording.reasons.said import said

# The fixtures of the filled book are imported by name, and pytest hands them in by the same name.
# ruff: noqa: F811
from tests.results_for_tests import Filled, book, filled, filled_once, loosed  # noqa: F401

PLACELESS = FairMark("not_known", because("fair_place_not_known"), "place")
NEAR, FRESH = (
    FairMark("not_fair", because("fair_too_near", shot="A1", away_m=0.012, opened_ring=False), "near"),
    FairMark("fair", because("fair_first_hit")),
)


@pytest.fixture
def one(loosed: Loosed) -> LoosedShot:
    return next(shot for shot in loosed.shots if shot.fact.label == "A1")


def spots(loosed: Loosed, one: LoosedShot, marked: Sequence[tuple[FairMark | None, str]], **query: str) -> WornSpots:
    """`marked`: a fairness and the outcome levels of the shots that have it."""
    shots: list[LoosedShot] = []
    for mark, outcome_levels in marked:
        for letter in outcome_levels:
            low, high = (3, 4) if letter == "o" else (int(letter), int(letter))
            fact = replace(one.fact, shot_id=f"s{len(shots)}", outcome_low=low, outcome_high=high)
            shots.append(replace(one, fact=fact, fair=mark))
    return worn_spots_of(replace(loosed, shots=tuple(shots), voided=()), {name: [value] for name, value in query.items()})


def test_only_an_earlier_hit_makes_a_spot_worn(one: LoosedShot) -> None:
    sides = {sort: nearness(replace(one, fair=FairMark("not_fair", because("fair_panel_edge"), sort))) for sort in SORTS}
    assert {sort for sort, side in sides.items() if side is True} == EARLIER_HIT == {"old_hit", "same_plate", "near"}
    assert sides["arrow"] == sides["edge"] == sides["overruled"] == "neither"
    assert nearness(replace(one, fair=FRESH)) is False
    assert nearness(replace(one, fair=PLACELESS)) is nearness(replace(one, fair=None)) is None


def test_four_against_four_by_hand(loosed: Loosed, one: LoosedShot) -> None:
    """3 of 4 near against 1 of 4 fair: 50 points; only all against none of four could tell."""
    found = spots(loosed, one, [(NEAR, "4441"), (FRESH, "2224")])
    assert found.before.parts["could"] == because("only_all_against_none_could_tell", shots=4, other_shots=4)
    counts = {"near": 3, "of_near": 4, "past": "through", "fair": 1, "of_fair": 4}
    assert found.told[0].code == "near_and_fair_counts" and counts.items() <= found.told[0].parts.items()
    assert "That is 50 percentage points more; 95\N{NO-BREAK SPACE}% interval " in said(found.told[0])
    assert found.title == because("no_effect_of_near_shown")
    assert found.told[2] == because("near_energies_alike")
    assert (found.near.words, found.fresh.words) == ("3 of 4", "1 of 4")


def test_what_goes_together_is_never_called_a_cause(loosed: Loosed, one: LoosedShot) -> None:
    found = spots(loosed, one, [(NEAR, "4" * 10), (FRESH, "2" * 10)])
    assert found.title == because("near_differs", more=True)
    assert found.caveat == CAVEAT and "Nobody drew lots" in said(found.caveat)


@pytest.mark.parametrize(
    "marked, title",
    [
        ([(FRESH, "244")], "No answer yet: no shot hit near an earlier hit"),
        ([(NEAR, "244")], "No answer yet: no fair shot to compare with"),
        ([], "No answer yet: no shot hit near an earlier hit"),
        ([(NEAR, "4"), (FRESH, "22")], "Too few shots to show whether an earlier hit nearby matters"),
    ],
)
def test_what_cannot_be_told_is_said_so(loosed: Loosed, one: LoosedShot, marked: list[tuple[FairMark, str]], title: str) -> None:
    assert said(spots(loosed, one, marked).title) == title


def test_every_shot_stands_on_one_side_or_is_said_to_stand_on_none(loosed: Loosed, one: LoosedShot) -> None:
    marked = [(NEAR, "44o"), (FRESH, "222"), (PLACELESS, "4"), (FairMark("not_fair", because("fair_arrow_found_unsound"), "arrow"), "44")]
    found = spots(loosed, one, marked)
    assert (found.compared, found.not_known, found.neither, found.open) == (6, 1, 2, 1)
    assert found.compared + found.not_known + found.neither + sum(row.count for row in found.left_out) == found.loosed == 9
    # An open outcome stands in the count as what it is, and in no test.
    assert found.near.words == "2 or 3 of 3" and found.told[0].parts["of_near"] == 2


def test_the_worn_spot_in_the_book_is_found(loosed: Loosed) -> None:
    """A61 stands 12 mm from A60; the rest of the not fair are not fair for other reasons."""
    found = worn_spots_of(loosed, {"construction": ["plate"]})
    near = [shot.fact.label for shot in loosed.shots if nearness(shot) is True and shot.fact.construction == "plate"]
    assert "A61" in near and found.near.shots == len(near)
    assert found.compared + found.not_known + found.neither + sum(row.count for row in found.left_out) == found.loosed
    assert "near_mixes_forms" in {one.code for one in found.told}


def test_energies_chosen_by_the_outcomes_give_no_total(loosed: Loosed, one: LoosedShot) -> None:
    marked = [(NEAR, "4441"), (FRESH, "2224")]
    assert not spots(loosed, one, marked).totals_hidden
    loosed.trials[one.fact.trial_id].next_shot_rule = "up_and_down"
    found = spots(loosed, one, marked)
    assert found.totals_hidden and found.title == because("no_totals")
    assert "near_and_fair_counts" not in {one.code for one in found.told}
