"""Imports point one way, and each third-party package has its rooms. DEVELOPERS.md says why; this is the allow-list.

A folder without a row fails: whoever adds one says here what it may see.
"""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

REPOSITORY = Path(__file__).resolve().parents[2]
SERVER = REPOSITORY / "server"

SCIENCE = frozenset({"physics", "statistics", "charts"})
BASE = frozenset({"settings", "storage", "opening"})
WEB = frozenset({"fastapi", "starlette", "jinja2", "markupsafe", "python_multipart"})
TABLES = frozenset({"sqlmodel", "sqlalchemy"})
OUTWARD = frozenset({"exchange", "live", "access"})


@dataclass(frozen=True)
class May:
    """What a folder (or a file that stands alone) may import: rooms of server, and packages of others."""

    rooms: frozenset[str] = frozenset()
    packages: frozenset[str] = frozenset()


BELOW_FINDINGS = frozenset({"quantities", "records"}) | BASE
BELOW_PAGES = BELOW_FINDINGS | {"findings"} | OUTWARD

ALLOWED: dict[str, May] = {
    "quantities": May(packages=frozenset({"pint"})),
    "physics": May(frozenset({"quantities"}), frozenset({"numpy", "scipy"})),
    "statistics": May(frozenset({"quantities"}), frozenset({"numpy", "scipy"})),
    "charts": May(frozenset({"quantities"}), frozenset({"numpy"})),
    # the one `apply` writes through storage, which knows no table: so this can't go round in a circle.
    "records": May(frozenset({"quantities", "storage"}), TABLES | {"pydantic"}),
    "settings": May(packages=frozenset({"platformdirs"})),
    "storage": May(frozenset({"settings"}), TABLES),
    "opening": May(frozenset({"settings", "storage"}), TABLES | {"alembic"}),
    "findings": May(BELOW_FINDINGS | SCIENCE, frozenset({"numpy"})),
    "exchange": May(BELOW_FINDINGS | {"findings"}, frozenset({"PIL", "resvg_py"})),
    "access": May(BELOW_FINDINGS | {"findings"}, WEB | {"segno", "zeroconf"}),
    # the feed must know who asks; access never needs the feed.
    "live": May(BELOW_FINDINGS | {"findings", "access"}, WEB),
    # charts: the page that shows every part draws an invented one; all others get theirs from findings.
    "pages": May(BELOW_PAGES | {"charts"}, WEB | {"pydantic", "segno"}),
    "api": May(BELOW_PAGES, WEB | {"pydantic"}),
    "assembled": May(BELOW_PAGES | {"pages", "api"}, WEB),
    "app": May(frozenset({"assembled"})),
    "serving": May(BELOW_PAGES | {"app"}, frozenset({"uvicorn", "segno", "ifaddr", "seed_demo"})),
    "cli": May(BELOW_PAGES | {"serving"}, frozenset({"seed_demo"})),
}

# Loaded when first used, so that starting stays quick: never at the top of a file.
LAZY = frozenset({"pint", "scipy"})


@dataclass(frozen=True)
class Import:
    """One imported module, where it stands, and whether it is loaded as soon as the file is."""

    module: str
    line: int
    at_once: bool


def faults_in(file: Path, root: Path) -> list[str]:
    """What one file imports that it may not. `root` is the folder that stands for server/."""
    inside = file.relative_to(root)
    room = inside.parts[0] if len(inside.parts) > 1 else inside.stem
    if room == "__init__":
        room_may = May()
    elif room in ALLOWED:
        room_may = ALLOWED[room]
    else:
        return [f"server/{inside}: no row for {room!r} in the allow-list"]
    package = ("server", *inside.parent.parts)
    found = []
    for one in imports_of(ast.parse(file.read_text(encoding="utf-8")), package):
        complaint = _complaint(one, room, room_may)
        if complaint:
            found.append(f"server/{inside}:{one.line}: {complaint}")
    return found


def _complaint(one: Import, room: str, may: May) -> str | None:
    top, *rest = one.module.split(".")
    if top == "server":
        target = rest[0] if rest else ""
        if target == room or target in may.rooms:
            return None
        return f"{room} may not import {one.module}"
    if top in sys.stdlib_module_names:
        return None
    if top not in may.packages:
        return f"{room} may not import the package {top}"
    if top in LAZY and one.at_once:
        return f"{top} is loaded at the top of the file; import it inside the function that needs it"
    return None


def imports_of(tree: ast.Module, package: tuple[str, ...]) -> Iterator[Import]:
    """Every import of a file: plain, from, relative, and importlib.import_module or __import__ of a written name."""
    yield from _imports_below(tree, package, at_once=True)


def _imports_below(node: ast.AST, package: tuple[str, ...], *, at_once: bool) -> Iterator[Import]:
    for child in ast.iter_child_nodes(node):
        now = at_once
        if isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda):
            now = False
        elif isinstance(child, ast.If) and "TYPE_CHECKING" in ast.unparse(child.test):
            now = False  # read by the type checker only; which way it points still counts
        if isinstance(child, ast.Import):
            for alias in child.names:
                yield Import(alias.name, child.lineno, at_once)
        elif isinstance(child, ast.ImportFrom):
            yield from _from_import(child, package, at_once=at_once)
        elif isinstance(child, ast.Call):
            name = _dynamic_name(child)
            if name:
                yield Import(name, child.lineno, at_once)
        yield from _imports_below(child, package, at_once=now)


