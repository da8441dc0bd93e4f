"""Moments in words, as the pages of phones and kit say them."""

from datetime import datetime

import pytest
from proofyard.wording.when import ago_words, day_words, moment_words, short_day_words

SECOND, MINUTE, HOUR = 1_000, 60_000, 3_600_000
NOON = int(datetime(2026, 10, 24, 12, 0).timestamp() * 1000)


@pytest.mark.parametrize(
    ("back", "words"),
    [
        (0, "0 seconds ago"),
        (SECOND, "1 second ago"),
        (59 * SECOND, "59 seconds ago"),
        (MINUTE, "1 minute ago"),
        (HOUR, "1 hour ago"),
        (23 * HOUR, "23 hours ago"),
        (24 * HOUR, "on 23 October"),
        (-5 * SECOND, "0 seconds ago"),  # a phone's clock may run ahead of the laptop's
    ],
)
def test_how_long_ago_is_said_in_the_largest_unit_that_is_full_then_as_the_day(back: int, words: str) -> None:
    assert ago_words(NOON - back, now=NOON) == words


def test_a_day_of_this_year_goes_without_its_year_and_another_carries_it() -> None:
    assert short_day_words(NOON, now=NOON) == "24 October"
    assert short_day_words(NOON, now=NOON + 365 * 24 * HOUR) == "24 October 2026"


def test_the_ways_to_say_a_day_agree() -> None:
    assert day_words("2026-10-24") == "24 October 2026"
    assert moment_words(NOON) == "12:00 on 24 October 2026"


def test_a_day_that_is_none_is_shown_as_it_was_typed() -> None:
    assert day_words("next week") == "next week"
