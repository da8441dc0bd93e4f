"""What the book itself counts of kit is what the rules that every page shows say of each record, whatever was changed."""

from __future__ import annotations

import random

import pytest
from proofyard.answers.kit.kit_state import ArrowState, kit_states, look_again
from proofyard.records.kit_named import arrows_to_check, arrows_weighed, kit_named, maybe_unusual
from proofyard.storage import Storage

from tests import kit_for_tests as kit
from tests.shots.test_cache import change, cross_out

SAID: tuple[tuple[str, dict[str, str | list[str]]], ...] = (
    ("arrow_check", {"sound": "not_sound"}),
    ("arrow_check", {"sound": "sound"}),
    ("arrow_check", {"at": "1792836000000"}),
    ("arrow_check", {"arrow_build": "@arrow_build"}),
    ("shot", {"loosed_at": "1792836000000"}),
    ("shot", {"purpose": "let_down"}),
    ("shot", {"arrow_build": "@arrow_build"}),
    ("shot_reading", {"head_fate": ["broken"]}),
    ("arrow_build", {"number": "7"}),
    ("arrow_build", {"arrow": "@arrow"}),
    ("arrow", {"retired": "yes"}),
    ("arrow", {"diameter": "14 mm"}),
    ("reading", {"left_out_reason": "the scale stood askew"}),
    ("panel", {"width": "1.9 m"}),
    ("bow", {"marked_weight": "19 lbf"}),
)
CROSSED_OUT = ("arrow_check", "shot", "arrow_build", "arrow", "reading")


def counted_alike(book: Storage) -> None:
    with book.read() as session:
        every = kit_named(session)
        states = kit_states(session, {noun: [one.record_id for one in some] for noun, some in every.items()})
        arrows = [state for _, state in states.values() if isinstance(state, ArrowState)]
        assert arrows_to_check(session) == sum(one.sound.need for one in arrows if not one.arrow.retired)
        assert arrows_weighed(session) == sum(one.mass is not None for one in arrows)
        maybe = {(noun, record_id) for noun, some in maybe_unusual(session, most=10_000).items() for record_id in some}
        assert {(one.noun, one.record_id) for one in look_again(record for record, _ in states.values())} <= maybe


@pytest.mark.parametrize("seed", [1, 2])
def test_arrows_to_check_and_weighed_and_what_is_unusual(demo_book: Storage, seed: int) -> None:
    lots, taken = random.Random(seed), 0
    counted_alike(demo_book)
    for _ in range(25):
        done = cross_out(demo_book, lots.choice(CROSSED_OUT), lots) if lots.random() < 0.3 else change(demo_book, *lots.choice(SAID), lots)
        taken += done
        if done:
            counted_alike(demo_book)
    assert taken >= 12


@pytest.mark.parametrize("order", [("sound", "not_sound"), ("not_sound", "sound")])
def test_of_two_checks_of_one_moment_all_pages_believe_the_same(demo_book: Storage, order: tuple[str, str]) -> None:
    with demo_book.read() as session:
        first = kit_named(session)["arrow"][0].record_id
        state = kit_states(session, {"arrow": [first]})[first][1]
    assert isinstance(state, ArrowState) and state.build
    build = state.build.build_id
    for sound in order:
        assert kit.ask(demo_book, "arrow_check", {"arrow_build": build, "sound": sound, "at": "1892836000000"}).taken
    counted_alike(demo_book)
