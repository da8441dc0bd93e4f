"""Forms are described, and one place draws, reads and saves them: no page does any of it by hand.

What a page would need for that is not imported outside pages/frame, but by the range's shell, which draws controls that
a script fills.
"""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

PAGES = Path(__file__).resolve().parents[2] / "server" / "proofyard" / "pages"
BY_HAND = frozenset({"form_fields", "body_of", "apply", "apply_all", "apply_each", "only_changed", "shown_then"})
# "file: name" -> why it needs that itself
NEEDED = {
    "range/shell.py: form_fields": "controls that a phone's script fills and sends",
    "trial/follow_up.py: only_changed": "what differs from the trial before is said beside its field",
}


def taken_by_hand(source: str) -> set[str]:
    """The names by which a module would draw, read or save a form itself."""
    named = {alias.name for node in ast.walk(ast.parse(source)) if isinstance(node, ast.ImportFrom) for alias in node.names}
    return named & BY_HAND


def test_no_page_draws_reads_or_saves_a_form_by_hand() -> None:
    files = [path.relative_to(PAGES) for path in PAGES.rglob("*.py") if path.relative_to(PAGES).parts[0] != "frame"]
    found = {f"{path.as_posix()}: {name}" for path in files for name in taken_by_hand((PAGES / path).read_text(encoding="utf-8"))}
    assert len(files) > 40 and found == set(NEEDED)


@pytest.mark.parametrize(
    "planted",
    ["from proofyard.pages.frame.forms import FormField, body_of", "def f():\n    from proofyard.records.apply import apply_all as save"],
)
def test_the_check_finds_each_planted_fault(planted: str) -> None:
    assert taken_by_hand(planted)
