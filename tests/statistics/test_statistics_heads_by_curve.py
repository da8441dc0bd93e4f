"""Heads compared through the curve, and what stands beside the energy."""

from __future__ import annotations

import math

import numpy as np
import pytest
from proofyard.quantities.reason import CantTell, CantUse, Reason, because
from proofyard.statistics.fifty_percent_point import FALLING, fit_curve
from proofyard.statistics.heads_by_curve import (
    CurveWithTerms,
    EnergyRatio,
    TwoHeads,
    fit_with_terms,
    ratio_of_energies,
    slope_for_all,
    smallest_p_by_curve,
    two_heads_by_curve,
)
from scipy.optimize import brentq, minimize

ENERGIES = [30.0, 35, 40, 45, 50, 55, 60, 65]
NEEDLE = [0, 0, 1, 1, 1, 1, 1, 1]
LEAF = [0, 0, 0, 0, 0, 1, 1, 1]
BOTH = (ENERGIES * 2, NEEDLE + LEAF, [False] * 8 + [True] * 8)


def compared(energies: list[float], through: list[int], second: list[bool]) -> TwoHeads:
    found = two_heads_by_curve(energies, through, second=second)
    assert isinstance(found, TwoHeads)
    return found


def ends_of(found: TwoHeads, level: float = 0.95) -> EnergyRatio:
    return ratio_of_energies(found, level=level, limit_times=1.0)


def drawn(shots: int, *, slope: float, seed: int, shift: float = 0.0) -> tuple[list[float], list[int]]:
    lots = np.random.default_rng(seed)
    logs = lots.uniform(math.log(30), math.log(65), shots)
    chance = 1 / (1 + np.exp(-slope * (logs - math.log(45) - shift)))
    return np.exp(logs).tolist(), (lots.random(shots) < chance).astype(int).tolist()


def value_another_way(a: float, c: float, b: float) -> float:
    """Penalised log-likelihood of needle and leaf with one slope, shot by shot, as its definition reads."""
    centre = sum(map(math.log, ENERGIES)) / 8
    total, information = 0.0, np.zeros((3, 3))
    for level, outcomes, who in ((a, NEEDLE, 0), (c, LEAF, 1)):
        for energy, hit in zip(ENERGIES, outcomes, strict=True):
            row = np.array([float(who == 0), float(who == 1), math.log(energy) - centre])
            p = 1 / (1 + math.exp(-(level + b * row[2])))
            total += math.log(p if hit else 1 - p)
            information += p * (1 - p) * np.outer(row, row)
    return total + 0.5 * math.log(float(np.linalg.det(information)))


def test_the_ratio_and_its_ends_are_where_a_blind_search_puts_them() -> None:
    def search(function: object, start: list[float]) -> tuple[list[float], float]:
        found = minimize(function, start, method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-12, "maxiter": 4000})
        return list(found.x), -float(found.fun)

    (a, c, b), best = search(lambda x: -value_another_way(*x), [1.0, -1.0, 5.0])
    pair = compared(*BOTH)
    found = ends_of(pair)
    assert pair.log_ratio == pytest.approx((a - c) / b, abs=1e-4)
    assert found.ratio == pytest.approx(math.exp(pair.log_ratio))

    def short_of(gap: float) -> float:
        _, held = search(lambda x: -value_another_way(x[0] + gap * x[1], x[0], x[1]), [c, b])
        return 2 * (best - held) - 3.841459

    assert found.low is not None and found.high is not None
    assert math.log(found.low) == pytest.approx(brentq(short_of, -0.3, (a - c) / b, xtol=1e-6), abs=1e-4)
    assert math.log(found.high) == pytest.approx(brentq(short_of, (a - c) / b, 1.5, xtol=1e-6), abs=1e-4)
    # The fall at a ratio of 1 is what p rests on.
    assert pair.fall == pytest.approx(short_of(0.0) + 3.841459, abs=1e-6)


def test_naming_the_other_head_first_turns_the_ratio_over() -> None:
    here = ends_of(compared(*BOTH))
    there = ends_of(compared(BOTH[0], LEAF + NEEDLE, BOTH[2]))
    assert here.ratio is not None and there.ratio == pytest.approx(1 / here.ratio, rel=1e-6)
    assert here.low is not None and here.high is not None
    assert (there.low, there.high) == pytest.approx((1 / here.high, 1 / here.low), rel=1e-5)


def test_a_head_against_itself_needs_once_the_energy() -> None:
    pair = compared(ENERGIES * 2, NEEDLE * 2, BOTH[2])
    found = ends_of(pair)
    assert found.ratio == pytest.approx(1, abs=1e-6) and pair.fall == pytest.approx(0, abs=1e-9)
    assert found.low is not None and found.high is not None and found.low * found.high == pytest.approx(1, rel=1e-5)


def test_a_known_ratio_is_found_and_one_slope_is_let_be() -> None:
    first, second = drawn(300, slope=8, seed=1), drawn(300, slope=8, seed=2, shift=0.2)
    found = compared(first[0] + second[0], first[1] + second[1], [False] * 300 + [True] * 300)
    one = ends_of(found)
    assert one.low is not None and one.high is not None
    assert one.low < math.exp(0.2) < one.high
    assert found.slopes_differ_p > 0.05
    assert found.leaning == because("heads_slopes_taken_alike")


