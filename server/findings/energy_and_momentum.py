"""An arrow's energy and momentum from its mass and speed, with their doubt; None where either is not known."""

import math

from server.physics.energy import kinetic_energy_j, momentum_kg_m_s, momentum_uncertainty_kg_m_s
from server.quantities import Uncertain
from server.statistics.repeated_readings import Component, combine


def energy_of(mass: Uncertain | None, speed: Uncertain | None) -> Uncertain | None:
    """½ m v² with its doubt, from mass and speed that were found independently (GUM 5.1.2)."""
    if mass is None or speed is None:
        return None
    energy = kinetic_energy_j(mass.value, speed.value)
    um, uv = mass.standard_uncertainty, speed.standard_uncertainty
    if um is None or uv is None:
        return Uncertain(energy, None, None, speed.n)
    parts = [
        Component("mass", energy * um / mass.value, mass.dof or math.inf, "B"),
        Component("speed", 2 * energy * uv / speed.value if speed.value else 0.0, speed.dof or math.inf, "A"),
    ]
    total = combine(*parts)
    return Uncertain(energy, total.standard_uncertainty, total.dof if total.dof > 0 else None, speed.n)


def momentum_of(mass: Uncertain | None, speed: Uncertain | None) -> Uncertain | None:
    """m v with its doubt."""
    if mass is None or speed is None:
        return None
    value = momentum_kg_m_s(mass.value, speed.value)
    um, uv = mass.standard_uncertainty, speed.standard_uncertainty
    if um is None or uv is None:
        return Uncertain(value, None, None, speed.n)
    u = momentum_uncertainty_kg_m_s(mass.value, speed.value, mass_u_kg=um, speed_u_m_s=uv)
    return Uncertain(value, u, None, speed.n)
