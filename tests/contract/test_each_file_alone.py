"""Every test file passes by itself, in a process of its own: none leans on what another left behind."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

TESTS = Path(__file__).parents[1]
FILES = sorted(path for path in TESTS.rglob("test_*.py") if path != Path(__file__))


@pytest.mark.long
@pytest.mark.parametrize("file", FILES, ids=lambda path: str(path.relative_to(TESTS)))
def test_a_file_passes_alone(file: Path, tmp_path: Path, tmp_path_factory: pytest.TempPathFactory) -> None:
    # The books that a run makes once are made once for all these processes (conftest, made_once), and by none before this run: a book
    # that an older form left in the system's own folder would be upgraded, and found with a backup that nobody made.
    shared = tmp_path_factory.getbasetemp().parent / "each-file-alone"
    shared.mkdir(exist_ok=True)
    run = subprocess.run(
        [sys.executable, "-m", "pytest", str(file), "-q", "-x", "-p", "no:cacheprovider", f"--basetemp={shared / tmp_path.name}"],
        cwd=TESTS.parent,
        env=os.environ | {"PYTEST_XDIST_WORKER": "alone"},
        capture_output=True,
        text=True,
        timeout=600,
    )
    # 5: every test of the file is a long one, and this run is of the others
    assert run.returncode in (0, 5), run.stdout[-3000:] + run.stderr[-1000:]
