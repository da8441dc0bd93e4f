"""No room, a locked file, a file that can't be written: a sentence that says what to do, and the book as it was."""

from __future__ import annotations

import contextlib
import gc
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from proofyard import storage as storage_module
from proofyard.book_file import library as sqlite3
from proofyard.opening import HeldFolder, bring_up_to_date, open_book
from proofyard.records.ids import new_id
from proofyard.records.operations import OP_VERSION
from proofyard.settings import BOOK_FILE
from proofyard.storage import BookBusy, BookFull, BookReadOnly, Session, Storage, StorageTrouble
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.conftest import House
from tests.faults.a_real_server import REPOSITORY, ask_book, assert_whole, environment

LONG_NOTE = "n" * 1900


def _limit_pages(book: Storage, more: int | None) -> None:
    """Let the file grow by `more` pages and no further, as a disk with that much room would."""
    with book.write() as session:
        connection = session.connection()
        pages = connection.exec_driver_sql("PRAGMA page_count").scalar_one()
        connection.exec_driver_sql(f"PRAGMA max_page_count={pages + more if more is not None else 1_000_000}")


def _save_till_refused(book: Storage) -> tuple[list[str], StorageTrouble]:
    saved: list[str] = []
    for number in range(2000):
        try:
            saved.append(kit.put(book, "archer", {"call_name": f"Archer {number}"}))
            kit.put(book, "bow", {"name": f"Bow {number}", "note": LONG_NOTE})
        except StorageTrouble as trouble:
            return saved, trouble
    raise AssertionError("the disk never filled")


def test_a_full_disk_refuses_the_save_keeps_what_was_saved_and_takes_the_next_once_there_is_room(book: Storage) -> None:
    kit.recorder(book)
    _limit_pages(book, 20)
    saved, trouble = _save_till_refused(book)
    assert isinstance(trouble, BookFull)
    assert str(trouble) == "There is no room left on the disk. Nothing was saved. Make room, then save again."
    assert len(saved) > 3
    assert {row[0] for row in ask_book(book.path, "SELECT id FROM archer")} == set(saved)
    assert_whole(book.path)
    _limit_pages(book, None)
    kit.archer(book, "Wren")
    assert ask_book(book.path, "SELECT 1 FROM archer WHERE call_name = 'Wren'") == [(1,)]


def test_a_phone_is_told_that_the_disk_is_full_and_when_to_ask_again(house: House, archer: TestClient) -> None:
    _limit_pages(house.storage, 0)
    op_id, statuses = new_id(), []
    for number in range(40):  # a few saves find room in pages that are begun already
        op_id = new_id()
        op = {"op_id": op_id, "action": "put", "noun": "bow", "record_id": new_id(), "body": {"name": f"Yew {number}", "note": LONG_NOTE}}
        reply = archer.post("/api/ops", json={"op_v": OP_VERSION, "ops": [op]})
        statuses.append(reply.status_code)
        if reply.status_code != 200:
            break
    assert statuses[-1] == 503, statuses
    assert "no room left on the disk" in reply.text
    assert int(reply.headers["Retry-After"]) > 0
    assert not ask_book(house.storage.path, "SELECT 1 FROM revision WHERE op_id = short_id(?)", op_id)
    assert_whole(house.storage.path)


@contextlib.contextmanager
def _small_disk(room_kb: int) -> Iterator[Path]:
    place = tempfile.mkdtemp(prefix="proofyard-small-disk-")
    line = ["mount", "-t", "tmpfs", "-o", f"size={room_kb}k", "tmpfs", place]
    may = shutil.which("mount") and getattr(os, "geteuid", lambda: 1)() == 0
    if not may or subprocess.run(line, capture_output=True, check=False).returncode:
        os.rmdir(place)
        pytest.skip("only root can make a small disk here; the tests above limit the file instead")
    try:
        yield Path(place)
    finally:
        subprocess.run(["umount", place], check=True)
        os.rmdir(place)


