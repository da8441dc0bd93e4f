"""Bows by hand and against exact integrals. What others measured and printed is in tests/published/test_bows.py."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from proofyard.physics.bow import efficiency, speed_after_drift_m_s, stored_energy_j
from proofyard.physics.energy import kinetic_energy_j
from proofyard.physics.virtual_mass import ArrowSpeed, VirtualMass, expected_speed, fit_virtual_mass
from proofyard.quantities import Uncertain, from_si, to_si
from proofyard.quantities.reason import CantTell
from scipy.integrate import quad

AsPrinted = Callable[[float, str], None]
STROKE_M = 0.48


def force(draw_m: float) -> float:
    """Bent as a recurve's is: 155 N at full draw."""
    share = draw_m / STROKE_M
    return 155.0 * share * (1.55 - 0.9 * share + 0.35 * share**2)


def _arrow_of(energy_j: float, virtual_kg: float, mass_kg: float) -> ArrowSpeed:
    return ArrowSpeed(mass_kg, (2 * energy_j / (mass_kg + virtual_kg)) ** 0.5)


@pytest.mark.parametrize("points", [6, 8, 12, 24, 48])
def test_the_exact_energy_of_a_smooth_curve_lies_within_the_uncertainty_of_its_points(points: int) -> None:
    """scipy.quad sums the curve itself; straight lines between points miss what bulges, and the stated uncertainty says how much."""
    draws = np.linspace(0.0, STROKE_M, points)
    found = stored_energy_j(list(draws), [force(one) for one in draws])
    exact = quad(force, 0.0, STROKE_M)[0]
    missed = exact - found.energy_j.value
    assert 0 < missed < 2 * found.u_curve_j
    assert found.u_curve_j < 0.1 * exact / points  # and it is no excuse: it falls faster than one point in so many


def test_750_grains_of_arrow_and_bow_at_170_ft_s(as_printed: AsPrinted) -> None:
    """48 ft·lbf, 500 gr, 170 ft/s: 2 W/v^2 - m is 248.13013 gr, 500/748.13013 is 0.668333; worked out with pint."""
    stored, speed, mass = to_si(48, "ft·lbf"), to_si(170, "ft/s"), to_si(500, "gr")
    virtual = 2 * stored / speed**2 - mass
    as_printed(from_si(virtual, "gr"), "248.13013")
    found = efficiency(kinetic_energy_j(mass, speed), stored)
    assert isinstance(found, Uncertain)
    as_printed(found.value, "0.668333")
    # A bow of that virtual mass: what the fit makes of two of its arrows foretells a third of 300 gr.
    bow = fit_virtual_mass([_arrow_of(stored, virtual, to_si(m, "gr")) for m in (350, 500)])
    assert isinstance(bow, VirtualMass)
    as_printed(from_si(bow.virtual_mass_kg.value, "gr"), "248.13013")
    answer = expected_speed(bow, to_si(300, "gr"))
    assert not isinstance(answer, CantTell)
    as_printed(from_si(answer.speed_m_s.value, "ft/s"), "198.60751")
    assert not answer.inside


def test_a_20_g_arrow_of_the_bow_whose_virtual_mass_grows_with_the_arrow(as_printed: AsPrinted) -> None:
    """A bow of 43 J whose K is 5.7697 g + 0.0583 m: all worked out with a desk calculator."""
    mass, virtual = 0.020, 0.0057697 + 0.0583 * 0.020
    as_printed(1000 * virtual, "6.9357")
    speed = (2 * 43.00 / (mass + virtual)) ** 0.5
    as_printed(speed, "56.50477")
    found = efficiency(kinetic_energy_j(mass, speed), 43.00)
    assert isinstance(found, Uncertain)
    as_printed(found.value, "0.742509")
    # Its K isn't constant; a straight line still foretells a mass between, and hides the growth in E and K.
    arrows = [_arrow_of(43.00, 0.0057697 + 0.0583 * m, m) for m in (0.015, 0.020, 0.030)]
    bow = fit_virtual_mass(arrows)
    assert isinstance(bow, VirtualMass)
    answer = expected_speed(bow, 0.025)
    assert not isinstance(answer, CantTell)
    assert answer.speed_m_s.value == pytest.approx((2 * 43 / (0.025 * 1.0583 + 0.0057697)) ** 0.5, rel=1e-6)
    as_printed(1000 * bow.virtual_mass_kg.value, "5.45")  # 5.7697/1.0583
    as_printed(bow.bow_energy_j.value, "40.63")  # 43.00/1.0583


def test_two_per_cent_of_draw_weight_is_one_per_cent_of_speed(as_printed: AsPrinted) -> None:
    """By hand: the root of 0.98 is 0.98995."""
    as_printed(speed_after_drift_m_s(100.0, 500.0, weight_now_n=490.0), "98.995")
