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


@pytest.mark.long
def test_the_wheel_installed_alone_serves_the_example(tmp_path: Path) -> None:
    # Built from a copy: a build leaves its traces beside the source.
    source = tmp_path / "source"
    shutil.copytree(REPOSITORY, source, ignore=shutil.ignore_patterns(".venv", ".git", "__pycache__", "*.db", ".*_cache", ".hypothesis", "screens"))
    _run(sys.executable, "-m", "venv", tmp_path / "env", cwd=tmp_path)
    python = tmp_path / "env" / ("Scripts" if os.name == "nt" else "bin") / "python"
    _run(python, "-m", "pip", "wheel", "--quiet", "--no-deps", "--wheel-dir", tmp_path / "dist", source, cwd=tmp_path)
    (wheel,) = (tmp_path / "dist").glob("proofyard-*.whl")
    with zipfile.ZipFile(wheel) as archive:
        held = set(archive.namelist())
    for folder in ("templates", "static", "migrations"):
        assert {f"server/_data/{folder}/{name}" for name in _names(REPOSITORY / folder)} <= held
    assert {f"seed_demo/{name}" for name in _names(REPOSITORY / "seed_demo")} <= held
    assert not [name for name in held if "__pycache__" in name or name.startswith("tests")]
    _run(python, "-m", "pip", "install", "--quiet", wheel, cwd=tmp_path)
    shutil.rmtree(source)
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    assert "the book" in _run(python.with_name("proofyard"), "--help", cwd=elsewhere)
    _serves_the_example(python.with_name("proofyard"), elsewhere)


def _serves_the_example(program: Path, cwd: Path) -> None:
    environment = {name: value for name, value in os.environ.items() if not name.startswith("PYTHON")} | {"PYTHONUTF8": "1"}
    line = [str(program), "serve", "--demo", "--data", str(cwd / "book"), "--host", "127.0.0.1", "--port", "0"]
    with subprocess.Popen(line, cwd=cwd, env=environment, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, encoding="utf-8") as server:
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
