"""The command: its words, its exit codes, backup, restore and check, run in this process on folders of their own."""

from __future__ import annotations

import errno
import re
import shutil
import socket
import subprocess
import sys
import zipfile
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from proofyard import cli, opening, serving
from proofyard.access.seats import hash_of
from proofyard.book_file import library as sqlite3
from proofyard.exchange import restore as restoring
from proofyard.exchange.backup import NotCopied, backup, rows_in
from proofyard.exchange.data_dictionary import FILES
from proofyard.exchange.file_forms import FILE_FORMS, name_in_form
from proofyard.exchange.restore import NotRestored, look_inside, restore
from proofyard.opening import HeldFolder, newest_form, open_book
from proofyard.records import devices
from proofyard.settings import BOOK_FILE
from proofyard.storage import BookDamaged, BookFull, BookNewer
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.conftest import House, copied

REPOSITORY = Path(__file__).resolve().parents[1]


def test_help_names_every_command_and_loads_nothing_heavy() -> None:
    script = (
        "import sys\nfrom proofyard import cli\ntry:\n    cli.main(['--help'])\nexcept SystemExit:\n    pass\n"
        "print(sorted({m.split('.')[0] for m in sys.modules} & {'fastapi', 'sqlmodel', 'sqlalchemy', 'pint', 'numpy', 'uvicorn', "
        "'segno'}))"
    )
    done = subprocess.run([sys.executable, "-c", script], cwd=REPOSITORY, capture_output=True, text=True, check=True)
    for name in ("serve", "demo", "export", "backup", "restore", "check"):
        assert f"\n    {name} " in done.stdout
    assert done.stdout.splitlines()[-1] == "[]"


