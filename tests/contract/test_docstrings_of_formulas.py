"""The methods page prints these docstrings to the reader, so each says the same things in the same order."""

from __future__ import annotations

import ast
import doctest
import importlib
import re
from pathlib import Path

import pytest

SERVER = Path(__file__).resolve().parents[2] / "server" / "proofyard"

SECTIONS = {
    "physics": ("Takes", "Gives", "Refuses", "Holds while", "Source"),
    "statistics": ("Takes", "Gives", "Refuses", "Holds while", "Weak when", "Source"),
}
KEYWORDS_FROM_THE_THIRD_ON = ("physics", "statistics", "findings")

Function = ast.FunctionDef | ast.AsyncFunctionDef


def _files(*rooms: str) -> list[Path]:
    return sorted(file for room in rooms for file in (SERVER / room).rglob("*.py"))


def public_functions(tree: ast.Module) -> list[Function]:
    return [node for node in tree.body if isinstance(node, Function) and not node.name.startswith("_")]


def docstring_faults(function: Function, sections: tuple[str, ...]) -> list[str]:
    """What the docstring of one formula lacks."""
    text = ast.get_docstring(function) or ""
    if not text:
        return [f"{function.name}: no docstring"]
    lines = text.splitlines()
    faults = []
    places = [next((n for n, line in enumerate(lines) if line == section), None) for section in sections]
    for section, place in zip(sections, places, strict=True):
        if place is None:
            faults.append(f"{function.name}: no section {section!r}")
        elif place + 1 >= len(lines) or not lines[place + 1].startswith("    "):
            faults.append(f"{function.name}: section {section!r} says nothing")
    known = [place for place in places if place is not None]
    if known != sorted(known):
        faults.append(f"{function.name}: sections not in the order {', '.join(sections)}")
    formula = "\n".join(lines[1 : known[0]]).strip() if known else ""
    if not formula:
        faults.append(f"{function.name}: no formula between the first line and {sections[0]!r}")
    faults += _unnamed(function, text)
    if ">>>" not in text:
        faults.append(f"{function.name}: no example")
    return faults


def _unnamed(function: Function, text: str) -> list[str]:
    takes = re.search(r"^Takes\n((?:    .*\n?|\n)*)", text, flags=re.MULTILINE)
    named = set(re.findall(r"^    (\w+)  ", takes.group(1), flags=re.MULTILINE)) if takes else set()
    wanted = {argument.arg for argument in _arguments(function)}
    faults = [f"{function.name}: {name!r} is not named under Takes" for name in sorted(wanted - named)]
    return faults + [f"{function.name}: {name!r} under Takes is no parameter" for name in sorted(named - wanted)]


def _arguments(function: Function) -> list[ast.arg]:
    all_of = function.args
    extra = [one for one in (all_of.vararg, all_of.kwarg) if one is not None]
    return [*all_of.posonlyargs, *all_of.args, *all_of.kwonlyargs, *extra]


def keyword_faults(tree: ast.Module) -> list[str]:
    """Public functions whose third argument can be given without its name: `f(0.06, 52.4, 0.35)` reads as anything."""
    faults = []
    for function in public_functions(tree):
        by_place = [*function.args.posonlyargs, *function.args.args]
        if len(by_place) > 2:
            faults.append(f"{function.name}: {by_place[2].arg!r} must be given by keyword")
    return faults


@pytest.mark.parametrize("room", SECTIONS)
def test_every_formula_says_what_it_takes_gives_refuses_and_rests_on(room: str) -> None:
    faults = []
    for file in _files(room):
        for function in public_functions(ast.parse(file.read_text(encoding="utf-8"))):
            faults += [f"{file.name}: {fault}" for fault in docstring_faults(function, SECTIONS[room])]
    assert not faults, "\n".join(faults)


