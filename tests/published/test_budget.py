"""The budget of a shot's energy against sums by hand and the GUM's own worked example."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from server.physics.uncertainty_budget import Doubt, ShotInputs, sensitivities, uncertainty_budget

AsPrinted = Callable[[float, str], None]

# 60 g at 55 m/s over 20 m with C_d 2.0 on 9.5 mm in 1.2 kg/m^3: k = 1.4176437e-3 1/m and an energy that falls to
# 0.9448721 of 90.75 J, worked out with a desk calculator (also in test_flight.py).
SHOT = ShotInputs(0.060, 55.0, 20.0, 2.0, 0.0095, 1.2)


def test_sensitivities_of_the_war_arrow_by_hand(as_printed: AsPrinted) -> None:
    """E = 85.747146 J, k x = 0.028352874. dE/dm = E(1 + 2kx)/m, dE/dv = 2E/v, dE/dx = -2kE, dE/dCd = -2kxE/Cd,
    dE/drho = -2kxE/rho, dE/dd = -4kxE/d: worked out with a desk calculator."""
    found = sensitivities(SHOT, "energy_at_target_j")
    as_printed(found["mass"], "1510.16")
    as_printed(found["speed"], "3.118078")
    as_printed(found["distance"], "-0.243118")
    as_printed(found["drag_coefficient"], "-2.43118")
    as_printed(found["air_density"], "-4.05196")
    as_printed(found["shaft_diameter"], "-1023.65")


def test_without_distance_the_budget_is_that_of_the_energy_alone(as_printed: AsPrinted) -> None:
    """60.2 +- 0.1 g at 52.40 +- 0.35 m/s: 82.647376 J, u 1.112571 J, by hand from GUM 5.1.6 (also in
    test_energies_and_momenta.py)."""
    near = ShotInputs(0.0602, 52.40, 0.0, 2.0, 0.0095, 1.2)
    doubts = [
        Doubt("mass", "scale", 0.0001, "instrument"),
        Doubt("speed", "scatter", 0.35, "shot", "A", 4),
        Doubt("drag_coefficient", "default", 0.4, "pairing"),
    ]
    found = uncertainty_budget(near, doubts)
    as_printed(found.value, "82.647376")
    as_printed(found.standard_uncertainty, "1.112571")
    assert found.lines[2].contribution == 0  # no air in between
    assert found.most is not None and found.most.doubt.what == "scatter"
    as_printed(found.without_most, "0.1373")  # 82.647376 * 0.1/60.2


def test_effective_degrees_of_freedom_as_in_gum_g_4_1(as_printed: AsPrinted) -> None:
    """GUM G.4.1, from memory: relative 0.25, 0.57, 0.82 % with 9, 4, 14 degrees of freedom give 1.03 % and 19.0.

    Made of three doubts of a speed at no distance: momentum goes with speed, so the shares come through unchanged.
    """
    shot = ShotInputs(0.06, 50.0, 0.0, 2.0, 0.0095, 1.2)
    doubts = [
        Doubt("speed", "a", 0.0025 * 50, "shot", "A", 9),
        Doubt("speed", "b", 0.0057 * 50, "shot", "A", 4),
        Doubt("speed", "c", 0.0082 * 50, "shot", "A", 14),
    ]
    found = uncertainty_budget(shot, doubts, step="momentum_at_target_kg_m_s")
    as_printed(100 * found.standard_uncertainty / found.value, "1.03")
    as_printed(found.dof, "19.0")


def test_a_whole_shot_by_hand(as_printed: AsPrinted) -> None:
    """Contributions c u in J: scale 0.00006 kg 0.0906, chronograph 0.275 m/s 0.8575, mean 0.20 m/s 0.6236, this shot
    0.45 m/s 1.4031, default drag 0.375 0.9117, distance 0.1 m 0.0243, calliper 0.0001 m 0.1024, air 0.01 kg/m^3 0.0405.
    Sum of squares 3.9450, root 1.9862. Worked out with a desk calculator."""
    doubts = [
        Doubt("mass", "scale", 0.00006, "instrument"),
        Doubt("speed", "chronograph", 0.275, "instrument"),
        Doubt("speed", "mean of eight", 0.20, "pairing", "A", 7),
        Doubt("speed", "single shots scatter", 0.45, "shot", "A", 7),
        Doubt("drag_coefficient", "default", 0.375, "pairing"),
        Doubt("distance", "tape", 0.1, "instrument"),
        Doubt("shaft_diameter", "calliper", 0.0001, "pairing"),
        Doubt("air_density", "weather", 0.01, "instrument"),
    ]
    found = uncertainty_budget(SHOT, doubts)
    for line, printed in zip(
        found.lines, ["0.0906", "0.8575", "0.6236", "1.4031", "0.9117", "0.0243", "0.1024", "0.0405"], strict=True
    ):
        as_printed(line.contribution, printed)
    as_printed(found.standard_uncertainty, "1.986")
    assert sum(line.share for line in found.lines) == pytest.approx(1)
    assert math.hypot(*found.by_scope.values()) == pytest.approx(found.standard_uncertainty)
