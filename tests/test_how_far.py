"""How far long work is: told to whoever listens, and the parts come out as they went in."""

from __future__ import annotations

import ast
import time
from pathlib import Path

import proofyard
import pytest
from proofyard import how_far
from proofyard.how_far import HowFar, heard_by, part_by_part
from proofyard.wording.being_made import PARTS, parts_done

SERVER = Path(proofyard.__file__).parent


def test_without_a_listener_the_parts_come_as_they_are() -> None:
    assert list(part_by_part([1, 2, 3], "heads")) == [1, 2, 3]


def test_each_part_is_told_as_it_is_begun_and_parts_within_are_not(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(how_far, "SAID_EVERY_S", 0.0)
    heard: list[HowFar] = []
    with heard_by(heard.append):
        for _ in part_by_part("ab", "panel types"):
            list(part_by_part("cde", "heads"))
        for _ in part_by_part("fg", "pairs"):
            break
        list(part_by_part("hi", "books"))
    list(part_by_part("jk", "books"))
    found = [(one.what, one.done, one.whole) for one in heard]
    assert found == [("panel types", 0, 2), ("panel types", 1, 2), ("pairs", 0, 2), ("books", 0, 2), ("books", 1, 2)]


def test_many_quick_parts_are_told_now_and_then() -> None:
    heard: list[HowFar] = []
    began = time.monotonic()
    with heard_by(heard.append):
        list(part_by_part(range(100_000), "shots"))
    assert 1 <= len(heard) <= 2 + (time.monotonic() - began) / how_far.SAID_EVERY_S


def test_each_sort_of_parts_has_words_and_each_words_are_used() -> None:
    used = {name for file in SERVER.rglob("*.py") for name in named_in(file.read_text(encoding="utf-8"))}
    assert used == set(PARTS)
    assert parts_done("books", 1, 1200) == "1 of 1,200 books are read."


def named_in(source: str) -> set[str]:
    """What parts of work are called where they are told."""
    if "part_by_part(" not in source:
        return set()
    calls = [one for one in ast.walk(ast.parse(source)) if isinstance(one, ast.Call) and ast.unparse(one.func) == "part_by_part"]
    return {ast.literal_eval(one.args[1]) for one in calls}
