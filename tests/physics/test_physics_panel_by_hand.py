"""Panels against sums by hand, an integrator and a count by another way; print is in tests/published/test_panels.py."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from proofyard.physics.panel import (
    PlateLattice,
    cloth_areal_density_kg_m2,
    layers_at_point,
    mail_areal_density_kg_m2,
    mean_layers,
    plated_areal_density_kg_m2,
    ring_mass_kg,
    weighed_beside_worked_out,
)
from scipy.integrate import quad

AsPrinted = Callable[[float, str], None]


def test_a_ring_weighs_what_the_sum_over_its_wire_says() -> None:
    """An independent integrator (scipy.quad) of a torus by slices: 10 mm outside, 1.5 mm wire."""
    big, small = (10 - 1.5) / 2, 1.5 / 2  # in mm, so that the integrator's own tolerance is small beside it
    # A slice at height z is a ring between big - r and big + r, r = sqrt(small^2 - z^2): area 4 pi big r.
    volume = quad(lambda z: 4 * math.pi * big * math.sqrt(small**2 - z**2), -small, small)[0]
    assert ring_mass_kg(0.010, 0.0015) == pytest.approx(7850 * volume * 1e-9, rel=1e-6)


def test_a_square_metre_of_mail_by_hand(as_printed: AsPrinted) -> None:
    """7850 x 1.767146e-6 m^2 x (26.703538 + 3) mm = 0.41205 g; 25,000 of them 10.301 kg: a desk calculator."""
    ring = ring_mass_kg(0.010, 0.0015, lap_m=0.003)
    as_printed(1000 * ring, "0.41205")
    as_printed(mail_areal_density_kg_m2(ring, 25_000), "10.301")


LAMELLAR = PlateLattice(0.025, 0.060, 0.020, 0.045)
SHIFTED = PlateLattice(0.030, 0.040, 0.024, 0.018, shift_m=0.012)
GAPPED = PlateLattice(0.018, 0.040, 0.020, 0.042)


@pytest.mark.parametrize("plates", [LAMELLAR, SHIFTED, GAPPED])
def test_layers_counted_at_random_spots_average_to_the_ratio_of_areas(plates: PlateLattice) -> None:
    """Another way to the same: 40,000 spots, each asked for its layers."""
    rng = np.random.default_rng(8)
    spots = rng.uniform(-1.0, 1.0, (40_000, 2))
    found = np.mean([layers_at_point(plates, x, down_m=y) for x, y in spots])
    assert found == pytest.approx(mean_layers(plates), rel=0.01)


@pytest.mark.parametrize("plates", [LAMELLAR, SHIFTED, GAPPED])
def test_layers_at_a_spot_are_those_of_a_list_of_all_plates(plates: PlateLattice) -> None:
    """An independent count: write down every plate's rectangle, and ask each whether it covers the spot."""
    rectangles = [
        (i * plates.pitch_across_m + (plates.shift_m if j % 2 else 0.0), j * plates.pitch_down_m)
        for i in range(-30, 31)
        for j in range(-30, 31)
    ]
    for x, y in np.random.default_rng(9).uniform(-0.2, 0.2, (200, 2)):
        inside = sum(0 <= x - left < plates.plate_width_m and 0 <= y - top < plates.plate_height_m for left, top in rectangles)
        assert layers_at_point(plates, x, down_m=y) == inside


def test_a_square_metre_of_laced_plates_by_hand(as_printed: AsPrinted) -> None:
    """25 x 60 mm plates at 20 x 45 mm are 1.6667 layers; 1 mm of steel 13.0833 kg; 0.3 m of 2 g/m lace to each of
    1,111.1 plates 0.6667 kg."""
    as_printed(mean_layers(LAMELLAR), "1.6667")
    as_printed(plated_areal_density_kg_m2(LAMELLAR, 0.001), "13.0833")
    as_printed(plated_areal_density_kg_m2(LAMELLAR, 0.001, lace_m_each=0.3, lace_kg_m=0.002), "13.7500")


def test_ten_layers_of_240_gsm_linen(as_printed: AsPrinted) -> None:
    """By hand."""
    as_printed(cloth_areal_density_kg_m2((0.24,) * 10), "2.40")


def test_a_panel_that_weighs_more_than_its_measures_by_hand(as_printed: AsPrinted) -> None:
    """1.40 kg on 0.09 m^2 is 15.5556; 0.5556 over sqrt(0.01 + 0.04) = 2.4845."""
    found = weighed_beside_worked_out(1.40, 0.09, worked_out_kg_m2=15.0, weighed_u_kg_m2=0.1, worked_out_u_kg_m2=0.2)
    as_printed(found.weighed_kg_m2, "15.5556")
    assert found.apart is not None
    as_printed(found.apart, "2.4845")
