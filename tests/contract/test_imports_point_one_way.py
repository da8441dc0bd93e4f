"""Imports point one way, and each third-party package has its rooms. DEVELOPERS.md says why; this is the allow-list.

A folder without a row fails: whoever adds one says here what it may see.
"""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest

REPOSITORY = Path(__file__).resolve().parents[2]
SERVER = REPOSITORY / "server" / "proofyard"

SCIENCE = frozenset({"physics", "statistics", "charts"})
BASE = frozenset({"settings", "book_file", "storage", "opening"})
WEB = frozenset({"fastapi", "starlette", "jinja2", "markupsafe", "python_multipart"})
TABLES = frozenset({"sqlmodel", "sqlalchemy"})
OUTWARD = frozenset({"exchange", "live", "access"})


@dataclass(frozen=True)
class May:
    """What a folder (or a file that stands alone) may import: rooms of server, and packages of others."""

    rooms: frozenset[str] = frozenset()
    packages: frozenset[str] = frozenset()


BELOW_WORDING = frozenset({"quantities", "records"}) | BASE
BELOW_SHOTS = BELOW_WORDING | {"wording", "how_far", "kept_fits"} | SCIENCE
BELOW_VIEWS = BELOW_SHOTS | {"shots"}
BELOW_CAVEATS = BELOW_VIEWS | {"views"}
BELOW_ANSWERS = BELOW_CAVEATS | {"caveats"}
BELOW_PAGES = BELOW_WORDING | {"wording", "how_far", "kept_fits", "shots", "views", "caveats", "answers"} | OUTWARD

ALLOWED: dict[str, May] = {
    "quantities": May(packages=frozenset({"pint"})),
    "physics": May(frozenset({"quantities"}), frozenset({"numpy", "scipy"})),
    "statistics": May(frozenset({"quantities"}), frozenset({"numpy", "scipy"})),
    "charts": May(frozenset({"quantities"}), frozenset({"numpy"})),
    # the one `apply` writes through storage, which knows no table: so this can't go round in a circle.
    "records": May(frozenset({"quantities", "storage"}), TABLES | {"pydantic"}),
    "settings": May(packages=frozenset({"platformdirs"})),
    "book_file": May(packages=frozenset({"pysqlite3"})),
    "storage": May(frozenset({"settings", "book_file"}), TABLES),
    "opening": May(frozenset({"settings", "storage", "book_file", "postgres"}), TABLES | {"alembic"}),
    # loaded only where PROOFYARD_DATABASE is set.
    "postgres": May(frozenset({"settings", "storage"}), TABLES | {"alembic", "psycopg"}),
    # exchange: where photos lie.
    "moving": May(BASE | {"postgres", "exchange"}, TABLES),
    "owners_alone": May(),
    # said by whatever works long, heard by live.
    "how_far": May(),
    # asked by whoever fits, answered by live.
    "kept_fits": May(),
    "wording": May(BELOW_WORDING),
    "shots": May(BELOW_SHOTS, frozenset({"numpy"})),
    "views": May(BELOW_VIEWS, frozenset({"numpy"})),
    "caveats": May(BELOW_CAVEATS, frozenset({"numpy"})),
    # a folder an answer; none sees another (test_no_answer_imports_another).
    "answers": May(BELOW_ANSWERS, frozenset({"numpy"})),
    "warm_up": May(SCIENCE | {"quantities"}, frozenset({"scipy"})),
    "demo": May(frozenset({"settings"})),
    # python_calamine: only in the process that reads a stranger's spreadsheet.
    # obstore: only where PROOFYARD_PHOTOS is set.
    "exchange": May(BELOW_PAGES - OUTWARD, frozenset({"PIL", "resvg_py", "xlsxwriter", "python_calamine", "obstore"})),
    "access": May(BELOW_PAGES - OUTWARD, WEB | {"segno", "zeroconf"}),
    # asks the app that it is given, as a seat of access; makes files of what it says.
    # moving: a book in PostgreSQL is copied into a file first.
    "publishing": May((BELOW_PAGES - OUTWARD) | {"access", "exchange", "settings", "moving"}, frozenset({"sqlmodel", "lxml"})),
    # the feed must know who asks; access never needs the feed.
    "live": May((BELOW_PAGES - OUTWARD) | {"access"}, WEB),
    # charts: the page that shows every part draws an invented one; all others get theirs from answers.
    "pages": May(BELOW_PAGES | {"charts", "publishing", "certificate"}, WEB | {"pydantic", "segno"}),
    "api": May(BELOW_PAGES, WEB | {"pydantic"}),
    "assembled": May(BELOW_PAGES | {"pages", "api", "warm_up"}, WEB),
    "app": May(frozenset({"assembled"})),
    # several books on one server: above the app of one, which knows nothing of it.
    "groups": May(
        BASE | {"postgres", "access", "exchange", "live", "assembled", "app", "owners_alone", "warm_up"}, WEB | TABLES | {"anyio"}
    ),
    "certificate": May(frozenset({"settings"}), frozenset({"cryptography"})),
    "authority": May(frozenset({"settings", "certificate"}), frozenset({"cryptography"})),
    "listening": May(frozenset({"access"}), frozenset({"uvicorn", "h11"})),
    "serving": May(
        BELOW_PAGES | {"app", "groups", "certificate", "demo", "listening", "owners_alone"}, frozenset({"uvicorn", "segno", "ifaddr"})
    ),
    "command_choices": May(frozenset({"access", "publishing", "records"})),
    "cli": May(
        BELOW_PAGES
        | {"command_choices", "certificate", "authority", "moving", "serving", "owners_alone", "pages", "publishing", "assembled", "groups"}
    ),
}

