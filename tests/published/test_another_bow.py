"""Another bow's speed and the share at an energy, against what others printed and what libraries say.

"verified": the figure was seen on the page that is named. "worked out": with the library that is named, apart from the program.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from proofyard.physics.another_bow import (
    BOWS_DIFFER,
    BOWS_DIFFER_DOF,
    EFFICIENCIES,
    AnotherBow,
    OwnBow,
    speed_by_draw_m_s,
    speed_of_another_bow,
)
from proofyard.physics.virtual_mass import ArrowSpeed
from proofyard.quantities import from_si, to_si
from proofyard.statistics.fifty_percent_point import Curve, curve_band, fit_curve
from proofyard.statistics.share_at_energy import ShareAtEnergy, share_at_energy, share_by_order
from scipy import integrate, stats

AsPrinted = Callable[[float, str], None]


# Hickman, in Hickman, Nagler and Klopsteg, Archery: the Technical Side, 1947 (verified): a 400 gr arrow from three bows with a 108 gr and a
# 254 gr string, ft/s, and the efficiency in % that he prints for the first. A third of the string moves with the arrow, by his rule; the
# last column was worked out apart from the program.
HICKMAN = {"yew": (155, 68, 148, "148.960", 0.01), "lemonwood": (142, 62, 136, "136.929", 0.01), "maple": (139, 67, 130, "133.659", 0.03)}


@pytest.mark.parametrize("bow", HICKMAN.values(), ids=HICKMAN.keys())
def test_hickmans_bows_are_as_fast_as_he_printed_with_either_string(bow: tuple[int, int, int, str, float], as_printed: AsPrinted) -> None:
    """What is set in motion is q F x, whatever weight and stroke the bow had: he printed neither."""
    light, percent, heavy, worked_out, within = bow
    arrow, more = to_si(400, "gr"), to_si(254 - 108, "gr")
    virtual = arrow * (100 / percent - 1)
    energy = (arrow + virtual) * to_si(light, "ft/s") ** 2 / 2
    for weight, stroke in ((180.0, 0.48), (150.0, 0.62)):
        quality = energy / (weight * stroke)
        speeds = [speed_by_draw_m_s(weight, stroke, quality=quality, arrow_kg=arrow, virtual_kg=virtual + k) for k in (0.0, more / 3)]
        as_printed(from_si(speeds[0], "ft/s"), str(light))
        as_printed(from_si(speeds[1], "ft/s"), worked_out)
        assert from_si(speeds[1], "ft/s") == pytest.approx(heavy, rel=within)


def karpowicz(grains: float, feet: float) -> OwnBow:
    return OwnBow("Turkish", to_si(64, "lbf"), to_si(28 - 7, "in"), (ArrowSpeed(to_si(grains, "gr"), to_si(feet, "ft/s")),))


def test_the_heavier_arrow_of_a_bow_in_print_lies_where_the_lighter_one_puts_it() -> None:
    """A Turkish composite of 64 lb at 28 in, A. Karpowicz, speeds of his bows (verified): 475 gr at 205 ft/s and 640 gr at 182 ft/s.
    Its brace height is not printed, and cancels. Each arrow foretells the other within 4 %, and the range holds it."""
    for known, other in (((475, 205), (640, 182)), ((640, 182), (475, 205))):
        found = speed_of_another_bow([karpowicz(*known)], to_si(64, "lbf"), stroke_m=to_si(21, "in"), arrow_kg=to_si(other[0], "gr"))
        assert isinstance(found, AnotherBow) and "arrow" in found.beyond
        assert found.low_m_s < to_si(other[1], "ft/s") < found.high_m_s
        assert from_si(found.speed.value, "ft/s") == pytest.approx(other[1], rel=0.04)


def test_one_bow_and_one_arrow_are_a_mean_over_what_print_leaves_open() -> None:
    """The same mean and spread by scipy's adaptive integration over the efficiency, and by sums over how limbs get heavier."""
    weight, stroke, mass, speed, asked_n, asked_kg = 450.0, 0.6, 0.060, 52.0, 700.0, 0.080
    low, high = EFFICIENCIES

    def log_speed(share: float, power: float) -> float:
        virtual = mass * (1 / share - 1)
        quality = (mass + virtual) * speed**2 / (2 * weight * stroke)
        heavier = virtual * (asked_n / weight) ** power
        return math.log(2 * quality * asked_n * stroke / (asked_kg + heavier)) / 2

    powers = [0.0, 0.25, 0.5, 0.75, 1.0]
    means = [integrate.quad(log_speed, low, high, args=(power,))[0] / (high - low) for power in powers]
    squares = [integrate.quad(lambda s, p=power: log_speed(s, p) ** 2, low, high)[0] / (high - low) for power in powers]
    mean = float(np.mean(means))
    limbs = float(np.mean(squares)) - mean**2
    between = BOWS_DIFFER**2 * 2 / 4
    found = speed_of_another_bow([OwnBow("A", weight, stroke, (ArrowSpeed(mass, speed),))], asked_n, stroke_m=stroke, arrow_kg=asked_kg)
    assert isinstance(found, AnotherBow)
    assert found.speed.value == pytest.approx(math.exp(mean), rel=1e-4)
    assert found.speed.standard_uncertainty == pytest.approx(math.exp(mean) * math.sqrt(limbs + between), rel=0.01)
    dof = BOWS_DIFFER_DOF * ((limbs + between) / between) ** 2
    reach = stats.t.ppf(0.975, dof) * math.sqrt(limbs + between)
    assert found.high_m_s == pytest.approx(found.speed.value * math.exp(reach), rel=1e-3)


