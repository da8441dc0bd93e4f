"""The budget of a shot's energy against sums by hand; the GUM's own example is in tests/published/test_budget.py."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from proofyard.physics.uncertainty_budget import ShotInputs, UncertaintySource, sensitivities, uncertainty_budget

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
    uncertainties = [
        UncertaintySource("mass", "scale", 0.0001, "instrument"),
        UncertaintySource("speed", "scatter", 0.35, "shot", "A", 4),
        UncertaintySource("drag_coefficient", "default", 0.4, "combination"),
    ]
    found = uncertainty_budget(near, uncertainties)
    as_printed(found.value, "82.647376")
    as_printed(found.standard_uncertainty, "1.112571")
    assert found.lines[2].contribution == 0  # no air in between
    assert found.most is not None and found.most.uncertainty.what == "scatter"
    as_printed(found.without_most, "0.1373")  # 82.647376 * 0.1/60.2


def test_a_whole_shot_by_hand(as_printed: AsPrinted) -> None:
    """Contributions c u in J: scale 0.00006 kg 0.0906, chronograph 0.275 m/s 0.8575, mean 0.20 m/s 0.6236, this shot
    0.45 m/s 1.4031, default drag 0.375 0.9117, distance 0.1 m 0.0243, calliper 0.0001 m 0.1024, air 0.01 kg/m^3 0.0405.
    Sum of squares 3.9450, root 1.9862. Worked out with a desk calculator."""
    uncertainties = [
        UncertaintySource("mass", "scale", 0.00006, "instrument"),
        UncertaintySource("speed", "chronograph", 0.275, "instrument"),
        UncertaintySource("speed", "mean of eight", 0.20, "combination", "A", 7),
        UncertaintySource("speed", "single shots scatter", 0.45, "shot", "A", 7),
        UncertaintySource("drag_coefficient", "default", 0.375, "combination"),
        UncertaintySource("distance", "tape", 0.1, "instrument"),
        UncertaintySource("shaft_diameter", "calliper", 0.0001, "combination"),
        UncertaintySource("air_density", "weather", 0.01, "instrument"),
    ]
    found = uncertainty_budget(SHOT, uncertainties)
    for line, printed in zip(found.lines, ["0.0906", "0.8575", "0.6236", "1.4031", "0.9117", "0.0243", "0.1024", "0.0405"], strict=True):
        as_printed(line.contribution, printed)
    as_printed(found.standard_uncertainty, "1.986")
    assert sum(line.share for line in found.lines) == pytest.approx(1)
    assert math.hypot(*found.by_scope.values()) == pytest.approx(found.standard_uncertainty)
