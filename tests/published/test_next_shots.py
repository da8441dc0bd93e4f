"""The next shot against published runs, against another way to sum, and in cases where the best shot is plain."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import dblquad

from server.statistics.fifty_percent_point import fifty_percent_point, fit_curve
from server.statistics.next_shot import (
    NarrowingShot,
    NextByOutcome,
    enough,
    next_by_outcome,
    next_to_narrow,
)
from server.statistics.refusals import CantTell, CantUse

# A run of 20 by the rule of Dixon and Mood, Journal of the American Statistical Association 1948 43:109, step 5
# (constructed by the rule; the estimates from it are checked against their formulas elsewhere).
LEVELS = [40, 45, 50, 45, 50, 55, 50, 45, 50, 45, 40, 45, 50, 55, 50, 45, 50, 55, 60, 55]
THROUGH = [0, 0, 1, 0, 0, 1, 1, 0, 1, 1, 0, 0, 0, 1, 1, 0, 0, 0, 1, 1]
AT_HAND = [30, 35, 40, 45, 50, 55, 60, 65]


def test_a_run_of_dixon_and_mood_is_followed_shot_by_shot() -> None:
    for shot in range(19):
        found = next_by_outcome(LEVELS[shot], THROUGH[shot], at_hand_j=AT_HAND)
        assert isinstance(found, NextByOutcome)
        assert found.energy_j == LEVELS[shot + 1] == AT_HAND[found.place]


def test_up_and_down_leaves_out_what_lies_nearer_than_a_step_and_says_where_it_ends() -> None:
    found = next_by_outcome(40, 0, at_hand_j=[39, 40.5, 41, 44, 52], step=1.08)
    assert isinstance(found, NextByOutcome) and found.energy_j == 44
    end = next_by_outcome(65, 0, at_hand_j=AT_HAND)
    assert isinstance(end, NextByOutcome) and end.energy_j == 65 and "no energy at hand lies further up" in end.why
    assert isinstance(next_by_outcome(40, 0, at_hand_j=[]), CantTell)


def test_the_expected_narrowing_is_that_of_another_way_to_sum() -> None:
    """The same belief (slope 2 to 40 by its logarithm, a half up to a factor 2 beyond) summed by adaptive quadrature."""
    energies, through, at_hand = [38.0, 44.0, 50.0, 47.0], [0, 0, 1, 1], [40.0, 45.5, 52.0]
    found = next_to_narrow(energies, through, at_hand_j=at_hand)
    assert isinstance(found, NarrowingShot)
    low, high = math.log(38.0 / 2), math.log(52.0 * 2)

    def likelihood(middle: float, log_slope: float, shots: list[tuple[float, int]]) -> float:
        chance = 1.0
        for energy, hit in shots:
            p = 1 / (1 + math.exp(math.exp(log_slope) * (middle - math.log(energy))))
            chance *= p if hit else 1 - p
        return chance

    def moment(shots: list[tuple[float, int]], power: int) -> float:
        def weighed(log_slope: float, middle: float) -> float:
            return likelihood(middle, log_slope, shots) * (middle - 3.8) ** power

        return float(dblquad(weighed, low, high, math.log(2), math.log(40), epsabs=1e-9)[0])

    seen = list(zip(energies, through, strict=True))
    whole = moment(seen, 0)
    expected = {}
    for energy in at_hand:
        after = 0.0
        for outcome in (0, 1):
            parts = [moment([*seen, (energy, outcome)], power) for power in range(3)]
            after += parts[0] / whole * (parts[2] / parts[0] - (parts[1] / parts[0]) ** 2)
        expected[energy] = math.sqrt(after)
    for one in (found.best, *found.others):
        assert one.spread_after == pytest.approx(expected[one.energy_j], rel=0.01)
    assert found.best.energy_j == min(expected, key=lambda energy: expected[energy])


def test_between_the_highest_stopped_and_the_lowest_through_lies_the_best_shot() -> None:
    """With shots that part cleanly the half lies in the gap, and so does what is to be learnt."""
    found = next_to_narrow([30, 35, 40, 60, 65, 70], [0, 0, 0, 1, 1, 1], at_hand_j=[20, 30, 40, 49, 60, 70, 90])
    assert isinstance(found, NarrowingShot) and found.best.energy_j == 49
    assert found.best.factor < 1 and found.low_j < 49 < found.high_j


def test_the_answer_turns_with_its_units_and_with_through_and_stopped() -> None:
    energies, through, at_hand = [30.0, 42.0, 50.0, 61.0], [0, 1, 0, 1], [35.0, 45.0, 55.0]
    one = next_to_narrow(energies, through, at_hand_j=at_hand)
    ten = next_to_narrow([10 * e for e in energies], through, at_hand_j=[10 * e for e in at_hand])
    mirrored = next_to_narrow([2000 / e for e in energies], [1 - y for y in through], at_hand_j=[2000 / e for e in at_hand])
    assert isinstance(one, NarrowingShot) and isinstance(ten, NarrowingShot) and isinstance(mirrored, NarrowingShot)
    assert ten.best.place == mirrored.best.place == one.best.place
    assert ten.half_j == pytest.approx(10 * one.half_j) and mirrored.half_j == pytest.approx(2000 / one.half_j)
    again = next_to_narrow(energies[::-1], through[::-1], at_hand_j=at_hand)
    assert isinstance(again, NarrowingShot) and again.best.spread_after == pytest.approx(one.best.spread_after)


def test_a_change_of_bow_that_costs_much_is_put_off() -> None:
    energies, through = [40, 45, 50, 55], [0, 1, 0, 1]
    free = next_to_narrow(energies, through, at_hand_j=[47, 57])
    assert isinstance(free, NarrowingShot)
    works = [4.0, 1.0] if free.best.place == 0 else [1.0, 4.0]
    dear = next_to_narrow(energies, through, at_hand_j=[47, 57], works=works)
    assert isinstance(dear, NarrowingShot) and dear.best.place != free.best.place
    assert isinstance(next_to_narrow([], [], at_hand_j=[]), CantTell)


def test_with_no_shots_the_middle_of_what_is_at_hand_comes_first() -> None:
    found = next_to_narrow([], [], at_hand_j=[20, 30, 40, 53, 80])
    assert isinstance(found, NarrowingShot) and found.best.energy_j == 40 and found.shots == 0
    assert found.half_j == pytest.approx(40, rel=1e-6)


def test_a_shot_more_is_never_expected_to_widen() -> None:
    lots = np.random.default_rng(4)
    for _ in range(20):
        energies = lots.uniform(30, 70, 6)
        through = [int(one) for one in lots.random(6) < energies / 90]
        found = next_to_narrow(energies.tolist(), through, at_hand_j=[30, 40, 50, 60, 70])
        assert isinstance(found, NarrowingShot)
        assert all(one.factor <= 1 + 1e-9 and 0 <= one.chance <= 1 for one in (found.best, *found.others))


def test_when_to_stop_is_said_with_its_reason() -> None:
    curve = fit_curve([22, 26, 30, 34, 38, 42, 46, 50, 54, 58], [0] * 5 + [1] * 5)
    assert not isinstance(curve, CantTell)
    point = fifty_percent_point(curve)
    assert not enough(point, 10).stop
    assert enough(point, 10, planned_shots=10).why == "all 10 planned shots are shot"
    wide = enough(point, 10, wanted_width=1.5, planned_shots=20)
    assert not wide.stop and wide.why == "the high end is 1.73 times the low end, and 1.5 times is wanted; 10 of the 20 planned shots are left"
    assert enough(point, 10, wanted_width=1.8).stop
    assert "not bounded yet" in enough(CantTell("none of 5 shots got through"), 5, wanted_width=1.5).why


@pytest.mark.parametrize(
    "asked",
    [
        lambda: next_by_outcome(0, 0, at_hand_j=[40]), lambda: next_by_outcome(40, 2, at_hand_j=[40]), lambda: next_by_outcome(40, 0, at_hand_j=[-1]),
        lambda: next_by_outcome(40, 0, at_hand_j=[40], step=0.9), lambda: next_to_narrow([40], [], at_hand_j=[40]),
        lambda: next_to_narrow([], [], at_hand_j=[40], works=[]), lambda: next_to_narrow([], [], at_hand_j=[40], works=[0]),
        lambda: enough(CantTell(""), 3, wanted_width=1.0), lambda: enough(CantTell(""), 3, planned_shots=0), lambda: enough(CantTell(""), -1),
    ],
)  # fmt: skip
def test_what_no_choice_can_rest_on_is_refused(asked: object) -> None:
    with pytest.raises(CantUse):
        asked()  # type: ignore[operator]
