"""Protection for weight, shots that a head lasts, a figure over several groups, and which measure explains.

Two sources stand beside each: figures of an independent computation (code of another hand, no part of this program, with numpy
2.4.6, scipy 1.17.1 and statsmodels 0.15.0), kept as printed; and a library's own answer where there is one.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable

import numpy as np
import pytest
from proofyard.quantities.reason import CantTell, CantUse
from proofyard.statistics import which_measure
from proofyard.statistics.energy_for_weight import EnergyEnds, EnergyForExtraWeight, Weight, energy_for_extra_weight, energy_for_weight
from proofyard.statistics.head_life import HeadLife, shots_a_head_lasts
from proofyard.statistics.heads_by_curve import TwoHeads, two_heads_by_curve
from proofyard.statistics.several_groups import OverGroups, over_groups, over_groups_with_ends, share_over_groups
from proofyard.statistics.which_measure import (
    EnergiesByHead,
    MeasuresFound,
    energies_by_common_slope,
    fewest_heads,
    measures_by_concordance,
    measures_by_correlation,
)

AsPrinted = Callable[[float, str], None]
LIGHT, HEAVY = EnergyEnds(75.4, 63.0, 90.3), EnergyEnds(98.4, 79.5, 129.0)


@pytest.mark.parametrize(
    ("energy", "weight", "printed"),
    [(LIGHT, Weight(13.6, 0.2), ("5.544", "4.622", "6.655")), (HEAVY, Weight(17.9, 0.3), ("5.497", "4.430", "7.221"))],
)
def test_joules_for_weight_as_computed_independently(
    energy: EnergyEnds, weight: Weight, printed: tuple[str, str, str], as_printed: AsPrinted
) -> None:
    found = energy_for_weight(energy, weight)
    assert found.low is not None and found.high is not None
    for value, text in zip((found.value, found.low, found.high), printed, strict=True):
        as_printed(value, text)


def test_joules_for_extra_weight_as_computed_independently(as_printed: AsPrinted) -> None:
    """The first pair's difference holds 0, so nothing is shown; the second is."""
    unsure = energy_for_extra_weight(LIGHT, HEAVY, extra=Weight(4.3, 0.36))
    assert isinstance(unsure, EnergyForExtraWeight) and not unsure.shown
    for value, text in zip(
        (unsure.difference_j, unsure.difference_low_j, unsure.difference_high_j), ("23.0", "-1.07", "56.0"), strict=True
    ):
        as_printed(value, text)
    shown = energy_for_extra_weight(EnergyEnds(60, 55, 66), EnergyEnds(95, 88, 104), extra=Weight(4.3, 0.36))
    assert isinstance(shown, EnergyForExtraWeight) and shown.shown
    for value, text in zip((shown.value, shown.low, shown.high), ("8.140", "5.794", "11.153"), strict=True):
        as_printed(value, text)


def test_with_even_ends_the_ratio_of_extra_weight_is_fiellers() -> None:
    """Where both intervals are even about their estimates, MOVER-R is Fieller's interval (Donner and Zou 2012, from memory):
    the roots of (d - R w)^2 = z^2 (u_d^2 + R^2 u_w^2), by numpy's own root finder."""
    z, u_w = 1.959963984540054, 0.3
    lighter, heavier = EnergyEnds(60.0, 55.0, 65.0), EnergyEnds(95.0, 87.0, 103.0)
    found = energy_for_extra_weight(lighter, heavier, extra=Weight(4.0, u_w))
    assert isinstance(found, EnergyForExtraWeight)
    reach2, w_reach2 = 5.0**2 + 8.0**2, (z * u_w) ** 2
    roots = sorted(np.roots([4.0**2 - w_reach2, -2 * 35.0 * 4.0, 35.0**2 - reach2]).real)
    assert (found.low, found.high) == pytest.approx(roots, rel=1e-9)


@pytest.mark.parametrize(("ended", "shots", "printed"), [(5, 34, ("6.8", "3.22", "20.19")), (2, 32, ("16", "4.81", "130.5"))])
def test_shots_that_a_head_lasts_as_computed_independently(
    ended: int, shots: int, printed: tuple[str, str, str], as_printed: AsPrinted
) -> None:
    found = shots_a_head_lasts(ended, shots)
    assert isinstance(found, HeadLife) and found.lasts is not None and found.high is not None
    for value, text in zip((found.lasts, found.low, found.high), printed, strict=True):
        as_printed(value, text)


def test_no_head_ended_gives_one_side_as_computed_independently(as_printed: AsPrinted) -> None:
    found = shots_a_head_lasts(0, 36)
    assert isinstance(found, HeadLife) and found.high is None and found.lasts is None
    as_printed(found.low, "12.5")


