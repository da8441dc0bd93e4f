"""Stored energy, efficiency and virtual mass: their laws, an independent fit, Monte Carlo, and what they refuse."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from proofyard.physics.bow import (
    StoredEnergy,
    efficiency,
    energy_lost_by_a_short_draw_j,
    energy_per_weight_and_draw,
    grains_per_pound,
    speed_after_drift_m_s,
    stored_energy_j,
)
from proofyard.physics.virtual_mass import ArrowSpeed, ExpectedSpeed, VirtualMass, expected_speed, fit_virtual_mass, virtual_mass_of_pair
from proofyard.quantities import Uncertain
from proofyard.quantities.reason import CantTell, OutOfRange
from scipy.integrate import quad
from scipy.optimize import curve_fit

forces = st.lists(st.floats(0.0, 900.0), min_size=3, max_size=30)
NOT_FINITE = (math.nan, math.inf, -math.inf)


def _draws(n: int, stroke: float = 0.5) -> list[float]:
    return [stroke * i / (n - 1) for i in range(n)]


@given(forces, st.floats(-1.0, 1.0), st.floats(0.1, 10.0))
@settings(deadline=None)  # the first call loads scipy
def test_stored_energy_goes_with_force_and_not_with_where_the_draw_is_counted_from(force: list[float], shift: float, factor: float) -> None:
    draws = _draws(len(force))
    energy = stored_energy_j(draws, force).energy_j.value
    assert stored_energy_j([d + shift for d in draws], force).energy_j.value == pytest.approx(energy, rel=1e-9, abs=1e-9)
    assert stored_energy_j(draws, [factor * f for f in force]).energy_j.value == pytest.approx(factor * energy, abs=1e-9)
    assert 0 <= energy <= max(force) * 0.5 * (1 + 1e-12)


def test_a_straight_curve_stores_half_of_weight_times_draw_and_has_why_no_uncertainty_from_its_bend() -> None:
    found = stored_energy_j(_draws(9), [100 * d for d in _draws(9)])
    assert found.energy_j.value == pytest.approx(0.5 * 50 * 0.5)
    assert found.u_curve_j == pytest.approx(0, abs=1e-12)
    assert energy_per_weight_and_draw(found.energy_j.value, 50, power_stroke_m=0.5) == pytest.approx(0.5)


@given(st.integers(0, 2**32 - 1))
@settings(max_examples=25, deadline=None)
def test_the_true_energy_of_random_smooth_curves_lies_within_a_few_uncertainties(seed: int) -> None:
    """An independent integrator (scipy.quad) on the smooth curve; our points see it only here and there."""
    rng = np.random.default_rng(seed)
    bend, weight = rng.uniform(-0.3, 0.4), rng.uniform(100, 700)

    def force(x: float) -> float:
        return weight * (x / 0.5 + bend * math.sin(math.pi * x / 0.5))

    draws = _draws(int(rng.integers(5, 25)))
    found = stored_energy_j(draws, [force(d) for d in draws])
    truth = quad(force, 0, 0.5)[0]
    assert abs(found.energy_j.value - truth) <= 4 * found.u_curve_j + 1e-9


def test_the_uncertainty_of_a_stored_energy_is_what_monte_carlo_finds() -> None:
    draws, force = _draws(8), [0.0, 70, 125, 175, 220, 262, 305, 355.0]
    uncertainties = {"draw_u_m": 0.002, "force_u_n": 3.0, "force_zero_u_n": 1.5, "force_scale_u": 0.01}
    found = stored_energy_j(draws, force, **uncertainties)
    rng = np.random.default_rng(20)
    n = 200_000
    x = np.array(draws) + rng.normal(0, 0.002, (n, 8))
    f = np.array(force) + rng.normal(0, 3.0, (n, 8)) + rng.normal(0, 1.5, (n, 1))
    f *= 1 + rng.normal(0, 0.01, (n, 1))
    work = np.trapezoid(f, x, axis=1)
    ours = math.hypot(found.u_readings_j, found.u_zero_j, found.u_scale_j)
    assert ours == pytest.approx(work.std(), rel=0.01)
    assert found.energy_j.standard_uncertainty == pytest.approx(math.hypot(ours, found.u_curve_j))


@pytest.mark.parametrize(
    ("draws", "force", "name"),
    [
        ([0, 0.1], [0, 10], "draws_m"),
        ([0, 0.2, 0.1], [0, 10, 20], "draws_m"),
        ([0, 0.1, 0.1], [0, 10, 20], "draws_m"),
        ([0, 0.1, math.nan], [0, 10, 20], "draws_m"),
        ([0, 0.1, 0.2], [0, 10], "forces_n"),
        ([0, 0.1, 0.2], [0, -1, 20], "forces_n"),
        ([0, 0.1, 0.2], [0, math.inf, 20], "forces_n"),
    ],
)
def test_points_that_are_no_force_draw_curve_are_refused(draws: list[Any], force: list[Any], name: str) -> None:
    with pytest.raises(OutOfRange) as caught:
        stored_energy_j(draws, force)
    assert caught.value.name == name
    with pytest.raises(OutOfRange):
        energy_lost_by_a_short_draw_j(draws, force, short_by_m=0.01)


@given(forces, st.floats(0.0, 0.5))
@settings(deadline=None)
def test_a_short_draw_loses_something_and_never_more_than_all(force: list[float], short: float) -> None:
    draws = _draws(len(force))
    lost = energy_lost_by_a_short_draw_j(draws, force, short_by_m=short)
    assert 0 <= lost <= stored_energy_j(draws, force).energy_j.value + 1e-9
    assert energy_lost_by_a_short_draw_j(draws, force, short_by_m=0.0) == 0.0
    assert energy_lost_by_a_short_draw_j(draws, force, short_by_m=0.5) == pytest.approx(
        stored_energy_j(draws, force).energy_j.value, abs=1e-9
    )


def test_short_by_more_than_the_stroke_is_refused() -> None:
    with pytest.raises(OutOfRange, match="short_by_m"):
        energy_lost_by_a_short_draw_j(_draws(3), [0, 1, 2], short_by_m=0.51)


def test_more_energy_than_full_force_all_the_way_is_refused() -> None:
    assert energy_per_weight_and_draw(100, 200, power_stroke_m=0.5) == 1.0
    with pytest.raises(OutOfRange, match="energy_j"):
        energy_per_weight_and_draw(100.1, 200, power_stroke_m=0.5)


def test_an_arrow_with_more_than_the_bow_stored_cant_be_told_but_within_uncertainty_it_can() -> None:
    assert isinstance(efficiency(110, 100), CantTell)
    found = efficiency(101, 100, arrow_u_j=2, stored_u_j=2)
    assert isinstance(found, Uncertain) and found.value > 1
    assert found.standard_uncertainty == pytest.approx(1.01 * math.hypot(2 / 101, 2 / 100))


@pytest.mark.parametrize("bad", [0.0, -1.0, *NOT_FINITE])
def test_sums_about_bows_refuse_what_is_not_above_nothing(bad: float) -> None:
    for call in (
        lambda: efficiency(bad, 100),
        lambda: efficiency(50, bad),
        lambda: grains_per_pound(bad, 400),
        lambda: grains_per_pound(0.06, bad),
        lambda: energy_per_weight_and_draw(bad, 400, power_stroke_m=0.5),
        lambda: speed_after_drift_m_s(50, bad, weight_now_n=400),
        lambda: ArrowSpeed(bad, 50),
        lambda: ArrowSpeed(0.05, bad),
    ):
        with pytest.raises(OutOfRange):
            call()


def test_a_drift_by_more_than_a_quarter_is_refused() -> None:
    with pytest.raises(OutOfRange, match="weight_now_n"):
        speed_after_drift_m_s(50, 500, weight_now_n=370)


def test_a_drift_in_a_model_bow_changes_speed_as_the_energy_does() -> None:
    """Independent: scale the whole force-draw curve, take v from 2 W/(m + K)."""
    draws, force = _draws(8), [0.0, 70, 125, 175, 220, 262, 305, 355.0]

    def speed(factor: float) -> float:
        return math.sqrt(2 * stored_energy_j(draws, [factor * f for f in force]).energy_j.value / (0.06 + 0.02))

    assert speed_after_drift_m_s(speed(1), 355, weight_now_n=0.93 * 355) == pytest.approx(speed(0.93))


# ---- virtual mass

energies = st.floats(20.0, 200.0)
virtual_masses = st.floats(0.003, 0.04)


def _arrow(energy: float, k: float, mass: float, u: float = 0.0) -> ArrowSpeed:
    return ArrowSpeed(mass, math.sqrt(2 * energy / (mass + k)), 0.0, u)


@given(energies, virtual_masses, st.floats(1.11, 3.0))
def test_a_pair_gives_back_the_bow_it_was_made_from_in_either_order(energy: float, k: float, ratio: float) -> None:
    one, other = _arrow(energy, k, 0.03), _arrow(energy, k, 0.03 * ratio)
    for pair in ((one, other), (other, one)):
        found = virtual_mass_of_pair(*pair)
        assert isinstance(found, VirtualMass)
        assert found.virtual_mass_kg.value == pytest.approx(k, rel=1e-6)
        assert found.virtual_mass_kg.value >= 0
        assert found.bow_energy_j.value == pytest.approx(energy, rel=1e-6)


@given(energies, virtual_masses, st.floats(0.02, 0.1))
@settings(deadline=None)
def test_a_heavier_arrow_is_slower_and_carries_more_of_the_energy(energy: float, k: float, mass: float) -> None:
    found = fit_virtual_mass([_arrow(energy, k, m, 0.05) for m in (0.03, 0.05, 0.07)])
    if isinstance(found, CantTell):  # a small virtual mass may not be told from nothing
        return
    light, heavy = expected_speed(found, mass), expected_speed(found, 1.1 * mass)
    assert isinstance(light, ExpectedSpeed) and isinstance(heavy, ExpectedSpeed)
    assert heavy.speed_m_s.value < light.speed_m_s.value
    assert heavy.speed_m_s.value**2 * 1.1 > light.speed_m_s.value**2
    assert light.speed_m_s.value == pytest.approx(math.sqrt(2 * energy / (mass + k)), rel=1e-6)
    assert light.inside == (0.03 <= mass <= 0.07)


def _random_bow(seed: int) -> tuple[float, float, np.ndarray, np.ndarray, np.ndarray]:
    rng = np.random.default_rng(seed)
    energy, k = rng.uniform(60, 160), rng.uniform(0.01, 0.03)
    masses = np.sort(rng.uniform(0.03, 0.09, int(rng.integers(4, 9))))
    masses[-1] = 0.095
    uncertainties = rng.uniform(0.05, 0.2, len(masses))
    speeds = np.sqrt(2 * energy / (masses + k)) + rng.normal(0, uncertainties)
    return energy, k, masses, speeds, uncertainties


@pytest.mark.parametrize("seed", range(12))
def test_the_fit_agrees_with_scipys_on_the_curve_itself(seed: int) -> None:
    """An independent fitter (scipy.optimize.curve_fit, on v and not on 1/v^2) on random bows and arrows."""
    _, _, masses, speeds, uncertainties = _random_bow(seed)
    found = fit_virtual_mass([ArrowSpeed(m, v, 0, u) for m, v, u in zip(masses, speeds, uncertainties, strict=True)])
    assert isinstance(found, VirtualMass)
    best, cov = curve_fit(
        lambda m, e, k: np.sqrt(2 * e / (m + k)), masses, speeds, p0=(100, 0.02), sigma=uncertainties, absolute_sigma=True
    )
    widened = max(1.0, found.misfit or 0.0)
    assert found.bow_energy_j.value == pytest.approx(best[0], abs=0.1 * math.sqrt(cov[0, 0]))
    assert found.virtual_mass_kg.value == pytest.approx(best[1], abs=0.1 * math.sqrt(cov[1, 1]))
    assert found.bow_energy_j.standard_uncertainty == pytest.approx(widened * math.sqrt(cov[0, 0]), rel=0.05)
    assert found.virtual_mass_kg.standard_uncertainty == pytest.approx(widened * math.sqrt(cov[1, 1]), rel=0.05)


def test_uncertainties_of_k_e_and_an_expected_speed_are_what_monte_carlo_finds() -> None:
    """Shoot the same three arrows 4,000 times, mass unsure too; spread of the answers against the stated uncertainty."""
    masses, energy, k = (0.035, 0.055, 0.080), 110.0, 0.018
    true = [math.sqrt(2 * energy / (m + k)) for m in masses]
    stated = fit_virtual_mass([ArrowSpeed(m, v, 0.0004, 0.25) for m, v in zip(masses, true, strict=True)])
    assert isinstance(stated, VirtualMass)
    ahead = expected_speed(stated, 0.100)
    assert isinstance(ahead, ExpectedSpeed)
    rng = np.random.default_rng(4)
    answers = []
    for _ in range(4000):
        arrows = [ArrowSpeed(m + rng.normal(0, 0.0004), v + rng.normal(0, 0.25), 0.0004, 0.25) for m, v in zip(masses, true, strict=True)]
        found = fit_virtual_mass(arrows)
        assert isinstance(found, VirtualMass)
        speed = (found.slope * 0.100 + found.intercept) ** -0.5
        answers.append((found.virtual_mass_kg.value, found.bow_energy_j.value, speed))
    spread = np.std(np.array(answers), axis=0)
    assert stated.virtual_mass_kg.standard_uncertainty == pytest.approx(spread[0], rel=0.05)
    assert stated.bow_energy_j.standard_uncertainty == pytest.approx(spread[1], rel=0.05)
    assert ahead.speed_m_s.standard_uncertainty == pytest.approx(spread[2], rel=0.05)


def test_a_chronograph_that_reads_all_alike_wrong_moves_the_energy_and_not_the_virtual_mass() -> None:
    arrows = [_arrow(100, 0.02, m, 0.1) for m in (0.03, 0.05, 0.07)]
    sure, unsure = fit_virtual_mass(arrows), fit_virtual_mass(arrows, speed_scale_u=0.01)
    assert isinstance(sure, VirtualMass) and isinstance(unsure, VirtualMass)
    assert unsure.virtual_mass_kg == sure.virtual_mass_kg
    u_sure, u_unsure = sure.bow_energy_j.standard_uncertainty, unsure.bow_energy_j.standard_uncertainty
    assert u_sure is not None and u_unsure is not None
    assert u_unsure == pytest.approx(math.hypot(u_sure, 2.0), rel=1e-6)


def test_arrows_that_scatter_more_than_they_say_widen_the_answer() -> None:
    off = (1.5, -1.5, 1.5, -1.5)
    arrows = [_arrow(100, 0.02, m, 0.1) for m in (0.03, 0.045, 0.06, 0.08)]
    rough = [ArrowSpeed(a.mass_kg, a.speed_m_s + d / 3, 0, 0.1) for a, d in zip(arrows, off, strict=True)]
    neat, wide = fit_virtual_mass(arrows), fit_virtual_mass(rough)
    assert isinstance(neat, VirtualMass) and isinstance(wide, VirtualMass)
    assert wide.misfit is not None and wide.misfit > 3
    assert wide.virtual_mass_kg.dof == 2
    assert (wide.virtual_mass_kg.standard_uncertainty or 0) > 3 * (neat.virtual_mass_kg.standard_uncertainty or 0)


def test_without_any_uncertainty_the_scatter_alone_tells() -> None:
    arrows = [_arrow(100, 0.02, m) for m in (0.03, 0.045, 0.06, 0.08)]
    bumped = [ArrowSpeed(a.mass_kg, a.speed_m_s + d) for a, d in zip(arrows, (0.2, -0.2, 0.1, -0.1), strict=True)]
    found = fit_virtual_mass(bumped)
    assert isinstance(found, VirtualMass)
    assert found.virtual_mass_kg.standard_uncertainty is not None and found.virtual_mass_kg.standard_uncertainty > 0
    assert found.virtual_mass_kg.dof == 2 and found.misfit is None
    assert len(found.residuals_m_s) == 4 and max(map(abs, found.residuals_m_s)) < 0.4


def test_two_arrows_without_uncertainty_give_figures_whose_uncertainty_isnt_known() -> None:
    found = virtual_mass_of_pair(_arrow(100, 0.02, 0.03), _arrow(100, 0.02, 0.06))
    assert isinstance(found, VirtualMass)
    assert found.virtual_mass_kg.standard_uncertainty is None and found.covariance is None
    answer = expected_speed(found, 0.045)
    assert isinstance(answer, ExpectedSpeed)
    assert answer.speed_m_s.standard_uncertainty is None and answer.inside


@pytest.mark.parametrize(
    ("arrows", "code"),
    [
        ([ArrowSpeed(0.05, 50)], "one_arrow_only"),
        ([ArrowSpeed(0.050, 50), ArrowSpeed(0.054, 48)], "masses_within_a_tenth"),
        ([ArrowSpeed(0.04, 50), ArrowSpeed(0.06, 50)], "heavier_not_slower"),
        ([ArrowSpeed(0.04, 50), ArrowSpeed(0.06, 51)], "heavier_not_slower"),
        ([ArrowSpeed(0.04, 60), ArrowSpeed(0.08, 40)], "virtual_mass_below_nothing"),
        ([ArrowSpeed(0.04, 60, 0, 2), ArrowSpeed(0.05, 56, 0, 2)], "virtual_mass_lost_in_chance"),
        ([ArrowSpeed(0.04, 60, 0, 0.1), ArrowSpeed(0.06, 58.5, 0, 0.1)], "arrow_gets_too_little"),
        ([ArrowSpeed(0.04, 60, 0, 0.3), ArrowSpeed(0.08, 42.3, 0, 0.3)], "virtual_mass_not_above_nothing"),
    ],
)
def test_arrows_that_cant_tell_a_virtual_mass_say_why(arrows: list[ArrowSpeed], code: str) -> None:
    found = fit_virtual_mass(arrows)
    assert isinstance(found, CantTell)
    assert found.reason.code == code


def test_an_arrow_far_outside_those_shot_isnt_foretold() -> None:
    found = fit_virtual_mass([_arrow(100, 0.02, m, 0.1) for m in (0.04, 0.06)])
    assert isinstance(found, VirtualMass)
    for mass in (0.0199, 0.1201):
        assert isinstance(expected_speed(found, mass), CantTell)
    for mass in (0.0201, 0.1199):
        assert isinstance(expected_speed(found, mass), ExpectedSpeed)


def test_an_unsure_new_arrow_is_foretold_less_surely() -> None:
    found = fit_virtual_mass([_arrow(100, 0.02, m, 0.1) for m in (0.04, 0.06)])
    assert isinstance(found, VirtualMass)
    sure, unsure = expected_speed(found, 0.05), expected_speed(found, 0.05, mass_u_kg=0.001)
    assert isinstance(sure, ExpectedSpeed) and isinstance(unsure, ExpectedSpeed)
    by_mass = sure.speed_m_s.value * 0.001 / (2 * 0.07)
    expected = math.hypot(sure.speed_m_s.standard_uncertainty or 0, by_mass)
    assert unsure.speed_m_s.standard_uncertainty == pytest.approx(expected, rel=1e-3)


def test_a_stored_energy_keeps_what_it_was_made_from() -> None:
    found = stored_energy_j([0.2, 0.3, 0.5], [0, 100, 90])
    assert isinstance(found, StoredEnergy)
    assert (found.peak_force_n, found.power_stroke_m, found.points) == (100, pytest.approx(0.3), 3)
