"""A check of tests/published asks the program something, and no source is a private page of the web."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PUBLISHED = sorted((ROOT / "tests" / "published").glob("test_*.py"))
# The ruler itself; and tests that read their own file, to see that no figure of a page is left out.
NOT_OF_THE_PROGRAM = {"test_the_tolerance_of_printed_figures.py"}
OF_THE_FILE = "left_unchecked"
# Where sources stand: formulas, checks, what readers see. Not a page of a standard's body, a publisher, a registry.
SOURCES = [
    *(
        file
        for folder in ("physics", "statistics", "quantities", "shots", "views", "answers")
        for file in sorted((ROOT / "server" / "proofyard" / folder).rglob("*.py"))
    ),
    *PUBLISHED,
    *sorted((ROOT / "static" / "guide").rglob("*.md")),
    *sorted((ROOT / "templates").rglob("*.html")),
]
A_PAGE = re.compile(
    r"\b[a-z0-9-]+(?:\.[a-z0-9-]+)*\.(?:com|net|de|info|org|uk)/[\w./~-]+|\b\w*blogspot\b|\bweb note\b|\ba forum\b", re.IGNORECASE
)


def hollow(source: str) -> list[str]:
    """Tests of a file that call nothing of the program, not even by a helper, a fixture or a table of the file."""
    tree = ast.parse(source)
    asks = {
        alias.asname or alias.name
        for node in tree.body
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith(("proofyard.", "tests.bench"))
        for alias in node.names
        if (alias.asname or alias.name)[:1].islower() or (alias.asname or alias.name).isupper()
    } - {"to_si", "from_si", "read_page"}
    defined = {node.name: node for node in tree.body if isinstance(node, ast.FunctionDef)}

    def names_of(function: ast.FunctionDef) -> set[str]:
        called = {node.id for node in ast.walk(function) if isinstance(node, ast.Name)}
        return called | {argument.arg for argument in function.args.args}

    reached = set(asks)
    while more := {name for name, node in defined.items() if name not in reached and names_of(node) & reached}:
        reached |= more
    return [name for name in defined if name.startswith("test_") and name not in reached and OF_THE_FILE not in name]


@pytest.mark.parametrize("file", PUBLISHED, ids=lambda file: file.name)
def test_every_published_check_asks_the_program(file: Path) -> None:
    if file.name not in NOT_OF_THE_PROGRAM:
        assert hollow(file.read_text(encoding="utf-8")) == []


def test_a_hollow_check_is_found() -> None:
    planted = (
        "from proofyard.physics.energy import kinetic_energy_j\n\ndef test_a():\n    assert 2 * 2 == 4\n\ndef one():\n    return "
        "kinetic_energy_j(1, 1)\n\ndef test_b():\n    assert one()\n"
    )
    assert hollow(planted) == ["test_a"]


def test_no_source_is_a_private_page() -> None:
    found = {
        str(file.relative_to(ROOT)): pages
        for file in SOURCES
        if (pages := [one.group() for one in A_PAGE.finditer(file.read_text(encoding="utf-8"))])
    }
    assert found == {}
    assert A_PAGE.search("tap46home.plus.com/mechanics/vmass.htm") and A_PAGE.search("seen in a forum")