def test_third_arguments_are_given_by_keyword() -> None:
    faults = []
    for file in _files(*KEYWORDS_FROM_THE_THIRD_ON):
        found = keyword_faults(ast.parse(file.read_text(encoding="utf-8")))
        faults += [f"{file.relative_to(SERVER)}: {fault}" for fault in found]
    assert not faults, "\n".join(faults)


@pytest.mark.parametrize("file", _files(*SECTIONS), ids=lambda file: file.relative_to(SERVER).as_posix())
def test_the_examples_in_the_docstrings_are_true(file: Path) -> None:
    name = ".".join(("proofyard", *file.relative_to(SERVER).with_suffix("").parts))
    result = doctest.testmod(importlib.import_module(name.removesuffix(".__init__")))
    assert result.failed == 0


def test_the_checks_named_as_source_are_there() -> None:
    """ "Checked in tests/..." is a promise to the reader of the methods page."""
    missing = []
    for file in _files(*SECTIONS):
        for path in re.findall(r"tests/[\w/]+\.py", file.read_text(encoding="utf-8")):
            if not (SERVER.parents[1] / path).exists():
                missing.append(f"{file.name}: {path}")
    assert not missing, "\n".join(missing)


SOUND = '''
def range_m(speed_m_s: float) -> float:
    """How far.

    R = v^2 / g

    Takes
        speed_m_s  scalar, m/s
    Gives
        scalar, m
    Refuses
        OutOfRange  below 0
    Holds while
        there is no air
    Source
        a book
    >>> range_m(0)
    0
    """
'''


def _only_function(source: str) -> Function:
    return public_functions(ast.parse(source))[0]


def test_a_sound_docstring_is_let_be() -> None:
    assert docstring_faults(_only_function(SOUND), SECTIONS["physics"]) == []


@pytest.mark.parametrize(
    ("was", "becomes", "said"),
    [
        ("    Source\n        a book\n", "", "no section 'Source'"),
        ("    Gives\n        scalar, m\n", "    Gives\n", "section 'Gives' says nothing"),
        ("        speed_m_s  scalar", "        speed  scalar", "'speed_m_s' is not named under Takes"),
        ("        speed_m_s  scalar", "        v_m_s  scalar", "'v_m_s' under Takes is no parameter"),
        ("speed_m_s: float)", "speed_m_s: float, *, angle_rad: float)", "'angle_rad' is not named under Takes"),
        ("speed_m_s: float)", "speed_m_s: float, *angles_rad: float)", "'angles_rad' is not named under Takes"),
        ("    R = v^2 / g\n", "", "no formula"),
        ("    >>> range_m(0)\n    0\n", "", "no example"),
        ("    Takes\n        speed_m_s  scalar, m/s\n", "", "no section 'Takes'"),
    ],
)
def test_a_planted_gap_in_a_docstring_is_caught(was: str, becomes: str, said: str) -> None:
    broken = SOUND.replace(was, becomes)
    assert broken != SOUND
    assert any(said in fault for fault in docstring_faults(_only_function(broken), SECTIONS["physics"]))


def test_a_docstring_in_the_wrong_order_is_caught() -> None:
    swapped = SOUND.replace("    Gives\n        scalar, m\n", "").replace("    Source\n", "    Gives\n        scalar, m\n    Source\n")
    assert any("order" in fault for fault in docstring_faults(_only_function(swapped), SECTIONS["physics"]))


def test_a_statistic_without_its_weakness_is_caught() -> None:
    assert any("Weak when" in fault for fault in docstring_faults(_only_function(SOUND), SECTIONS["statistics"]))


def test_a_third_argument_without_keyword_is_caught() -> None:
    assert keyword_faults(ast.parse("def f(a, b, c): ..."))
    assert keyword_faults(ast.parse("def f(a, /, b, c=1): ..."))
    assert not keyword_faults(ast.parse("def f(a, b, *, c): ...\ndef _g(a, b, c): ...\ndef h(*parts): ..."))
