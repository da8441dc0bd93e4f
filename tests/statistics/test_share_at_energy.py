"""The share at an energy that is itself uncertain: how often its range holds, and what must be so whatever the shots are."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from proofyard.quantities.reason import CantTell, CantUse
from proofyard.statistics.fifty_percent_point import Curve, fit_curve
from proofyard.statistics.share_at_energy import ShareAtEnergy, share_at_energy, share_by_order

ENERGIES, THROUGH = [22, 26, 30, 34, 38, 42, 46, 50, 54, 58], [0, 0, 1, 0, 0, 1, 1, 0, 1, 1]


def curve_of(energies: list[float], through: list[int]) -> Curve:
    made = fit_curve(energies, through)
    assert isinstance(made, Curve)
    return made


CURVE = curve_of([float(one) for one in ENERGIES], THROUGH)


@given(energy=st.floats(20, 70), down=st.floats(1.0, 1.5), up=st.floats(1.0, 1.5))
@settings(max_examples=60, deadline=None)
def test_the_range_holds_the_share_and_widens_with_the_energys(energy: float, down: float, up: float) -> None:
    found = share_at_energy(CURVE, energy, low_j=energy / down, high_j=energy * up)
    exact = share_at_energy(CURVE, energy, low_j=energy, high_j=energy)
    assert found.share is not None and 0 <= found.low <= exact.low <= found.share <= exact.high <= found.high <= 1


def test_where_the_energy_lies_outside_those_shot_it_says_so() -> None:
    inside, partly, outside = (share_at_energy(CURVE, e, low_j=0.9 * e, high_j=1.1 * e) for e in (40.0, 56.0, 80.0))
    assert [(one.partly, one.outside) for one in (inside, partly, outside)] == [(False, False), (True, False), (True, True)]


def test_without_a_curve_more_energy_never_gets_through_less_often() -> None:
    all_through = share_by_order([60.0] * 4, [1] * 4, low_j=70.0, high_j=80.0)
    none_through = share_by_order([90.0] * 4, [0] * 4, low_j=70.0, high_j=80.0)
    assert isinstance(all_through, ShareAtEnergy) and isinstance(none_through, ShareAtEnergy)
    assert (all_through.high, none_through.low) == (1.0, 0.0) and all_through.low == pytest.approx(1 - none_through.high)
    assert all_through.outside and none_through.outside
    # Held at less, and through at more: neither says anything of the energy between.
    told = share_by_order([60.0] * 4 + [90.0] * 4, [0] * 4 + [1] * 4, low_j=70.0, high_j=80.0)
    assert isinstance(told, CantTell) and told.reason.code == "no_shot_bounds_that_energy"


@pytest.mark.parametrize("ends", [(50.0, 60.0), (30.0, 40.0), (-1.0, 50.0), (40.0, math.inf)])
def test_ends_that_dont_lie_about_the_energy_are_refused(ends: tuple[float, float]) -> None:
    with pytest.raises(CantUse):
        share_at_energy(CURVE, 45.0, low_j=ends[0], high_j=ends[1])


def test_an_outcome_too_few_is_refused() -> None:
    with pytest.raises(CantUse):
        share_by_order([50.0, 60.0], [1], low_j=70.0, high_j=80.0)


def held(shots: int, slope: float, *, away: float, u: float, runs: int) -> tuple[int, int]:
    """Runs with a curve, and in how many the range holds the true share. `away`: ln of the energy over the true 50 % energy."""
    lots, told, within = np.random.default_rng(3), 0, 0
    for _ in range(runs):
        energies = 100 * np.exp(lots.uniform(-0.4, 0.4, shots))
        through = lots.random(shots) < 1 / (1 + (energies / 100) ** -slope)
        curve = fit_curve(energies.tolist(), through.astype(int).tolist())
        if isinstance(curve, CantTell):
            continue
        true = 100 * math.exp(away)
        asked = true * math.exp(lots.normal(0, u))
        found = share_at_energy(curve, asked, low_j=asked * math.exp(-1.96 * u), high_j=asked * math.exp(1.96 * u))
        told, within = told + 1, within + (found.low <= 1 / (1 + (true / 100) ** -slope) <= found.high)
    return told, within


def test_the_range_holds_the_true_share() -> None:
    told, within = held(20, 8, away=0.1, u=0.08, runs=40)
    assert told >= 35 and within >= 0.9 * told


@pytest.mark.long
@pytest.mark.parametrize("shots", [10, 20, 40])
@pytest.mark.parametrize("slope", [4, 8, 16])
@pytest.mark.parametrize("away", [-0.3, 0.0, 0.25])
def test_the_range_holds_the_true_share_over_many_books(shots: int, slope: float, away: float) -> None:
    """In 94 % and more at slopes 4 and 8; in 91 % and more at slope 16, where few shots make the curve too flat.

    The worst cell below that holds in 94.3 %: 400 books would miss the bound every third time by chance, so it has more.
    """
    runs = 3000 if (shots, slope) == (10, 8) else 400
    for u in (0.02, 0.08, 0.15):
        told, within = held(shots, slope, away=away, u=u, runs=runs)
        assert within >= (0.94 if slope < 16 else 0.90) * told, (u, told, within)