@pytest.mark.parametrize(("ended", "shots"), [(1, 1), (1, 9), (5, 34), (12, 13), (40, 400)])
def test_a_life_is_one_over_scipys_exact_interval(ended: int, shots: int) -> None:
    from scipy.stats import binomtest

    found = shots_a_head_lasts(ended, shots)
    theirs = binomtest(ended, shots).proportion_ci(confidence_level=0.95, method="exact")
    assert isinstance(found, HeadLife) and found.high is not None
    assert (found.low, found.high) == pytest.approx((1 / theirs.high, 1 / theirs.low), rel=1e-9)


@pytest.mark.parametrize("shots", [1, 7, 36, 5000])
def test_without_an_end_it_is_one_over_scipys_one_sided_limit(shots: int) -> None:
    from scipy.stats import binomtest

    found = shots_a_head_lasts(0, shots)
    theirs = binomtest(0, shots, alternative="less").proportion_ci(confidence_level=0.95, method="exact")
    assert isinstance(found, HeadLife)
    assert found.low == pytest.approx(1 / theirs.high, rel=1e-9)


def test_several_groups_as_computed_independently(as_printed: AsPrinted) -> None:
    found = over_groups([0.10, 0.32, 0.05, 0.22], [0.08, 0.10, 0.06, 0.12])
    assert isinstance(found, OverGroups)
    figures = (found.between**2, found.value, found.low, found.high)
    for value, text in zip(figures, ("0.0072807", "0.15082", "-0.04322", "0.34486"), strict=True):
        as_printed(value, text)


# statsmodels 0.15.0, statsmodels.stats.meta_analysis.combine_effects(y, v, method_re="iterated", use_t=True), row
# "random effect" and tau2, as it printed them. It has no max(1, q); in both cases q is 1.
STATSMODELS = (
    ((0.10, 0.32, 0.05, 0.22), (0.08, 0.10, 0.06, 0.12), "0.0072807", "0.150821", "-0.043219", "0.344861"),
    ((0.61, 0.02, 0.35, -0.20, 0.44), (0.15, 0.12, 0.20, 0.18, 0.10), "0.0829", "0.2502", "-0.1533", "0.6537"),
)


@pytest.mark.parametrize(("values", "errors", "tau2", "mean", "low", "high"), STATSMODELS)
def test_several_groups_as_statsmodels_has_them(
    values: tuple[float, ...], errors: tuple[float, ...], tau2: str, mean: str, low: str, high: str, as_printed: AsPrinted
) -> None:
    found = over_groups(values, errors)
    assert isinstance(found, OverGroups)
    for value, text in zip((found.between**2, found.value, found.low, found.high), (tau2, mean, low, high), strict=True):
        as_printed(value, text)


# statsmodels 0.15.0 again, combine_effects(y, v, method_re="iterated", use_t=True) of y = ln((x + 0.5) / (n - x + 0.5)) and
# v = 1/(n p (1 - p)), p = (sum x + 0.5) / (sum n + 1): tau2 and row "random effect", in log-odds, as it printed them.
SHARES = (
    (((3, 20), (9, 20), (14, 20), (6, 12)), "0.802195", "-0.257150", "-1.876196", "1.361896"),
    (((0, 12), (4, 15), (2, 30), (7, 18), (10, 14)), "2.254010", "-1.238706", "-3.230272", "0.752861"),
)


@pytest.mark.parametrize(("counts", "tau2", "mean", "low", "high"), SHARES)
def test_shares_of_several_groups_as_statsmodels_has_them(
    counts: tuple[tuple[int, int], ...], tau2: str, mean: str, low: str, high: str
) -> None:
    found = share_over_groups(counts)
    assert isinstance(found, OverGroups)
    assert found.between**2 == pytest.approx(float(tau2), rel=2e-6)
    for share, text in zip((found.value, found.low, found.high), (mean, low, high), strict=True):
        # Its own search for tau2 stops at the sixth figure.
        assert math.log(share / (1 - share)) == pytest.approx(float(text), abs=2e-6)


def test_shares_mirror_and_refuse_what_is_no_count() -> None:
    counts = [(0, 12), (4, 15), (2, 30)]
    found, mirrored = share_over_groups(counts), share_over_groups([(n - x, n) for x, n in counts])
    assert isinstance(found, OverGroups) and isinstance(mirrored, OverGroups)
    assert (mirrored.low, mirrored.high) == pytest.approx((1 - found.high, 1 - found.low), rel=1e-9)
    assert isinstance(share_over_groups(counts[:2]), CantTell)
    for wrong in ([(3, 2)] * 3, [(0, 0)] * 3, [(-1, 4)] * 3):
        with pytest.raises(CantUse):
            share_over_groups(wrong)


