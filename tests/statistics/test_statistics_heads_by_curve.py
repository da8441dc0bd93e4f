"""Heads compared through the curve, and what stands beside the energy."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import brentq, minimize

from server.statistics.fifty_percent_point import FALLING, FLAT, fit_curve
from server.statistics.heads_by_curve import (
    CurveWithTerms,
    HeadsByCurve,
    compare_heads_by_curve,
    fit_with_terms,
)
from server.statistics.refusals import CantTell, CantUse

ENERGIES = [30.0, 35, 40, 45, 50, 55, 60, 65]
NEEDLE = [0, 0, 1, 1, 1, 1, 1, 1]
LEAF = [0, 0, 0, 0, 0, 1, 1, 1]
BOTH = (ENERGIES * 2, NEEDLE + LEAF, ["needle"] * 8 + ["leaf"] * 8)


def compared(energies: list[float], through: list[int], heads: list[str], level: float = 0.95) -> HeadsByCurve:
    found = compare_heads_by_curve(energies, through, heads=heads, level=level)
    assert isinstance(found, HeadsByCurve)
    return found


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
        found = minimize(
            function, start, method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-12, "maxiter": 4000}
        )
        return list(found.x), -float(found.fun)

    (a, c, b), best = search(lambda x: -value_another_way(*x), [1.0, -1.0, 5.0])
    found = compared(*BOTH).ratios[0]
    assert (found.head, found.than) == ("leaf", "needle")
    assert math.log(found.ratio) == pytest.approx((a - c) / b, abs=1e-4)

    def short_of(gap: float) -> float:
        _, held = search(lambda x: -value_another_way(x[0] + gap * x[1], x[0], x[1]), [c, b])
        return 2 * (best - held) - 3.841459

    assert found.low is not None and found.high is not None
    assert math.log(found.low) == pytest.approx(brentq(short_of, -0.3, (a - c) / b, xtol=1e-6), abs=1e-4)
    assert math.log(found.high) == pytest.approx(brentq(short_of, (a - c) / b, 1.5, xtol=1e-6), abs=1e-4)


def test_naming_the_other_head_first_turns_the_ratio_over() -> None:
    here = compared(*BOTH).ratios[0]
    there = compared(BOTH[0], LEAF + NEEDLE, ["leaf"] * 8 + ["needle"] * 8).ratios[0]
    assert there.ratio == pytest.approx(1 / here.ratio, rel=1e-6)
    assert here.low is not None and here.high is not None
    assert (there.low, there.high) == pytest.approx((1 / here.high, 1 / here.low), rel=1e-5)


def test_a_head_against_itself_needs_once_the_energy() -> None:
    found = compared(ENERGIES * 2, NEEDLE * 2, ["a"] * 8 + ["b"] * 8).ratios[0]
    assert found.ratio == pytest.approx(1, abs=1e-6)
    assert found.low is not None and found.high is not None and found.low * found.high == pytest.approx(1, rel=1e-5)


def test_three_heads_are_all_measured_against_the_first() -> None:
    found = compared(ENERGIES * 3, NEEDLE + LEAF + NEEDLE, ["a"] * 8 + ["b"] * 8 + ["c"] * 8)
    assert [(one.head, one.than) for one in found.ratios] == [("b", "a"), ("c", "a")]
    assert found.ratios[1].ratio == pytest.approx(1, abs=1e-6)
    assert (found.shots, found.hits) == ((8, 8, 8), (6, 3, 6))


def test_a_known_ratio_is_found_and_one_slope_is_let_be() -> None:
    first, second = drawn(300, slope=8, seed=1), drawn(300, slope=8, seed=2, shift=0.2)
    found = compared(first[0] + second[0], first[1] + second[1], ["a"] * 300 + ["b"] * 300)
    one = found.ratios[0]
    assert one.low is not None and one.high is not None
    assert one.low < math.exp(0.2) < one.high
    assert found.slopes_differ_p > 0.05
    assert "don't speak against" in found.words


def test_two_slopes_are_noticed() -> None:
    first, second = drawn(300, slope=3, seed=1), drawn(300, slope=16, seed=2)
    found = compared(first[0] + second[0], first[1] + second[1], ["a"] * 300 + ["b"] * 300)
    assert found.slopes_differ_p < 0.001
    assert "speak against that: compare the heads at one energy" in found.words


def test_a_head_that_always_got_through_is_bounded_on_one_side() -> None:
    found = compared(ENERGIES * 2, LEAF + [1] * 8, ["a"] * 8 + ["b"] * 8).ratios[0]
    assert found.low is None
    assert found.high is not None and found.high < 1
    turned = compared(ENERGIES * 2, [1] * 8 + LEAF, ["b"] * 8 + ["a"] * 8).ratios[0]
    assert turned.high is None
    assert turned.low == pytest.approx(1 / found.high, rel=1e-5)


def test_a_head_that_never_got_through_is_bounded_on_the_other() -> None:
    found = compared(ENERGIES * 2, NEEDLE + [0] * 8, ["a"] * 8 + ["b"] * 8).ratios[0]
    assert found.high is None
    assert found.low is not None and found.low > 1


REFUSALS = [
    ("one head", ENERGIES, NEEDLE, ["a"] * 8, "only a was shot, so there is nothing to compare it with"),
    ("no shots", [], [], [], "no shots"),
    ("energies not measured", [None, None], [0, 1], ["a", "b"], "none of the 2 shots has a measured energy"),
    ("all through", ENERGIES, [1] * 8, ["a", "b"] * 4, "all of 8 shots got through, with every head"),
    ("none through", ENERGIES, [0] * 8, ["a", "b"] * 4, "none of 8 shots got through, with every head"),
    ("one energy", [45.0] * 4, [0, 1, 0, 1], ["a", "b"] * 2, "all shots had one energy: compare the shares instead"),
    ("falling", ENERGIES, [1, 1, 1, 1, 0, 0, 0, 0], ["a", "b"] * 4, FALLING),
    ("flat", [30.0, 40, 50, 60], [0, 1, 0, 1], ["a", "b", "b", "a"], FLAT),
    (
        "an energy each", [30.0, 30, 60, 60], [0, 1, 0, 1], ["a", "a", "b", "b"],
        "every head was shot at one energy of its own, so nothing tells the head from the energy",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("case", "energies", "through", "heads", "reason"), REFUSALS, ids=[one[0] for one in REFUSALS])
def test_what_cant_be_told_is_said_in_words(
    case: str, energies: list[float | None], through: list[int], heads: list[str], reason: str
) -> None:
    assert compare_heads_by_curve(energies, through, heads=heads) == CantTell(reason)


def test_as_many_heads_as_shots_are_wanted() -> None:
    with pytest.raises(CantUse):
        compare_heads_by_curve(ENERGIES, NEEDLE, heads=["a"])


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
    assert fit_with_terms(energies, through, terms=three) == CantTell(
        f"it takes 30 shots of the rarer outcome to ask about 3 more things beside the energy: there are {rarer}"
    )


def test_a_shot_that_lacks_a_term_is_left_out_and_counted() -> None:
    energies, through, angles = with_angle(100, 0)
    some: list[float | None] = [None if at < 3 else one for at, one in enumerate(angles)]
    found = fit_with_terms(energies, through, terms={"angle": some})
    assert isinstance(found, CurveWithTerms)
    assert (found.shots, found.left_out) == (97, 3)


def test_terms_that_say_the_same_or_nothing_are_refused_in_words() -> None:
    energies, through, angles = with_angle(100, 0)
    twice = fit_with_terms(energies, through, terms={"angle": angles, "tilt": [2 * one + 1 for one in angles]})
    assert isinstance(twice, CantTell) and "say the same thing" in twice.reason
    same = fit_with_terms(energies, through, terms={"angle": [0.0] * 100})
    assert same == CantTell("angle was the same at every shot, so its part can't be told")
    one_energy = fit_with_terms([45.0] * 100, through, terms={"angle": angles})
    assert one_energy == CantTell("all shots had one energy: leave the energy out and compare the shares")
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
    found = compared(first[0] + second[0], first[1] + second[1], ["a"] * 200 + ["b"] * 200)
    own = [fit_curve(*one) for one in (first, second)]
    assert not any(isinstance(one, CantTell) for one in own)
    gap = own[1].middle - own[0].middle  # type: ignore[union-attr]
    assert math.log(found.ratios[0].ratio) == pytest.approx(gap, abs=0.03)