def test_a_disk_that_is_really_full_leaves_the_book_whole() -> None:
    with _small_disk(1500) as folder:
        storage = open_book(folder)
        try:
            kit.recorder(storage)
            saved, trouble = _save_till_refused(storage)
            assert isinstance(trouble, BookFull), trouble
            assert len(saved) > 3
        finally:
            storage.close()
        storage = open_book(folder)
        try:
            assert {row[0] for row in ask_book(folder / BOOK_FILE, "SELECT id FROM archer")} == set(saved)
            assert_whole(folder / BOOK_FILE)
        finally:
            storage.close()


def test_no_room_for_a_new_book_is_said_at_the_start() -> None:
    with _small_disk(100) as folder, pytest.raises(BookFull, match="no room left"):
        open_book(folder)


def test_a_limit_on_the_size_of_files_is_met_with_words_too(tmp_path: Path) -> None:
    """A quota or `ulimit -f` shows as a failed write, not as a full disk."""
    pytest.importorskip("resource")
    folder = tmp_path / "book"
    folder.mkdir()
    storage = open_book(folder)
    kit.recorder(storage)
    storage.close()
    script = """
import resource, sys
from pathlib import Path
sys.path.insert(0, sys.argv[2])
from proofyard.opening import open_book
from tests import kit_for_tests as kit
storage = open_book(Path(sys.argv[1]))
size = storage.path.stat().st_size + 80_000
resource.setrlimit(resource.RLIMIT_FSIZE, (size, size))
from tests.faults.test_the_disk_and_the_file import _save_till_refused
saved, trouble = _save_till_refused(storage)
print(len(saved), type(trouble).__name__, trouble)
"""
    done = subprocess.run(
        [sys.executable, "-c", script, str(folder), str(REPOSITORY)], env=environment(), capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    number, kind, sentence = done.stdout.split(" ", 2)
    assert kind in ("BookReadOnly", "BookFull")
    assert "Nothing was saved" in sentence
    assert ask_book(folder / BOOK_FILE, "SELECT count(*) FROM archer") == [(int(number),)]
    assert_whole(folder / BOOK_FILE)


@pytest.fixture
def short_waits(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(storage_module, "WAIT_FOR_LOCK_MS", 60)


def test_a_file_that_another_program_has_locked_is_waited_for_and_then_said(tmp_path: Path, short_waits: None) -> None:
    storage = open_book(tmp_path)
    kit.archer(storage, "Wren")
    with contextlib.closing(sqlite3.connect(storage.path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(BookBusy, match="Another program holds the book. Nothing was saved.") as told:
            kit.archer(storage, "Tallow")
        assert told.value.retry_after_s
        other.execute("ROLLBACK")
    kit.archer(storage, "Tallow")
    storage.close()
    assert ask_book(storage.path, "SELECT call_name FROM archer ORDER BY id") == [("Wren",), ("Tallow",)]


def test_a_reader_in_the_way_of_a_commit_loses_nothing(tmp_path: Path, short_waits: None) -> None:
    """With a rollback journal a long reading lock makes the commit itself fail: the save is refused whole."""
    storage = open_book(tmp_path)
    kit.archer(storage, "Wren")
    with contextlib.closing(sqlite3.connect(storage.path, isolation_level=None)) as other:
        other.execute("BEGIN")
        other.execute("SELECT count(*) FROM archer").fetchone()
        stored = 1
        try:
            kit.archer(storage, "Tallow")
            stored = 2
        except BookBusy as trouble:
            assert "Nothing was saved" in str(trouble)
        other.execute("ROLLBACK")
    kit.archer(storage, "Pip")
    storage.close()
    assert ask_book(storage.path, "SELECT count(*) FROM archer") == [(stored + 1,)]
    assert_whole(storage.path)


def test_a_locked_file_is_said_when_the_book_is_opened(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    open_book(tmp_path).close()
    path = tmp_path / BOOK_FILE
    connect = sqlite3.connect
    with contextlib.closing(connect(path, isolation_level=None)) as other:
        other.execute("PRAGMA locking_mode=EXCLUSIVE")  # with the newer journal only this keeps readers out too
        other.execute("BEGIN EXCLUSIVE")
        monkeypatch.setattr(sqlite3, "connect", lambda *given, **more: connect(*given, **{**more, "timeout": 0.05}))
        with pytest.raises(BookBusy, match="Another program holds the book"):
            bring_up_to_date(path)
        monkeypatch.undo()
        other.execute("ROLLBACK")
    open_book(tmp_path).close()


# As anybody but root: root may write anything. What is loaded is loaded before, from a folder that others may not read.
READ_ONLY_CHILD = """
import os, sys
from pathlib import Path
sys.path.insert(0, sys.argv[2])
import proofyard.serving, proofyard.app
from proofyard.opening import HeldFolder, open_book
from proofyard.storage import StorageTrouble
from tests import kit_for_tests as kit
if os.geteuid() == 0:
    os.setgid(65534)
    os.setuid(65534)
try:
    if sys.argv[3] == "folder":
        HeldFolder(Path(sys.argv[1]))
    storage = open_book(Path(sys.argv[1]))
    kit.archer(storage, "Tallow")
    print("saved")
except StorageTrouble as trouble:
    print(type(trouble).__name__, trouble)
"""


@pytest.mark.skipif(os.name == "nt", reason="rights are another thing there")
@pytest.mark.parametrize("what", ["file", "folder"])
def test_a_file_or_folder_that_can_not_be_written_is_said_and_left_alone(what: str) -> None:
    folder = Path(tempfile.mkdtemp(prefix="proofyard-read-only-"))
    try:
        storage = open_book(folder)
        kit.archer(storage, "Wren")
        storage.close()
        book = folder / BOOK_FILE
        os.chmod(book, 0o444)
        os.chmod(folder, 0o555)
        before = book.read_bytes()
        line = [sys.executable, "-c", READ_ONLY_CHILD, str(folder), str(REPOSITORY), what]
        done = subprocess.run(line, cwd=REPOSITORY, env=environment(), capture_output=True, text=True, check=False)
        assert done.returncode == 0, done.stderr
        assert done.stdout.startswith(BookReadOnly.__name__), done.stdout
        assert ("Choose one with --data" if what == "folder" else "Nothing was saved") in done.stdout
        assert book.read_bytes() == before
    finally:
        os.chmod(folder, 0o755)
        shutil.rmtree(folder)


def test_a_folder_held_by_one_program_is_not_opened_by_a_second(tmp_path: Path) -> None:
    script = "import sys\nfrom pathlib import Path\nfrom proofyard.opening import HeldFolder\nHeldFolder(Path(sys.argv[1]))\nprint('held')"
    line = [sys.executable, "-c", script, str(tmp_path)]
    with HeldFolder(tmp_path):
        second = subprocess.run(line, cwd=REPOSITORY, env=environment(), capture_output=True, text=True, check=False)
        assert second.returncode != 0
        assert f"is open already, by process {os.getpid()}" in second.stderr
        with pytest.raises(BookBusy, match="Stop that one first, or use --data"):
            HeldFolder(tmp_path)
    third = subprocess.run(line, cwd=REPOSITORY, env=environment(), capture_output=True, text=True, check=False)
    assert third.stdout == "held\n", third.stderr


def test_who_reads_while_the_book_is_closed_holds_its_file_no_longer_than_that(tmp_path: Path) -> None:
    """What the search makes at a start may still read when a group's book is closed: nothing of it may lie beside the book after."""
    book = open_book(tmp_path)
    journal = tmp_path / f"{BOOK_FILE}-wal"
    kit.recorder(book)
    gc.disable()  # the file is let go of by us, not when memory happens to be swept
    try:
        with book.read() as session:
            ask(session)
            book.close()
            ask(session)
        with book.read() as session:
            ask(session)
        book.end(within_s=5)
        assert not journal.exists()
    finally:
        gc.enable()


def ask(session: Session) -> None:
    assert session.connection().exec_driver_sql("SELECT count(*) FROM device").scalar_one() == 1
