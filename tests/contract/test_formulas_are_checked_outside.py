"""No formula of physics rests on our own say: each is called in tests/published/, beside the figure that others printed."""

from __future__ import annotations

import ast
import pkgutil
from pathlib import Path

import pytest

from server import physics
from server.findings.methods import topics

TESTS = Path(__file__).resolve().parents[1]
# Nothing is printed about finding two noises in a recording: sounds made with a known answer stand in, and a whole file of
# them in the browser. Name -> the test that calls it.
MADE_WITH_A_KNOWN_ANSWER = {
    "find_onsets": "physics/test_physics_sound.py",
    "find_loose_and_strike": "physics/test_physics_sound.py",
    "find_loose_and_strike_in_levels": "physics/test_physics_sound_levels.py",
}


def names_called(source: str) -> set[str]:
    """Functions that a file calls by name."""
    calls = [node.func for node in ast.walk(ast.parse(source)) if isinstance(node, ast.Call)]
    return {one.id for one in calls if isinstance(one, ast.Name)} | {one.attr for one in calls if isinstance(one, ast.Attribute)}


def formulas() -> list[str]:
    own = {one.name for one in pkgutil.iter_modules(physics.__path__)}
    return sorted(method.name for topic in topics() if topic.key in own for method in topic.methods)


@pytest.fixture(scope="module")
def published() -> set[str]:
    return set().union(*(names_called(file.read_text(encoding="utf-8")) for file in (TESTS / "published").glob("test_*.py")))


@pytest.mark.parametrize("name", formulas())
def test_a_formula_is_checked_against_something_outside(name: str, published: set[str]) -> None:
    if name in MADE_WITH_A_KNOWN_ANSWER:
        file = TESTS / MADE_WITH_A_KNOWN_ANSWER[name]
        assert name in names_called(file.read_text(encoding="utf-8")), f"{file} no longer calls {name}"
    else:
        assert name in published, f"{name} stands in no file of tests/published"


def test_only_formulas_that_are_there_are_let_off() -> None:
    assert set(MADE_WITH_A_KNOWN_ANSWER) <= set(formulas())


def test_a_name_that_is_only_imported_or_mentioned_is_no_check() -> None:
    assert names_called("from x import f\n'''f(1)'''\ny = f\nz = g(1)\nh.k(2)") == {"g", "k"}
