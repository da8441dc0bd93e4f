"""The next shot by a run made by the rule, against another way to sum, and in cases where the best shot is plain."""

from __future__ import annotations

import math

import numpy as np
import pytest
from proofyard.quantities.reason import CantTell, CantUse, because
from proofyard.statistics.fifty_percent_point import fifty_percent_point, fit_curve
from proofyard.statistics.next_shot import NarrowingShot, NextByOutcome, enough, next_by_outcome, next_to_narrow
from scipy.integrate import dblquad

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


@pytest.mark.parametrize(
    ("through", "step", "at_hand", "next_j"),
    [
        (0, 1.1, [40, 44, 50], 44),  # exactly a step up is a step
        (0, 1.1, [40, 43.99, 50], 50),
        (1, 1.25, [40, 32, 20], 32),  # exactly a step down
        (1, 1.25, [40, 32.01, 20], 20),
        (0, 1.0, [40, 40.79, 41], 41),  # without a step, what is the same to 2 % is no other energy
        (0, 1.0, [40, 40.81, 41], 40.81),
    ],
)
def test_an_energy_exactly_a_step_away_is_taken_and_one_just_short_of_it_is_not(
    through: int, step: float, at_hand: list[float], next_j: float
) -> None:
    found = next_by_outcome(40, through, at_hand_j=at_hand, step=step)
    assert isinstance(found, NextByOutcome) and found.energy_j == next_j


def test_up_and_down_leaves_out_what_lies_nearer_than_a_step_and_says_where_it_ends() -> None:
    found = next_by_outcome(40, 0, at_hand_j=[39, 40.5, 41, 44, 52], step=1.08)
    assert isinstance(found, NextByOutcome) and found.energy_j == 44
    end = next_by_outcome(65, 0, at_hand_j=AT_HAND)
    assert isinstance(end, NextByOutcome) and end.energy_j == 65
    assert end.why == because("same_energy_again", through=False, energy_j=65)
    assert isinstance(next_by_outcome(40, 0, at_hand_j=[]), CantTell)


def test_the_rule_never_goes_up_after_through_nor_down_after_a_stop_and_says_again_only_of_what_was_shot() -> None:
    """The arrow that was shot broke: what was left lay on the wrong side, and was offered as "again"."""
    for last, through, at_hand in ((40, 1, [45, 50]), (50, 0, [40, 45])):
        found = next_by_outcome(last, through, at_hand_j=at_hand, step=1.05)
        assert isinstance(found, CantTell)
        assert found.reason == because("all_on_the_wrong_side", through=bool(through), last_j=last, nearest_j=45)
    nearly = next_by_outcome(40, 1, at_hand_j=[39, 38.5, 45], step=1.05)
    assert isinstance(nearly, NextByOutcome) and nearly.energy_j == 38.5
    assert nearly.why == because("less_than_a_step", through=True, energy_j=38.5)


def test_the_rule_s_own_words_hold_over_any_energies() -> None:
    """Dixon and Mood's rule itself: less after a shot that got through, more after one that was stopped, or the same."""
    lots = np.random.default_rng(7)
    for _ in range(2000):
        at_hand = [float(one) for one in np.round(lots.uniform(20, 90, lots.integers(1, 6)), 1)]
        last, through, step = float(lots.uniform(20, 90)), int(lots.integers(0, 2)), float(lots.choice([1.0, 1.05, 1.2]))
        found = next_by_outcome(last, through, at_hand_j=at_hand, step=step)
        away = math.log((found.energy_j if isinstance(found, NextByOutcome) else last) / last) * (-1 if through else 1)
        assert away > -math.log(1.02)
        if isinstance(found, NextByOutcome):
            assert (found.why.code == "same_energy_again") == (abs(away) < math.log(1.02))
        else:
            assert all(math.log(one / last) * (-1 if through else 1) <= -math.log(1.02) + 1e-12 for one in at_hand)


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
    assert ten.fifty_percent_j == pytest.approx(10 * one.fifty_percent_j) and mirrored.fifty_percent_j == pytest.approx(
        2000 / one.fifty_percent_j
    )
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
    assert found.fifty_percent_j == pytest.approx(40, rel=1e-6)


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
    assert enough(point, 10, planned_shots=10).why == because("all_planned_are_shot", planned=10)
    wide = enough(point, 10, wanted_width=1.5, planned_shots=20)
    left = because("planned_shots_left", left=10, planned=20)
    assert not wide.stop
    assert wide.why == because("wider_than_wanted", times=pytest.approx(1.954, abs=0.005), wanted_times=1.5, left=left)
    assert enough(point, 10, wanted_width=2.0).stop
    unbounded = enough(CantTell(because("none_got_through", shots=5)), 5, wanted_width=1.5)
    assert unbounded.why == because("wider_than_wanted", times=None, wanted_times=1.5, left=None)


@pytest.mark.parametrize(
    "asked",
    [
        lambda: next_by_outcome(0, 0, at_hand_j=[40]),
        lambda: next_by_outcome(40, 2, at_hand_j=[40]),
        lambda: next_by_outcome(40, 0, at_hand_j=[-1]),
        lambda: next_by_outcome(40, 0, at_hand_j=[40], step=0.9),
        lambda: next_to_narrow([40], [], at_hand_j=[40]),
        lambda: next_to_narrow([], [], at_hand_j=[40], works=[]),
        lambda: next_to_narrow([], [], at_hand_j=[40], works=[0]),
        lambda: enough(CantTell(because("no_shots")), 3, wanted_width=1.0),
        lambda: enough(CantTell(because("no_shots")), 3, planned_shots=0),
        lambda: enough(CantTell(because("no_shots")), -1),
    ],
)
def test_what_no_choice_can_rest_on_is_refused(asked: object) -> None:
    with pytest.raises(CantUse):
        asked()
