"""How every figure is worked out, printed from the code's own words; and the help pages."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from server.findings import impact_steps
from server.findings.methods import SECTIONS, method_names, method_of, topics

SERVER = Path(__file__).resolve().parents[2] / "server"


def test_every_public_formula_is_on_the_page(stranger: TestClient) -> None:
    """Read from the source and not through the import, so that one which the page forgets is missed here."""
    page = stranger.get("/methods").text
    wanted = set()
    for room in ("physics", "statistics"):
        for file in (SERVER / room).glob("*.py"):
            for node in ast.parse(file.read_text(encoding="utf-8")).body:
                if isinstance(node, ast.FunctionDef) and not node.name.startswith("_") and "\nTakes\n" in (ast.get_docstring(node) or ""):
                    wanted.add(node.name)
    assert len(wanted) > 80
    assert wanted == set(method_names())
    anchors = re.findall(r'<h3 id="([^"]+)"', page)
    assert sorted(anchors) == sorted(wanted)


def test_each_method_says_formula_takes_range_and_source() -> None:
    for topic in topics():
        assert topic.words and topic.methods
        for one in topic.methods:
            assert one.words and one.formula, one.name
            said = dict(one.sections)
            assert {"Gives", "Refuses", "Holds while", "Source"} <= set(said) <= set(SECTIONS), one.name
            assert all(said.values()) and ">>>" not in "".join(said.values()), one.name
            assert all(name and words for name, words in one.takes), one.name


def test_a_docstring_is_taken_apart_at_its_sections() -> None:
    found = method_of("range_m", "How far.\n\nR = v^2\n    / g\n\nTakes\n    speed_m_s  scalar, m/s\n               of the ball\n    angle      rad\nGives\n    scalar,\n    m\nSource\n    a book\n>>> range_m(0)\n0")
    assert (found.words, found.formula) == ("How far", "R = v^2\n/ g")
    assert found.takes == (("speed_m_s", "scalar, m/s of the ball"), ("angle", "rad"))
    assert found.sections == (("Gives", "scalar, m"), ("Source", "a book"))
    assert found.example == ">>> range_m(0)\n0"


def test_every_step_of_a_shot_leads_to_a_method_that_is_there() -> None:
    named = set(re.findall(r'method="(\w+)"', Path(impact_steps.__file__).read_text(encoding="utf-8")))
    assert len(named) >= 7 and named <= method_names()


def test_a_reader_without_a_seat_may_read_how_figures_come_about(stranger: TestClient) -> None:
    page = stranger.get("/guide/worked-shot")
    assert page.status_code == 200
    assert "<h1>One shot, worked by hand</h1>" in page.text and '<a href="/methods">' in page.text
    assert re.search(r'<th scope="row">Energy at the target</th><td class="tools-number guide__figure">97\.43 J</td>', page.text)


@pytest.mark.parametrize("name", ["nothing", "..%2F..%2Fpyproject", "worked-shot.md"])
def test_no_other_file_is_served_as_a_help_page(stranger: TestClient, name: str) -> None:
    assert stranger.get(f"/guide/{name}").status_code == 404
