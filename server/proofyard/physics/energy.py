"""Kinetic energy and momentum of an arrow in flight, and how well both are known.

An energy always says where: these functions know only the speed they are given, so the caller's name for the
result must carry the place (`energy_at_chronograph_j`, `energy_at_target_j`).
"""

from __future__ import annotations

import math

from proofyard.quantities.reason import must_be_above_zero, must_be_finite_result, must_not_be_negative


def kinetic_energy_j(mass_kg: float, speed_m_s: float) -> float:
    """Work needed to stop a body that moves without spinning.

    E = m v^2 / 2

    Takes
        mass_kg     scalar, kg, above 0     whole arrow: shaft, head, nock, fletching
        speed_m_s   scalar, m/s, 0 or more  at the place that you ask about, not at the bow
    Gives
        scalar, J, 0 or more
    Refuses
        OutOfRange  mass not above 0, speed below 0, either not finite, result too large for a number
    Holds while
        v is far below light speed, and what the arrow spins and flexes with is left out
    Source
        The definition of the joule, 1 J = 1 kg m^2/s^2: BIPM, The International System of Units, 9th edition,
        Table 4. Checked in tests/published/test_energies_and_momenta.py
    >>> kinetic_energy_j(mass_kg=0.025, speed_m_s=60.0)
    45.0
    """
    must_be_above_zero("mass_kg", mass_kg)
    must_not_be_negative("speed_m_s", speed_m_s)
    return must_be_finite_result("kinetic_energy_j", 0.5 * mass_kg * speed_m_s * speed_m_s)


def momentum_kg_m_s(mass_kg: float, speed_m_s: float) -> float:
    """Push that a body brings along: a force of p newtons stops it in one second.

    p = m v

    Takes
        mass_kg     scalar, kg, above 0     whole arrow: shaft, head, nock, fletching
        speed_m_s   scalar, m/s, 0 or more  at the place that you ask about, not at the bow
    Gives
        scalar, kg m/s, 0 or more, along the flight
    Refuses
        OutOfRange  mass not above 0, speed below 0, either not finite, result too large for a number
    Holds while
        v is far below light speed
    Source
        The definition of the newton, 1 N = 1 kg m/s^2: BIPM, The International System of Units, 9th edition,
        Table 4. Checked in tests/published/test_energies_and_momenta.py
    >>> momentum_kg_m_s(mass_kg=0.025, speed_m_s=60.0)
    1.5
    """
    must_be_above_zero("mass_kg", mass_kg)
    must_not_be_negative("speed_m_s", speed_m_s)
    return must_be_finite_result("momentum_kg_m_s", mass_kg * speed_m_s)


def kinetic_energy_uncertainty_j(mass_kg: float, speed_m_s: float, *, mass_u_kg: float, speed_u_m_s: float) -> float:
    """Standard uncertainty of a kinetic energy, from those of mass and speed.

    u_E^2 = (v^2/2 u_m)^2 + (m v u_v)^2

    Takes
        mass_kg      scalar, kg, above 0     whole arrow
        speed_m_s    scalar, m/s, 0 or more  at the place that you ask about
        mass_u_kg    scalar, kg, 0 or more   standard uncertainty of the mass (one sigma, k = 1)
        speed_u_m_s  scalar, m/s, 0 or more  standard uncertainty of the speed (one sigma, k = 1)
    Gives
        scalar, J, 0 or more: a standard uncertainty; about two in three true values lie within it
    Refuses
        OutOfRange  mass not above 0, speed or an uncertainty below 0, any not finite, result too large for a number
    Holds while
        mass and speed were measured independently, and u_v is small beside v (first order: the term left out is
        u_v^2 m/2, which is 0.06 % of E at u_v/v = 2.5 %). At v = 0 the first-order answer is 0 whatever u_v is
    Source
        JCGM 100:2008 (GUM), 5.1.2, equation (10), with the derivatives of E = m v^2/2.
        Checked in tests/published/test_energies_and_momenta.py
    >>> round(kinetic_energy_uncertainty_j(0.0602, 52.40, mass_u_kg=0.0001, speed_u_m_s=0.35), 4)
    1.1126
    """
    must_be_above_zero("mass_kg", mass_kg)
    must_not_be_negative("speed_m_s", speed_m_s)
    must_not_be_negative("mass_u_kg", mass_u_kg)
    must_not_be_negative("speed_u_m_s", speed_u_m_s)
    from_mass = 0.5 * speed_m_s * speed_m_s * mass_u_kg
    from_speed = mass_kg * speed_m_s * speed_u_m_s
    return must_be_finite_result("kinetic_energy_uncertainty_j", math.hypot(from_mass, from_speed))


