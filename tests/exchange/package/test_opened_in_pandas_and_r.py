"""Whoever copies the lines of the guide's page opens the whole package, with types and joins, in pandas and in R.

Checked against programs that we have not written: pandas (its own reader of CSV and join) and R with jsonlite.
"""

from __future__ import annotations

import csv
import importlib.util
import re
import shutil
import subprocess
import sys
from collections import Counter
from contextlib import closing
from io import BytesIO, StringIO
from pathlib import Path
from zipfile import ZipFile

import pytest
from proofyard.pages.home.guide import read_page
from proofyard.settings import data_folder

from tests.conftest import copied, missing, opened
from tests.exchange.package.test_package import packed

GUIDE = data_folder("static") / "guide" / "data-package.md"


def lines_of(language: str) -> str:
    return "\n".join(re.findall(rf"^```{language}\n(.*?)^```", GUIDE.read_text(encoding="utf-8"), re.DOTALL | re.MULTILINE))


@pytest.fixture(scope="module")
def unpacked(tmp_path_factory: pytest.TempPathFactory, demo_book_file: Path) -> Path:
    folder = tmp_path_factory.mktemp("package")
    with closing(opened(copied(demo_book_file, folder / "book"))) as book, ZipFile(BytesIO(packed(book))) as zipped:
        zipped.extractall(folder / "unpacked")
    return folder / "unpacked"


def counted(folder: Path) -> dict[str, tuple[int, int]]:
    """Shots that count and those with their point through, by head; with the standard library."""
    rows = list(csv.DictReader(StringIO((folder / "worked_out" / "shots.csv").read_text(encoding="utf-8"))))
    rows = [one for one in rows if one["counted_by_default"] == "TRUE"]
    shots = Counter(one["head_form"] for one in rows)
    through = Counter(one["head_form"] for one in rows if float(one["outcome_low"]) >= 4)
    return {form: (shots[form], through[form]) for form in shots}


def printed(text: str) -> dict[str, tuple[int, int]]:
    rows = [line.split() for line in text.splitlines() if re.fullmatch(r"\w+ +\d+ +\d+", line.strip())]
    return {form: (int(shots), int(through)) for form, shots, through in rows}


def run(command: list[str], folder: Path) -> str:
    made = subprocess.run(command, cwd=folder, capture_output=True, text=True, timeout=300)
    assert made.returncode == 0, made.stderr
    return made.stdout


def test_the_guides_lines_are_shown_as_they_stand() -> None:
    """Whoever copies them from the page gets what the tests below run."""
    shown = "\n".join(block.pieces[0][0] for block in read_page(GUIDE).blocks if block.sort == "code")
    assert shown == (lines_of("python") + lines_of("r")).strip().replace("\n\n", "\n")


@pytest.mark.long
def test_pandas_opens_and_joins_everything(unpacked: Path) -> None:
    if not importlib.util.find_spec("pandas"):
        missing("pandas is not installed")
    assert printed(run([sys.executable, "-W", "error", "-c", lines_of("python")], unpacked)) == counted(unpacked)


@pytest.mark.long
def test_r_opens_and_joins_everything(unpacked: Path) -> None:
    if not shutil.which("Rscript"):
        missing("R is not installed")
    (unpacked / "opened.R").write_text(lines_of("r"), encoding="utf-8")
    assert printed(run(["Rscript", "--vanilla", "opened.R"], unpacked)) == counted(unpacked)
