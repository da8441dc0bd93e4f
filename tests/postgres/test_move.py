"""A book moved to PostgreSQL and back is the same book, whatever stops it on the way."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Iterable
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
from proofyard.opening import form_of, open_book
from proofyard.postgres.book import PostgresBook, url_of
from proofyard.postgres.forms import form_of_postgres, refuse_moved
from proofyard.settings import BOOK_FILE
from proofyard.storage import BookDamaged, Storage

from tests.conftest import copied
from tests.faults.a_real_server import ask_book
from tests.postgres_for_tests import Server


def package_of(book: Storage) -> str:
    with closing(book):
        file = BytesIO()
        write_package(book, file)
    return sha256(file.getvalue()).hexdigest()


def sums_in(folder: Path) -> dict[str, str]:
    with closing(File(folder, target=False)) as file:
        return sums_of(file)


def rows_of(book: Path, tables: Iterable[str]) -> int:
    return sum(ask_book(book, f"SELECT count(*) FROM {table}")[0][0] for table in tables)


@pytest.mark.slow
def test_there_and_back_every_value_and_the_data_package_are_the_same(demo_book_file: Path, postgres: Server, tmp_path: Path) -> None:
    here, address = copied(demo_book_file, tmp_path / "here"), postgres.new_database()
    before, packed = sums_in(here), package_of(Storage(here / BOOK_FILE))
    there = move(str(here), address)
    assert there.kept is not None and there.kept.exists() and not (here / BOOK_FILE).exists()
    assert there.rows == rows_of(demo_book_file, before) > 2500 and package_of(PostgresBook(here / BOOK_FILE, url_of(address))) == packed
    move(address, str(here))
    assert sums_in(here) == before
    assert package_of(open_book(here)) == packed
    with pytest.raises(BookDamaged, match="was moved away"):
        refuse_moved(url_of(address))
    with pytest.raises(NotMoved, match="not empty"):
        move(str(here), address)
    with pytest.raises(NotMoved, match="moved away already"):
        move(address, str(tmp_path / "again"))


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
KILLS = 20


def moved_by_a_process(killed_at: int, *words: str) -> subprocess.CompletedProcess[str]:
    said = {**os.environ, "PYTHONPATH": str(REPOSITORY / "server")}
    command = [sys.executable, "-m", "tests.postgres.move_killed", str(killed_at), *words]
    return subprocess.run(command, capture_output=True, text=True, env=said, cwd=REPOSITORY, timeout=120, check=False)


def photos_in(folder: Path) -> dict[str, str]:
    return {path.name: sha256(path.read_bytes()).hexdigest() for path in (folder / "photos").rglob("*.jpg")}


def servable(folder: Path, address: str) -> list[bool]:
    """Whether a server would open the book of the folder, and the one of the database."""
    try:
        refuse_moved(url_of(address))
        there = form_of_postgres(url_of(address)) is not None
    except BookDamaged:
        there = False
    return [form_of(folder / BOOK_FILE) is not None, there]


@pytest.mark.long
@pytest.mark.parametrize("to_database", [True, False], ids=["to the database", "to a file"])
def test_killed_at_twenty_points_it_goes_on_and_ends_the_same(
    demo_book_file: Path, postgres: Server, tmp_path: Path, to_database: bool
) -> None:
    """The last moments are all among them: there both books are whole, and only one may be opened."""
    first = copied(demo_book_file, tmp_path / "first")
    before, photos, filled = sums_in(first), photos_in(first), postgres.new_database()
    assert photos
    if not to_database:
        move(str(first), filled)

    def fresh(name: str) -> tuple[Path, Path, str, tuple[str, ...]]:
        """Where it comes from and goes to: a folder of its own, one for photos, a database."""
        data, address = tmp_path / f"{name}-data", postgres.new_database(*(() if to_database else (url_of(filled).database or "",)))
        here = copied(demo_book_file, tmp_path / name) if to_database else tmp_path / name
        if not to_database:
            shutil.copytree(first / "photos", data / "photos")
        words = (str(here), address) if to_database else (address, str(here))
        return here, data, address, (*words, "--data", str(data))

    *_, words = fresh("whole")
    whole = moved_by_a_process(0, *words)
    assert whole.returncode == 0, whole.stderr
    moments = int(whole.stdout.splitlines()[-1])
    last = 10
    points = sorted({*range(moments - last + 1, moments + 1), *(1 + n * (moments - last) // (KILLS - last) for n in range(KILLS - last))})
    assert len(points) == KILLS
    for point in points:
        here, data, address, words = fresh(f"at-{point}")
        assert moved_by_a_process(point, *words).returncode == -9, f"moment {point} of {moments} was never reached"
        if point < moments:
            assert servable(here, address) != [True, True], f"two books after moment {point} of {moments}"
            again = moved_by_a_process(0, *words)
            over = "moved away already" in again.stderr  # it had been done: only its last word was missing
            assert again.returncode == 0 or (over and servable(here, address) in ([False, True], [True, False])), again.stderr
        assert servable(here, address) == [not to_database, to_database]
        assert photos_in(data if to_database else here) == photos
        if to_database:
            with closing(Database(url_of(address), target=True)) as there:
                assert sums_of(there) == before
        else:
            assert sums_in(here) == before


@pytest.mark.slow
def test_photos_come_along_each_held_against_its_checksum(demo_book_file: Path, postgres: Server, tmp_path: Path) -> None:
    here, data, address = copied(demo_book_file, tmp_path / "here"), tmp_path / "data", postgres.new_database()
    photos = photos_in(here)
    lost, hurt, half = sorted(path for path in (here / "photos").rglob("*.jpg") if ".small." not in path.name)[:3]
    held = half.read_bytes()
    lost.unlink()
    hurt.write_bytes(hurt.read_bytes()[:-1])
    other = data / "photos" / half.parent.name / half.name
    other.parent.mkdir(parents=True)
    other.write_bytes(held[:100])  # what a stop of another program may leave
    done = move(str(here), address, data=data)
    assert done.photos.missing == 2 and done.photos.new == done.photos.named - 2
    assert any("Missing or damaged: 2" in line for line in done.in_words())
    brought = photos_in(data)
    assert other.read_bytes() == held
    assert {name for name in photos if name not in brought} >= {lost.name, hurt.name}
    assert all(photos[name] == one for name, one in brought.items())


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
