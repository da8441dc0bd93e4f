"""The budget against numerical slopes, against Monte Carlo on random shots, and its laws."""

from __future__ import annotations

import math
import sys
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from proofyard.physics.energy import kinetic_energy_j, momentum_kg_m_s
from proofyard.physics.flight import drag_per_m, speed_at_distance_m_s
from proofyard.physics.uncertainty_budget import QUANTITIES, SCOPES, STEPS, ShotInputs, UncertaintySource, sensitivities, uncertainty_budget
from proofyard.quantities.reason import OutOfRange

shots = st.builds(
    ShotInputs,
    mass_kg=st.floats(0.02, 0.12),
    speed_m_s=st.floats(35.0, 75.0),
    distance_m=st.floats(0.0, 60.0),
    drag_coefficient=st.floats(1.0, 3.5),
    shaft_diameter_m=st.floats(0.006, 0.013),
    air_density_kg_m3=st.floats(1.0, 1.4),
)
FIELDS = dict(
    zip(QUANTITIES, ("mass_kg", "speed_m_s", "distance_m", "drag_coefficient", "shaft_diameter_m", "air_density_kg_m3"), strict=True)
)


def _values_by_the_formulas(i: ShotInputs) -> dict[str, float]:
    """The same results by the public formulas of energy.py and flight.py."""
    k = drag_per_m(i.drag_coefficient, i.shaft_diameter_m, mass_kg=i.mass_kg, air_density_kg_m3=i.air_density_kg_m3)
    far = speed_at_distance_m_s(i.speed_m_s, i.distance_m, drag_per_m=k)
    return {
        "speed_at_chronograph_m_s": i.speed_m_s,
        "energy_at_chronograph_j": kinetic_energy_j(i.mass_kg, i.speed_m_s),
        "drag_per_m": k,
        "speed_at_target_m_s": far,
        "momentum_at_target_kg_m_s": momentum_kg_m_s(i.mass_kg, far),
        "energy_at_target_j": kinetic_energy_j(i.mass_kg, far),
    }


@given(shots, st.sampled_from(sorted(STEPS)))
def test_each_step_is_what_the_formulas_say_and_its_slopes_are_theirs(shot: ShotInputs, step: str) -> None:
    assert uncertainty_budget(shot, [], step=step).value == pytest.approx(_values_by_the_formulas(shot)[step])
    found = sensitivities(shot, step)
    assert tuple(found) == QUANTITIES
    for quantity, field in FIELDS.items():
        x = getattr(shot, field)
        h = 1e-5 * max(x, 1.0) if quantity == "distance" else 1e-5 * x
        below, above = replace(shot, **{field: max(x - h, 0.0)}), replace(shot, **{field: x + h})
        step_size = getattr(above, field) - getattr(below, field)
        rise = _values_by_the_formulas(above)[step] - _values_by_the_formulas(below)[step]
        # The difference of two figures is no better than their last digits: at 0.01 mm of flight it is nearly all rounding.
        rounding = 8 * sys.float_info.epsilon * abs(_values_by_the_formulas(shot)[step]) / step_size
        assert found[quantity] == pytest.approx(rise / step_size, rel=1e-4, abs=max(1e-8, rounding))


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("step", ["energy_at_target_j", "momentum_at_target_kg_m_s", "speed_at_target_m_s"])
def test_the_budget_is_what_monte_carlo_finds_on_random_shots(seed: int, step: str) -> None:
    """The whole chain drawn 200,000 times; parts kept apart come out apart when only they are drawn."""
    rng = np.random.default_rng(seed)
    shot = ShotInputs(
        mass_kg=rng.uniform(0.03, 0.1),
        speed_m_s=rng.uniform(40, 65),
        distance_m=rng.uniform(5, 30),
        drag_coefficient=1.95,
        shaft_diameter_m=rng.uniform(0.008, 0.012),
        air_density_kg_m3=rng.uniform(1.15, 1.3),
    )
    share = {"mass": 0.003, "speed": 0.02, "distance": 0.01, "drag_coefficient": 0.2, "shaft_diameter": 0.02}
    share["air_density"] = 0.01
    scopes = {"mass": "instrument", "speed": "shot", "distance": "instrument", "drag_coefficient": "combination"}
    uncertainties = [UncertaintySource(q, q, s * shot.by_quantity[q], scopes.get(q, "combination")) for q, s in share.items()] + [
        UncertaintySource("speed", "chronograph", 0.005 * shot.speed_m_s, "instrument")
    ]
    found = uncertainty_budget(shot, uncertainties, step=step)
    for scope in (None, *SCOPES):
        drawn = {q: np.full(200_000, x) for q, x in shot.by_quantity.items()}
        for uncertainty in uncertainties:
            if scope in (None, uncertainty.scope):
                drawn[uncertainty.quantity] = drawn[uncertainty.quantity] + rng.normal(0, uncertainty.standard_uncertainty, 200_000)
        k = drawn["air_density"] * drawn["drag_coefficient"] * math.pi * drawn["shaft_diameter"] ** 2 / 8 / drawn["mass"]
        far = drawn["speed"] * np.exp(-k * drawn["distance"])
        result = {
            "energy_at_target_j": drawn["mass"] * far**2 / 2,
            "momentum_at_target_kg_m_s": drawn["mass"] * far,
            "speed_at_target_m_s": far,
        }[step]
        ours = found.standard_uncertainty if scope is None else found.by_scope[scope]
        assert ours == pytest.approx(result.std(), rel=0.015)
        if scope is None:
            assert found.value == pytest.approx(result.mean(), rel=0.003)