@pytest.mark.parametrize("port", ["-1", "70000", "http", "8014.5", "٨٠"])
def test_a_port_that_is_none_is_refused_with_an_example(port: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as left:
        cli.main(["serve", f"--port={port}"])
    assert left.value.code == 2
    assert "for example 8014" in capsys.readouterr().err


def test_a_fault_of_ours_is_not_dressed_up_as_a_refusal(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr(serving, "serve", broken)
    with pytest.raises(ZeroDivisionError):
        cli.main(["serve", "--data", str(tmp_path)])


def test_a_taken_port_is_said_with_what_to_do(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        assert cli.main(["serve", "--data", str(tmp_path), "--host", "127.0.0.1", "--port", str(port)]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert f"Another program listens at port {port} already" in said.err
    assert f"proofyard serve --port {port + 1}" in said.err
    assert not (tmp_path / BOOK_FILE).exists()


def test_an_address_that_is_not_this_machines_is_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["serve", "--data", str(tmp_path), "--host", "203.0.113.7", "--port", "0"]) == 2
    assert "203.0.113.7 is not an address of this machine" in capsys.readouterr().err


def test_a_port_that_needs_rights_is_said() -> None:
    assert "above 1024" in serving._why_not(OSError(errno.EACCES, "no"), "0.0.0.0", 80)


def test_a_book_that_is_served_already_is_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with HeldFolder(tmp_path):
        assert cli.main(["serve", "--data", str(tmp_path), "--port", "0"]) == 2
        assert cli.main(["demo", "--data", str(tmp_path)]) == 2
    assert capsys.readouterr().err.count("Stop that one first, or use --data with another folder.") == 2


def test_small_answers_do_not_wait_for_each_other() -> None:
    """asyncio sets TCP_NODELAY only on a socket that says it is TCP; without it each answer took 40 ms longer."""
    with closing(serving.listening_socket("127.0.0.1", 0)) as listener:
        assert listener.proto == socket.IPPROTO_TCP


class _Adapter:
    def __init__(self, name: str, *ips: object) -> None:
        self.name = name
        self.ips = [type("Ip", (), {"ip": ip})() for ip in ips]


def test_the_address_for_phones_is_the_private_one_of_a_real_adapter(monkeypatch: pytest.MonkeyPatch) -> None:
    import ifaddr

    found = [
        _Adapter("lo", "127.0.0.1", ("::1", 0, 0)),
        _Adapter("docker0", "172.17.0.1"),
        _Adapter("eth1", "169.254.3.4", ("fe80::1", 0, 2)),
        _Adapter("wwan0", "9.8.7.6"),
        _Adapter("wlan0", "192.168.4.20", ("fd00::20", 0, 0)),
    ]
    monkeypatch.setattr(ifaddr, "get_adapters", lambda: found)
    assert serving.own_addresses() == ["192.168.4.20", "9.8.7.6", "169.254.3.4", "172.17.0.1"]
    assert serving.own_addresses("::") == ["192.168.4.20", "9.8.7.6", "fd00::20", "169.254.3.4", "172.17.0.1"]
    assert serving.own_addresses("127.0.0.1") == []
    assert serving.own_addresses("10.1.1.1") == ["10.1.1.1"]


def test_the_square_code_is_left_out_where_the_terminal_can_not_show_it(monkeypatch: pytest.MonkeyPatch) -> None:
    class Old:
        encoding = "ascii"

    assert len(serving.square_code("http://192.168.4.20:8014/join").splitlines()) > 12
    monkeypatch.setattr(sys, "stdout", Old())
    assert serving.square_code("http://192.168.4.20:8014/join") == ""


# --- the example


def test_the_example_fills_an_empty_book_and_no_other(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["demo", "--data", str(tmp_path)]) == 0
    assert "invented" in capsys.readouterr().out
    before = (tmp_path / BOOK_FILE).read_bytes()
    assert cli.main(["demo", "--data", str(tmp_path)]) == 2
    assert "Use --data with an empty folder." in capsys.readouterr().err
    assert (tmp_path / BOOK_FILE).read_bytes() == before
    with closing(open_book(tmp_path)) as storage, storage.read() as session:
        book = devices.the_book(session)
        assert book is not None and book.demo


def test_no_example_is_put_among_somebodys_own_kit(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with closing(open_book(tmp_path)) as storage:
        kit.bow(storage)
    assert cli.main(["serve", "--demo", "--data", str(tmp_path), "--host", "127.0.0.1", "--port", "0"]) == 2
    assert "no example was put among them" in capsys.readouterr().err


# --- backup


@pytest.fixture
def folder(tmp_path: Path, empty_book_file: Path) -> Path:
    """A folder with a book: Wren, a phone that is in, and one that asks."""
    made = copied(empty_book_file, tmp_path / "yard")
    with closing(open_book(made)) as storage:
        with storage.write() as session:
            devices.make_book(session)
            devices.add_device(session, call_name="Wren", role="archer", session_hash=hash_of("wrens"))
        kit.archer(storage, "Wren")
    return made


def names(book: Path) -> list[str]:
    with closing(sqlite3.connect(book)) as connection:
        return [row[0] for row in connection.execute("SELECT call_name FROM archer ORDER BY id")]


def test_a_backup_holds_what_the_book_holds_and_says_so(folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    to = tmp_path / "stick" / "copy.db"
    assert cli.main(["backup", str(to), "--data", str(folder)]) == 0
    said = capsys.readouterr().out
    assert f"Copied to {to}" in said and "archer: 1" in said
    assert names(to) == ["Wren"]
    with closing(sqlite3.connect(to)) as copy, closing(sqlite3.connect(folder / BOOK_FILE)) as book:
        assert rows_in(copy) == rows_in(book)
    assert [path.name for path in to.parent.iterdir()] == ["copy.db"]


def test_a_backup_without_a_name_lies_in_the_books_folder(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["backup", "--data", str(folder)]) == 0
    (made,) = (folder / "backups").glob("*.zip")
    with zipfile.ZipFile(made) as packed:
        packed.extract(BOOK_FILE, folder / "unpacked")
    assert names(folder / "unpacked" / BOOK_FILE) == ["Wren"]


def test_a_backup_into_a_folder_that_is_there_gets_a_name_with_date_and_time(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    there = tmp_path / "stick"
    there.mkdir()
    assert cli.main(["backup", str(there), "--data", str(folder)]) == 0
    (made,) = there.iterdir()
    assert re.fullmatch(r"proofyard-\d{8}-\d{6}[.]zip", made.name) and str(made) in capsys.readouterr().out


def test_a_backup_writes_over_nothing(folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    there = tmp_path / "holiday.db"
    there.write_text("photos")
    assert cli.main(["backup", str(there), "--data", str(folder)]) == 2
    assert "never writes over anything" in capsys.readouterr().err
    assert there.read_text() == "photos"


def test_nothing_to_copy_is_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["backup", str(tmp_path / "copy.db"), "--data", str(tmp_path / "none")]) == 2
    assert "There is no book in" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_a_damaged_book_gives_no_backup(folder: Path, tmp_path: Path) -> None:
    path = folder / BOOK_FILE
    content = bytearray(path.read_bytes())
    for start in range(8192, len(content) - 4096, 12288):
        content[start : start + 4096] = b"\xa5" * 4096
    path.write_bytes(bytes(content))
    with pytest.raises(BookDamaged):
        backup(path, tmp_path / "copy.db")
    assert not (tmp_path / "copy.db").exists()


def test_a_backup_taken_while_somebody_saves_is_the_book_of_one_moment(folder: Path, tmp_path: Path) -> None:
    """Another process saves pairs of records in one commit each; every copy must hold whole pairs."""
    script = """
import sys
from pathlib import Path
from proofyard.opening import open_book
from proofyard.records.ids import new_id
from tests import kit_for_tests as kit
storage = open_book(Path(sys.argv[1]))
kit.recorder(storage)
print("ready", flush=True)
for number in range(10_000):
    kit.put_all(storage, [("bow", {"name": f"Bow {number}"}), ("archer", {"call_name": f"Archer {number}"})])
"""
    line = [sys.executable, "-c", script, str(folder)]
    with subprocess.Popen(line, cwd=REPOSITORY, stdout=subprocess.PIPE, text=True) as child:
        try:
            assert child.stdout and child.stdout.readline() == "ready\n"
            held = []
            for number in range(12):
                made = backup(folder / BOOK_FILE, tmp_path / f"copy-{number}.db")
                assert made.counts["archer"] == made.counts["bow"] + 1  # Wren was there before
                assert made.counts["revision"] == made.counts["device"] + made.counts["archer"] + made.counts["bow"]
                held.append(made.counts["bow"])
            assert held == sorted(held) and held[-1] > held[0], "nobody saved meanwhile, so this tests nothing"
            assert child.poll() is None
        finally:
            child.kill()


# --- restore


@pytest.fixture
def copy(folder: Path, tmp_path: Path) -> Path:
    """A backup of that book; since then Tallow was added."""
    made = tmp_path / "copy.db"
    backup(folder / BOOK_FILE, made)
    with closing(open_book(folder)) as storage:
        kit.archer(storage, "Tallow")
    return made


def epoch(book: Path) -> str:
    with closing(sqlite3.connect(book)) as connection:
        return str(connection.execute("SELECT epoch FROM book").fetchone()[0])


def test_without_yes_nothing_is_changed(folder: Path, copy: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    assert cli.main(["restore", str(copy), "--data", str(folder)]) == 0
    said = capsys.readouterr().out
    assert f"a book of form {newest_form()}" in said and "archer: 1" in said and "Nothing was changed" in said
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before


def test_a_restored_book_is_the_backup_with_a_new_epoch_and_the_old_book_is_kept(
    folder: Path, copy: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.main(["restore", str(copy), "--data", str(folder), "--yes"]) == 0
    assert names(folder / BOOK_FILE) == ["Wren"]
    assert epoch(folder / BOOK_FILE) != epoch(copy)
    (aside,) = folder.glob("*-before-restore-*.db")
    assert names(aside) == ["Wren", "Tallow"]
    assert aside.name in capsys.readouterr().out
    assert not list(folder.glob("*.part*"))
    with closing(open_book(folder)) as storage:
        kit.archer(storage, "Pip")
    assert names(folder / BOOK_FILE) == ["Wren", "Pip"]


def test_a_book_can_be_restored_where_there_was_none(copy: Path, tmp_path: Path) -> None:
    done = restore(copy, tmp_path / "new laptop")
    assert done.aside is None
    assert names(tmp_path / "new laptop" / BOOK_FILE) == ["Wren"]


def seats(book: Path) -> list[bytes]:
    with closing(sqlite3.connect(book)) as connection:
        return [row[0] for row in connection.execute("SELECT session_hash FROM device WHERE session_hash IS NOT NULL")]


def test_a_phone_stays_in_only_if_the_book_before_knew_it_the_same_way(folder: Path, copy: Path, tmp_path: Path) -> None:
    with closing(sqlite3.connect(copy)) as connection, connection:
        connection.execute(
            "INSERT INTO device (id, call_name, role, session_hash, agent, asked_at) VALUES (?, 'Me', 'owner', ?, '', 0)",
            ("0190a000-0000-7000-8000-000000000001", hash_of("planted")),
        )
    restore(copy, folder)
    assert seats(folder / BOOK_FILE) == [hash_of("wrens")]
    restore(copy, tmp_path / "new laptop")
    assert seats(tmp_path / "new laptop" / BOOK_FILE) == []


def test_a_phone_that_was_removed_since_the_backup_stays_out(folder: Path, copy: Path) -> None:
    with closing(open_book(folder)) as storage, storage.write() as session:
        wren = devices.device_of_session(session, hash_of("wrens"))
        assert wren is not None
        devices.change_role(session, wren, "out", why="lost")
    restore(copy, folder)
    assert seats(folder / BOOK_FILE) == []


def test_the_served_book_is_not_replaced_under_the_server(folder: Path, copy: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with HeldFolder(folder):
        assert cli.main(["restore", str(copy), "--data", str(folder), "--yes"]) == 2
    assert "is open already" in capsys.readouterr().err
    assert names(folder / BOOK_FILE) == ["Wren", "Tallow"]


def test_a_damaged_book_is_kept_byte_by_byte_and_replaced(folder: Path, copy: Path) -> None:
    (folder / BOOK_FILE).write_bytes(b"not a book any more" * 500)
    done = restore(copy, folder)
    assert done.aside is not None and done.aside.read_bytes() == b"not a book any more" * 500
    assert names(folder / BOOK_FILE) == ["Wren"]
    assert seats(folder / BOOK_FILE) == []


def test_what_was_half_written_in_the_old_book_does_not_reach_the_restored_one(folder: Path, copy: Path) -> None:
    script = """
import os, sqlite3, sys
book = sqlite3.connect(sys.argv[1], isolation_level=None)
book.execute("PRAGMA journal_mode=DELETE"); book.execute("PRAGMA cache_size=1"); book.execute("BEGIN IMMEDIATE")
book.executemany("INSERT INTO archer (id, rev, typed, call_name) VALUES (?, 1, '{}', ?)", ((str(n), f"{n:200}") for n in range(2000)))
os.kill(os.getpid(), 9)
"""
    subprocess.run([sys.executable, "-c", script, str(folder / BOOK_FILE)], check=False)
    assert (folder / f"{BOOK_FILE}-journal").exists()
    done = restore(copy, folder)
    assert done.aside is not None and names(done.aside) == ["Wren", "Tallow"]
    assert names(folder / BOOK_FILE) == ["Wren"]
    assert look_inside(folder / BOOK_FILE).counts["archer"] == 1


def run_sql(*statements: str) -> Callable[[Path], None]:
    def change(path: Path) -> None:
        with closing(sqlite3.connect(path)) as connection, connection:
            for statement in statements:
                connection.execute(statement)

    return change


def cut_off(path: Path) -> None:
    path.write_bytes(path.read_bytes()[:-20_000])


def two_in_one(path: Path) -> None:
    """Two tables on the same pages: a row of the one shows in the other. The words of the layout stay the same."""
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("PRAGMA writable_schema=ON")
        page = connection.execute("SELECT rootpage FROM sqlite_master WHERE name = 'archer'").fetchone()[0]
        connection.execute("UPDATE sqlite_master SET rootpage = ? WHERE name = 'bow'", (page,))


HOSTILE: dict[str, tuple[Callable[[Path], object], str]] = {
    "a text": (lambda path: path.write_text("Dear reader\n" * 900), "is not a Proofyard book"),
    "empty": (lambda path: path.write_bytes(b""), "is not a file with a book in it"),
    "cut off": (cut_off, "whole"),
    "a trigger": (run_sql("CREATE TRIGGER t AFTER INSERT ON shot BEGIN DELETE FROM revision; END"), "is not laid out as a book of form "),
    "a view in the place of a table": (run_sql("DROP TABLE arrow_check", "CREATE VIEW arrow_check AS SELECT 1"), "is not laid out as"),
    "a column more": (run_sql("ALTER TABLE archer ADD COLUMN more TEXT"), "is not laid out as"),
    "an index less": (run_sql("DROP INDEX ix_speed_reading_shot_id"), "is not laid out as"),
    "a table with a steering name": (run_sql('CREATE TABLE "\x1b[2J" (a)'), r"\\x1b"),
    "two tables in one place": (two_in_one, "whole"),
    "links that lead nowhere": (
        run_sql("INSERT INTO shooting_end (id, rev, typed, setup_id) VALUES ('w', 1, '{}', 'nowhere')"),
        "links lead nowhere",
    ),
    "two books": (run_sql("INSERT INTO book (book_id, epoch, demo, made_at) VALUES ('b', 'e', 0, 0)"), "names 2 books"),
    "no form": (run_sql("DELETE FROM alembic_version"), "which form"),
    "a form that is none": (run_sql("UPDATE alembic_version SET version_num = '../9'"), "which form"),
    "another program's file": (lambda path: (path.unlink(), run_sql("CREATE TABLE hens (name)")(path)), "is not a Proofyard book"),
    "in use": (lambda path: path.with_name(path.name + "-wal").write_bytes(b"x"), "in use or half written"),
}


@pytest.mark.parametrize("how", HOSTILE)
def test_a_hostile_or_broken_file_is_refused_in_words_and_the_book_stays(
    how: str, folder: Path, copy: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    harm, words = HOSTILE[how]
    harm(copy)
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    for more in ([], ["--yes"]):
        assert cli.main(["restore", str(copy), "--data", str(folder), *more]) == 2
        said = capsys.readouterr().err
        assert words.replace("\\\\", "\\") in said and "Nothing was changed." in said, said
        assert "\x1b" not in said
    after = {path.name: path.read_bytes() for path in folder.iterdir() if path.name != opening.LOCK_FILE}
    assert after == {name: content for name, content in before.items() if name != opening.LOCK_FILE}


def test_a_newer_backup_wants_the_newer_program(folder: Path, copy: Path) -> None:
    run_sql("UPDATE alembic_version SET version_num = '0999'")(copy)
    with pytest.raises(BookNewer, match="Install that one. Nothing was changed."):
        restore(copy, folder)


def test_a_file_that_is_too_big_is_not_even_opened(folder: Path, copy: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(restoring, "MOST_BYTES", 1000)
    with pytest.raises(NotRestored, match="at most"):
        restore(copy, folder)


def test_no_room_for_both_books_is_said_before_anything_is_written(folder: Path, copy: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(shutil, "disk_usage", lambda _: type("Usage", (), {"free": 1000})())
    with pytest.raises(BookFull, match="Nothing was changed"):
        restore(copy, folder)
    assert names(folder / BOOK_FILE) == ["Wren", "Tallow"]


def test_the_book_is_not_restored_from_itself(folder: Path) -> None:
    with pytest.raises(NotRestored, match="is the book itself"):
        restore(folder / BOOK_FILE, folder)


def test_a_name_taken_by_a_folder_gives_no_backup(folder: Path, tmp_path: Path) -> None:
    with pytest.raises(NotCopied):
        backup(folder / BOOK_FILE, tmp_path)


# --- check


def test_check_says_versions_wholeness_room_addresses_and_durability(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["check", "--data", str(folder)]) == 0
    said = capsys.readouterr().out
    for words in (
        "Proofyard:",
        f"SQLite {sqlite3.sqlite_version}",
        "synchronous",
        "Is the file complete?: yes",
        "Room on the disk",
        "Addresses for phones",
    ):
        assert words in said


def test_check_finds_a_file_that_is_no_book(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / BOOK_FILE).write_text("Shots of Saturday" * 100)
    assert cli.main(["check", "--data", str(tmp_path)]) == 1
    assert "! Book" in capsys.readouterr().out


# --- export


@pytest.mark.parametrize("target", ["csv", "season.zip"])
@pytest.mark.parametrize("form", FILE_FORMS)
def test_an_export_is_what_the_download_page_gives(
    target: str, form: str, house: House, owner: TestClient, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    kit.read_shot(house.storage, kit.yard(house.storage), note="=2+2")
    to = tmp_path / "out" / target
    assert cli.main(["export", str(to), "--data", str(house.storage.path.parent), "--form", form]) == 0
    assert f"{name_in_form('shots.csv', form)}  1 rows" in capsys.readouterr().out
    if target == "csv":
        written = {path.name: path.read_bytes() for path in to.iterdir()}
    else:
        with zipfile.ZipFile(to) as archive:
            written = {name: archive.read(name) for name in archive.namelist()}
        assert [path.name for path in to.parent.iterdir()] == [target]
    assert set(written) == {name_in_form(name, form) for name in FILES}
    for name in FILES:
        assert written[name_in_form(name, form)] == owner.get(f"/download/{name}?form={form}").content, name


@pytest.mark.parametrize("target", ["csv", "season.zip"])
def test_an_export_writes_over_nothing(target: str, folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    to = tmp_path / target
    assert cli.main(["export", str(to), "--data", str(folder)]) == 0
    assert cli.main(["export", str(to), "--data", str(folder)]) == 2
    assert "never writes over anything" in capsys.readouterr().err


def test_an_export_of_no_book_or_a_newer_one_is_refused(folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["export", str(tmp_path / "out"), "--data", str(tmp_path / "none")]) == 2
    run_sql("UPDATE alembic_version SET version_num = '0999'")(folder / BOOK_FILE)
    assert cli.main(["export", str(tmp_path / "out"), "--data", str(folder)]) == 2
    said = capsys.readouterr().err
    assert "There is no book in" in said and "Install the newer program." in said
    assert not (tmp_path / "out").exists()
