"""DEVELOPERS.md and README.md say what is so."""

import re
import tomllib
from pathlib import Path

ROOT = Path(__file__).parents[2]
GUIDE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
README = (ROOT / "README.md").read_text(encoding="utf-8")


def test_every_place_in_the_one_guess_table_exists() -> None:
    table = GUIDE.partition("## Find it in one guess")[2].partition("\n## ")[0]
    paths = re.findall(r"`([^`]+)`", table)
    assert len(paths) >= 18
    assert [path for path in paths if not (ROOT / path).exists()] == []


def test_every_dependency_has_its_reason() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    reasons = GUIDE.partition("## Dependencies")[2].partition("\n## ")[0]
    wanted = project["dependencies"] + project["optional-dependencies"]["test"]
    names = [re.split(r"[<>=\[ ]", line)[0] for line in wanted]
    assert [name for name in names if name not in reasons] == []


def test_the_readme_opens_with_the_job_and_gives_two_lines() -> None:
    assert README.split("\n\n")[1].startswith("Two practised archers shoot")
    lines = [line.strip() for line in README.splitlines() if line.strip().startswith("python3 -m venv")]
    assert len(lines) == 2 and lines[0].endswith("serve --demo") and lines[1].endswith("pytest")


def test_pictures_in_the_readme_are_there() -> None:
    pictures = re.findall(r"!\[[^\]]+\]\(([^)]+)\)", README)
    assert pictures and [path for path in pictures if not (ROOT / path).is_file()] == []


def test_the_top_level_holds_only_what_it_should() -> None:
    wanted = {"README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", "server", "templates", "static", "migrations", "tests", "seed_demo"}
    ignored = {line.strip("/\n") for line in (ROOT / ".gitignore").read_text(encoding="utf-8").splitlines()}
    there = {path.name for path in ROOT.iterdir() if not path.name.startswith(".") and path.name not in ignored}
    assert {name for name in there if not name.endswith(".egg-info")} <= wanted
