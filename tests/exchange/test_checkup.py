"""What `check` and the health page find."""

import os
import time
from pathlib import Path

import pytest
from proofyard.exchange.checkup import checkup, last_copy
from proofyard.exchange.finding import Finding, size_in_words
from proofyard.opening import newest_form
from proofyard.storage import Storage
from starlette.testclient import TestClient


def found(folder: Path, what: str, *, thorough: bool = False) -> Finding:
    return next(one for one in checkup(folder, thorough=thorough) if one.what == what)


def test_a_sound_book_is_found_sound(book: Storage) -> None:
    folder = book.path.parent
    assert found(folder, "Is the file complete?", thorough=True).verdict == "good"
    assert found(folder, "Book").found.endswith(f"form {newest_form()}")
    assert found(folder, "Last backup").verdict == "look"


def test_looking_changes_nothing(book: Storage) -> None:
    before, beside = book.path.read_bytes(), sorted(path.name for path in book.path.parent.iterdir())
    checkup(book.path.parent, thorough=True)
    assert book.path.read_bytes() == before
    assert sorted(path.name for path in book.path.parent.iterdir()) == beside
    book.close()
    before = book.path.read_bytes()
    checkup(book.path.parent, thorough=True)
    assert book.path.read_bytes() == before
    assert sorted(path.name for path in book.path.parent.iterdir()) == ["proofyard.db"]


def test_a_folder_without_a_book_is_no_fault(tmp_path: Path) -> None:
    assert found(tmp_path, "Book").verdict == "look"
    assert found(tmp_path / "none", "Folder").verdict == "wrong"
    assert found(tmp_path / "none", "Room on the disk").verdict in ("good", "look")


def test_a_file_that_is_no_book_is_told(tmp_path: Path) -> None:
    (tmp_path / "proofyard.db").write_bytes(b"not a book at all" * 100)
    assert found(tmp_path, "Book").verdict == "wrong"
    assert "not a Proofyard book" in found(tmp_path, "Book").found


def test_a_damaged_page_is_told(book: Storage) -> None:
    book.close()
    whole = bytearray(book.path.read_bytes())
    for page in range(8192, len(whole) - 4096, 4096):
        whole[page : page + 64] = b"\xa5" * 64
    book.path.write_bytes(whole)
    assert any(one.verdict == "wrong" for one in checkup(book.path.parent, thorough=True))


def test_a_newer_book_is_told(book: Storage) -> None:
    with book.write() as session:
        session.connection().exec_driver_sql("UPDATE alembic_version SET version_num='9999'")
    newer = found(book.path.parent, "Book")
    assert newer.verdict == "wrong"
    assert "Install the newer program" in newer.advice


def test_the_last_backup_and_its_age_are_told(book: Storage) -> None:
    folder = book.path.parent
    (folder / "backups").mkdir()
    older, newer = folder / "backups" / "a.db", folder / "backups" / "b.db"
    for path, days in ((older, 30), (newer, 1)):
        path.write_bytes(b"x")
        os.utime(path, (time.time() - days * 86400,) * 2)
    assert last_copy(folder) == newer
    assert found(folder, "Last backup").verdict == "good"
    newer.unlink()
    assert "more than a week old" in found(folder, "Last backup").advice


@pytest.mark.parametrize(
    ("size", "words"), [(0, "0 bytes"), (999, "999 bytes"), (1500, "1.5 kB"), (15_000, "15 kB"), (2.5e9, "2.5 GB"), (3e12, "3.0 TB")]
)
def test_sizes_are_said_in_words(size: float, words: str) -> None:
    assert size_in_words(size) == words


def test_the_owner_reads_it_on_a_page_and_nobody_else(owner: TestClient, archer: TestClient) -> None:
    page = owner.get("/health").text
    assert "SQLite" in page and "synchronous" in page and "Last backup" in page
    assert archer.get("/health").status_code == 403
