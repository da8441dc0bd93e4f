"""Each code of a reason has one sentence, each sentence's code is given somewhere, and a sentence takes the parts that are given."""

from __future__ import annotations

import ast
from collections.abc import Iterator, Mapping
from pathlib import Path

from proofyard.wording.reasons.said import SENTENCES, TABLES, Sentence, parts_of

SERVER = Path(__file__).resolve().parents[2] / "server" / "proofyard"


def given_in(source: str, path: str) -> Iterator[tuple[str, str | None, frozenset[str | None]]]:
    """Where, code (None if it isn't written out) and names of the parts of every `because(…)`."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "because":
            first = node.args[0] if len(node.args) == 1 else None
            code = first.value if isinstance(first, ast.Constant) and isinstance(first.value, str) else None
            yield f"{path}:{node.lineno}", code, frozenset(one.arg for one in node.keywords)


def faults_in(source: str, path: str, sentences: Mapping[str, Sentence]) -> list[str]:
    faults = []
    for where, code, parts in given_in(source, path):
        if code is None or None in parts:
            faults.append(f"{where}: write the code and the names of its parts out")
        elif code not in sentences:
            faults.append(f"{where}: {code!r} has no sentence in server/proofyard/wording/reasons")
        elif parts != parts_of(sentences[code]):
            faults.append(f"{where}: {code!r} gives {sorted(map(str, parts))}, its sentence takes {sorted(parts_of(sentences[code]))}")
    return faults


def _sources() -> Iterator[tuple[str, str]]:
    for file in sorted(SERVER.rglob("*.py")):
        yield file.read_text(encoding="utf-8"), str(file.relative_to(SERVER))


def test_every_reason_given_has_a_sentence_that_takes_its_parts() -> None:
    assert [fault for source, path in _sources() for fault in faults_in(source, path, SENTENCES)] == []


def test_every_sentence_is_said_somewhere() -> None:
    given = {code for source, path in _sources() for _, code, _ in given_in(source, path)}
    assert sorted(set(SENTENCES) - given) == []


def test_no_two_tables_have_one_code() -> None:
    assert sum(len(table) for table in TABLES) == len(SENTENCES)


def test_the_rule_sees_a_missing_sentence_a_wrong_part_and_a_code_made_up_on_the_way() -> None:
    sentences: dict[str, Sentence] = {"few": "{shots} shots are too few", "none": lambda *, what, reader: f"no {what}"}
    assert faults_in('because("few", shots=3); because("none", what="shots")', "a.py", sentences) == []
    for planted in ('because("many")', 'because("few")', 'because("few", shots=3, more=1)', 'because("none", reader="metric")'):
        assert len(faults_in(planted, "a.py", sentences)) == 1, planted
    for planted in ("because(code)", 'because("few", **parts)', "because()"):
        assert "write the code" in faults_in(planted, "a.py", sentences)[0], planted


NO_PROSE = ("physics", "statistics", "caveats", "shots", "views", "answers")
# What stands beside a control (label, hint, choices, the sentence for a wrong answer) is said once, where its setting is made.
SETTINGS = {"Amount", "Axis", "Choice", "Edges", "Free", "Several", "Tick", "Written", "how_many", "more_than_nothing"}
# Statements of SQL are no prose.
STATEMENTS = {"answers/find/index.py"}


def prose_in(source: str) -> list[str]:
    """Texts of more than four words that are no docstring, no error for the log and no part of a setting of an address."""
    tree = ast.parse(source)
    passed = {id(part) for node in ast.walk(tree) if isinstance(node, ast.Raise) or _makes_a_setting(node) for part in ast.walk(node)}
    passed |= {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    joined = [node for node in ast.walk(tree) if isinstance(node, ast.JoinedStr)]
    passed |= {id(part) for whole in joined for part in ast.walk(whole) if part is not whole}
    texts = []
    for node in ast.walk(tree):
        if id(node) in passed:
            continue
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            texts.append(node.value)
        elif isinstance(node, ast.JoinedStr):
            texts.append("".join(str(part.value) if isinstance(part, ast.Constant) else "{}" for part in node.values))
    return [text for text in texts if len([word for word in text.split() if any(c.isalpha() or c == "{" for c in word)]) > 4]


def _makes_a_setting(node: ast.AST) -> bool:
    return isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in SETTINGS


def test_no_sentence_is_made_in_the_science_the_views_and_the_answers() -> None:
    found = {path: prose_in(source) for source, path in _sources() if path.split("/")[0] in NO_PROSE and path not in STATEMENTS}
    assert {path: texts for path, texts in found.items() if texts} == {}


def test_the_rule_sees_a_sentence_but_no_docstring_and_no_error_for_the_log() -> None:
    assert prose_in('"""A docstring of more than four words."""\nx = "four words are allowed"') == []
    assert prose_in('raise CantUse("n", 1, "as many as there are shots")') == []
    assert prose_in('X = Free(name="x", label="Which of these is looked up later")') == []
    assert prose_in('x = taken(label="Which of these is looked up later")') == ["Which of these is looked up later"]
    assert prose_in("y = f'the {one} of {two} got through'") == ["the {} of {} got through"]
