"""Whoever gets a copy gets the licence with it, in full, and the one that the package says it has."""

import re
import tomllib
from importlib.metadata import distribution
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
LICENCE = (ROOT / "LICENSE").read_text()


def grant(text: str) -> str:
    """From the grant to the end of the disclaimer, whatever the line breaks: the notices above it differ."""
    plain = " ".join(text.split())
    return plain[plain.index("Permission is hereby granted") :]


@pytest.mark.parametrize("package", ["fastapi", "sqlmodel", "platformdirs", "alembic"])
def test_the_licence_says_word_for_word_what_others_say_under_mit(package: str) -> None:
    """The check from outside: copies of the MIT licence that came with packages by other hands."""
    files = [one for one in distribution(package).files or () if one.name == "LICENSE"]
    assert grant(LICENCE) == grant(files[0].read_text())


def test_the_licence_names_a_year_and_whose_it_is() -> None:
    assert re.fullmatch(r"MIT License\n\nCopyright \(c\) 20\d\d Proofyard contributors\n\nPermission [\s\S]+", LICENCE)


def test_the_package_and_the_readme_say_the_same_licence() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    assert project["license"] == "MIT" and project["license-files"] == ["LICENSE"]
    assert "MIT, see LICENSE" in (ROOT / "README.md").read_text()