def test_groups_no_further_apart_than_their_errors_are_not_narrower_than_those() -> None:
    """max(1, q): without it these four, almost alike by luck, would have an interval of next to no width."""
    found = over_groups([0.10, 0.101, 0.099, 0.10], [0.1] * 4)
    assert isinstance(found, OverGroups) and found.between == 0
    from scipy.stats import t

    assert (found.high - found.low) / 2 == pytest.approx(t.ppf(0.975, 3) * 0.1 / 2, rel=1e-9)


def test_a_groups_error_comes_from_its_interval() -> None:
    """ln 72 - ln 50 over 2 x 1.959964 x sqrt(1.2), by hand, and the same through over_groups."""
    ends = [(60.0, 50.0, 72.0), (75.0, 62.0, 90.0), (66.0, 55.0, 80.0)]
    found = over_groups_with_ends(ends, limit_factor=1.2)
    over = 2 * 1.959963984540054 * math.sqrt(1.2)
    by_hand = over_groups([math.log(v) for v, _, _ in ends], [math.log(high / low) / over for _, low, high in ends])
    assert isinstance(found, OverGroups) and isinstance(by_hand, OverGroups)
    assert (found.value, found.low, found.high) == pytest.approx([math.exp(one) for one in (by_hand.value, by_hand.low, by_hand.high)])


ENERGIES = [math.log(one) for one in (62, 75, 98, 120, 140)]
FIRST, SECOND = [1.2, 1.5, 2.6, 3.1, 4.0], [9.0, 5.0, 12.0, 7.0, 20.0]


def test_two_measures_of_five_heads_as_computed_independently(as_printed: AsPrinted) -> None:
    """Alone 1 of the 120 orders does as well, and of two measures as well: 0.00833. Two measures of five heads are listed without
    a p all the same: it takes six heads to ask for two."""
    both = measures_by_correlation({"first": FIRST, "second": SECOND}, ENERGIES)
    alone = measures_by_correlation({"first": FIRST}, ENERGIES)
    assert isinstance(both, MeasuresFound) and isinstance(alone, MeasuresFound)
    first, second = both.found
    assert first.strength is not None and second.strength is not None and alone.found[0].p is not None
    as_printed(first.strength, "0.9935")
    as_printed(second.strength, "0.5672")
    as_printed(alone.found[0].p, "0.00833")
    assert first.p is None and both.refused is not None and both.refused.parts == {"heads": 5, "measures": 2, "needed": 6}


def test_the_best_of_two_measures_of_five_heads_as_computed_independently(monkeypatch: pytest.MonkeyPatch, as_printed: AsPrinted) -> None:
    """The p that is worked out and not told: the refusal of so few heads lifted for this test."""
    monkeypatch.setattr(which_measure, "fewest_heads", lambda measures: 5)
    both = measures_by_correlation({"first": FIRST, "second": SECOND}, ENERGIES)
    assert isinstance(both, MeasuresFound) and both.found[0].name == "first" and both.found[0].p is not None
    as_printed(both.found[0].p, "0.00833")


def test_the_chance_of_a_measure_alone_is_scipys_permutation_test() -> None:
    """scipy.stats.permutation_test over all orders of six heads, two-sided as |r|."""
    from scipy.stats import pearsonr, permutation_test

    energies, values = [*ENERGIES, math.log(111)], [*FIRST, 2.4]
    found = measures_by_correlation({"first": values}, energies)
    theirs = permutation_test(
        (np.log(values),),
        lambda x: abs(pearsonr(x, energies).statistic),
        permutation_type="pairings",
        alternative="greater",
        n_resamples=math.factorial(6),
    )
    assert isinstance(found, MeasuresFound)
    assert found.found[0].strength == pytest.approx(float(theirs.statistic), rel=1e-12)
    assert found.found[0].p == pytest.approx(float(theirs.pvalue), rel=1e-9)


def test_the_best_of_several_has_to_beat_the_best_that_luck_gives() -> None:
    """All 720 orders of six heads by plain loops: how often the larger |r| of two measures reaches each one's own."""
    energies, first, second = [*ENERGIES, math.log(111)], [*FIRST, 1.9], [*SECOND, 15.0]
    found = measures_by_correlation({"first": first, "second": second}, energies)
    assert isinstance(found, MeasuresFound)
    x, y = np.log(first), np.log(second)
    own = {"first": abs(np.corrcoef(x, energies)[0, 1]), "second": abs(np.corrcoef(y, energies)[0, 1])}
    largest = [
        max(abs(np.corrcoef(x[list(order)], energies)[0, 1]), abs(np.corrcoef(y[list(order)], energies)[0, 1]))
        for order in itertools.permutations(range(6))
    ]
    for one in found.found:
        assert one.p == pytest.approx(sum(value >= own[one.name] - 1e-12 for value in largest) / 720)


