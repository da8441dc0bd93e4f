"""A size limit that isn't a test isn't kept. Counted in code lines: no docstring, no comment, no blank line.

Migrations, demo data and tests may be longer.
"""

from __future__ import annotations

import ast
import io
import tokenize
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest

from tests.contract.nodes_of_code import nodes_of

REPOSITORY = Path(__file__).resolve().parents[2]
SERVER = REPOSITORY / "server" / "proofyard"

# 300 once: it cut modules that are read together, and whoever followed one request opened ninety files.
MOST_LINES_OF_A_FILE = 400
MOST_LINES_OF_A_FUNCTION = 50
# "path" or "path::function" -> its lines when it was let through. May only shrink; the aim is an empty table.
TOO_LONG: dict[str, int] = {}

NO_NAMES = frozenset(["util", "utils", "helper", "helpers", "common", "core", "manager", "managers", "service", "services", "misc"])

_QUIET = frozenset({tokenize.COMMENT, tokenize.NL, tokenize.NEWLINE, tokenize.INDENT, tokenize.DEDENT, tokenize.ENDMARKER})
_CHANGING = frozenset(
    [
        "append",
        "extend",
        "insert",
        "remove",
        "pop",
        "clear",
        "sort",
        "reverse",
        "update",
        "setdefault",
        "popitem",
        "add",
        "discard",
        "appendleft",
        "popleft",
        "extendleft",
        "rotate",
        "difference_update",
        "intersection_update",
    ]
)
_CONTAINERS = frozenset({"list", "dict", "set", "defaultdict", "OrderedDict", "deque", "Counter", "bytearray"})

Function = ast.FunctionDef | ast.AsyncFunctionDef


def docstring_lines(nodes: list[ast.AST]) -> set[int]:
    held: set[int] = set()
    for node in nodes:
        if isinstance(node, ast.Module | ast.ClassDef | Function) and ast.get_docstring(node, clean=False) is not None:
            held.update(range(node.body[0].lineno, (node.body[0].end_lineno or node.body[0].lineno) + 1))
    return held


def code_lines(source: str) -> set[int]:
    """The numbers of the lines that hold code."""
    held: set[int] = set()
    for token in tokenize.generate_tokens(io.StringIO(source).readline):
        if token.type not in _QUIET:
            held.update(range(token.start[0], token.end[0] + 1))
    return held - docstring_lines(nodes_of(ast.parse(source)))


@dataclass(frozen=True)
class Seen:
    """Of one file: what has more lines of code than its limit, as name ("" for the file), lines and limit; and containers at its top
    that one of its functions changes."""

    over: tuple[tuple[str, int, int], ...]
    changed: tuple[str, ...]


@cache  # three tests ask it of every file; a tree is not kept, for the collector of garbage goes through what is
def seen_in(source: str) -> Seen:
    tree = ast.parse(source)
    nodes = nodes_of(tree)
    functions = [node for node in nodes if isinstance(node, Function)]
    places = [("", 1, source.count("\n") + 1, MOST_LINES_OF_A_FILE)]
    places += [(node.name, node.lineno, node.end_lineno or node.lineno, MOST_LINES_OF_A_FUNCTION) for node in functions]
    # To tell code from comments takes longer than all else here, and what is short with its comments is short without them.
    docstrings = docstring_lines(nodes)
    if any(len(set(range(first, last + 1)) - docstrings) > limit for _, first, last, limit in places if last - first >= limit):
        held = code_lines(source)
        counted = [(name, len(held.intersection(range(first, last + 1))), limit) for name, first, last, limit in places]
    else:
        counted = []
    return Seen(tuple(one for one in counted if one[1] > one[2]), tuple(_changed_containers(tree, functions)))


def too_long(source: str, path: str, *, let_through: dict[str, int]) -> list[str]:
    faults = []
    for name, lines, limit in seen_in(source).over:
        key = f"{path}::{name}" if name else path
        if lines > let_through.get(key, limit):
            faults.append(f"{key}: {lines} code lines, at most {let_through.get(key, limit)}")
    return faults


def changed_containers(source: str) -> tuple[str, ...]:
    """Containers at the top of a module that one of its functions changes: state that no test starts fresh."""
    return seen_in(source).changed


def _changed_containers(tree: ast.Module, functions: list[Function]) -> Iterator[str]:
    containers = {name for node in tree.body for name in _container_names(node)}
    for function in functions:
        nodes = nodes_of(function)
        named = [(node, name) for node in nodes if (name := _changed_name(node)) in containers]
        shadowed = _own_names(function, nodes) if named else set()
        for node, name in named:
            if name not in shadowed:
                yield f"{function.name} changes {name}, line {node.lineno}"
        for node in nodes:
            if isinstance(node, ast.Global):
                yield f"{function.name} sets {', '.join(node.names)} as global, line {node.lineno}"


