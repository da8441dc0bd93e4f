"""DEVELOPERS.md and README.md say what is so."""

import re
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
GUIDE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
README = (ROOT / "README.md").read_text(encoding="utf-8")


def test_every_place_in_the_one_guess_table_exists() -> None:
    table = GUIDE.partition("## Find it in one guess")[2].partition("\n## ")[0]
    paths = re.findall(r"`([^`]+)`", table)
    assert len(paths) >= 18
    rows = [line for line in table.splitlines() if line.startswith("| ")][1:]
    assert 18 <= len(rows) <= 25, "names answer the rest: rename before you add a row"
    assert [path for path in paths if not (ROOT / path).exists()] == []


def test_developers_begin_with_their_first_hour() -> None:
    first, second = re.findall(r"^## (.+)$", GUIDE, re.MULTILINE)[:2]
    assert (first, second) == ("Your first hour", "The map")
    hour = GUIDE.partition("## Your first hour")[2].partition("\n## ")[0]
    rows = [[cell.strip() for cell in line.strip("|").split(" | ")] for line in hour.splitlines() if line.startswith("| ")][1:]
    assert [row[0] for row in rows if len(row) != 3 or not row[1] or not row[2]] == []
    for asked in ("run it", "one test", "one page", "browser tests", "format", "types", "Reset the demo", "Debug a phone"):
        assert asked in hour, asked
    named = re.findall(r"(?:tests|server|templates|static)/[\w/.-]+", hour)
    assert len(named) > 8 and [path for path in named if not (ROOT / path.rstrip(".")).exists()] == []


DISTRICTS = sorted(path for path in (ROOT / "server" / "proofyard").iterdir() if (path / "__init__.py").exists() or path.name == "answers")


@pytest.mark.parametrize("district", DISTRICTS, ids=lambda path: path.name)
def test_every_district_says_what_it_decided(district: Path) -> None:
    text = (district / "README.md").read_text(encoding="utf-8")
    assert text.startswith(f"# {district.name}") and text.count("\n- ") >= 1
    named = [name for name in re.findall(r"`(?:\w+/)*\w+\.(?:py|js)`", text)]
    near = (district, district.parent, ROOT)
    assert [name for name in named if not any((folder / name.strip("`")).exists() for folder in near)] == []


def test_every_dependency_has_its_reason() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    reasons = GUIDE.partition("## Dependencies")[2].partition("\n## ")[0]
    wanted = project["dependencies"] + project["optional-dependencies"]["test"]
    names = [re.split(r"[<>=\[ ]", line)[0] for line in wanted]
    assert [name for name in names if name not in reasons] == []


def test_the_readme_opens_with_the_job_and_gives_two_lines() -> None:
    assert README.split("\n\n")[1].startswith("Two practised archers shoot")
    lines = [line.strip() for line in README.splitlines() if line.strip().startswith("python3 -m venv")]
    assert len(lines) == 2 and lines[0].endswith("serve --demo") and lines[1].endswith("pytest -n auto --dist loadfile")


def test_photos_in_the_readme_are_there() -> None:
    photos = re.findall(r"!\[[^\]]+\]\(([^)]+)\)", README)
    assert photos and [path for path in photos if not (ROOT / path).is_file()] == []


def test_the_top_level_holds_only_what_it_should() -> None:
    wanted = {
        "README.md",
        "DEVELOPERS.md",
        "LICENSE",
        "pyproject.toml",
        "server",
        "templates",
        "static",
        "migrations",
        "tests",
        "seed_demo",
    }
    ignored = {line.strip("/\n") for line in (ROOT / ".gitignore").read_text(encoding="utf-8").splitlines()}
    there = {path.name for path in ROOT.iterdir() if not path.name.startswith(".") and path.name not in ignored}
    assert {name for name in there if not name.endswith(".egg-info")} <= wanted