def test_concordance_at_one_level_is_somers_d_as_scipy_has_it() -> None:
    """scipy.stats.somersd of outcome given measure counts pairs of different outcome, as here: D = 2 C - 1. One shot a head, so
    that no pair is of one head."""
    from scipy.stats import somersd

    measure, through = [0.3, 0.7, 0.5, 1.2, 1.1, 2.0, 0.9], [1, 1, 1, 0, 1, 0, 0]
    found = measures_by_concordance({"tip": measure}, through=[[one] for one in through], held=[[1 - one] for one in through])
    theirs = somersd(through, measure)
    assert isinstance(found, MeasuresFound) and found.found[0].strength is not None and found.pairs == 12
    assert 2 * found.found[0].strength - 1 == pytest.approx(abs(theirs.statistic), rel=1e-12)
    assert not found.found[0].rises


def test_levels_are_never_mixed_and_a_head_is_never_set_against_itself() -> None:
    """Every pair of shots by plain loops: different heads, one level, different outcomes."""
    shots = [(0, 0, 1), (0, 0, 0), (0, 1, 1), (1, 0, 0), (1, 1, 1), (1, 1, 0), (2, 0, 1), (2, 1, 0), (2, 1, 0), (3, 0, 0), (4, 1, 1)]
    value = [5.0, 4.0, 4.0, 2.0, 7.0]
    through, held = np.zeros((5, 2)), np.zeros((5, 2))
    for head, level, did in shots:
        (through if did else held)[head, level] += 1
    pairs = [(a, b) for a, la, da in shots for b, lb, db in shots if la == lb and a != b and da == 1 and db == 0]
    better = sum(1.0 if value[a] > value[b] else 0.5 if value[a] == value[b] else 0.0 for a, b in pairs) / len(pairs)
    found = measures_by_concordance({"edge": value}, through=through, held=held)
    assert isinstance(found, MeasuresFound) and found.pairs == len(pairs)
    assert found.found[0].strength == pytest.approx(max(better, 1 - better))


@pytest.mark.parametrize(("measures", "heads", "printed"), [(1, 4, 8), (4, 4, 28), (1, 5, 1.5), (4, 5, 6), (4, 6, 1.4), (8, 6, 2.6)])
def test_how_often_luck_orders_so_few_heads_perfectly(measures: int, heads: int, printed: float) -> None:
    """The independent computation's table, by 4,000 simulations: here counted out for independent measures, 1 - (1 - 2/H!)^K."""
    chance = 100 * (1 - (1 - 2 / math.factorial(heads)) ** measures)
    # Three standard deviations of 4,000 runs, and half of the printed last digit.
    assert chance == pytest.approx(printed, abs=300 * math.sqrt(chance / 100 * (1 - chance / 100) / 4000) + 0.5)
    assert (heads >= fewest_heads(measures)) == (chance < 5 and (heads, measures) != (6, 8))


def test_energies_by_one_slope_stand_as_far_apart_as_the_ratios_of_heads_do() -> None:
    """two_heads_by_curve, which is checked against print, gives the same ratio; and by symmetry the two mirror about 45 J."""
    energies = [45.0 * 1.1**n for n in (-3, -2, -1, 0, 1, 2)] + [45.0 * 1.1**n for n in (3, 2, 1, 0, -1, -2)]
    through, heads = [0, 0, 0, 1, 1, 1] + [1, 1, 1, 0, 0, 0], ["needle"] * 6 + ["leaf"] * 6
    found = energies_by_common_slope(energies, through, heads=heads)
    compared = two_heads_by_curve(energies, through, second=[False] * 6 + [True] * 6)
    assert isinstance(found, EnergiesByHead) and isinstance(compared, TwoHeads)
    apart = found.log_energies["leaf"] - found.log_energies["needle"]
    assert math.exp(apart) == pytest.approx(compared.ratio, rel=1e-6)
    assert sum(found.log_energies.values()) == pytest.approx(2 * math.log(45.0), abs=1e-6)


def test_groups_fewer_than_three_are_refused() -> None:
    assert isinstance(over_groups([0.1, 0.2], [0.1, 0.1]), CantTell)