def _container_names(node: ast.stmt) -> list[str]:
    if isinstance(node, ast.Assign):
        targets, value = node.targets, node.value
    elif isinstance(node, ast.AnnAssign) and node.value is not None:
        targets, value = [node.target], node.value
    else:
        return []
    literal = isinstance(value, ast.List | ast.Dict | ast.Set | ast.ListComp | ast.DictComp | ast.SetComp)
    made = isinstance(value, ast.Call) and ast.unparse(value.func).split("[")[0].split(".")[-1] in _CONTAINERS
    return [one.id for one in targets if isinstance(one, ast.Name)] if literal or made else []


def _own_names(function: Function, nodes: list[ast.AST]) -> set[str]:
    arguments = function.args
    own = {one.arg for one in (*arguments.posonlyargs, *arguments.args, *arguments.kwonlyargs)}
    for node in nodes:
        if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store):
            own.add(node.id)
    return own


def _changed_name(node: ast.AST) -> str | None:
    held: ast.expr | None = None
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr in _CHANGING:
        held = node.func.value
    elif isinstance(node, ast.Subscript) and isinstance(node.ctx, ast.Store | ast.Del):
        held = node.value
    return held.id if isinstance(held, ast.Name) else None


def _server_files() -> list[Path]:
    return sorted(SERVER.rglob("*.py"))


def test_no_file_and_no_function_outgrows_its_limit() -> None:
    faults = []
    for file in _server_files():
        path = file.relative_to(REPOSITORY).as_posix()
        faults += too_long(file.read_text(encoding="utf-8"), path, let_through=TOO_LONG)
    assert not faults, "\n".join(faults)


def test_the_list_of_exceptions_only_shrinks() -> None:
    """An entry that is no longer needed, or allows more lines than there are, must go or be lowered."""
    now: dict[str, int] = {}
    for file in _server_files():
        path = file.relative_to(REPOSITORY).as_posix()
        for name, lines, _ in seen_in(file.read_text(encoding="utf-8")).over:
            key = f"{path}::{name}" if name else path
            now[key] = max(lines, now.get(key, 0))
    assert {key: lines for key, lines in now.items() if key in TOO_LONG} == TOO_LONG


def test_no_function_changes_a_container_of_its_module() -> None:
    faults = []
    for file in _server_files():
        found = changed_containers(file.read_text(encoding="utf-8"))
        faults += [f"{file.relative_to(REPOSITORY)}: {fault}" for fault in found]
    assert not faults, "\n".join(faults)


def test_no_folder_and_no_file_has_a_name_that_says_nothing() -> None:
    bad = []
    for top in ("server", "templates", "static", "tests", "migrations", "seed_demo"):
        for path in (REPOSITORY / top).rglob("*"):
            stem = path.name.split(".")[0].lstrip("_").removeprefix("test_").lower()
            if stem in NO_NAMES:
                bad.append(path.relative_to(REPOSITORY).as_posix())
    assert not bad, "\n".join(bad)


def test_only_code_is_counted() -> None:
    source = '"""Two\nlines."""\n\n# a comment\nx = 1\n\n\ndef f():\n    """One."""\n    return (\n        x\n    )\n'
    assert code_lines(source) == {5, 8, 10, 11, 12}


@pytest.mark.parametrize("body", ["    x = 1\n", "    x = (\n    1)\n"])
def test_a_function_that_is_too_long_is_caught(body: str) -> None:
    source = "def f():\n" + body * 51
    assert too_long(source, "server/a.py", let_through={})
    assert not too_long(source, "server/a.py", let_through={"server/a.py::f": 103})


def test_a_file_that_is_too_long_is_caught() -> None:
    assert not too_long("x = 1\n" * 400 + "# more\n", "server/a.py", let_through={})
    assert too_long("x = 1\n" * 401, "server/a.py", let_through={})


@pytest.mark.parametrize(
    "source",
    [
        "seen = []\ndef f():\n    seen.append(1)\n",
        "seen: dict[str, int] = {}\ndef f():\n    seen['a'] = 1\n",
        "seen: dict[str, int] = {}\ndef f():\n    seen['a'] += 1\n",
        "from collections import deque\nseen = deque()\nclass A:\n    def f(self):\n        seen.popleft()\n",
        "seen = set()\ndef f():\n    del seen['a']\n",
        "count = 0\ndef f():\n    global count\n    count += 1\n",
    ],
)
def test_a_changed_container_is_caught(source: str) -> None:
    assert changed_containers(source)


@pytest.mark.parametrize(
    "source",
    [
        "names = ['a']\ndef f():\n    return names[0]\n",
        "names = ['a']\ndef f():\n    names = []\n    names.append(1)\n",
        "names = ['a']\ndef f(names):\n    names.append(1)\n",
    ],
)
def test_a_container_that_is_only_read_is_let_be(source: str) -> None:
    assert not changed_containers(source)
