"""A newer book, a file that is no book, an upgrade that is cut off: said in words, and the file as it was."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from contextlib import closing
from dataclasses import replace
from hashlib import sha256
from pathlib import Path

import pytest
from proofyard import opening, settings
from proofyard.book_file import beside
from proofyard.book_file import library as sqlite3
from proofyard.opening import bring_up_to_date, form_of, make_empty, newest_form, open_book
from proofyard.records.apply import apply
from proofyard.records.ids import new_id
from proofyard.records.operations import Operation
from proofyard.settings import BOOK_FILE
from proofyard.storage import BookDamaged, BookFull, BookNewer, durability_for

from tests import kit_for_tests as kit
from tests.faults.a_real_server import REPOSITORY, ask_book, assert_whole, environment, run

NOW = newest_form()
NEXT = '''"""A table more."""
from alembic import op
revision, down_revision, branch_labels, depends_on = "9001", "{now}", None, None

def upgrade():
    op.execute("CREATE TABLE cache_for_test (id TEXT NOT NULL PRIMARY KEY) STRICT")
    op.execute("UPDATE archer SET call_name = 'half way'")
    {then}
'''


@pytest.fixture
def book_of_wren(tmp_path: Path) -> Path:
    storage = open_book(tmp_path)
    kit.archer(storage, "Wren")
    storage.close()
    return tmp_path / BOOK_FILE


def _migrations(tmp_path: Path, then: str) -> Path:
    """The program's migrations and one more, which ends as `then` says."""
    folder = tmp_path / "newer program" / "migrations"
    shutil.copytree(settings.data_folder("migrations"), folder, ignore=shutil.ignore_patterns("__pycache__"))
    (folder / "versions" / "9001_a_table_more.py").write_text(NEXT.format(then=then, now=NOW))
    return folder


def test_a_newer_book_is_refused_and_left_as_it_is(book_of_wren: Path) -> None:
    with closing(sqlite3.connect(book_of_wren)) as connection, connection:
        connection.execute("UPDATE alembic_version SET version_num = '0999'")
    before = book_of_wren.read_bytes()
    with pytest.raises(BookNewer, match="newer Proofyard"):
        bring_up_to_date(book_of_wren)
    assert book_of_wren.read_bytes() == before
    assert sorted(path.name for path in book_of_wren.parent.iterdir()) == [BOOK_FILE]


def _damage(path: Path, how: str) -> None:
    if how == "a text":
        path.write_text("Shots of Saturday\n" * 400)
    elif how == "another program's file":
        with closing(sqlite3.connect(path)) as connection, connection:
            connection.execute("CREATE TABLE hens (name TEXT)")
    elif how == "cut off":
        path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    elif how == "overwritten inside":
        content = bytearray(path.read_bytes())
        page = 4096
        for start in range(2 * page, len(content) - page, 3 * page):
            content[start : start + page] = b"\xa5" * page
        path.write_bytes(bytes(content))


@pytest.mark.parametrize("how", ["a text", "another program's file", "cut off", "overwritten inside"])
def test_serve_refuses_what_is_no_whole_book_in_one_sentence_and_touches_nothing(tmp_path: Path, how: str) -> None:
    path = tmp_path / BOOK_FILE
    if how != "another program's file":
        open_book(tmp_path).close()
    _damage(path, how)
    before = path.read_bytes()
    done = run("serve", "--data", tmp_path, "--host", "127.0.0.1", "--port", "0")
    assert done.returncode == 2, done.stdout + done.stderr
    assert "Traceback" not in done.stderr
    assert "whole" in done.stderr and len(done.stderr.strip().splitlines()) == 1, done.stderr
    assert path.read_bytes() == before
    assert run("check", "--data", tmp_path).returncode == 1


def test_serve_refuses_a_newer_book_with_exit_code_2_and_without_a_trace(book_of_wren: Path) -> None:
    with closing(sqlite3.connect(book_of_wren)) as connection, connection:
        connection.execute("UPDATE alembic_version SET version_num = '0999'")
    book_of_wren.chmod(0o600)  # as the program leaves it: what it mends it would say
    done = run("serve", "--data", book_of_wren.parent, "--host", "127.0.0.1", "--port", "0")
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith("This book was written by a newer Proofyard")
    assert "Traceback" not in done.stderr