# Loaded when first used, so that starting stays quick: never at the top of a file.
LAZY = frozenset({"pint", "scipy", "lxml", "xlsxwriter", "cryptography", "obstore"})


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
        return [f"{inside}: no row for {room!r} in the allow-list"]
    package = ("proofyard", *inside.parent.parts)
    found = []
    for one in imports_of(file.read_text(encoding="utf-8"), package):
        complaint = _complaint(one, room, room_may)
        if complaint:
            found.append(f"{inside}:{one.line}: {complaint}")
    return found


def _complaint(one: Import, room: str, may: May) -> str | None:
    top, *rest = one.module.split(".")
    if top == "proofyard":
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


@cache  # several tests ask it of every file
def imports_of(source: str, package: tuple[str, ...]) -> tuple[Import, ...]:
    """Every import of a file: plain, from, relative, and importlib.import_module or __import__ of a written name."""
    return tuple(_imports_below(ast.parse(source), package, at_once=True))


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
    if base == "proofyard":
        # `from proofyard import records` names the room on the right.
        for alias in node.names:
            yield Import(f"proofyard.{alias.name}", node.lineno, at_once)
    elif base in ("proofyard.answers", "proofyard.pages"):
        # likewise: the name on the right is a folder, and folders are what must not go round in a circle.
        for alias in node.names:
            yield Import(f"{base}.{alias.name}", node.lineno, at_once)
    else:
        yield Import(base, node.lineno, at_once)


def _dynamic_name(call: ast.Call) -> str | None:
    called = ast.unparse(call.func)
    if called not in ("importlib.import_module", "import_module", "__import__") or not call.args:
        return None
    first = call.args[0]
    return first.value if isinstance(first, ast.Constant) and isinstance(first.value, str) else None


def folder_of(module: str) -> str:
    """The folder that a module lies in, as an import sees it: "views", "answers.compare", "pages.kit"."""
    _, room, *rest = module.split(".")
    return f"{room}.{rest[0]}" if room in ("answers", "pages") and rest else room


def folder_imports(files: list[Path], root: Path) -> dict[tuple[str, str], list[str]]:
    """(folder, folder that it imports) -> where."""
    found: dict[tuple[str, str], list[str]] = {}
    for file in files:
        inside = file.relative_to(root)
        if len(inside.parts) == 1:
            continue
        package = ("proofyard", *inside.parent.parts)
        own = folder_of(".".join(package))
        for one in imports_of(file.read_text(encoding="utf-8"), package):
            if one.module.startswith("proofyard.") and folder_of(one.module) != own:
                found.setdefault((own, folder_of(one.module)), []).append(f"{inside}:{one.line}")
    return found


def _server_files() -> list[Path]:
    return sorted(SERVER.rglob("*.py"))


def test_every_import_of_the_server_is_on_the_allow_list() -> None:
    faults = [fault for file in _server_files() for fault in faults_in(file, SERVER)]
    assert not faults, "\n".join(faults)


SQLITE = frozenset({"sqlite3", "pysqlite3"})
OPENS_THE_BOOK = "book_file.py"
EXAMINES_STRANGERS = "exchange/restore.py"  # a copy of its own, which is no book yet, with the standard library


def sqlite_in(file: Path, root: Path) -> list[str]:
    """Where a file of the server names a SQLite library that it may not: two of them on one file lose locks."""
    inside = file.relative_to(root).as_posix()
    package = ("proofyard", *file.relative_to(root).parent.parts)
    may = SQLITE if inside == OPENS_THE_BOOK else frozenset({"sqlite3"}) if inside == EXAMINES_STRANGERS else frozenset()
    named = {one.module.split(".")[0]: one.line for one in imports_of(file.read_text(encoding="utf-8"), package)}
    return [f"{inside}:{named[name]}: {name}" for name in sorted(named.keys() & SQLITE - may)]


def test_one_module_opens_the_book_with_one_library() -> None:
    assert [fault for file in _server_files() for fault in sqlite_in(file, SERVER)] == []
    examines = (SERVER / EXAMINES_STRANGERS).read_text(encoding="utf-8")
    assert examines.count("sqlite3.connect(") == 1, "the stranger's file is examined in one place"


