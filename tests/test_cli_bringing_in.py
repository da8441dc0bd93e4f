"""The commands `bring-in` and `other-book`: what their pages say, in a terminal, and the same done to the book."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

import pytest
from proofyard import cli
from proofyard.exchange.other_books.shelf import other_books
from proofyard.opening import HeldFolder
from proofyard.records import devices
from proofyard.records.arrow import Arrow
from proofyard.records.import_facts import batches
from proofyard.records.listing import all_of

from tests.conftest import copied
from tests.conftest import opened as opened_for_a_test
from tests.other_books_for_tests import package_of, small

# Invented, as somebody might have kept it.
ARROWS = "Tag,Total weight (gr),Length,Head type,Wood,Fletching\n21,1040,31 in,needle,ash,goose\n22,1065,31 in,short bodkin,ash,goose\n"


@pytest.fixture
def folder(tmp_path: Path, empty_book_file: Path) -> Path:
    """A book that its owner opened on this laptop."""
    at = copied(empty_book_file, tmp_path / "own")
    with closing(opened_for_a_test(at)) as book, book.write() as session:
        devices.make_book(session)
        devices.add_device(session, call_name="Laptop", role="owner")
    return at


def there(folder: Path) -> tuple[int, int]:
    """Arrows and batches of the book."""
    with closing(opened_for_a_test(folder)) as book, book.read() as session:
        return len(all_of(session, Arrow)), len(batches(session))


def bring_in(folder: Path, file: Path, *more: str) -> int:
    return cli.main(["bring-in", str(file), "--holds", "arrows", "--data", str(folder), *more])


def test_a_sheet_is_looked_at_first_and_brought_in_as_one_batch_on_yes(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sheet = tmp_path / "arrows.csv"
    sheet.write_text(ARROWS, encoding="utf-8")
    assert bring_in(folder, sheet) == 0
    said = capsys.readouterr().out
    assert "6 of 6 columns would be taken, and 2 rows." in said
    assert "Total weight (gr): Arrow’s mass." in said and "run the same command with --yes" in said
    assert there(folder) == (0, 0)

    assert bring_in(folder, sheet, "--yes") == 0
    assert "in the book as one batch" in capsys.readouterr().out
    assert there(folder) == (2, 1)

    assert bring_in(folder, sheet, "--yes") == 1, "the same tags again are a trouble"
    assert "! Row 2: Tag: The book has a “21” already." in capsys.readouterr().out
    assert there(folder) == (2, 1)


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (ARROWS.replace("1040", "heavy"), "! Row 2: Total weight (gr): "),
        ("Tag,Length of what sticks out behind\n21,31 in\n", "! Not sure what “Length of what sticks out behind” is."),
        ("", "! It holds no cell with anything in it."),
        (None, "can’t be read (No such file or directory)"),
    ],
)
def test_what_only_a_person_can_answer_stays_out_and_is_said(
    folder: Path, tmp_path: Path, content: str | None, says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    sheet = tmp_path / "arrows.csv"
    if content is not None:
        sheet.write_text(content, encoding="utf-8")
    assert bring_in(folder, sheet, "--yes") == 1
    assert says in capsys.readouterr().out
    assert there(folder) == (0, 0)


def test_a_book_that_a_server_has_open_is_left_to_the_server(folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    sheet = tmp_path / "arrows.csv"
    sheet.write_text(ARROWS, encoding="utf-8")
    with HeldFolder(folder):
        assert bring_in(folder, sheet, "--yes") == cli.REFUSED
    assert "is open already" in capsys.readouterr().err


def test_a_file_that_is_no_package_is_refused_with_a_reason(folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "package.zip"
    file.write_bytes(b"no zip")
    assert cli.main(["other-book", str(file), "--whose", "Quarry group", "--data", str(folder)]) == 1
    assert capsys.readouterr().out.startswith("! ")
    assert other_books(folder) == []


@pytest.mark.slow  # a package is made and a book of it
def test_another_groups_package_is_taken_in_beside_the_book_once(
    folder: Path, tmp_path: Path, empty_book_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    package = package_of(tmp_path / "theirs", empty_book_file, small)
    asked = ["other-book", str(package), "--whose", "Quarry group", "--data", str(folder)]
    assert cli.main(asked) == 0
    assert "Quarry group: 1 trial" in capsys.readouterr().out
    assert [one.whose for one in other_books(folder)] == ["Quarry group"]
    assert cli.main(asked) == 0
    assert "It was here already, so nothing was changed." in capsys.readouterr().out
