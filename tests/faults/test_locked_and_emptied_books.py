"""A book that another program holds, and one that has become a file of no length: clear words, and nothing made again."""

import json
import os
import zipfile
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from proofyard import cli, storage
from proofyard.app import create_app
from proofyard.book_file import library as sqlite3
from proofyard.exchange.checkup import checkup
from proofyard.exchange.packed_copy import CONTENTS, NotRestored, pack
from proofyard.exchange.restore import look_inside, restore
from proofyard.opening import open_book
from proofyard.records import devices
from proofyard.settings import BOOK_FILE, Settings
from proofyard.storage import BookDamaged, Durability, Storage

from tests.conftest import HOST, PORT, House


@pytest.fixture
def held(book: Storage, monkeypatch: pytest.MonkeyPatch) -> Iterator[Any]:
    """The cast at a book with the older journal, where another program can shut readers out."""
    from proofyard.access.seats import hash_of, new_token

    token = new_token()
    with book.write() as session:
        devices.add_device(session, call_name="Wren", role="archer", session_hash=hash_of(token))
    path = book.path
    book.close()
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("PRAGMA journal_mode=DELETE")
    monkeypatch.setattr(storage, "durability_here", lambda: Durability("DELETE", "EXTRA", "a test"))
    monkeypatch.setattr(storage, "WAIT_FOR_LOCK_MS", 50)
    opened = Storage(path)
    settings = Settings(folder=path.parent, host=HOST, port=PORT)
    yield House(create_app(opened, settings), opened, settings, {"archer": token}, {})
    opened.close()


def test_a_book_that_another_program_holds_gives_a_page_that_says_so(held: House) -> None:
    client = held.client("archer", raise_server_exceptions=False)
    with closing(sqlite3.connect(held.storage.path, isolation_level=None)) as other:
        other.execute("BEGIN EXCLUSIVE")
        for path in ("/trials", "/range", "/join"):
            answer = client.get(path)
            assert answer.status_code == 503, path
            assert "Another program holds the book" in answer.text and "<h1" in answer.text and "html" in answer.headers["content-type"]
            assert int(answer.headers["retry-after"]) > 0
        told = client.get("/api/changes")
        assert told.status_code == 503 and "Another program holds the book" in told.json()["detail"]
        other.execute("ROLLBACK")
    assert client.get("/trials").status_code == 200


def packed_beside(book: Storage) -> Path:
    return pack(book.path, book.path.parent / "backups" / "proofyard-20260101-120000.zip").file


def empty(book: Storage) -> Path:
    path = book.path
    book.close()
    for other in path.parent.glob(BOOK_FILE + "-*"):
        other.unlink()
    os.truncate(path, 0)
    return path


def test_a_book_of_no_length_beside_its_copies_is_refused_with_what_to_do(book: Storage, capsys: pytest.CaptureFixture[str]) -> None:
    copy = packed_beside(book)
    path = empty(book)
    with pytest.raises(BookDamaged, match="restore"):
        open_book(path.parent)
    assert cli.main(["serve", "--data", str(path.parent), "--host", "127.0.0.1", "--port", "0"]) == cli.REFUSED
    said = capsys.readouterr().err
    assert "0 bytes" in said and "proofyard restore" in said and path.stat().st_size == 0
    found = {one.what: one for one in checkup(path.parent)}["Book"]
    assert found.verdict == "wrong" and "restore" in found.advice
    restore(copy, path.parent)
    open_book(path.parent).close()


@pytest.mark.parametrize("trace", ["photos/ab/one.jpg", "proofyard-before-restore-20260101-120000.db", BOOK_FILE + "-wal"])
def test_what_a_written_book_leaves_tells_of_it(tmp_path: Path, trace: str) -> None:
    (tmp_path / BOOK_FILE).touch()
    (tmp_path / trace).parent.mkdir(parents=True, exist_ok=True)
    (tmp_path / trace).write_bytes(b"something")
    with pytest.raises(BookDamaged):
        open_book(tmp_path)


def test_an_empty_file_with_nothing_beside_it_is_a_new_book(tmp_path: Path) -> None:
    # A first start that was cut off leaves this, and nobody has lost anything.
    (tmp_path / BOOK_FILE).touch()
    open_book(tmp_path).close()


@pytest.mark.parametrize("words", [[], ["--quick"]])
def test_check_ends_with_one_where_the_folder_is_not_there(tmp_path: Path, words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["check", "--data", str(tmp_path / "none"), *words]) == 1
    assert "no such folder" in capsys.readouterr().out
    assert not (tmp_path / "none").exists()


@pytest.mark.parametrize(
    "list_of_contents", [None, b"", b"\xff\xfe", b"[1, 2]", b'{"what": "something else", "photos": {}}', b"[" * 100_000]
)
def test_a_packed_copy_without_a_readable_list_of_contents_is_not_taken(
    book: Storage, tmp_path: Path, list_of_contents: bytes | None
) -> None:
    good, bad = packed_beside(book), tmp_path / "bad.zip"
    with zipfile.ZipFile(good) as source, zipfile.ZipFile(bad, "w", zipfile.ZIP_DEFLATED) as target:
        assert json.loads(source.read(CONTENTS))["what"]
        for info in source.infolist():
            if info.filename != CONTENTS:
                target.writestr(info.filename, source.read(info))
        if list_of_contents is not None:
            target.writestr(CONTENTS, list_of_contents)
    assert look_inside(good).counts
    with pytest.raises(NotRestored, match="list of its contents"):
        look_inside(bad)
    with pytest.raises(NotRestored, match="list of its contents"):
        restore(bad, tmp_path / "elsewhere")
