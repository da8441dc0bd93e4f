"""The glossary says the same in the guide, in the files and in DEVELOPERS.md, and its names are there to be found."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from proofyard.exchange.data_dictionary import FILES, dictionary_table, glossary_table
from proofyard.pages.home.guide import read_page
from proofyard.wording.glossary import GLOSSARY, Term
from starlette.testclient import TestClient

ROOT = Path(__file__).resolve().parents[2]
SOURCES = "\n".join(path.read_text(encoding="utf-8") for path in sorted((ROOT / "server").rglob("*.py")) if path.name != "glossary.py")


def rows_of_guide() -> list[tuple[str, ...]]:
    page = read_page(ROOT / "static" / "guide" / "glossary.md")
    return next(list(block.rows[1:]) for block in page.blocks if block.sort == "table")


def rows_of_developers() -> list[tuple[str, ...]]:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").partition("\n## Glossary\n")[2].partition("\n## ")[0]
    lines = [line for line in text.splitlines() if line.startswith("| ")][1:]
    return [tuple(cell.strip() for cell in line.strip("|").split(" | ")) for line in lines]


def test_the_guide_has_every_word_of_the_glossary() -> None:
    assert rows_of_guide() == [(one.word, f"{one.means} The field says: {one.field}. Where: {one.page}.") for one in GLOSSARY]


def test_developers_have_every_word_of_the_glossary() -> None:
    assert rows_of_developers() == [(one.word, one.field, f"`{one.code}`; {one.page}") for one in GLOSSARY]


def test_the_files_have_every_word_of_the_glossary() -> None:
    assert [row[:3] for row in glossary_table().rows] == [(one.word, one.field, one.means) for one in GLOSSARY]
    assert "glossary.csv" in FILES and any(row[0] == "glossary.csv" for row in dictionary_table().rows)


@pytest.mark.parametrize("term", GLOSSARY, ids=lambda term: term.word)
def test_each_name_of_the_glossary_is_a_name_of_the_code(term: Term) -> None:
    assert re.search(rf"(?<![a-z]){re.escape(term.code)}(?![a-z])", SOURCES), term.code


def test_no_word_stands_twice() -> None:
    assert len({one.word for one in GLOSSARY}) == len(GLOSSARY) >= 40


@pytest.mark.parametrize(
    "words", ["V50", "ballistic limit", "perforated", "partial penetration", "behind-armour blunt trauma", "obliquity"]
)
def test_an_analyst_finds_the_words_of_the_field(words: str, stranger: TestClient) -> None:
    assert words in stranger.get("/guide/glossary").text


def test_the_glossary_is_linked_where_words_are_looked_up(archer: TestClient) -> None:
    for address in ("/methods", "/download/dictionary", "/guide/fifty-percent", "/guide/blunt", "/guide/worked-shot"):
        assert 'href="/guide/glossary"' in archer.get(address).text, address
