"""A struck arrow is to check until someone says flexed, looked at, sound."""

from typing import Any

import pytest
from proofyard.quantities.reason import because
from proofyard.records.range_facts import current_arrows
from proofyard.shots.soundness import NEVER_SHOT, soundness, soundness_of_builds
from proofyard.storage import Storage

from tests import kit_for_tests as kit


def sound(book: Storage, build: Any) -> Any:
    with book.read() as session:
        return soundness_of_builds(session, [build]).get(build, NEVER_SHOT)


def test_an_arrow_never_shot_wants_no_hand(book: Storage) -> None:
    yard = kit.yard(book)
    assert sound(book, yard.arrow.build).answer == "new"
    assert not sound(book, yard.arrow.build).need


def test_an_arrow_that_was_loosed_is_to_check_and_says_since_which_shot(book: Storage) -> None:
    yard = kit.yard(book)
    kit.shot(book, yard, label="A7")
    found = sound(book, yard.arrow.build)
    assert (found.answer, found.need, found.why) == ("to_check", True, because("sound_loosed_since", shot="A7"))


def test_a_miss_is_to_check_as_well(book: Storage) -> None:
    yard = kit.yard(book)
    kit.read_shot(book, yard, hit="missed")
    assert sound(book, yard.arrow.build).answer == "to_check"


def test_a_let_down_is_no_loose(book: Storage) -> None:
    yard = kit.yard(book)
    kit.shot(book, yard, purpose="let_down")
    assert sound(book, yard.arrow.build).answer == "new"


def test_a_shot_that_is_crossed_out_was_none(book: Storage) -> None:
    yard = kit.yard(book)
    kit.void(book, "shot", kit.shot(book, yard))
    assert sound(book, yard.arrow.build).answer == "new"


def test_a_check_after_the_shot_clears_it_and_the_next_shot_takes_it_back(book: Storage) -> None:
    yard = kit.yard(book)
    kit.shot(book, yard, loosed_at=kit.BEGAN)
    kit.checked_sound(book, yard.arrow.build, at=kit.BEGAN + 1000)
    assert sound(book, yard.arrow.build).answer == "sound"
    kit.shot(book, yard, loosed_at=kit.BEGAN + 2000)
    assert sound(book, yard.arrow.build).answer == "to_check"


def test_a_check_before_the_shot_clears_nothing(book: Storage) -> None:
    yard = kit.yard(book)
    kit.checked_sound(book, yard.arrow.build, at=kit.BEGAN)
    kit.shot(book, yard, loosed_at=kit.BEGAN + 1000)
    assert sound(book, yard.arrow.build).answer == "to_check"


def test_a_check_without_a_time_counts_from_when_it_came_in(book: Storage) -> None:
    yard = kit.yard(book)
    kit.shot(book, yard, loosed_at=kit.BEGAN)
    kit.put(book, "arrow_check", {"arrow_build": yard.arrow.build, "sound": "sound"})
    # The test's shots lie in October 2026; the check came in when this ran, whichever is later decides.
    expected = "sound" if kit.devices.now_ms() > kit.BEGAN else "to_check"
    assert sound(book, yard.arrow.build).answer == expected


def test_shooting_an_arrow_again_does_not_mend_it(book: Storage) -> None:
    yard = kit.yard(book)
    kit.checked_sound(book, yard.arrow.build, sound="not_sound", at=kit.BEGAN)
    assert sound(book, yard.arrow.build).answer == "not_sound"
    kit.shot(book, yard, label="A3", loosed_at=kit.BEGAN + 1000)
    assert sound(book, yard.arrow.build).answer == "not_sound"
    assert sound(book, yard.arrow.build).why == because("sound_found_not_sound", loosed_since=True, shot="A3")
    kit.checked_sound(book, yard.arrow.build, at=kit.BEGAN + 2000)
    assert sound(book, yard.arrow.build).answer == "sound"


def test_a_check_that_is_crossed_out_was_none(book: Storage) -> None:
    yard = kit.yard(book)
    kit.shot(book, yard, loosed_at=kit.BEGAN)
    kit.void(book, "arrow_check", kit.checked_sound(book, yard.arrow.build, at=kit.BEGAN + 1000))
    assert sound(book, yard.arrow.build).answer == "to_check"


def test_one_build_says_nothing_of_another(book: Storage) -> None:
    yard = kit.yard(book)
    kit.shot(book, yard)
    again = kit.new_arrow_build(book, yard.arrow)
    assert sound(book, again.build).answer == "new"


@pytest.mark.parametrize("fate", [{"shaft_fate": ["broken_behind_head"]}, {"shaft_fate": ["bent", "cracked"]}, {"head_fate": ["loose"]}])
def test_an_arrow_read_as_broken_cracked_or_loose_is_not_sound_until_it_is_checked(book: Storage, fate: Any) -> None:
    yard = kit.yard(book)
    shot = kit.shot(book, yard, label="A7", loosed_at=kit.BEGAN)
    kit.reading(book, shot, **fate)
    found = sound(book, yard.arrow.build)
    assert (found.answer, found.why) == ("not_sound", because("sound_read_as_broken", shot="A7"))
    with book.read() as session:
        (arrow,) = current_arrows(session)
    assert soundness(arrow) == "not_sound" and arrow.grounded_by == shot
    kit.checked_sound(book, yard.arrow.build, at=kit.BEGAN + 1000)
    assert sound(book, yard.arrow.build).answer == "sound"


@pytest.mark.parametrize(
    "fate", [{"shaft_fate": ["bent", "fletching_torn"]}, {"head_fate": ["blunted", "curled"]}, {"shaft_fate": ["sound"]}]
)
def test_what_a_hand_may_still_pass_is_to_check(book: Storage, fate: Any) -> None:
    yard = kit.yard(book)
    kit.reading(book, kit.shot(book, yard), **fate)
    assert sound(book, yard.arrow.build).answer == "to_check"


def test_a_reading_that_is_crossed_out_grounds_no_arrow(book: Storage) -> None:
    yard = kit.yard(book)
    shot = kit.shot(book, yard)
    kit.void(book, "shot_reading", kit.reading(book, shot, shaft_fate=["broken_behind_head"]))
    assert sound(book, yard.arrow.build).answer == "to_check"
