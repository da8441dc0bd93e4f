"""How every figure is worked out, printed from the code’s own words."""

from __future__ import annotations

import ast
import re
from pathlib import Path

from proofyard.answers.methods.page import SECTIONS, method_names, method_of, topics
from proofyard.shots import impact_steps
from proofyard.wording.method_topics import NAMES
from starlette.testclient import TestClient

SERVER = Path(__file__).resolve().parents[2] / "server" / "proofyard"


def test_every_public_formula_is_on_the_page_of_one_topic(stranger: TestClient) -> None:
    """Read from the source and not through the import, so that one which the page forgets is missed here."""
    contents = stranger.get("/methods").text
    wanted = set()
    for room in ("physics", "statistics"):
        for file in (SERVER / room).glob("*.py"):
            for node in ast.parse(file.read_text(encoding="utf-8")).body:
                if isinstance(node, ast.FunctionDef) and not node.name.startswith("_") and "\nTakes\n" in (ast.get_docstring(node) or ""):
                    wanted.add(node.name)
    assert len(wanted) > 80
    assert wanted == set(method_names())
    anchors = []
    for topic in topics():
        assert f'href="/methods/{topic.key}"' in contents and topic.name in contents
        anchors += re.findall(r'<article [^>]*>\s*<h2 id="([^"]+)"', stranger.get(f"/methods/{topic.key}").text)
    assert sorted(anchors) == sorted(wanted)


def test_every_topic_has_a_plain_name_of_its_own_and_no_name_is_left_over() -> None:
    named = [key for some in NAMES.values() for key in some]
    assert sorted(named) == sorted(topic.key.replace("-", "_") for topic in topics())
    assert len({topic.name for topic in topics()}) == len(named)


def test_a_method_is_found_by_its_name_wherever_it_stands(stranger: TestClient) -> None:
    for name in method_names():
        led = stranger.get(f"/methods/of/{name}", follow_redirects=False)
        key, anchor = led.headers["location"].removeprefix("/methods/").split("#")
        assert led.status_code == 303 and anchor == name
        assert name in {method.name for topic in topics() if topic.key == key for method in topic.methods}
    assert stranger.get("/methods/of/nothing").status_code == 404
    assert stranger.get("/methods/nothing").status_code == 404


def test_the_filter_leaves_what_says_every_word_and_drops_nothing_when_empty(stranger: TestClient) -> None:
    everywhere = stranger.get("/methods?q=drag+COEFFICIENT").text
    assert "/methods/flight#drag_coefficient_from_drag" in everywhere and "/methods/panel#" not in everywhere
    here = stranger.get("/methods/flight?q=reynolds_number").text
    assert re.findall(r'<article [^>]*aria-labelledby="(\w+)"', here) == ["reynolds_number"] and "1 of 9 formulas here" in here
    assert stranger.get("/methods?q=").text.count('class="row__link"') == len(topics())
    assert "No formula says “&lt;b&gt;”" in stranger.get("/methods?q=%3Cb%3E").text


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
    found = method_of(
        "range_m",
        (
            "How far.\n\nR = v^2\n    / g\n\nTakes\n    speed_m_s  scalar, m/s\n               of the ball\n    angle      rad\nGives\n  "
            "  scalar,\n    m\nSource\n    a book\n>>> range_m(0)\n0"
        ),
    )
    assert (found.words, found.formula) == ("How far", "R = v^2\n/ g")
    assert found.takes == (("speed_m_s", "scalar, m/s of the ball"), ("angle", "rad"))
    assert found.sections == (("Gives", "scalar, m"), ("Source", "a book"))
    assert found.example == ">>> range_m(0)\n0"


def test_every_step_of_a_shot_leads_to_a_method_that_is_there() -> None:
    named = set(re.findall(r'method="(\w+)"', Path(impact_steps.__file__).read_text(encoding="utf-8")))
    assert len(named) >= 7 and named <= method_names()