@pytest.mark.parametrize(
    ("path", "source", "faults"),
    [
        ("storage.py", "import sqlite3", 1),
        ("pages/kit.py", "def f():\n    from pysqlite3 import dbapi2", 1),
        ("exchange/restore.py", "import pysqlite3", 1),
        ("exchange/restore.py", "import sqlite3", 0),
        ("book_file.py", "import sqlite3, pysqlite3", 0),
    ],
)
def test_a_second_library_is_caught(tmp_path: Path, path: str, source: str, faults: int) -> None:
    file = tmp_path / path
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(source, encoding="utf-8")
    assert len(sqlite_in(file, tmp_path)) == faults


def circles(found: dict[tuple[str, str], list[str]]) -> list[str]:
    """Folders that import each other, straight or by way of others."""
    above: dict[str, set[str]] = {}
    for own, other in found:
        above.setdefault(own, set()).add(other)

    def reach(start: str) -> set[str]:
        seen: set[str] = set()
        waiting = [start]
        while waiting:
            for other in above.get(waiting.pop(), set()) - seen:
                seen.add(other)
                waiting.append(other)
        return seen

    return [f"{own} and {other}: {', '.join(where)}" for (own, other), where in sorted(found.items()) if own in reach(other)]


def test_no_two_folders_import_each_other() -> None:
    assert not circles(folder_imports(_server_files(), SERVER))


def test_no_answer_imports_another() -> None:
    found = folder_imports(_server_files(), SERVER)
    across = {pair: where for pair, where in found.items() if all(one.startswith("answers.") for one in pair)}
    assert not across


def test_a_planted_circle_of_folders_is_caught(tmp_path: Path) -> None:
    for path, source in (
        ("pages/a/x.py", "from proofyard.pages.b import y"),
        ("pages/b/y.py", "from proofyard.pages.c.z import q"),
        ("pages/c/z.py", "import proofyard.pages.a.x"),
    ):
        file = tmp_path / path
        file.parent.mkdir(parents=True)
        file.write_text(source, encoding="utf-8")
    found = folder_imports(sorted(tmp_path.rglob("*.py")), tmp_path)
    assert len(circles(found)) == 3
    found.pop(("pages.c", "pages.a"))
    assert not circles(found)


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
    ("physics/spin.py", "from proofyard.records import shot", "physics may not import proofyard.records"),
    ("physics/spin.py", "from proofyard import statistics", "physics may not import proofyard.statistics"),
    ("charts/dots.py", "import proofyard.physics.energy", "charts may not import proofyard.physics.energy"),
    ("charts/dots.py", "from ..records import shot", "charts may not import proofyard.records"),
    ("charts/deep/dots.py", "from ...answers import results", "charts may not import proofyard.answers"),
    ("records/bow.py", "from proofyard.answers.results import x", "records may not import proofyard.answers.results"),
    ("views/hits.py", "from proofyard.pages import trial", "views may not import proofyard.pages"),
    ("views/hits.py", "import sqlalchemy", "views may not import the package sqlalchemy"),
    ("views/hits.py", "def f():\n    from fastapi import Request", "views may not import the package fastapi"),
    ("statistics/fit.py", "from scipy.special import betainc", "scipy is loaded at the top of the file"),
    ("statistics/fit.py", "class A:\n    import scipy.optimize", "scipy is loaded at the top of the file"),
    ("statistics/fit.py", "try:\n    import scipy\nexcept ImportError:\n    pass", "scipy is loaded at the top"),
    ("quantities/units.py", "import pint", "pint is loaded at the top of the file"),
    ("records/bow.py", "def f():\n    import pint", "records may not import the package pint"),
    ("exchange/csv.py", "import pandas", "exchange may not import the package pandas"),
    ("exchange/csv.py", "import importlib\nimportlib.import_module('proofyard.pages')", "exchange may not import proofyard.pages"),
    ("physics/spin.py", "x = __import__('numpy.linalg'); y = __import__('fastapi')", "the package fastapi"),
    (
        "physics/spin.py",
        "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    from proofyard.records import shot",
        "physics may not import proofyard.records",
    ),
    ("helpers_of_all/odd.py", "import os", "no row for 'helpers_of_all'"),
    ("live/feed.py", "from proofyard.exchange import csv", "live may not import proofyard.exchange"),
    ("storage.py", "from proofyard.records import shot", "storage may not import proofyard.records"),
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
    ("physics/spin.py", "import math\nimport numpy as np\nfrom proofyard.physics.energy import kinetic_energy_j"),
    ("statistics/fit.py", "def f():\n    from scipy.special import betainc\n    return betainc"),
    ("statistics/fit.py", "from .shares import share_interval\nfrom proofyard.quantities import units"),
    ("pages/trial.py", "from fastapi import APIRouter\nfrom proofyard.answers import results\nfrom proofyard import live"),
    ("statistics/fit.py", "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    import scipy"),
]


@pytest.mark.parametrize(("path", "source"), SOUND)
def test_a_sound_file_is_let_be(tmp_path: Path, path: str, source: str) -> None:
    file = tmp_path / path
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(source, encoding="utf-8")
    assert faults_in(file, tmp_path) == []
