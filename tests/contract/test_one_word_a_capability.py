"""A capability has one name: its answer, its pages, its templates, its tests and its page of the guide are called alike."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
SERVER = ROOT / "server" / "proofyard"
# Folders of templates that belong to no answer: pieces of every page, and pages that only say where something is.
SHARED = {"macros", "forms", "caveats", "parts", "oops", "download", "paper_log"}
# "folder of templates" -> the folder of pages that shows it: one page of a larger capability, called as its address is.
OF_A_LARGER = {
    "join": "connected",
    "phones": "connected",
    "programs": "connected",
    "https": "connected",
    "quick_start": "kit",
    "incidents": "session",
    "range_day_sheet": "range",
    "guide": "home",
    "health": "home",
    "more": "home",
    "other_books": "other_books",  # it shows what the answers say of another book
    "publish": "publish",  # it answers nothing: it hands on what others answered
    "bring_in": "bring_in",  # nor does this: it takes in what others wrote down
}


def folders_of(place: Path) -> set[str]:
    return {one.name for one in place.iterdir() if one.is_dir() and one.name != "__pycache__"}


ANSWERS = sorted(folders_of(SERVER / "answers"))


@pytest.mark.parametrize("capability", ANSWERS)
def test_pages_and_templates_of_an_answer_are_called_as_it_is(capability: str) -> None:
    assert (SERVER / "pages" / capability / "__init__.py").exists()
    assert list((ROOT / "templates" / capability).glob("*.html"))


def test_no_folder_of_templates_has_a_name_of_its_own() -> None:
    assert folders_of(ROOT / "templates") == set(ANSWERS) | SHARED | OF_A_LARGER.keys()
    for templates, pages in OF_A_LARGER.items():
        sources = "".join(path.read_text(encoding="utf-8") for path in (SERVER / "pages" / pages).glob("*.py"))
        assert re.search(rf'"{templates}/\w+\.html"', sources), templates


def test_a_page_of_the_guide_is_called_as_what_it_works_through() -> None:
    of_all = {"glossary", "worked-shot", "bring-in", "data-package", "programs", "groups"}
    assert {path.stem for path in (ROOT / "static" / "guide").glob("*.md")} - of_all <= {one.replace("_", "-") for one in ANSWERS}


@pytest.mark.parametrize("capability", ANSWERS)
def test_the_tests_of_a_capabilitys_pages_are_called_as_it_is(capability: str) -> None:
    assert list((ROOT / "tests" / "pages").glob(f"test_{capability}_*.py"))


def test_every_file_of_tests_of_answers_begins_with_the_name_of_one() -> None:
    files = [path.stem.removeprefix("test_") for path in (ROOT / "tests" / "answers").glob("test_*.py")]
    assert files and [file for file in files if not any(f"{file}_".startswith(f"{one}_") for one in ANSWERS)] == []


def test_tests_of_reasons_are_called_as_the_reasons_file_is() -> None:
    reasons = {path.stem for path in (SERVER / "wording" / "reasons").glob("*.py")}
    files = {path.stem.removeprefix("test_").removesuffix("_reasons") for path in (ROOT / "tests" / "wording").glob("test_*_reasons.py")}
    assert files and files - reasons == set()