def test_an_upgrade_that_fails_leaves_the_old_form_and_a_safe_copy(
    book_of_wren: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = _migrations(tmp_path, "raise RuntimeError('cut off')")
    monkeypatch.setattr(opening, "data_folder", lambda name: folder)
    with pytest.raises(RuntimeError, match="cut off"):
        bring_up_to_date(book_of_wren)
    assert form_of(book_of_wren) == NOW
    assert ask_book(book_of_wren, "SELECT call_name FROM archer") == [("Wren",)]
    assert not ask_book(book_of_wren, "SELECT 1 FROM sqlite_master WHERE name = 'cache_for_test'")
    assert_whole(book_of_wren)
    copy = next(tmp_path.glob(f"*-before-upgrade-from-{NOW}-*.db"))
    assert ask_book(copy, "SELECT call_name FROM archer") == [("Wren",)]


def test_an_upgrade_whose_links_lead_nowhere_is_taken_back(book_of_wren: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = _migrations(tmp_path, "op.execute(\"INSERT INTO shooting_end (id, rev, typed, setup_id) VALUES ('w', 1, '{{}}', 'nowhere')\")")
    monkeypatch.setattr(opening, "data_folder", lambda name: folder)
    with pytest.raises(BookDamaged, match="1 links in the book lead nowhere"):
        bring_up_to_date(book_of_wren)
    assert form_of(book_of_wren) == NOW
    assert_whole(book_of_wren)


def test_an_upgrade_that_is_killed_half_way_is_taken_back_at_the_next_start(book_of_wren: Path, tmp_path: Path) -> None:
    # A cache of one page makes SQLite write to the file before the commit, as a big upgrade would.
    folder = _migrations(tmp_path, "op.execute('PRAGMA cache_size=1'); fill(op); os.kill(os.getpid(), 9)")
    script = folder / "versions" / "9001_a_table_more.py"
    rows = "op.execute(f\"INSERT INTO cache_for_test VALUES ('{number}{'x' * 300}')\")"
    script.write_text(f"import os\n\ndef fill(op):\n    for number in range(800):\n        {rows}\n\n" + script.read_text())
    child = (
        "import sys\nfrom pathlib import Path\nfrom proofyard import opening\nopening.data_folder = lambda name: Path(sys.argv[2])\n"
        "opening.bring_up_to_date(Path(sys.argv[1]))"
    )
    done = subprocess.run(
        [sys.executable, "-c", child, str(book_of_wren), str(folder)], cwd=REPOSITORY, env=environment(), capture_output=True, check=False
    )
    assert done.returncode == -9, done.stderr
    half_written = [path.stat().st_size for path in beside(book_of_wren)[:2] if path.exists()]
    assert sum(half_written) > 100_000, "nothing was half written, so this tests nothing"
    storage = open_book(tmp_path)
    storage.close()
    assert form_of(book_of_wren) == NOW
    assert ask_book(book_of_wren, "SELECT call_name FROM archer") == [("Wren",)]
    assert_whole(book_of_wren)


def test_an_upgrade_without_room_for_the_safe_copy_does_not_begin(
    book_of_wren: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = _migrations(tmp_path, "pass")
    monkeypatch.setattr(opening, "data_folder", lambda name: folder)

    def no_room(path: Path, was: str) -> Path:
        raise sqlite3.OperationalError("database or disk is full")

    monkeypatch.setattr(opening, "_safe_copy", no_room)
    before = book_of_wren.read_bytes()
    with pytest.raises(BookFull, match="Make room"):
        bring_up_to_date(book_of_wren)
    assert book_of_wren.read_bytes() == before


def test_an_upgrade_that_works_keeps_a_safe_copy_of_the_older_form(
    book_of_wren: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = _migrations(tmp_path, "pass")
    monkeypatch.setattr(opening, "data_folder", lambda name: folder)
    opened = bring_up_to_date(book_of_wren)
    assert (opened.was, opened.now) == (NOW, "9001")
    assert opened.copy is not None and form_of(opened.copy) == NOW
    assert ask_book(book_of_wren, "SELECT call_name FROM archer") == [("half way",)]
    assert ask_book(opened.copy, "SELECT call_name FROM archer") == [("Wren",)]


def test_a_phone_whose_answer_was_lost_before_the_renaming_is_known_when_it_sends_again_after_it(tmp_path: Path) -> None:
    """The phone renames what it holds too (static/js/range/upgrade.js): same id, same content, so its first answer."""
    path, op_id, reading = tmp_path / BOOK_FILE, new_id(), new_id()
    make_empty(path, "0007")
    before = Operation(op_id, "phone", "put", "shot_reading", reading, body={"hit": "fair_target", "way_in": "plate", "look_behind": "yes"})
    answer = {"op_id": op_id, "status": "applied", "record_id": reading, "rev": 1, "seq": 7, "problems": [], "warnings": [], "clashes": []}
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("INSERT INTO device (id, call_name, role, agent, asked_at) VALUES ('phone', 'Wren', 'archer', '', 1)")
        connection.execute(
            "INSERT INTO op (op_id, device_id, action, noun, record_id, base_rev, body, body_sha256, received, status, result)"
            " VALUES (?, 'phone', 'put', 'shot_reading', ?, 0, ?, ?, 1, 'applied', ?)",
            (op_id, reading, before.canonical().decode(), sha256(before.canonical()).digest(), json.dumps(answer)),
        )
    storage = open_book(tmp_path)
    with storage.write() as session:
        again = apply(session, replace(before, body={"hit": "on_panel", "entry": "plate", "rear_check": "yes"}))
    storage.close()
    assert (again.status, again.again, again.seq) == ("applied", True, 7)


# Source: https://www.sqlite.org/wal.html, section "The WAL-Reset Bug": in 3.7.0 to 3.51.2, mended in 3.51.3, and in
# the patch releases 3.50.7 and 3.44.6 of older lines.
@pytest.mark.parametrize(
    ("version", "journal"),
    [
        ((3, 40, 1), "DELETE"),
        ((3, 44, 5), "DELETE"),
        ((3, 44, 6), "WAL"),
        ((3, 44, 9), "WAL"),
        ((3, 45, 0), "DELETE"),
        ((3, 45, 6), "DELETE"),
        ((3, 49, 2), "DELETE"),
        ((3, 50, 4), "DELETE"),
        ((3, 50, 6), "DELETE"),
        ((3, 50, 7), "WAL"),
        ((3, 51, 0), "DELETE"),
        ((3, 51, 2), "DELETE"),
        ((3, 51, 3), "WAL"),
        ((3, 52, 0), "WAL"),
        ((4, 0, 0), "WAL"),
    ],
)
def test_the_newer_journal_is_used_only_where_its_bug_is_mended(version: tuple[int, int, int], journal: str) -> None:
    mode = durability_for(version)
    assert mode.journal == journal
    # DELETE needs EXTRA to be durable when the commit returns; WAL needs FULL (pragma synchronous, sqlite.org).
    assert mode.synchronous == {"WAL": "FULL", "DELETE": "EXTRA"}[journal]
    assert ".".join(map(str, version)) in mode.why


def test_the_writer_really_works_as_the_rule_says(tmp_path: Path) -> None:
    storage = open_book(tmp_path)
    mode = durability_for(sqlite3.sqlite_version_info)
    with storage.write() as session:
        connection = session.connection()
        said = {
            name: connection.exec_driver_sql(f"PRAGMA {name}").scalar_one()
            for name in ("journal_mode", "synchronous", "foreign_keys", "trusted_schema", "fullfsync")
        }
    storage.close()
    assert said == {
        "journal_mode": mode.journal.lower(),
        "synchronous": {"FULL": 2, "EXTRA": 3}[mode.synchronous],
        "foreign_keys": 1,
        "trusted_schema": 0,
        "fullfsync": 1,
    }


def test_the_reader_can_not_write(tmp_path: Path) -> None:
    from sqlalchemy.exc import OperationalError

    storage = open_book(tmp_path)
    with storage.read() as session, pytest.raises(OperationalError, match="readonly"):
        session.connection().exec_driver_sql("DELETE FROM archer")
    storage.close()