def test_two_slopes_are_noticed() -> None:
    first, second = drawn(300, slope=3, seed=1), drawn(300, slope=16, seed=2)
    found = compared(first[0] + second[0], first[1] + second[1], [False] * 300 + [True] * 300)
    assert found.slopes_differ_p < 0.001
    assert found.leaning == because("heads_slopes_differ")


def test_a_head_that_always_got_through_is_bounded_on_one_side() -> None:
    found = ends_of(compared(ENERGIES * 2, LEAF + [1] * 8, BOTH[2]))
    assert found.low is None
    assert found.high is not None and found.high < 1
    turned = ends_of(compared(ENERGIES * 2, [1] * 8 + LEAF, BOTH[2]))
    assert turned.high is None
    assert turned.low == pytest.approx(1 / found.high, rel=1e-5)


def test_a_head_that_never_got_through_is_bounded_on_the_other() -> None:
    found = ends_of(compared(ENERGIES * 2, NEEDLE + [0] * 8, BOTH[2]))
    assert found.high is None
    assert found.low is not None and found.low > 1


def test_the_smallest_p_of_many_shots_is_next_to_nothing_at_whatever_energies() -> None:
    """All of one head and none of the other: the fall is what a coin for each shot is worth, 2 n ln 2, less what the penalty takes.

    Of three columns the penalty of the even coin is about 3 ln n / 2 above that of chances of 0 and 1: of the fall, about 3 ln n.
    """
    lots = np.random.default_rng(1)
    for shots in (200, 400, 700):
        second = [n % 2 == 0 for n in range(shots)]
        told = smallest_p_by_curve([float(one) for one in np.exp(lots.normal(4.3, 0.3, shots))], second=second, limit_times=1.2)
        most = 2 * shots * math.log(2)
        least, highest = (math.erfc(math.sqrt(fall / 1.2 / 2)) for fall in (most, most - 3 * math.log(shots)))
        assert least < told < highest < 1e-40, shots


def test_the_smallest_p_is_that_of_all_against_none_and_asks_for_no_outcome() -> None:
    for n in (5, 8):
        energies = ENERGIES[:n] * 2
        second = [False] * n + [True] * n
        told = smallest_p_by_curve(energies, second=second, limit_times=1.1)
        lots = np.random.default_rng(n)
        for _ in range(30):
            found = two_heads_by_curve(energies, [int(one) for one in lots.random(2 * n) < 0.5], second=second)
            assert isinstance(found, CantTell) or found.p_value(limit_times=1.1) >= told - 1e-9
    assert smallest_p_by_curve([40.0] * 4, second=[True, False] * 2, limit_times=1.1) == 1.0
    with pytest.raises(CantUse):
        smallest_p_by_curve([40.0, 50.0], second=[True, True], limit_times=1.1)


def test_one_slope_for_all_heads_of_an_armour() -> None:
    first, second = drawn(400, slope=8, seed=5), drawn(400, slope=8, seed=6, shift=0.3)
    found = slope_for_all(first[0] + second[0], first[1] + second[1], groups=["a"] * 400 + ["b"] * 400)
    assert found is not None and 6.5 < found < 9.5
    assert slope_for_all([40.0] * 4, [0, 1, 0, 1], groups=["a"] * 4) is None
    assert slope_for_all([], [], groups=[]) is None
    assert slope_for_all(ENERGIES, [1] * 8, groups=["a"] * 8) is None
    assert slope_for_all(ENERGIES, [1, 1, 1, 1, 0, 0, 0, 0], groups=["a"] * 8) is None
    with pytest.raises(CantUse):
        slope_for_all(ENERGIES, NEEDLE, groups=["a"])


AB = [False, True]
REFUSALS = [
    ("one head", ENERGIES, NEEDLE, [False] * 8, because("one_has_no_shots")),
    ("no shots", [], [], [], because("no_shots")),
    ("energies not measured", [None, None], [0, 1], AB, because("no_measured_energy", shots=2)),
    ("all through", ENERGIES, [1] * 8, AB * 4, because("every_head_alike_throughout", shots=8, through=True)),
    ("none through", ENERGIES, [0] * 8, AB * 4, because("every_head_alike_throughout", shots=8, through=False)),
    ("one energy", [45.0] * 4, [0, 1, 0, 1], AB * 2, because("heads_at_one_energy")),
    ("falling", ENERGIES, [1, 1, 1, 1, 0, 0, 0, 0], AB * 4, FALLING),
    ("an energy each", [30.0, 30, 60, 60], [0, 1, 0, 1], [False, False, True, True], because("each_head_at_its_own_energy")),
]


@pytest.mark.parametrize(("case", "energies", "through", "second", "reason"), REFUSALS, ids=[one[0] for one in REFUSALS])
def test_what_cant_be_told_has_its_reason(
    case: str, energies: list[float | None], through: list[int], second: list[bool], reason: Reason
) -> None:
    assert two_heads_by_curve(energies, through, second=second) == CantTell(reason)