def test_first_order_stays_within_2_per_cent_where_the_docstring_says_so() -> None:
    """Speed known to 5 %, drag coefficient to a third, 30 m off."""
    rng = np.random.default_rng(11)
    shot = ShotInputs(0.05, 50.0, 30.0, 1.95, 0.010, 1.25)
    found = uncertainty_budget(
        shot, [UncertaintySource("speed", "v", 2.5, "shot"), UncertaintySource("drag_coefficient", "c", 0.65, "combination")]
    )
    v, c = rng.normal(50.0, 2.5, 400_000), rng.normal(1.95, 0.65, 400_000)
    k = 1.25 * c * math.pi * 0.010**2 / 8 / 0.05
    energies = 0.05 * v**2 / 2 * np.exp(-2 * k * 30.0)
    assert found.standard_uncertainty == pytest.approx(energies.std(), rel=0.02)


@given(shots)
def test_more_of_any_uncertainty_is_never_less_in_the_end_and_shares_add_up(shot: ShotInputs) -> None:
    uncertainties = [UncertaintySource(q, q, 0.01 * max(x, 0.1), SCOPES[n % 3]) for n, (q, x) in enumerate(shot.by_quantity.items())]
    found = uncertainty_budget(shot, uncertainties)
    assert sum(line.share for line in found.lines) == pytest.approx(1)
    assert math.hypot(*found.by_scope.values()) == pytest.approx(found.standard_uncertainty)
    assert found.most is not None
    assert all(found.most.contribution >= line.contribution for line in found.lines)
    assert found.without_most <= found.standard_uncertainty
    left = uncertainty_budget(shot, [d for d in uncertainties if d is not found.most.uncertainty])
    assert left.standard_uncertainty == pytest.approx(found.without_most)
    more = [replace(d, standard_uncertainty=2 * d.standard_uncertainty) for d in uncertainties]
    assert uncertainty_budget(shot, more).standard_uncertainty == pytest.approx(2 * found.standard_uncertainty)


def test_why_no_uncertaintys_make_why_no_uncertainty_and_nothing_would_help() -> None:
    shot = ShotInputs(0.06, 50.0, 20.0, 2.0, 0.0095, 1.2)
    for uncertainties in ([], [UncertaintySource("mass", "scale", 0.0, "instrument")]):
        found = uncertainty_budget(shot, uncertainties)
        assert found.standard_uncertainty == 0 and found.most is None and found.dof == math.inf
        assert found.without_most == 0


def test_few_degrees_of_freedom_show_only_where_they_weigh() -> None:
    shot = ShotInputs(0.06, 50.0, 20.0, 2.0, 0.0095, 1.2)
    heavy = uncertainty_budget(shot, [UncertaintySource("speed", "three shots", 1.0, "combination", "A", 2)])
    light = uncertainty_budget(
        shot,
        [UncertaintySource("speed", "three shots", 0.01, "combination", "A", 2), UncertaintySource("speed", "maker", 1.0, "instrument")],
    )
    assert heavy.dof == pytest.approx(2) and light.dof > 1e6


@pytest.mark.parametrize(
    "call",
    [
        lambda: UncertaintySource("spin", "?", 0.1, "shot"),
        lambda: UncertaintySource("mass", "?", 0.1, "weather"),
        lambda: UncertaintySource("mass", "?", 0.1, "shot", "C"),
        lambda: UncertaintySource("mass", "?", 0.1, "shot", "A", 0),
        lambda: UncertaintySource("mass", "?", -0.1, "shot"),
    ],
)
def test_an_uncertainty_of_nothing_known_is_refused(call: Callable[..., object]) -> None:
    with pytest.raises(ValueError):
        call()


@pytest.mark.parametrize(
    "change", [{"speed_m_s": 0.0}, {"speed_m_s": 170.0}, {"mass_kg": 60.0}, {"distance_m": -1.0}, {"drag_coefficient": 0.0}]
)
def test_a_shot_out_of_range_is_refused(change: dict[str, float]) -> None:
    sound = {
        "mass_kg": 0.06,
        "speed_m_s": 50.0,
        "distance_m": 20.0,
        "drag_coefficient": 2.0,
        "shaft_diameter_m": 0.0095,
        "air_density_kg_m3": 1.2,
    }
    with pytest.raises(OutOfRange, match=next(iter(change))):
        ShotInputs(**{**sound, **change})
