"""The wheel, installed alone in an environment of its own, serves the example from a folder that is not the checkout's."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import time
import urllib.request
import zipfile
from pathlib import Path

import pytest

from tests.faults.a_real_server import REPOSITORY


def _run(*line: object, cwd: Path) -> str:
    environment = {name: value for name, value in os.environ.items() if not name.startswith("PYTHON")}
    done = subprocess.run([str(one) for one in line], cwd=cwd, env=environment, capture_output=True, text=True, check=False, timeout=600)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def _names(folder: Path) -> set[str]:
    return {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file() and "__pycache__" not in path.parts}


def _environment(folder: Path) -> Path:
    """A new environment with nothing in it; its Python."""
    _run(sys.executable, "-m", "venv", folder, cwd=folder.parent)
    return folder / ("Scripts" if os.name == "nt" else "bin") / "python"


def _build(source: Path, work: Path) -> None:
    """`python -m build`, from an environment that is not the one that the wheel is tried in."""
    python = _environment(work / "builder")
    _run(python, "-m", "pip", "install", "--quiet", "build", cwd=work)
    _run(python, "-m", "build", "--outdir", work / "dist", source, cwd=work)


def _top_level(python: Path, cwd: Path) -> set[str]:
    """What an installation brings to where others look for packages, beside the list of its own files and its command."""
    shown = _run(python, "-m", "pip", "show", "-f", "proofyard", cwd=cwd)
    files = [line.strip().replace("\\", "/") for line in shown.split("Files:\n", 1)[1].splitlines() if line.strip()]
    assert len(files) > 500
    return {one.split("/")[0] for one in files if not one.startswith("../") and ".dist-info/" not in one}


@pytest.mark.long
def test_the_wheel_installed_alone_serves_the_example(tmp_path: Path) -> None:
    # Built from a copy: a build leaves its traces beside the source.
    source = tmp_path / "source"
    shutil.copytree(
        REPOSITORY, source, ignore=shutil.ignore_patterns(".venv", ".git", "__pycache__", "*.db", ".*_cache", ".hypothesis", "screens")
    )
    _build(source, tmp_path)
    (wheel,) = (tmp_path / "dist").glob("proofyard-*.whl")
    (packed_source,) = (tmp_path / "dist").glob("proofyard-*.tar.gz")
    with zipfile.ZipFile(wheel) as archive:
        held = set(archive.namelist())
    for folder in ("templates", "static", "migrations", "seed_demo"):
        assert {f"proofyard/_data/{folder}/{name}" for name in _names(REPOSITORY / folder)} <= held
    assert {f"proofyard/{name}" for name in _names(REPOSITORY / "server" / "proofyard")} <= held
    assert not [name for name in held if "__pycache__" in name or name.startswith("tests")]
    shutil.rmtree(source)
    packed_source.unlink()
    python = _environment(tmp_path / "env")
    _run(python, "-m", "pip", "install", "--quiet", wheel, cwd=tmp_path)
    assert _top_level(python, tmp_path) == {"proofyard"}
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    assert "the book" in _run(python.with_name("proofyard"), "--help", cwd=elsewhere)
    _serves_the_example(python.with_name("proofyard"), elsewhere)


def _serves_the_example(program: Path, cwd: Path) -> None:
    environment = {name: value for name, value in os.environ.items() if not name.startswith("PYTHON")} | {"PYTHONUTF8": "1"}
    line = [str(program), "serve", "--demo", "--data", str(cwd / "book"), "--host", "127.0.0.1", "--port", "0"]
    with subprocess.Popen(
        line, cwd=cwd, env=environment, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, encoding="utf-8"
    ) as server:
        try:
            assert server.stdout
            said, until = "", time.monotonic() + 60
            while "Ctrl+C" not in said and time.monotonic() < until:
                piece = server.stdout.readline()
                assert piece, said
                said += piece
            found = re.search(r"http://localhost:(\d+)(/owner/\S+)", said)
            assert found, said
            opener = urllib.request.build_opener(urllib.request.ProxyHandler({}))
            for path in (found[2], "/join"):
                page = opener.open(f"http://127.0.0.1:{found[1]}{path}", timeout=10).read().decode()
                assert "<html" in page
                for link in re.findall(r'(?:href|src)="(/[^"]+\.(?:css|js)[^"]*)"', page):
                    assert opener.open(f"http://127.0.0.1:{found[1]}{link}", timeout=10).status == 200
            server.terminate()
            assert server.wait(20) == 0, said + server.stdout.read()
        finally:
            server.kill()