def test_shots_that_bound_neither_side_have_no_ends() -> None:
    found = two_heads_by_curve([30.0, 40, 50, 60], [0, 1, 0, 1], second=[False, True, True, False])
    assert isinstance(found, TwoHeads)
    ends = ends_of(found)
    assert ends.low is ends.high is None


def test_as_many_heads_as_shots_are_wanted() -> None:
    with pytest.raises(CantUse):
        two_heads_by_curve(ENERGIES, NEEDLE, second=[False])


def with_angle(shots: int, effect: float) -> tuple[list[float], list[int], list[float]]:
    lots = np.random.default_rng(5)
    logs, angles = lots.uniform(math.log(30), math.log(65), shots), lots.uniform(0, 40, shots)
    chance = 1 / (1 + np.exp(-(8 * (logs - math.log(45)) + effect * angles)))
    return np.exp(logs).tolist(), (lots.random(shots) < chance).astype(int).tolist(), angles.tolist()


def test_a_known_effect_of_the_angle_is_found() -> None:
    energies, through, angles = with_angle(400, -0.05)
    found = fit_with_terms(energies, through, terms={"angle": angles})
    assert isinstance(found, CurveWithTerms)
    one = found.terms[0]
    assert one.low is not None and one.high is not None and one.low < -0.05 < one.high < 0
    assert one.energy_low is not None and one.energy_high is not None
    assert one.energy_low < math.exp(0.05 / 8) < one.energy_high


def test_another_unit_of_a_term_changes_its_effect_by_that_unit_alone() -> None:
    energies, through, angles = with_angle(100, -0.05)
    here = fit_with_terms(energies, through, terms={"angle": angles})
    there = fit_with_terms(energies, through, terms={"angle": [one / 10 for one in angles]})
    assert isinstance(here, CurveWithTerms) and isinstance(there, CurveWithTerms)
    assert there.terms[0].effect == pytest.approx(10 * here.terms[0].effect, rel=1e-6)
    assert there.terms[0].energy_factor == pytest.approx(here.terms[0].energy_factor ** 10, rel=1e-6)


def test_one_term_for_every_ten_of_the_rarer_outcome_and_no_more() -> None:
    energies, through, angles = with_angle(60, 0)
    rarer = min(sum(through), 60 - sum(through))
    assert 20 <= rarer < 30
    lots = np.random.default_rng(1)
    two = {"angle": angles, "nearest hit": lots.uniform(10, 90, 60).tolist()}
    assert isinstance(fit_with_terms(energies, through, terms=two), CurveWithTerms)
    three = {**two, "through a seam": (lots.random(60) < 0.4).astype(float).tolist()}
    assert fit_with_terms(energies, through, terms=three) == CantTell(because("too_few_for_terms", needed=30, terms=3, rarer=rarer))


def test_a_shot_that_lacks_a_term_is_left_out_and_counted() -> None:
    energies, through, angles = with_angle(100, 0)
    some: list[float | None] = [None if at < 3 else one for at, one in enumerate(angles)]
    found = fit_with_terms(energies, through, terms={"angle": some})
    assert isinstance(found, CurveWithTerms)
    assert (found.shots, found.left_out) == (97, 3)


def test_terms_that_say_the_same_or_nothing_are_refused() -> None:
    energies, through, angles = with_angle(100, 0)
    twice = fit_with_terms(energies, through, terms={"angle": angles, "tilt": [2 * one + 1 for one in angles]})
    assert twice == CantTell(because("two_terms_say_the_same"))
    same = fit_with_terms(energies, through, terms={"angle": [0.0] * 100})
    assert same == CantTell(because("term_never_changed", term="angle"))
    one_energy = fit_with_terms([45.0] * 100, through, terms={"angle": angles})
    assert one_energy == CantTell(because("terms_at_one_energy"))
    falling = fit_with_terms(energies, [1 - one for one in through], terms={"angle": angles})
    assert falling == CantTell(FALLING)


def test_terms_that_no_record_could_hold_are_refused() -> None:
    with pytest.raises(CantUse):
        fit_with_terms(ENERGIES, NEEDLE, terms={})
    with pytest.raises(CantUse):
        fit_with_terms(ENERGIES, NEEDLE, terms={"angle": [1.0]})
    with pytest.raises(CantUse):
        fit_with_terms(ENERGIES, NEEDLE, terms={"angle": [math.nan] * 8})


def test_two_heads_by_curve_stand_about_where_their_own_curves_do() -> None:
    first, second = drawn(200, slope=8, seed=3), drawn(200, slope=8, seed=4, shift=0.15)
    found = compared(first[0] + second[0], first[1] + second[1], [False] * 200 + [True] * 200)
    own = [fit_curve(*one) for one in (first, second)]
    assert not any(isinstance(one, CantTell) for one in own)
    gap = own[1].middle - own[0].middle
    assert found.log_ratio == pytest.approx(gap, abs=0.03)