def momentum_uncertainty_kg_m_s(mass_kg: float, speed_m_s: float, *, mass_u_kg: float, speed_u_m_s: float) -> float:
    """Standard uncertainty of a momentum, from those of mass and speed.

    u_p^2 = (v u_m)^2 + (m u_v)^2

    Takes
        mass_kg      scalar, kg, above 0     whole arrow
        speed_m_s    scalar, m/s, 0 or more  at the place that you ask about
        mass_u_kg    scalar, kg, 0 or more   standard uncertainty of the mass (one sigma, k = 1)
        speed_u_m_s  scalar, m/s, 0 or more  standard uncertainty of the speed (one sigma, k = 1)
    Gives
        scalar, kg m/s, 0 or more: a standard uncertainty
    Refuses
        OutOfRange  mass not above 0, speed or an uncertainty below 0, any not finite, result too large for a number
    Holds while
        mass and speed were measured independently
    Source
        JCGM 100:2008 (GUM), 5.1.2, equation (10), with the derivatives of p = m v.
        Checked in tests/published/test_energies_and_momenta.py
    >>> round(momentum_uncertainty_kg_m_s(0.0602, 52.40, mass_u_kg=0.0001, speed_u_m_s=0.35), 5)
    0.02171
    """
    must_be_above_zero("mass_kg", mass_kg)
    must_not_be_negative("speed_m_s", speed_m_s)
    must_not_be_negative("mass_u_kg", mass_u_kg)
    must_not_be_negative("speed_u_m_s", speed_u_m_s)
    from_mass = speed_m_s * mass_u_kg
    from_speed = mass_kg * speed_u_m_s
    return must_be_finite_result("momentum_uncertainty_kg_m_s", math.hypot(from_mass, from_speed))


def kinetic_energy_relative_uncertainty(mass_relative_u: float, speed_relative_u: float) -> float:
    """Share of a kinetic energy that its standard uncertainty is: speed counts double.

    (u_E/E)^2 = (u_m/m)^2 + (2 u_v/v)^2

    Takes
        mass_relative_u   scalar, no unit, 0 or more  u_m/m
        speed_relative_u  scalar, no unit, 0 or more  u_v/v
    Gives
        scalar, no unit, 0 or more: u_E/E
    Refuses
        OutOfRange  either below 0 or not finite, result too large for a number
    Holds while
        mass and speed were measured independently, and both shares are small beside 1
    Source
        JCGM 100:2008 (GUM), 5.1.6, equation (12): exponents 1 and 2.
        Checked in tests/published/test_energies_and_momenta.py
    >>> round(kinetic_energy_relative_uncertainty(0.03, 0.02), 6)
    0.05
    """
    must_not_be_negative("mass_relative_u", mass_relative_u)
    must_not_be_negative("speed_relative_u", speed_relative_u)
    return must_be_finite_result("kinetic_energy_relative_uncertainty", math.hypot(mass_relative_u, 2.0 * speed_relative_u))


def momentum_relative_uncertainty(mass_relative_u: float, speed_relative_u: float) -> float:
    """Share of a momentum that its standard uncertainty is: mass and speed count alike.

    (u_p/p)^2 = (u_m/m)^2 + (u_v/v)^2

    Takes
        mass_relative_u   scalar, no unit, 0 or more  u_m/m
        speed_relative_u  scalar, no unit, 0 or more  u_v/v
    Gives
        scalar, no unit, 0 or more: u_p/p
    Refuses
        OutOfRange  either below 0 or not finite, result too large for a number
    Holds while
        mass and speed were measured independently
    Source
        JCGM 100:2008 (GUM), 5.1.6, equation (12): both exponents 1.
        Checked in tests/published/test_energies_and_momenta.py
    >>> round(momentum_relative_uncertainty(0.03, 0.04), 6)
    0.05
    """
    must_not_be_negative("mass_relative_u", mass_relative_u)
    must_not_be_negative("speed_relative_u", speed_relative_u)
    return must_be_finite_result("momentum_relative_uncertainty", math.hypot(mass_relative_u, speed_relative_u))
