"""A hardness has a scale; picks give a bracket that may be open."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from proofyard.quantities import Bracket, Hardness, RefusalCode, Refused, bracket_from_picks, read_hardness, sentence


def _words(thing: Any) -> Any:
    return thing.words.replace("\u00a0", " ")


@pytest.mark.parametrize(
    ("text", "value", "scale", "conditions", "words"),
    [
        ("180 HV", 180, "HV", "", "180 HV"),
        ("180HV", 180, "HV", "", "180 HV"),
        ("180 hv", 180, "HV", "", "180 HV"),
        # how ISO 6507-1 and ISO 6506-1 write the load behind the scale (from memory)
        ("180 HV10", 180, "HV", "10", "180 HV10"),
        ("180 HV 0.3", 180, "HV", "0.3", "180 HV0.3"),
        ("210 HBW 10/3000", 210, "HBW", "10/3000", "210 HBW 10/3000"),
        ("210 HB", 210, "HB", "", "210 HB"),
        ("95 HRB", 95, "HRB", "", "95 HRB"),
        ("52 HRC", 52, "HRC", "", "52 HRC"),
        ("HRC 52", 52, "HRC", "", "52 HRC"),
        ("Rc 52", 52, "HRC", "", "52 HRC"),
        ("52 Rc", 52, "HRC", "", "52 HRC"),
        ("RB 95", 95, "HRB", "", "95 HRB"),
        ("52 HRC\n", 52, "HRC", "", "52 HRC"),
        ("52,5 HRC", 52.5, "HRC", "", "52.5 HRC"),
        ("20 HRC", 20, "HRC", "", "20 HRC"),
        ("70\u00a0HRC", 70, "HRC", "", "70 HRC"),
    ],
)
def test_a_hardness_is_a_value_and_its_scale(text: str, value: float, scale: str, conditions: str, words: str) -> None:
    result = read_hardness(text)
    assert isinstance(result, Hardness), result
    assert (result.value, result.scale, result.conditions, result.typed) == (value, scale, conditions, text)
    assert _words(result) == words
    assert read_hardness(words) == Hardness(value, scale, conditions, words, result.warnings)


def test_a_number_alone_takes_the_scale_that_the_field_shows() -> None:
    assert read_hardness("180", scale="HV").scale == "HV"
    assert read_hardness("52 HRC", scale="HV").scale == "HRC"


@pytest.mark.parametrize(
    ("text", "reason", "says"),
    [
        # ISO 6508-1: Rockwell C runs from 20 to 70 (from memory)
        ("18 HRC", RefusalCode.OUT_OF_SCALE, "HRC starts at 20. Type it as HV, for example 180 HV."),
        ("19.9 HRC", RefusalCode.OUT_OF_SCALE, "HRC starts at 20."),
        ("-5 HRC", RefusalCode.NUMBER_SHAPE, "not a number"),
        ("72 HRC", RefusalCode.OUT_OF_SCALE, "HRC ends at 70. Type it as HV"),
        ("110 HRB", RefusalCode.OUT_OF_SCALE, "HRB ends at 100. Type it as HV, for example 240 HV."),
        ("700 HBW", RefusalCode.OUT_OF_SCALE, "HBW ends at 650."),
        ("4000 HV", RefusalCode.OUT_OF_SCALE, "HV ends at 3000."),
        ("0 HV", RefusalCode.OUT_OF_SCALE, "HV starts at 5."),
        ("180", RefusalCode.NO_SCALE, "says no scale"),
        ("55 HS", RefusalCode.UNKNOWN_SCALE, "“HS” is not a hardness scale known here. It takes HV, HRC, HBW, HB or HRB."),
        ("52 HRC 3", RefusalCode.UNKNOWN_SCALE, "“HRC 3” is not a hardness scale"),
        ("1,234 HV", RefusalCode.AMBIGUOUS, "1.234 or 1234"),
        ("180-200 HV", RefusalCode.RANGE, "is a range"),
        ("~180 HV", RefusalCode.APPROXIMATE, "about"),
        ("hard", RefusalCode.NO_NUMBER, "no number"),
        ("HRC 5x", RefusalCode.NUMBER_SHAPE, "not a number"),
        ("52\nHRC", RefusalCode.CHARACTER, "a line break"),
    ],
)
def test_a_hardness_is_refused_with_its_reason(text: str, reason: Any, says: str) -> None:
    result = read_hardness(text)
    assert isinstance(result, Refused) and result.reason_code is reason, result
    assert says in sentence(result)


def test_an_unusual_hardness_is_kept_with_a_warning() -> None:
    assert read_hardness("30 HV").warnings == ("30\u00a0HV is unusual (80 to 900 is usual). Look again.",)
    assert read_hardness("180 HV").warnings == ()


@pytest.mark.parametrize(
    ("picks", "words"),
    [
        ({"bites": 40}, "softer than 40 HRC"),
        ({"slides": 45, "bites": 50}, "between 45 and 50 HRC"),
        ({"slides": 65}, "harder than 65 HRC"),
        ({"sticks": 50}, "about 50 HRC"),
        ({"slides": 45, "sticks": 50, "bites": 55}, "about 50 HRC, between 45 and 55 HRC"),
        ({"slides": 45, "sticks": 50}, "about 50 HRC, harder than 45 HRC"),
        ({"sticks": 50, "bites": 55}, "about 50 HRC, softer than 55 HRC"),
    ],
)
def test_picks_give_a_bracket_open_where_nothing_was_found(picks: Any, words: str) -> None:
    bracket = bracket_from_picks(**picks)
    assert isinstance(bracket, Bracket)
    assert _words(bracket) == words
    assert bracket == Bracket(picks.get("slides"), picks.get("bites"), picks.get("sticks"))


@pytest.mark.parametrize(
    ("picks", "reason", "says"),
    [
        ({}, RefusalCode.NO_PICKS, "No pick was named. Type the hardest pick that slides"),
        ({"slides": 50, "bites": 45}, RefusalCode.PICKS_CROSS, "50 HRC slides, 45 HRC bites: the pick that slides has to be softer"),
        ({"slides": 50, "bites": 50}, RefusalCode.PICKS_CROSS, "has to be softer"),
        ({"slides": 50, "sticks": 50}, RefusalCode.STICK_OUTSIDE, "between the other two"),
        ({"sticks": 55, "bites": 50}, RefusalCode.STICK_OUTSIDE, "between the other two"),
        ({"slides": 5}, RefusalCode.OUT_OF_SCALE, "A pick is 20 to 70 HRC. Type the number on the pick, for example 50."),
        ({"bites": 75}, RefusalCode.OUT_OF_SCALE, "A pick is 20 to 70 HRC"),
        ({"bites": float("nan")}, RefusalCode.OUT_OF_SCALE, "A pick is 20 to 70 HRC"),
    ],
)
def test_picks_that_contradict_each_other_are_refused(picks: Any, reason: Any, says: str) -> None:
    result = bracket_from_picks(**picks)
    assert isinstance(result, Refused) and result.reason_code is reason
    assert says in sentence(result).replace("\u00a0", " ")


def test_a_bracket_needs_an_end_and_its_ends_in_order() -> None:
    for ends in ((None, None), (50, 45), (50, 50), (45, 50, 55)):
        with pytest.raises(ValueError):
            Bracket(*ends)


PICK = st.none() | st.sampled_from([40, 45, 50, 55, 60, 65])


@given(slides=PICK, bites=PICK, sticks=PICK)
def test_any_picks_give_an_ordered_bracket_or_a_reason(slides: Any, bites: Any, sticks: Any) -> None:
    result = bracket_from_picks(slides=slides, bites=bites, sticks=sticks)
    given_in_order = [hrc for hrc in (slides, sticks, bites) if hrc is not None]
    in_order = bool(given_in_order) and sorted(set(given_in_order)) == given_in_order
    assert isinstance(result, Bracket) == in_order
    assert result.words if in_order else sentence(result)
