"""The budget of a shot's energy against the GUM's own worked example. Sums by hand are in tests/physics."""

from __future__ import annotations

from collections.abc import Callable

from proofyard.physics.uncertainty_budget import ShotInputs, UncertaintySource, uncertainty_budget

AsPrinted = Callable[[float, str], None]


def test_effective_degrees_of_freedom_as_in_gum_g_4_1(as_printed: AsPrinted) -> None:
    """GUM G.4.1, from memory: relative 0.25, 0.57, 0.82 % with 9, 4, 14 degrees of freedom give 1.03 % and 19.0.

    Made of three uncertainties of a speed at no distance: momentum goes with speed, so the shares come through unchanged.
    """
    shot = ShotInputs(0.06, 50.0, 0.0, 2.0, 0.0095, 1.2)
    uncertainties = [
        UncertaintySource("speed", "a", 0.0025 * 50, "shot", "A", 9),
        UncertaintySource("speed", "b", 0.0057 * 50, "shot", "A", 4),
        UncertaintySource("speed", "c", 0.0082 * 50, "shot", "A", 14),
    ]
    found = uncertainty_budget(shot, uncertainties, step="momentum_at_target_kg_m_s")
    as_printed(100 * found.standard_uncertainty / found.value, "1.03")
    as_printed(found.dof, "19.0")
