"""A head's measures against Euclid and against figures worked out apart.

No table of historical heads' measures was found in print with areas or angles, so shapes are checked by what any
textbook says of them, by another library's polygon sums, and by the unit library.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pint
import pytest
from proofyard.physics.contact import (
    cutting_edge_m,
    energy_per_area_j_m2,
    energy_per_edge_j_m,
    flat_tip_area_m2,
    frontal_area_m2,
    sectional_density_kg_m2,
    tip_radius_area_m2,
    wedge_angle_rad,
)
from proofyard.quantities import to_si
from scipy.spatial import ConvexHull

AsPrinted = Callable[[float, str], None]

# Corners of each section in mm, from Euclid; scipy.spatial.ConvexHull adds up the area.
CORNERS = {
    "square": (8.0, None, [(0, 0), (8, 0), (8, 8), (0, 8)]),
    "triangle": (10.0, None, [(0, 0), (10, 0), (5, 10 * math.sqrt(3) / 2)]),
    "diamond": (24.0, 5.0, [(-12, 0), (0, 2.5), (12, 0), (0, -2.5)]),
    "flat": (30.0, 2.0, [(0, 0), (30, 0), (30, 2), (0, 2)]),
    "round": (9.0, None, [(4.5 * math.cos(a), 4.5 * math.sin(a)) for a in np.linspace(0, 2 * math.pi, 4000)]),
}


@pytest.mark.parametrize("section", CORNERS)
def test_the_area_of_each_section_is_that_of_its_corners(section: str) -> None:
    width, thickness, corners = CORNERS[section]
    through = None if thickness is None else thickness / 1000
    found = frontal_area_m2(section, width / 1000, thickness_m=through)
    assert found * 1e6 == pytest.approx(ConvexHull(np.array(corners)).volume, rel=1e-6)
    assert flat_tip_area_m2(width / 1000, section=section, other_way_m=through) == found


def test_a_3_4_5_head_has_edges_of_5(as_printed: AsPrinted) -> None:
    """Euclid I.47: half a width of 15 mm and 20 mm of length make an edge of 25 mm; two of them 50 mm."""
    as_printed(1000 * cutting_edge_m(0.030, 0.020, edges=2), "50.0000")
    as_printed(1000 * cutting_edge_m(0.024, 0.0, edges=2), "24.0000")  # a chisel: its edge lies across


def test_an_equilateral_wedge_opens_at_60_degrees(as_printed: AsPrinted) -> None:
    """Euclid I.1: sides of 10 mm stand 8.660254 mm high. With the tip ground off half way up it opens alike."""
    as_printed(math.degrees(wedge_angle_rad(0.010, 0.00866025403784)), "60.000000")
    as_printed(math.degrees(wedge_angle_rad(0.010, 0.00433012701892, tip_width_m=0.005)), "60.000000")


def test_the_contact_of_a_ball_pressed_to_its_middle_is_its_great_circle(as_printed: AsPrinted) -> None:
    """Archimedes; and Brinell's own sum: a 10 mm ball 0.5 mm deep leaves a circle of 4.3589 mm, by hand from
    d^2 = 4 h (D - h)."""
    assert tip_radius_area_m2(0.003, 0.003) == pytest.approx(math.pi * 0.003**2)
    across = math.sqrt(4 * tip_radius_area_m2(0.005, 0.0005) / math.pi)
    as_printed(1000 * across, "4.3589")


def test_sectional_density_and_energies_by_the_unit_library(as_printed: AsPrinted) -> None:
    """pint does the dividing: 925.9415 gr over 0.0992 in^2, 59 ft·lbf over an inch of edge and a square millimetre."""
    q = pint.UnitRegistry().Quantity
    mass, area = q(925.9415, "grain"), q(0.0992, "inch**2")
    ours = sectional_density_kg_m2(mass.to("kg").magnitude, area.to("m**2").magnitude)
    assert ours == pytest.approx((mass / area).to("kg/m**2").magnitude)
    energy = q(59, "foot*force_pound")
    assert energy.to("J").magnitude == pytest.approx(to_si(59, "ft·lbf"))
    edge, tip = q(1, "inch"), q(1, "mm**2")
    assert energy_per_edge_j_m(to_si(59, "ft·lbf"), 0.0254) == pytest.approx((energy / edge).to("J/m").magnitude)
    assert energy_per_area_j_m2(to_si(59, "ft·lbf"), 1e-6) == pytest.approx((energy / tip).to("J/m**2").magnitude)
    # By hand: 59 x 1.3558179483 = 79.993259 J on a square millimetre.
    as_printed(energy_per_area_j_m2(to_si(59, "ft·lbf"), 1e-6) / 1e6, "79.993259")
