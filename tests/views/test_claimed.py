"""Whether the numbers of shots set beforehand are reached: a trial's own, and its claim's, whatever its form."""

from __future__ import annotations

from typing import Any

import pytest
from proofyard.records.trial import Trial
from proofyard.shots.loosed import LoosedShot, load_loosed
from proofyard.storage import Storage
from proofyard.views.claimed import looks_of

from tests import kit_for_tests as kit
from tests.pairs_for_tests import claimed, made

HOLDS: dict[str, Any] = {"claim_form": "holds", "one_in": 10, "heads": '["needle", "leaf"]', "construction": "plate"}


@pytest.fixture
def one(book: Storage) -> LoosedShot:
    """One real fair hit, to be copied."""
    yard = kit.yard(book)
    kit.speeds(book, kit.Combination(yard.bow.build, yard.arrow.build, yard.archer))
    kit.read_shot(book, yard, entry="plate", fair_overrule="fair", fair_reason="laid out for this test")
    with book.read() as session:
        return load_loosed(session).shots[0]


def looks(
    one: LoosedShot, needles: int, leaves: int, *, late: bool = False, stop: int | None = None, state: str = "open", **more: Any
) -> str:
    trial = Trial(id=one.fact.trial_id, rev=1, question="?", state=state, stop_rule="shots" if stop else None, stop_shots=stop)
    shots = [*made(one, "needle", [(80.0, "2")] * needles), *made(one, "leaf", [(80.0, "2")] * leaves)]
    return looks_of(trial, claimed(trial, late=late, **{**HOLDS, "bow_id": one.fact.bow_id, **more}), shots)


def test_a_claims_number_is_reached_when_each_of_its_heads_has_so_many(one: LoosedShot) -> None:
    assert looks(one, 9, 9) == "not set"
    assert looks(one, 9, 4, set_shots=5) == "before"
    assert looks(one, 9, 5, set_shots=5) == "set"
    assert looks(one, 9, 4, set_shots=5, state="closed") == "not set", "it stopped short of its number"


def test_stated_after_the_first_shot_its_number_is_none(one: LoosedShot) -> None:
    assert looks(one, 9, 9, set_shots=5, late=True) == "not set"
    assert looks(one, 9, 9, set_shots=5, late=True, stop=18) == "set"


def test_where_trial_and_claim_both_set_a_number_both_must_be_reached(one: LoosedShot) -> None:
    assert looks(one, 5, 5, set_shots=5, stop=11) == "before"
    assert looks(one, 7, 4, set_shots=5, stop=11) == "before"
    assert looks(one, 6, 5, set_shots=5, stop=11) == "set"


def test_of_never_no_number_is_kept(one: LoosedShot) -> None:
    """A number typed before the claim became "never" is in no box of its form any more."""
    assert looks(one, 9, 9, set_shots=5, claim_form="never") == "not set"
