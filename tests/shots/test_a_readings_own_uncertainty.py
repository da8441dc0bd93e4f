"""A speed that says its own uncertainty (frames, sound) is believed on it; its instrument speaks for the others."""

from __future__ import annotations

import math

import pytest
from proofyard.records.shot_facts import shot_facts
from proofyard.shots.impact import Impact, Impacts
from proofyard.storage import Storage
from proofyard.wording.reasons.said import said

from tests import kit_for_tests as kit


def impact_of(book: Storage, shot_id: str) -> Impact:
    with book.read() as session:
        fact = next(fact for fact in shot_facts(session) if fact.shot_id == shot_id)
        return Impacts.load(session).of_shot(fact)


def test_a_shots_own_speed_by_frames_has_the_uncertainty_that_it_says_and_no_chronographs(book: Storage) -> None:
    yard = kit.yard(book)
    loosed = kit.shot(book, yard)
    kit.shot_speed(book, loosed, "60 m/s", method="frames", uncertainty="2.04 m/s")
    speed = impact_of(book, loosed).speed
    assert speed is not None and speed.standard_uncertainty == pytest.approx(2.04)


def test_without_it_and_without_an_instrument_the_uncertainty_stays_unknown(book: Storage) -> None:
    yard = kit.yard(book)
    loosed = kit.shot(book, yard)
    kit.shot_speed(book, loosed, "60 m/s", method="frames")
    speed = impact_of(book, loosed).speed
    assert speed is not None and speed.standard_uncertainty is None


def test_in_a_mean_the_least_sure_speaks_for_all_and_stands_beside_the_scatter(book: Storage) -> None:
    """GUM 5.1.2: the scatter of the mean, s/sqrt(3) = 0.1155, and the widest own uncertainty, 1.5."""
    yard = kit.yard(book)
    tool = kit.chronograph(book, "C1")
    series = kit.speeds(book, yard.combination, "52.4", instrument_id=tool)
    for value, u in (("52.6", "1.5 m/s"), ("52.8", "0.9 m/s")):
        kit.put(book, "speed_reading", {"series": series, "value": value, "method": "sound", "uncertainty": u})
    with book.read() as session:
        found = Impacts.load(session).of_combination(kit.combination(book, yard.combination))
    assert found.speed is not None and found.type_b is not None
    assert found.speed.standard_uncertainty == pytest.approx(math.hypot(0.2 / math.sqrt(3), 1.5))
    assert said(found.type_b.source) == "one reading’s own: sound"


def test_one_reading_that_nobody_can_judge_leaves_the_whole_unknown(book: Storage) -> None:
    yard = kit.yard(book)
    series = kit.speeds(book, yard.combination, "52.4")
    kit.put(book, "speed_reading", {"series": series, "value": "52.6", "method": "sound", "uncertainty": "1 m/s"})
    with book.read() as session:
        found = Impacts.load(session).of_combination(kit.combination(book, yard.combination))
    assert found.speed is not None and found.speed.standard_uncertainty is None
