"""Every test file passes by itself, in a process of its own: none leans on what another left behind."""

import subprocess
import sys
from pathlib import Path

import pytest

TESTS = Path(__file__).parents[1]
FILES = sorted(path for path in TESTS.rglob("test_*.py") if path != Path(__file__))


@pytest.mark.long
@pytest.mark.parametrize("file", FILES, ids=lambda path: str(path.relative_to(TESTS)))
def test_a_file_passes_alone(file: Path) -> None:
    run = subprocess.run(
        [sys.executable, "-m", "pytest", str(file), "-q", "-x", "-p", "no:cacheprovider"],
        cwd=TESTS.parent,
        capture_output=True,
        text=True,
        timeout=600,
    )
    # 5: every test of the file is a long one, and this run is of the others
    assert run.returncode in (0, 5), run.stdout[-3000:] + run.stderr[-1000:]
