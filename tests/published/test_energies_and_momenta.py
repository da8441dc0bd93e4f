"""Energies and momenta of real arrows, as others printed them or as exact constants give them."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from proofyard.physics.energy import (
    kinetic_energy_j,
    kinetic_energy_relative_uncertainty,
    kinetic_energy_uncertainty_j,
    momentum_kg_m_s,
    momentum_relative_uncertainty,
    momentum_uncertainty_kg_m_s,
)
from proofyard.quantities import from_si, to_si

AsPrinted = Callable[[float, str], None]

# Mass and its unit, speed and its unit, then the printed or worked-out figures: J, ft·lbf, kg·m/s, slug·ft/s.
# "worked out": from the exact pound, foot and standard gravity with a units library, not by our own code.
ARROWS = {
    "500 gr at 170 ft/s, worked out": (500, "gr", 170, "ft/s", "43.4946136", "32.0799807", "1.6788102", "0.3774115"),
    "400 gr at 280 ft/s, worked out": (400, "gr", 280, "ft/s", "94.393847", "69.621328", "2.2120793", None),
    "60 g at 55 m/s, by hand": (60, "g", 55, "m/s", "90.75", "66.933765", "3.300", None),
    # Hickman, Nagler and Klopsteg, Archery: the Technical Side, 1947, print mass and speeds of a yew bow's two strings.
    "Hickman, 400 gr at 155 ft/s, worked out": (400, "gr", 155, "ft/s", "28.9262", None, None, None),
    "Hickman, 400 gr at 148 ft/s, worked out": (400, "gr", 148, "ft/s", "26.3725", None, None, None),
    # Bourke and Whetham, Arms & Armour 2007 4(1) print all three: 102 g, 47.23 m/s, 113.76 J. From memory.
    "Bourke and Whetham 2007, from memory": (102, "g", 47.23, "m/s", "113.76", None, None, None),
}


@pytest.mark.parametrize("arrow", ARROWS.values(), ids=ARROWS.keys())
def test_energy_and_momentum_of_an_arrow_come_out_as_printed(arrow: tuple[Any, ...], as_printed: AsPrinted) -> None:
    mass, mass_unit, speed, speed_unit, joules, foot_pounds, momentum, slug_feet = arrow
    mass_kg, speed_m_s = to_si(mass, mass_unit), to_si(speed, speed_unit)
    energy = kinetic_energy_j(mass_kg, speed_m_s)
    as_printed(energy, joules)
    if foot_pounds:
        as_printed(from_si(energy, "ft·lbf"), foot_pounds)
    if momentum:
        as_printed(momentum_kg_m_s(mass_kg, speed_m_s), momentum)
    if slug_feet:
        as_printed(from_si(momentum_kg_m_s(mass_kg, speed_m_s), "slug·ft/s"), slug_feet)


def test_the_archery_short_cut_divisor_reads_high_by_the_printed_share(as_printed: AsPrinted) -> None:
    """450,240 is 14,000 x 32.16: common practice in archery, no source. The definitions give 450,436.68."""
    exact = from_si(kinetic_energy_j(to_si(500, "gr"), to_si(170, "ft/s")), "ft·lbf")
    short_cut = 500 * 170**2 / 450240
    as_printed(short_cut, "32.0940")
    as_printed(100 * (short_cut / exact - 1), "0.0437")
    as_printed(500 * 170**2 / exact, "450436.68")


def test_uncertainty_of_energy_and_momentum_of_60_2_g_at_52_40_m_s(as_printed: AsPrinted) -> None:
    """60.2 ± 0.1 g and 52.40 ± 0.35 m/s, worked out by hand from JCGM 100:2008 (GUM), 5.1.2 and 5.1.6."""
    mass_kg, speed_m_s, mass_u, speed_u = 0.0602, 52.40, 0.0001, 0.35
    energy = kinetic_energy_j(mass_kg, speed_m_s)
    u_energy = kinetic_energy_uncertainty_j(mass_kg, speed_m_s, mass_u_kg=mass_u, speed_u_m_s=speed_u)
    as_printed(energy, "82.647376")
    as_printed(u_energy, "1.112571")
    as_printed(100 * u_energy / energy, "1.3462")
    as_printed(100 * kinetic_energy_relative_uncertainty(mass_u / mass_kg, speed_u / speed_m_s), "1.3462")
    momentum = momentum_kg_m_s(mass_kg, speed_m_s)
    u_momentum = momentum_uncertainty_kg_m_s(mass_kg, speed_m_s, mass_u_kg=mass_u, speed_u_m_s=speed_u)
    as_printed(momentum, "3.154480")
    as_printed(u_momentum, "0.0217118")
    as_printed(momentum_relative_uncertainty(mass_u / mass_kg, speed_u / speed_m_s) * momentum, "0.0217118")


# Speed in m/s and energy in J of seven throws: Smith et al. 2020, data set Boar_dataset.csv, licence CC0.
# One kind of spear; the median mass over all 100 throws is 0.224987 kg.
THROWS = ((19.01, 42.1), (21.32, 52.27), (18.86, 42.24), (19.18, 42.77), (18.03, 36.73), (18.89, 40.68), (14.89, 26.0))


@pytest.mark.parametrize(("speed_m_s", "printed_j"), THROWS)
def test_printed_energies_of_thrown_spears_are_those_of_one_mass_within_a_tenth(speed_m_s: float, printed_j: float) -> None:
    """Spears differ by a few grams, so a tenth; half or twice the energy, the usual slip, would stand out."""
    assert kinetic_energy_j(0.224987, speed_m_s) == pytest.approx(printed_j, rel=0.1)
