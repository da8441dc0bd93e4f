"""A struck arrow is to check until someone says flexed, looked at, sound."""

from server.findings.soundness import NEVER_SHOT, soundness_of_builds
from tests import kit_for_tests as kit


def sound(book, build):
    with book.read() as session:
        return soundness_of_builds(session, [build]).get(build, NEVER_SHOT)


def test_an_arrow_never_shot_wants_no_hand(book):
    yard = kit.yard(book)
    assert sound(book, yard.arrow.build).answer == "new"
    assert not sound(book, yard.arrow.build).need


def test_an_arrow_that_was_loosed_is_to_check_and_says_since_which_shot(book):
    yard = kit.yard(book)
    kit.shot(book, yard, label="A7")
    found = sound(book, yard.arrow.build)
    assert (found.answer, found.need, found.why) == ("to_check", True, "loosed as A7, not looked at since")


def test_a_miss_is_to_check_as_well(book):
    yard = kit.yard(book)
    kit.read_shot(book, yard, hit="missed")
    assert sound(book, yard.arrow.build).answer == "to_check"


def test_a_let_down_is_no_loose(book):
    yard = kit.yard(book)
    kit.shot(book, yard, purpose="let_down")
    assert sound(book, yard.arrow.build).answer == "new"


def test_a_shot_that_is_struck_through_was_none(book):
    yard = kit.yard(book)
    kit.strike(book, "shot", kit.shot(book, yard))
    assert sound(book, yard.arrow.build).answer == "new"


def test_a_check_after_the_shot_clears_it_and_the_next_shot_takes_it_back(book):
    yard = kit.yard(book)
    kit.shot(book, yard, loosed_at=kit.BEGAN)
    kit.checked_sound(book, yard.arrow.build, at=kit.BEGAN + 1000)
    assert sound(book, yard.arrow.build).answer == "sound"
    kit.shot(book, yard, loosed_at=kit.BEGAN + 2000)
    assert sound(book, yard.arrow.build).answer == "to_check"


def test_a_check_before_the_shot_clears_nothing(book):
    yard = kit.yard(book)
    kit.checked_sound(book, yard.arrow.build, at=kit.BEGAN)
    kit.shot(book, yard, loosed_at=kit.BEGAN + 1000)
    assert sound(book, yard.arrow.build).answer == "to_check"


def test_a_check_without_a_time_counts_from_when_it_came_in(book):
    yard = kit.yard(book)
    kit.shot(book, yard, loosed_at=kit.BEGAN)
    kit.put(book, "arrow_check", {"arrow_build": yard.arrow.build, "sound": "sound"})
    # The test's shots lie in October 2026; the check came in when this ran, whichever is later decides.
    expected = "sound" if kit.devices.now_ms() > kit.BEGAN else "to_check"
    assert sound(book, yard.arrow.build).answer == expected


def test_shooting_an_arrow_again_does_not_mend_it(book):
    yard = kit.yard(book)
    kit.checked_sound(book, yard.arrow.build, sound="not_sound", at=kit.BEGAN)
    assert sound(book, yard.arrow.build).answer == "not_sound"
    kit.shot(book, yard, label="A3", loosed_at=kit.BEGAN + 1000)
    assert sound(book, yard.arrow.build).answer == "not_sound"
    assert "A3" in sound(book, yard.arrow.build).why
    kit.checked_sound(book, yard.arrow.build, at=kit.BEGAN + 2000)
    assert sound(book, yard.arrow.build).answer == "sound"


def test_a_check_that_is_struck_through_was_none(book):
    yard = kit.yard(book)
    kit.shot(book, yard, loosed_at=kit.BEGAN)
    kit.strike(book, "arrow_check", kit.checked_sound(book, yard.arrow.build, at=kit.BEGAN + 1000))
    assert sound(book, yard.arrow.build).answer == "to_check"


def test_one_build_says_nothing_of_another(book):
    yard = kit.yard(book)
    kit.shot(book, yard)
    again = kit.new_arrow_build(book, yard.arrow)
    assert sound(book, again.build).answer == "new"
