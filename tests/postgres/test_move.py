"""A book moved to PostgreSQL and back is the same book, whatever stops it on the way."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from contextlib import closing
from hashlib import sha256
from io import BytesIO
from pathlib import Path

import pytest
from proofyard import book_file
from proofyard.exchange.package.packing import write_package
from proofyard.moving.database import Database
from proofyard.moving.ends import File, sums_of
from proofyard.moving.move import NotMoved, move
from proofyard.opening import open_book
from proofyard.postgres.book import PostgresBook, url_of
from proofyard.postgres.forms import refuse_moved
from proofyard.settings import BOOK_FILE
from proofyard.storage import BookDamaged, Storage

from tests.conftest import copied
from tests.postgres_for_tests import Server


def package_of(book: Storage) -> str:
    with closing(book):
        file = BytesIO()
        write_package(book, file)
    return sha256(file.getvalue()).hexdigest()


def sums_in(folder: Path) -> dict[str, str]:
    with closing(File(folder, target=False)) as file:
        return sums_of(file)


@pytest.mark.slow
def test_there_and_back_every_value_and_the_data_package_are_the_same(demo_book_file: Path, postgres: Server, tmp_path: Path) -> None:
    here, address = copied(demo_book_file, tmp_path / "here"), postgres.new_database()
    before, packed = sums_in(here), package_of(Storage(here / BOOK_FILE))
    there = move(str(here), address)
    assert there.kept is not None and there.kept.exists() and not (here / BOOK_FILE).exists()
    assert there.rows > 3000 and package_of(PostgresBook(here / BOOK_FILE, url_of(address))) == packed
    move(address, str(here))
    assert sums_in(here) == before
    assert package_of(open_book(here)) == packed
    with pytest.raises(BookDamaged, match="was moved away"):
        refuse_moved(url_of(address))
    with pytest.raises(NotMoved, match="not empty"):
        move(str(here), address)


def test_what_is_no_move_is_refused_and_nothing_is_changed(empty_book_file: Path, postgres: Server, tmp_path: Path) -> None:
    here = copied(empty_book_file, tmp_path / "here")
    with pytest.raises(NotMoved, match="between a folder and PostgreSQL"):
        move(str(here), str(tmp_path / "there"))
    with pytest.raises(NotMoved, match="There is no book"):
        move(str(tmp_path / "none"), postgres.new_database())
    with pytest.raises(NotMoved, match="There is a book in"):
        move(postgres.new_database("empty_book"), str(here))
    assert (here / BOOK_FILE).exists()


def test_a_value_changed_on_the_way_is_found(
    empty_book_file: Path, postgres: Server, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    here, address = copied(empty_book_file, tmp_path / "here"), postgres.new_database()
    with closing(book_file.connect(here / BOOK_FILE)) as file:
        file.execute("INSERT INTO archer (id, rev, typed, call_name, draw_length_m) VALUES ('a', 1, '{}', 'Wren', 0.0127)")
    put = Database.put
    monkeypatch.setattr(Database, "put", lambda self, table, columns, rows: put(self, table, columns, [
        tuple(0.01269999984645 if one == 0.0127 else one for one in row) for row in rows
    ]))  # fmt: skip
    with pytest.raises(NotMoved, match="of “archer” is not the same"):
        move(str(here), address)
    assert (here / BOOK_FILE).exists()
    with pytest.raises(BookDamaged, match="only half moved"):
        refuse_moved(url_of(address))


REPOSITORY = Path(__file__).resolve().parents[2]
COMMAND = [sys.executable, "-m", "proofyard.cli", "move"]


def killed_after(lines: int, source: str, target: str) -> bool:
    """Run the command and kill it when it has said so much; whether it was done before."""
    said = {**os.environ, "PYTHONPATH": str(REPOSITORY / "server")}
    child = subprocess.Popen([*COMMAND, source, target], stdout=subprocess.PIPE, text=True, env=said)
    assert child.stdout is not None
    for n, _ in enumerate(child.stdout, 1):
        if n >= lines:
            child.kill()
            break
    child.stdout.close()
    return child.wait() == 0


@pytest.mark.long
@pytest.mark.parametrize("to_database", [True, False], ids=["to the database", "to a file"])
def test_killed_at_twenty_points_it_goes_on_and_ends_the_same(
    demo_book_file: Path, postgres: Server, tmp_path: Path, to_database: bool
) -> None:
    here, address = copied(demo_book_file, tmp_path / "here"), postgres.new_database()
    before = sums_in(here)
    source, target = str(here), address
    if not to_database:
        move(source, target)
        source, target = address, str(tmp_path / "back")
        Path(target).mkdir()
    kills = sum(not killed_after(n % 4 + 1, source, target) for n in range(20))
    assert kills >= 10
    done = move(source, target)
    assert done.went_on
    if to_database:
        with closing(Database(url_of(address), target=True)) as there:
            assert sums_of(there) == before
    else:
        assert sums_in(Path(target)) == before


@pytest.mark.slow
def test_what_was_stopped_goes_on_if_the_source_is_the_same_and_begins_again_if_not(
    demo_book_file: Path, postgres: Server, tmp_path: Path
) -> None:
    here, address = copied(demo_book_file, tmp_path / "here"), postgres.new_database()

    def stopped_after(some: int):  # type: ignore[no-untyped-def]
        def tell(_: str) -> None:
            nonlocal some
            some -= 1
            if not some:
                raise KeyboardInterrupt

        return tell

    for _ in range(2):
        with pytest.raises(KeyboardInterrupt):
            move(str(here), address, tell=stopped_after(3))
    other = copied(here / BOOK_FILE, tmp_path / "other")
    with closing(book_file.connect(other / BOOK_FILE)) as file:
        file.execute("UPDATE archer SET call_name = call_name || '!'")
    shutil.copyfile(other / BOOK_FILE, here / BOOK_FILE)
    with pytest.raises(KeyboardInterrupt):
        move(str(here), address, tell=stopped_after(5))
    before = sums_in(here)
    assert move(str(here), address).went_on
    with closing(Database(url_of(address), target=True)) as there:
        assert sums_of(there) == before