def _from_import(node: ast.ImportFrom, package: tuple[str, ...], *, at_once: bool) -> Iterator[Import]:
    base = node.module or ""
    if node.level:
        above = package[: len(package) - node.level + 1]
        base = ".".join([*above, base] if base else above)
    if base == "server":
        # `from server import records` names the room on the right.
        for alias in node.names:
            yield Import(f"server.{alias.name}", node.lineno, at_once)
    else:
        yield Import(base, node.lineno, at_once)


def _dynamic_name(call: ast.Call) -> str | None:
    called = ast.unparse(call.func)
    if called not in ("importlib.import_module", "import_module", "__import__") or not call.args:
        return None
    first = call.args[0]
    return first.value if isinstance(first, ast.Constant) and isinstance(first.value, str) else None


def _server_files() -> list[Path]:
    return sorted(SERVER.rglob("*.py"))


def test_every_import_of_the_server_is_on_the_allow_list() -> None:
    faults = [fault for file in _server_files() for fault in faults_in(file, SERVER)]
    assert not faults, "\n".join(faults)


def test_the_allow_list_itself_has_no_circle() -> None:
    def reach(room: str, seen: tuple[str, ...]) -> None:
        assert room not in seen, " <- ".join((*seen, room))
        for below in ALLOWED[room].rooms:
            reach(below, (*seen, room))

    for room in ALLOWED:
        reach(room, ())


def test_the_four_sciences_and_records_do_not_see_each_other() -> None:
    apart = SCIENCE | {"records"}
    for room in apart:
        assert not ALLOWED[room].rooms & apart, room


PLANTED = [
    ("physics/spin.py", "from server.records import shot", "physics may not import server.records"),
    ("physics/spin.py", "from server import statistics", "physics may not import server.statistics"),
    ("charts/dots.py", "import server.physics.energy", "charts may not import server.physics.energy"),
    ("charts/dots.py", "from ..records import shot", "charts may not import server.records"),
    ("charts/deep/dots.py", "from ...findings import results", "charts may not import server.findings"),
    ("records/bow.py", "from server.findings.results import x", "records may not import server.findings.results"),
    ("findings/hits.py", "from server.pages import trial", "findings may not import server.pages"),
    ("findings/hits.py", "import sqlalchemy", "findings may not import the package sqlalchemy"),
    ("findings/hits.py", "def f():\n    from fastapi import Request", "findings may not import the package fastapi"),
    ("statistics/fit.py", "from scipy.special import betainc", "scipy is loaded at the top of the file"),
    ("statistics/fit.py", "class A:\n    import scipy.optimize", "scipy is loaded at the top of the file"),
    ("statistics/fit.py", "try:\n    import scipy\nexcept ImportError:\n    pass", "scipy is loaded at the top"),
    ("quantities/units.py", "import pint", "pint is loaded at the top of the file"),
    ("records/bow.py", "def f():\n    import pint", "records may not import the package pint"),
    ("exchange/csv.py", "import pandas", "exchange may not import the package pandas"),
    ("exchange/csv.py", "import importlib\nimportlib.import_module('server.pages')", "exchange may not import server"),
    ("physics/spin.py", "x = __import__('numpy.linalg'); y = __import__('fastapi')", "the package fastapi"),
    (
        "physics/spin.py",
        "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    from server.records import shot",
        "physics may not import server.records",
    ),
    ("helpers_of_all/odd.py", "import os", "no row for 'helpers_of_all'"),
    ("live/feed.py", "from server.exchange import csv", "live may not import server.exchange"),
    ("storage.py", "from server.records import shot", "storage may not import server.records"),
]


@pytest.mark.parametrize(("path", "source", "said"), PLANTED, ids=[f"{p}: {s[:40]!r}" for p, s, _ in PLANTED])
def test_a_planted_fault_is_caught(tmp_path: Path, path: str, source: str, said: str) -> None:
    file = tmp_path / path
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(source, encoding="utf-8")
    faults = faults_in(file, tmp_path)
    assert len(faults) == 1
    assert said in faults[0]


SOUND = [
    ("physics/spin.py", "import math\nimport numpy as np\nfrom server.physics.ranges import OutOfRange"),
    ("statistics/fit.py", "def f():\n    from scipy.special import betainc\n    return betainc"),
    ("statistics/fit.py", "from .refusals import CantUse\nfrom server.quantities import units"),
    (
        "pages/trial.py",
        "from fastapi import APIRouter\nfrom server.findings import results\nfrom server import live",
    ),
    ("statistics/fit.py", "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    import scipy"),
]


@pytest.mark.parametrize(("path", "source"), SOUND)
def test_a_sound_file_is_let_be(tmp_path: Path, path: str, source: str) -> None:
    file = tmp_path / path
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(source, encoding="utf-8")
    assert faults_in(file, tmp_path) == []
