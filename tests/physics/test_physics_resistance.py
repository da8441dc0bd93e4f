"""What must be true of any rule for getting through armour, and where each says that it doesn't know."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from proofyard.physics.hardness import StrengthRange
from proofyard.physics.resistance import THICKEST_M, THINNEST_M, linen_energy_j, plate_energy_j, printed_energy, residual_speed_m_s
from proofyard.physics.resistance_of_missiles import brl_energy_j, sri_energy_j
from proofyard.physics.resistance_scaling import (
    ANGLE_RULES,
    LAYER_RULES,
    THICKNESS_RULES,
    WIRE_RULES,
    Factor,
    angle_factor,
    layers_factor,
    strength_factor,
    thickness_factor,
    wire_factor,
)
from proofyard.quantities.reason import CantTell, OutOfRange, because

PLATES = st.floats(THINNEST_M, THICKEST_M)
WIRES = st.floats(0.0005, 0.003)
STRENGTHS = st.floats(250e6, 2100e6)


@given(PLATES, PLATES, st.sampled_from(sorted(THICKNESS_RULES)))
def test_a_thicker_plate_never_needs_less_energy(one: float, other: float, rule: str) -> None:
    thin, thick = sorted((one, other))
    assert thickness_factor(thick, thin, rule=rule).low >= 1 >= thickness_factor(thin, thick, rule=rule).high
    assert plate_energy_j(thick) >= plate_energy_j(thin)


@given(PLATES, PLATES, PLATES, st.sampled_from(sorted(THICKNESS_RULES)))
def test_two_changes_of_thickness_are_one(a: float, b: float, c: float, rule: str) -> None:
    by_steps = thickness_factor(b, a, rule=rule).low * thickness_factor(c, b, rule=rule).low
    assert by_steps == pytest.approx(thickness_factor(c, a, rule=rule).low)


@given(PLATES, st.sampled_from(sorted(THICKNESS_RULES)))
def test_no_change_changes_nothing(thickness: float, rule: str) -> None:
    assert thickness_factor(thickness, thickness, rule=rule).low == 1
    assert all(angle_factor(0.0, rule=one).low == 1 for one in ANGLE_RULES)
    assert all(layers_factor(2, 2, rule=one).low == 1 for one in LAYER_RULES)


@given(PLATES, PLATES)
def test_the_arrows_rule_is_the_plate_energy_itself(new: float, old: float) -> None:
    assert thickness_factor(new, old, rule="arrows").low == pytest.approx(plate_energy_j(new) / plate_energy_j(old))


@given(WIRES, WIRES, st.sampled_from(sorted(WIRE_RULES)))
def test_thicker_wire_never_needs_less_energy(one: float, other: float, rule: str) -> None:
    thin, thick = sorted((one, other))
    assert wire_factor(thick, thin, rule=rule).low >= 1


@given(st.floats(0, math.radians(45)), st.floats(0, math.radians(45)), st.sampled_from(sorted(ANGLE_RULES)))
def test_a_greater_slant_never_needs_less_energy(one: float, other: float, rule: str) -> None:
    small, great = sorted((one, other))
    assert 1 <= angle_factor(small, rule=rule).low <= angle_factor(great, rule=rule).low * (1 + 1e-12)


@given(st.integers(1, 4), st.integers(1, 4))
def test_layers_as_one_and_layers_apart_stand_either_side(new: int, old: int) -> None:
    apart, as_one = (layers_factor(new, old, rule=rule).low for rule in ("apart", "as_one"))
    assert (as_one - apart) * (new - old) >= 0
    assert (apart - 1) * (new - old) >= 0


@given(STRENGTHS, STRENGTHS, STRENGTHS, STRENGTHS)
def test_a_strength_is_an_interval_and_stays_one(a: float, b: float, c: float, d: float) -> None:
    new, old = StrengthRange(*sorted((a, b))), StrengthRange(*sorted((c, d)))
    found, back = strength_factor(new, old), strength_factor(old, new)
    assert isinstance(found, Factor) and isinstance(back, Factor)
    assert found.low <= found.high
    # Turned round it is the same interval seen from the other side.
    assert found.low == pytest.approx(1 / back.high) and found.high == pytest.approx(1 / back.low)
    if new.low_pa is not None and old.high_pa is not None and new.low_pa >= old.high_pa:
        assert found.low >= 1


@pytest.mark.parametrize("unknown", [StrengthRange(None, 500e6), StrengthRange(400e6, None)])
def test_an_open_hardness_gives_no_factor_and_says_which(unknown: StrengthRange) -> None:
    known = StrengthRange(400e6, 450e6)
    assert strength_factor(unknown, known).reason == because("asked_steel_open")
    assert strength_factor(known, unknown).reason == because("shot_steel_open")


@given(st.floats(1, 200), st.floats(1, 200), st.floats(0.001, 1), st.floats(0, 0.1))
def test_nothing_leaves_a_plate_faster_than_it_came(speed: float, limit: float, mass: float, plug: float) -> None:
    found = residual_speed_m_s(speed, limit, arrow_kg=mass, plug_kg=plug)
    if speed <= limit:
        assert isinstance(found, CantTell)
    else:
        assert not isinstance(found, CantTell) and 0 <= found < speed


@given(st.floats(50, 200), st.floats(1, 49))
def test_without_a_plug_the_plate_takes_the_same_energy_from_all(speed: float, limit: float) -> None:
    left = residual_speed_m_s(speed, limit)
    assert not isinstance(left, CantTell)
    assert speed**2 - left**2 == pytest.approx(limit**2)


BEYOND = (
    lambda: plate_energy_j(0.0004),
    lambda: plate_energy_j(0.007),
    lambda: plate_energy_j(math.nan),
    lambda: plate_energy_j(0.001, 0.4),
    lambda: plate_energy_j(0.001, 2.0),
    lambda: linen_energy_j(7),
    lambda: linen_energy_j(33),
    lambda: thickness_factor(0.0001, 0.001, rule="hole"),
    lambda: thickness_factor(0.001, 0.02, rule="arrows"),
    lambda: wire_factor(0.004, 0.001, rule="pull"),
    lambda: angle_factor(math.radians(61), rule="way"),
    lambda: angle_factor(-0.1, rule="way"),
    lambda: angle_factor(math.radians(46), rule="arrows"),
    lambda: layers_factor(5, 1, rule="as_one"),
    lambda: layers_factor(0, 1, rule="apart"),
    lambda: layers_factor(1.5, 1, rule="apart"),
    lambda: strength_factor(StrengthRange(200e6, 300e6), StrengthRange(400e6, 450e6)),
    lambda: strength_factor(StrengthRange(500e6, 450e6), StrengthRange(400e6, 450e6)),
    lambda: residual_speed_m_s(50.0, 0.0),
    lambda: residual_speed_m_s(-1.0, 10.0),
    lambda: residual_speed_m_s(50.0, 10.0, power=0.5),
    lambda: brl_energy_j(0.0, 0.01),
    lambda: brl_energy_j(0.001, 1.0),
    lambda: sri_energy_j(0.0009, 0.010, strength_pa=400e6, window_m=0.3, speed_m_s=55.0),
    lambda: sri_energy_j(0.0012, 0.010, strength_pa=400e6, window_m=0.3, speed_m_s=15.0),
    lambda: sri_energy_j(0.0012, 0.010, strength_pa=1500e6, window_m=0.3, speed_m_s=55.0),
)


@pytest.mark.parametrize("asked", BEYOND)
def test_beyond_its_range_a_rule_refuses(asked: object) -> None:
    with pytest.raises(OutOfRange):
        asked()


@pytest.mark.parametrize(
    "asked",
    [lambda: printed_energy("glass"), lambda: thickness_factor(0.001, 0.001, rule="guess"), lambda: angle_factor(0.1, rule="guess")],
)
def test_a_rule_that_is_not_there_is_no_rule(asked: object) -> None:
    with pytest.raises(KeyError):
        asked()


def test_a_thickness_that_was_never_tried_is_said_to_be_outside() -> None:
    assert not thickness_factor(0.0010, 0.0012, rule="arrows").outside
    assert thickness_factor(0.0008, 0.0012, rule="arrows").outside
    assert angle_factor(math.radians(50), rule="way").outside
    assert not angle_factor(math.radians(45), rule="way").outside
