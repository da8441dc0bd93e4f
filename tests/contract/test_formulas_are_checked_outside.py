"""No formula of physics rests on our own say: each is called in tests/published/, beside the figure that others printed, or stands in a
list here."""

from __future__ import annotations

import ast
import pkgutil
from pathlib import Path

import pytest
from proofyard import physics
from proofyard.answers.methods.page import topics

TESTS = Path(__file__).resolve().parents[1]
# Nothing is printed about finding two noises in a recording: sounds made with a known answer stand in, and a whole file of
# them in the browser. Name -> the test that calls it.
MADE_WITH_A_KNOWN_ANSWER = {
    "loose_and_hit_of": "physics/test_physics_sound_pairs.py",
    "find_onsets": "physics/test_physics_sound.py",
    "find_loose_and_hit": "physics/test_physics_sound.py",
    "find_loose_and_hit_in_levels": "physics/test_physics_sound_levels.py",
}
# Of these nobody printed a worked figure that was found: sums by hand, an integrator or a count by another way stand in.
WORKED_BY_HAND = {
    "angle_factor": "physics/test_physics_resistance_by_hand.py",
    "impact_after": "physics/test_physics_blunt_by_hand.py",
    "cloth_areal_density_kg_m2": "physics/test_physics_panel_by_hand.py",
    "layers_at_point": "physics/test_physics_panel_by_hand.py",
    "layers_factor": "physics/test_physics_resistance_by_hand.py",
    "mail_areal_density_kg_m2": "physics/test_physics_panel_by_hand.py",
    "mean_layers": "physics/test_physics_panel_by_hand.py",
    "plated_areal_density_kg_m2": "physics/test_physics_panel_by_hand.py",
    "residual_speed_m_s": "physics/test_physics_resistance_by_hand.py",
    "ring_mass_kg": "physics/test_physics_panel_by_hand.py",
    "sensitivities": "physics/test_physics_budget_by_hand.py",
    "speed_after_drift_m_s": "physics/test_physics_bow_by_hand.py",
    "weighed_beside_worked_out": "physics/test_physics_panel_by_hand.py",
    "wire_factor": "physics/test_physics_resistance_by_hand.py",
}
LET_OFF = MADE_WITH_A_KNOWN_ANSWER | WORKED_BY_HAND


def names_called(source: str) -> set[str]:
    """Functions that a file calls by name."""
    calls = [node.func for node in ast.walk(ast.parse(source)) if isinstance(node, ast.Call)]
    return {one.id for one in calls if isinstance(one, ast.Name)} | {one.attr for one in calls if isinstance(one, ast.Attribute)}


def formulas() -> list[str]:
    own = {one.name for one in pkgutil.iter_modules(physics.__path__)}
    return sorted(method.name for topic in topics() if topic.key.replace("-", "_") in own for method in topic.methods)


@pytest.fixture(scope="module")
def published() -> set[str]:
    return set().union(*(names_called(file.read_text(encoding="utf-8")) for file in (TESTS / "published").glob("test_*.py")))


@pytest.mark.parametrize("name", formulas())
def test_a_formula_is_checked_against_something_outside(name: str, published: set[str]) -> None:
    if name in LET_OFF:
        file = TESTS / LET_OFF[name]
        assert name in names_called(file.read_text(encoding="utf-8")), f"{file} no longer calls {name}"
    else:
        assert name in published, f"{name} stands in no file of tests/published"


def test_only_formulas_that_are_there_are_let_off() -> None:
    assert set(LET_OFF) <= set(formulas())


def test_a_name_that_is_only_imported_or_mentioned_is_no_check() -> None:
    assert names_called("from x import f\n'''f(1)'''\ny = f\nz = g(1)\nh.k(2)") == {"g", "k"}
