"""What must be true of any impact on a free panel and of any blunt criterion, and where each refuses."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from proofyard.physics.backing_drop import drop_energy_j, drop_speed_m_s
from proofyard.physics.energy import kinetic_energy_j, momentum_kg_m_s
from proofyard.physics.panel_impact import ENDINGS, impact_after, impact_between, mass_at_spot_kg, parted_impact, stuck_impact
from proofyard.physics.trauma import blunt_criterion, body_wall_m
from proofyard.quantities.reason import OutOfRange

ARROWS, SPEEDS, PANELS = st.floats(0.01, 0.3), st.floats(1.0, 120.0), st.floats(0.02, 200.0)


@given(ARROWS, SPEEDS, PANELS, st.floats(1.001, 10.0))
def test_a_heavier_panel_keeps_less_energy_and_all_of_the_momentum(mass: float, speed: float, panel: float, times: float) -> None:
    light, heavy = stuck_impact(mass, speed, panel_kg=panel), stuck_impact(mass, speed, panel_kg=panel * times)
    assert heavy.energy_j < light.energy_j and heavy.speed_m_s < light.speed_m_s and heavy.lost_j > light.lost_j
    assert heavy.momentum_kg_m_s == light.momentum_kg_m_s == momentum_kg_m_s(mass, speed)


@given(ARROWS, SPEEDS, PANELS)
def test_nothing_is_made_out_of_nothing(mass: float, speed: float, panel: float) -> None:
    found = stuck_impact(mass, speed, panel_kg=panel)
    assert math.isclose(found.energy_j + found.lost_j + found.arrow_j, kinetic_energy_j(mass, speed), rel_tol=1e-9)
    assert math.isclose(found.energy_j, found.moving_kg * found.speed_m_s**2 / 2, rel_tol=1e-9)


@given(ARROWS, SPEEDS, PANELS, st.floats(-1.0, 1.0))
def test_an_arrow_that_parted_leaves_what_it_did_not_keep(mass: float, speed: float, panel: float, rebound: float) -> None:
    after = min((mass - rebound * panel) * speed / (mass + panel), speed)
    found = parted_impact(mass, speed, panel_kg=panel, after_m_s=after)
    assert math.isclose(found.momentum_kg_m_s + mass * after, mass * speed, rel_tol=1e-9, abs_tol=1e-12)
    assert found.lost_j >= 0
    assert math.isclose(found.energy_j + found.arrow_j + found.lost_j, kinetic_energy_j(mass, speed), rel_tol=1e-6)


@given(ARROWS, SPEEDS, PANELS, st.floats(1.0, 5.0), st.sampled_from(sorted(ENDINGS)))
def test_a_range_holds_every_mass_between_its_ends(mass: float, speed: float, panel: float, times: float, ending: str) -> None:
    whole = impact_between(mass, speed, panel_kg=(panel, panel * times), ending=ending)
    for share in (0.0, 0.3, 1.0):
        between = panel * (1 + share * (times - 1))
        inside = impact_between(mass, speed, panel_kg=(between, between), ending=ending)
        assert whole.energy_j[0] <= inside.energy_j[0] * (1 + 1e-9) + 1e-12
        assert inside.energy_j[1] <= whole.energy_j[1] * (1 + 1e-9) + 1e-12
    assert whole.energy_j[1] <= kinetic_energy_j(mass, speed) * (1 + 1e-9)
    assert whole.known == (whole.energy_j[0] == whole.energy_j[1])


@given(ARROWS, SPEEDS, st.floats(0.5, 50.0), st.floats(0.0, 0.4))
def test_what_was_read_afterwards_lies_within_what_nobody_read(mass: float, speed: float, panel: float, share: float) -> None:
    whole = impact_between(mass, speed, panel_kg=(panel, 2 * panel), ending="bounced")
    try:
        read = impact_after(mass, speed, panel_kg=(panel, 2 * panel), after_m_s=-share * speed)
    except OutOfRange:
        assert mass * (1 + share) / (1 - share) > 2 * panel * (1 - 1e-9)
        return
    assert read.energy_j[1] <= whole.energy_j[1] * (1 + 1e-9) and read.momentum_kg_m_s[1] <= whole.momentum_kg_m_s[1] * (1 + 1e-9)


@given(ARROWS, st.floats(1.0, 60.0), PANELS)
def test_twice_the_speed_leaves_four_times_the_energy(mass: float, speed: float, panel: float) -> None:
    slow, fast = (stuck_impact(mass, v, panel_kg=panel) for v in (speed, 2 * speed))
    assert math.isclose(fast.energy_j, 4 * slow.energy_j, rel_tol=1e-12)


@given(st.floats(0.1, 20.0), st.floats(-0.5, 0.5), st.floats(-0.5, 0.5))
def test_a_spot_further_from_the_middle_sets_less_mass_against_the_impact(mass: float, x: float, y: float) -> None:
    at = mass_at_spot_kg(mass, x_m=x * 0.3, y_m=y * 0.4, width_m=0.3, height_m=0.4)
    assert mass / 7 * (1 - 1e-9) <= at <= mass
    assert at <= mass_at_spot_kg(mass, x_m=x * 0.15, y_m=y * 0.2, width_m=0.3, height_m=0.4)
    assert at == mass_at_spot_kg(mass, x_m=-x * 0.3, y_m=y * 0.4, width_m=0.3, height_m=0.4)


@given(st.floats(0.01, 100.0), st.floats(40.0, 120.0), st.floats(0.01, 0.5))
def test_more_energy_is_worse_a_wider_impact_and_a_heavier_body_are_not(energy: float, body: float, width: float) -> None:
    def criterion(e: float, w: float, d: float) -> float:
        return blunt_criterion(e, w, wall_m=body_wall_m(w, "man"), diameter_m=d)

    here = criterion(energy, body, width)
    assert criterion(2 * energy, body, width) == pytest.approx(here + math.log(2))
    assert criterion(energy, body, 2 * width) == pytest.approx(here - math.log(2))
    assert criterion(energy, 120.0, width) <= here


def test_the_formula_in_centimetres_takes_metres() -> None:
    """A wall of 3 cm and a width of 4 cm: ln(E / (W^(1/3) 12))."""
    assert blunt_criterion(50.0, 64.0, wall_m=0.03, diameter_m=0.04) == pytest.approx(math.log(50 / 48))


@given(st.floats(0.01, 20.0), st.floats(0.01, 10.0))
def test_a_drop_brings_half_its_mass_times_its_speed_squared(mass: float, height: float) -> None:
    assert drop_energy_j(mass, height) == pytest.approx(kinetic_energy_j(mass, drop_speed_m_s(height)))


@pytest.mark.parametrize(
    "asked",
    [
        lambda: stuck_impact(0.0, 50.0, panel_kg=1.0),
        lambda: stuck_impact(0.06, -1.0, panel_kg=1.0),
        lambda: stuck_impact(0.06, 50.0, panel_kg=0.0),
        lambda: stuck_impact(0.06, math.nan, panel_kg=1.0),
        lambda: parted_impact(0.06, 50.0, panel_kg=1.0, after_m_s=51.0),
        lambda: parted_impact(0.06, 50.0, panel_kg=1.0, after_m_s=-50.0),
        lambda: parted_impact(0.06, 50.0, panel_kg=1.0, after_m_s=math.nan),
        lambda: impact_between(0.06, 50.0, panel_kg=(2.0, 1.0), ending="stood"),
        lambda: impact_after(0.06, 50.0, panel_kg=(1.0, 3.0), after_m_s=50.1),
        lambda: impact_after(0.06, 50.0, panel_kg=(1.0, 3.0), after_m_s=-49.9),
        lambda: impact_after(0.06, 50.0, panel_kg=(1.0, 3.0), after_m_s=0.01),
        lambda: impact_after(0.06, 50.0, panel_kg=(3.0, 1.0), after_m_s=-5.0),
        lambda: impact_after(0.06, 50.0, panel_kg=(1.0, 3.0), after_m_s=math.nan),
        lambda: mass_at_spot_kg(2.0, x_m=0.16, y_m=0.0, width_m=0.3, height_m=0.4),
        lambda: mass_at_spot_kg(2.0, x_m=0.0, y_m=0.0, width_m=0.0, height_m=0.4),
        lambda: body_wall_m(39.9, "man"),
        lambda: body_wall_m(120.1, "woman"),
        lambda: blunt_criterion(0.0, 75.0, wall_m=0.03, diameter_m=0.04),
        lambda: blunt_criterion(10.0, 75.0, wall_m=3.0, diameter_m=0.04),
        lambda: blunt_criterion(10.0, 75.0, wall_m=0.03, diameter_m=4.0),
        lambda: blunt_criterion(10.0, 20.0, wall_m=0.03, diameter_m=0.04),
        lambda: drop_energy_j(1.0, 0.0),
        lambda: drop_energy_j(21.0, 1.0),
        lambda: drop_speed_m_s(math.inf),
    ],
)
def test_outside_its_range_a_formula_refuses(asked: object) -> None:
    with pytest.raises(OutOfRange):
        asked()


def test_names_that_nobody_printed_are_refused() -> None:
    with pytest.raises(KeyError):
        body_wall_m(75.0, "child")
    with pytest.raises(KeyError):
        impact_between(0.06, 50.0, panel_kg=(1.0, 1.0), ending="vanished")
