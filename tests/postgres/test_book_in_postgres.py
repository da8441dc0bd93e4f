"""A book in PostgreSQL has the tables of one in a file, takes the same changes, and loses none among several who write."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from proofyard import book_file
from proofyard.opening import open_book
from proofyard.postgres.book import BookFarAway, PostgresBook, WrongAddress, own_time_zone, url_of
from proofyard.records import devices
from proofyard.records.apply import apply_each
from proofyard.records.archer import Archer
from proofyard.records.book import Revision
from proofyard.records.ids import new_id
from proofyard.records.listing import all_of
from proofyard.records.operations import Operation
from proofyard.records.plan_facts import day_of
from proofyard.storage import BookDamaged, BookReadOnly, Storage
from sqlalchemy import literal, select, text

from tests.postgres_for_tests import Server


@pytest.fixture
def far(tmp_path: Path, postgres: Server) -> Iterator[PostgresBook]:
    with closing(postgres.book(tmp_path / "far")) as made:
        with made.write() as session:
            devices.make_book(session)
        yield made


def an_archer(book: Storage, device_id: str, name: str, **more: str) -> Operation:
    return Operation(
        op_id=new_id(),
        device_id=device_id,
        action="put",
        noun="archer",
        record_id=more.get("record_id") or new_id(),
        base_rev=0,
        body={"call_name": name},
        reason=None,
    )


def a_phone(book: Storage) -> str:
    with book.write() as session:
        return devices.add_device(session, call_name="Wren", role="archer").id


def test_both_have_the_same_tables_and_columns(far: PostgresBook, empty_book_file: Path) -> None:
    with closing(book_file.look(empty_book_file)) as file:
        named = [row[0] for row in file.execute("SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%'")]
        here = {(name, row[1], bool(row[3])) for name in named for row in file.execute(f'PRAGMA table_info("{name}")')}
    with far.read() as session:
        asked = "SELECT table_name, column_name, is_nullable = 'NO' FROM information_schema.columns WHERE table_schema = current_schema()"
        there = {tuple(row) for row in session.execute(text(asked))}
        sorts = set(
            session.execute(text(asked.replace("is_nullable = 'NO'", "data_type").replace("table_name, column_name, ", ""))).scalars()
        )
    of_alembic = {("alembic_version", "version_num", True)}
    assert here - of_alembic == there - of_alembic
    assert sorts <= {"text", "bigint", "double precision", "bytea", "character varying"}  # nothing that is too small, or rounds


def test_several_who_write_at_once_get_numbers_without_a_hole_and_a_poller_misses_none(far: PostgresBook, tmp_path: Path) -> None:
    phone, writers, each = a_phone(far), 4, 12
    books = [PostgresBook(tmp_path / f"{n}", far.url) for n in range(writers)]  # each with connections of its own, as servers have
    seen: list[int] = []
    over = threading.Event()

    def poll() -> None:
        last = 0
        while True:
            ended = over.is_set()
            with far.read() as session:
                new = list(session.execute(select(Revision.seq).where(Revision.seq > last).order_by(Revision.seq)).scalars())
            seen.extend(new)
            last = new[-1] if new else last
            if ended:
                return

    def save(book: Storage, who: int) -> None:
        for n in range(each):
            assert apply_each(book, [an_archer(book, phone, f"Archer {who} {n}")])[0].taken

    poller = threading.Thread(target=poll)
    poller.start()
    hands = [threading.Thread(target=save, args=(book, n)) for n, book in enumerate(books)]
    for hand in hands:
        hand.start()
    for hand in hands:
        hand.join()
    over.set()
    poller.join()
    for book in books:
        book.close()
    with far.read() as session:
        numbers = list(session.execute(select(Revision.seq).order_by(Revision.seq)).scalars())
    assert numbers == list(range(1, writers * each + 2))  # and one of the phone that was let in
    assert seen == numbers


def test_one_name_given_by_several_at_once_is_stored_once(far: PostgresBook, tmp_path: Path) -> None:
    phone = a_phone(far)
    books = [PostgresBook(tmp_path / f"{n}", far.url) for n in range(4)]
    answers = []
    hands = [threading.Thread(target=lambda b=book: answers.append(apply_each(b, [an_archer(b, phone, "Tallow")])[0])) for book in books]
    for hand in hands:
        hand.start()
    for hand in hands:
        hand.join()
    for book in books:
        book.close()
    assert sorted(answer.taken for answer in answers) == [False, False, False, True]
    with far.read() as session:
        assert [row.call_name for row in all_of(session, Archer)] == ["Tallow"]


def test_a_server_hears_of_another_servers_save(far: PostgresBook, tmp_path: Path) -> None:
    rang = threading.Event()
    with closing(PostgresBook(tmp_path / "other", far.url)) as other:
        other.hear_others(rang.set)
        assert rang.wait(10)  # once when it begins to listen, since nothing was heard before
        rang.clear()
        a_phone(far)
        assert rang.wait(10)


def test_nothing_is_kept_of_what_was_begun_and_broke_off(far: PostgresBook) -> None:
    with pytest.raises(RuntimeError), far.write() as session:
        devices.add_device(session, call_name="Wren", role="archer")
        raise RuntimeError
    with far.read() as session:
        assert session.execute(select(Revision.seq)).first() is None


def test_a_connection_that_was_cut_costs_no_save_unless_it_was_in_the_midst_of_one(far: PostgresBook, postgres: Server) -> None:
    phone = a_phone(far)
    cut = f"SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = '{far.url.database}'"
    postgres.say(cut)
    assert apply_each(far, [an_archer(far, phone, "Tallow")])[0].taken
    with pytest.raises(BookFarAway), far.write() as session:
        devices.add_device(session, call_name="Pip", role="archer")
        postgres.say(cut)
        devices.add_device(session, call_name="Osier", role="archer")
    assert apply_each(far, [an_archer(far, phone, "Hazel")])[0].taken
    with far.read() as session:
        assert [row.call_name for row in all_of(session, Archer)] == ["Hazel", "Tallow"]
        assert [row.call_name for row in devices.devices(session)] == ["Wren"]
        assert list(session.execute(select(Revision.seq).order_by(Revision.seq)).scalars()) == [1, 2, 3]


def test_a_reader_has_one_snapshot_and_can_write_nothing(far: PostgresBook) -> None:
    with far.read() as session:
        before = len(devices.devices(session))
        a_phone(far)
        assert len(devices.devices(session)) == before
    with pytest.raises(BookReadOnly), far.read() as session:
        session.execute(text("DELETE FROM device"))


def test_a_character_that_it_cannot_keep_is_refused_in_a_sentence(far: PostgresBook) -> None:
    with pytest.raises(BookReadOnly, match="NUL"), far.write() as session:
        devices.add_device(session, call_name="Wr\0en", role="archer")


def test_text_sorts_and_is_lowered_as_in_a_file(far: PostgresBook, book: Storage) -> None:
    names = ["É", "ö", "a", "Z", "Ä", "ß", "_", "10", "9"]
    said = []
    for one in (far, book):
        phone = a_phone(one)
        assert all(answer.taken for answer in apply_each(one, [an_archer(one, phone, name) for name in names]))
        with one.read() as session:
            said.append(list(session.execute(select(Archer.call_name).order_by(Archer.call_name)).scalars()))
    assert said[0] == said[1] != sorted(said[0], key=str.lower)


def test_a_moment_falls_on_the_same_day(far: PostgresBook, book: Storage) -> None:
    moments = [1_790_000_000_000 + hours * 3_600_000 for hours in range(0, 48, 3)]
    days = []
    for one in (far, book):
        with one.read() as session:
            days.append([session.execute(select(day_of(literal(at)))).scalar() for at in moments])
    assert days[0] == days[1] == [time.strftime("%Y-%m-%d", time.localtime(at / 1000)) for at in moments], own_time_zone()


@pytest.mark.parametrize(
    ("address", "sentence"),
    [
        ("mysql://wren@localhost/proofyard", "only PostgreSQL is known"),
        ("postgresql+psycopg://wren@localhost", "names no database"),
        ("proofyard.db", "can’t be read"),
    ],
)
def test_an_address_that_can_not_be_used_is_refused_in_a_sentence(address: str, sentence: str) -> None:
    with pytest.raises(WrongAddress, match=sentence):
        url_of(address)


def test_opening_makes_the_book_and_says_why_it_can_not(postgres: Server, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    address = postgres.new_database()
    monkeypatch.setenv("PROOFYARD_DATABASE", address)
    with closing(open_book(tmp_path)) as made:
        assert not made.in_a_file and not list(tmp_path.glob("*.db"))
    with closing(open_book(tmp_path)):
        pass  # a second time it is there
    monkeypatch.setenv("PROOFYARD_DATABASE", postgres.address("nowhere"))
    with pytest.raises(BookFarAway, match="no such database"):
        open_book(tmp_path)
    taken = postgres.new_database()
    with closing(PostgresBook(tmp_path / "b", url_of(taken))) as other, other.write() as session:
        session.execute(text("CREATE TABLE somebody_elses (n integer)"))
    monkeypatch.setenv("PROOFYARD_DATABASE", taken)
    with pytest.raises(BookDamaged, match="other tables"):
        open_book(tmp_path)
