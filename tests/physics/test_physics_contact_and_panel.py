"""Heads and panels: laws of their measures, and what is refused."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st
from proofyard.physics.contact import (
    SECTIONS,
    cutting_edge_m,
    energy_per_area_j_m2,
    energy_per_edge_j_m,
    frontal_area_m2,
    sectional_density_kg_m2,
    tip_radius_area_m2,
    wedge_angle_rad,
)
from proofyard.physics.panel import (
    PlateLattice,
    cloth_areal_density_kg_m2,
    layers_at_point,
    line_of_sight_thickness_m,
    mail_areal_density_kg_m2,
    plate_areal_density_kg_m2,
    plated_areal_density_kg_m2,
    ring_mass_kg,
    weighed_beside_worked_out,
)
from proofyard.quantities.reason import OutOfRange

lengths = st.floats(0.0005, 0.1)


@given(st.sampled_from(sorted(SECTIONS)), lengths, st.floats(0.05, 1.0), st.floats(0.1, 10.0))
def test_a_head_twice_as_big_has_four_times_the_area_and_never_more_than_its_box(
    section: str, width: float, share: float, factor: float
) -> None:
    through = share * width if SECTIONS[section].takes_thickness else None
    area = frontal_area_m2(section, width, thickness_m=through)
    bigger = frontal_area_m2(section, factor * width, thickness_m=None if through is None else factor * through)
    assert bigger == pytest.approx(factor**2 * area)
    assert 0 < area <= width * (through or width) * (1 + 1e-12)


@given(lengths, lengths, st.integers(1, 8))
def test_an_edge_is_longer_than_the_head_and_than_half_its_width(width: float, length: float, edges: int) -> None:
    found = cutting_edge_m(width, length, edges=edges) / edges
    assert max(length, width / 2) <= found <= length + width / 2


@given(lengths, lengths, st.floats(0.0, 1.0))
def test_a_blunted_head_opens_less_and_a_long_one_too(width: float, length: float, share: float) -> None:
    sharp = wedge_angle_rad(width, length)
    assert 0 < sharp < math.pi
    assert wedge_angle_rad(width, length, tip_width_m=share * width) <= sharp
    assert wedge_angle_rad(width, 2 * length) < sharp
    assert wedge_angle_rad(width, length, tip_width_m=width) == 0


@given(lengths, st.floats(0.01, 1.0))
def test_a_rounded_tip_touches_more_the_deeper_it_goes(radius: float, share: float) -> None:
    area = tip_radius_area_m2(radius, share * radius)
    assert 0 < area <= math.pi * radius**2 * (1 + 1e-12)
    assert tip_radius_area_m2(radius, 0.5 * share * radius) < area


@given(st.floats(1.0, 200.0), st.floats(1e-3, 0.3), st.floats(1e-8, 1e-3))
def test_half_the_edge_or_area_is_twice_the_energy_on_it(energy: float, edge: float, area: float) -> None:
    assert energy_per_edge_j_m(energy, edge / 2) == pytest.approx(2 * energy_per_edge_j_m(energy, edge))
    assert energy_per_area_j_m2(energy, area / 2) == pytest.approx(2 * energy_per_area_j_m2(energy, area))
    assert sectional_density_kg_m2(energy, area) == pytest.approx(energy / area)


@given(st.floats(1e-4, 0.02), st.floats(0.0, 1.48))
def test_a_slant_never_thins_a_plate(thickness: float, angle: float) -> None:
    found = line_of_sight_thickness_m(thickness, angle)
    assert found >= thickness
    assert found * math.cos(angle) == pytest.approx(thickness)


plates = st.builds(
    PlateLattice,
    plate_width_m=st.floats(0.015, 0.06),
    plate_height_m=st.floats(0.03, 0.1),
    pitch_across_m=st.floats(0.01, 0.05),
    pitch_down_m=st.floats(0.02, 0.08),
)


@given(plates, st.floats(-0.5, 0.5), st.floats(-0.5, 0.5))
def test_layers_lie_between_the_whole_numbers_about_the_ratio(rows: PlateLattice, x: float, y: float) -> None:
    across, down = rows.plate_width_m / rows.pitch_across_m, rows.plate_height_m / rows.pitch_down_m
    found = layers_at_point(rows, x, down_m=y)
    # Where a ratio is whole, a point on the very joint touches one plate more.
    most = (math.floor(across) + 1) * (math.floor(down) + 1)
    assert (math.ceil(across) - 1) * (math.ceil(down) - 1) <= found <= most


@given(plates, st.floats(0.0005, 0.003))
def test_lacing_and_overlap_only_add(rows: PlateLattice, thickness: float) -> None:
    bare = plated_areal_density_kg_m2(rows, thickness)
    assert plated_areal_density_kg_m2(rows, thickness, lace_m_each=0.2, lace_kg_m=0.003) > bare
    if rows.plate_width_m >= rows.pitch_across_m and rows.plate_height_m >= rows.pitch_down_m:
        assert bare >= plate_areal_density_kg_m2(thickness) * (1 - 1e-12)


def test_weighed_and_worked_out_without_any_uncertainty_cant_be_compared_in_uncertainties() -> None:
    found = weighed_beside_worked_out(1.5, 0.1, worked_out_kg_m2=15, weighed_u_kg_m2=0, worked_out_u_kg_m2=0)
    assert found.apart is None and found.ratio == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("call", "name"),
    [
        (lambda: frontal_area_m2("square", 0.0), "width_m"),
        (lambda: frontal_area_m2("diamond", 0.02), "thickness_m"),
        (lambda: frontal_area_m2("diamond", 0.02, thickness_m=0.03), "thickness_m"),
        (lambda: frontal_area_m2("square", 0.02, thickness_m=0.02), "thickness_m"),
        (lambda: cutting_edge_m(0.02, 0.03, edges=0), "edges"),
        (lambda: cutting_edge_m(0.02, -0.03, edges=2), "tip_to_widest_m"),
        (lambda: wedge_angle_rad(0.02, 0.0), "tip_to_widest_m"),
        (lambda: wedge_angle_rad(0.02, 0.03, tip_width_m=0.021), "tip_width_m"),
        (lambda: tip_radius_area_m2(0.001, 0.0011), "depth_m"),
        (lambda: energy_per_edge_j_m(80.0, 0.0), "edge_m"),
        (lambda: energy_per_area_j_m2(math.nan, 1e-6), "energy_j"),
        (lambda: sectional_density_kg_m2(0.06, math.inf), "area_m2"),
        (lambda: plate_areal_density_kg_m2(0.0), "thickness_m"),
        (lambda: PlateLattice(0.025, 0.06, 0.0, 0.045), "pitch_across_m"),
        (lambda: PlateLattice(0.025, 0.06, 0.001, 0.045), "pitch_across_m"),
        (lambda: PlateLattice(0.025, 0.06, 0.02, 0.002), "pitch_down_m"),
        (lambda: PlateLattice(0.025, 0.06, 0.02, 0.045, shift_m=0.03), "shift_m"),
        (lambda: ring_mass_kg(0.003, 0.0015), "outer_m"),
        (lambda: mail_areal_density_kg_m2(0.0004, 0.0), "rings_per_m2"),
        (lambda: cloth_areal_density_kg_m2(()), "layers_kg_m2"),
        (lambda: cloth_areal_density_kg_m2((0.2, -0.2)), "layers_kg_m2"),
        (lambda: layers_at_point(PlateLattice(0.025, 0.06, 0.02, 0.045), math.nan, down_m=0), "across_m"),
        (lambda: line_of_sight_thickness_m(0.001, 1.5), "angle_rad"),
        (lambda: line_of_sight_thickness_m(0.001, -0.1), "angle_rad"),
        (lambda: weighed_beside_worked_out(1, 0, worked_out_kg_m2=1, weighed_u_kg_m2=0, worked_out_u_kg_m2=0), "area_m2"),
    ],
)
def test_measures_of_no_head_and_no_panel_are_refused_and_named(call: Callable[..., object], name: str) -> None:
    with pytest.raises(OutOfRange) as caught:
        call()
    assert caught.value.name == name


def test_a_section_without_a_formula_has_to_be_measured() -> None:
    with pytest.raises(KeyError):
        frontal_area_m2("other", 0.02)