def test_how_bows_in_print_differ_is_what_the_sources_say() -> None:
    """Hickman, in Hickman, Nagler and Klopsteg, 1947 (verified): 68, 62 and 67 % of three bows. Kooi's quality times efficiency of four
    bows (from memory): 0.407·0.765, 0.395·0.716, 0.432·0.668, 0.491·0.619. Their spread of logarithms, joined by degrees of freedom."""
    hickman = np.log([0.68, 0.62, 0.67])
    kooi = np.log([0.407 * 0.765, 0.395 * 0.716, 0.432 * 0.668, 0.491 * 0.619])
    assert (hickman.std(ddof=1), kooi.std(ddof=1)) == pytest.approx((0.050, 0.045), abs=0.0015)
    assert hickman.size - 1 + kooi.size - 1 == BOWS_DIFFER_DOF
    joined = math.sqrt((2 * hickman.var(ddof=1) + 3 * kooi.var(ddof=1)) / 5)
    assert joined == pytest.approx(BOWS_DIFFER, rel=0.08)


@pytest.fixture
def curve() -> Curve:
    made = fit_curve([22, 26, 30, 34, 38, 42, 46, 50, 54, 58], [0, 0, 1, 0, 0, 1, 1, 0, 1, 1])
    assert isinstance(made, Curve)
    return made


def test_an_energy_known_exactly_gives_the_band_and_a_curve_known_exactly_would_give_the_energys_ends(curve: Curve) -> None:
    """The two limits of adding squares: one of both distances is 0."""
    band = curve_band(curve, [44.0])
    exact = share_at_energy(curve, 44.0, low_j=44.0, high_j=44.0)
    assert (exact.share, exact.low, exact.high) == pytest.approx((band.chances[0], band.lows[0], band.highs[0]))
    wide = share_at_energy(curve, 44.0, low_j=4.4, high_j=440.0)
    far = curve_band(curve, [4.4, 440.0]).chances
    assert wide.low < far[0] and wide.high > far[1]
    assert wide.low == pytest.approx(far[0], abs=0.01) and wide.high == pytest.approx(far[1], abs=0.01)


def test_bounds_without_a_curve_are_scipys_exact_intervals() -> None:
    """scipy.stats.binomtest, method exact, on the shots at less and at more energy."""
    energies, through = [50.0, 55.0, 60.0, 65.0, 90.0, 95.0, 99.0], [0, 1, 1, 1, 0, 1, 0]
    found = share_by_order(energies, through, low_j=70.0, high_j=80.0)
    assert isinstance(found, ShareAtEnergy)
    assert found.low == pytest.approx(stats.binomtest(3, 4).proportion_ci(0.95, "exact").low)
    assert found.high == pytest.approx(stats.binomtest(1, 3).proportion_ci(0.95, "exact").high)
