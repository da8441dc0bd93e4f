"""The borrowed averaging limit: what it takes, and when it refuses."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from proofyard.quantities.reason import CantTell, CantUse, Reason, because
from proofyard.statistics.ballistic_limit import AveragingRule, BallisticLimit, averaging_limit

SPEEDS = [40.0, 44.0, 47.0, 48.0, 47.5, 49.0, 51.0, 60.0]
THROUGH = [0, 0, 0, 0, 1, 1, 1, 1]


def limit(speeds: list[float], through: list[int], rules: list[AveragingRule]) -> BallisticLimit:
    found = averaging_limit(speeds, through, projectiles=["A1"] * len(speeds), rules=rules)
    assert isinstance(found, BallisticLimit)
    return found


def refused(speeds: list[float], through: list[int], rules: list[AveragingRule]) -> Reason:
    found = averaging_limit(speeds, through, projectiles=["A1"] * len(speeds), rules=rules)
    assert isinstance(found, CantTell)
    return found.reason


def test_it_takes_the_highest_stopped_and_the_lowest_through() -> None:
    found = limit(SPEEDS, THROUGH, [AveragingRule(3, 10)])
    assert found.stopped_m_s == (48.0, 47.0, 44.0)
    assert found.through_m_s == (47.5, 49.0, 51.0)
    assert found.overlap_m_s == 0.5


@given(st.permutations(list(range(8))))
def test_the_order_of_the_shots_does_not_matter(order: list[int]) -> None:
    rules = [AveragingRule(2, 10)]
    there = limit([SPEEDS[at] for at in order], [THROUGH[at] for at in order], rules)
    assert there == limit(SPEEDS, THROUGH, rules)


def test_the_next_rule_is_tried_where_the_first_is_not_met() -> None:
    rules = [AveragingRule(3, 6.0), AveragingRule(4, 25.0)]
    assert limit(SPEEDS, THROUGH, rules).rule == rules[1]
    assert limit(SPEEDS, THROUGH, rules[::-1]).rule == rules[1]


@pytest.mark.parametrize(
    ("through", "rules", "reason"),
    [
        (THROUGH, [AveragingRule(3, 5)], because("rule_spread_too_wide", each_side=3, spread_m_s=7.0, most_m_s=5)),
        (THROUGH, [AveragingRule(5, 50)], because("rule_lacks_stopped", each_side=5, stopped=4)),
        ([1] * 8, [AveragingRule(3, 50)], because("rule_lacks_stopped", each_side=3, stopped=0)),
        ([0] * 8, [AveragingRule(3, 50)], because("rule_lacks_through", each_side=3, through=0)),
    ],
)
def test_rules_that_are_not_met_refuse_with_the_reason_of_each(through: list[int], rules: list[AveragingRule], reason: Reason) -> None:
    assert refused(SPEEDS, through, rules) == because("no_rule_is_met", rules=(reason,))


def test_two_kinds_of_projectile_have_no_one_limit() -> None:
    found = averaging_limit([45.0, 46.0], [0, 1], projectiles=["A1", "B2"])
    assert found == CantTell(because("more_than_one_projectile", projectiles=("A1", "B2")))


def test_no_shots_have_no_limit() -> None:
    assert averaging_limit([], [], projectiles=[]) == CantTell(because("no_shots"))


@pytest.mark.parametrize("rules", [[AveragingRule(3, 40), AveragingRule(5, 30)], [AveragingRule(3, 40), AveragingRule(3, 50)]])
def test_settings_that_contradict_each_other_are_said_to(rules: list[AveragingRule]) -> None:
    """5 and 5 within 30 m/s hold 3 and 3 within 30, so within 40: the second rule could never decide anything."""
    assert refused(SPEEDS, THROUGH, rules).code == "rules_contradict"


@pytest.mark.parametrize(
    ("speeds", "through", "rules"),
    [
        ([0.0], [1], [AveragingRule(3, 40)]),
        ([-4.0], [1], [AveragingRule(3, 40)]),
        ([math.nan], [1], [AveragingRule(3, 40)]),
        ([40.0], [2], [AveragingRule(3, 40)]),
        ([40.0], [1, 0], [AveragingRule(3, 40)]),
        ([40.0], [1], []),
        ([40.0], [1], [AveragingRule(0, 40)]),
        ([40.0], [1], [AveragingRule(3, 0)]),
        ([40.0], [1], [AveragingRule(3, math.inf)]),
    ],
)
def test_what_no_record_or_setting_could_hold_is_refused(speeds: list[float], through: list[int], rules: list[AveragingRule]) -> None:
    with pytest.raises(CantUse):
        averaging_limit(speeds, through, projectiles=["A1"] * len(speeds), rules=rules)
