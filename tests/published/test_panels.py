"""Panels against handbook figures. What was worked out by hand or counted another way is in tests/physics."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from proofyard.physics.panel import line_of_sight_thickness_m, plate_areal_density_kg_m2

AsPrinted = Callable[[float, str], None]


@pytest.mark.parametrize(("mm", "printed"), [(1.0, "7.85"), (1.5, "11.775"), (2.0, "15.70"), (3.0, "23.55")])
def test_steel_sheet_weighs_what_stockholders_print(mm: float, printed: str, as_printed: AsPrinted) -> None:
    """kg/m^2 of steel sheet in any stockholder's table, at 7,850 kg/m^3 (common practice; from memory)."""
    as_printed(plate_areal_density_kg_m2(mm / 1000), printed)


@pytest.mark.parametrize(("degrees", "printed"), [(0, "1.500"), (30, "1.732"), (45, "2.121"), (60, "3.000")])
def test_a_slanted_plate_is_thicker_along_the_flight(degrees: float, printed: str, as_printed: AsPrinted) -> None:
    """Any table of cosines: 1.5 mm over 1, 0.8660, 0.7071, 0.5."""
    as_printed(1000 * line_of_sight_thickness_m(0.0015, math.radians(degrees)), printed)
