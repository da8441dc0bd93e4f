"""Several servers on one database agree: on names, on what phones hold, and on the form of the book."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import psycopg
import pytest
from proofyard.live.holds import Held, HoldsInMemory, holds_of
from proofyard.opening import newest_form
from proofyard.postgres import book as in_postgres
from proofyard.postgres.book import PostgresBook, url_of
from proofyard.postgres.forms import form_of_postgres, migrate
from proofyard.records import devices
from proofyard.records.archer import Archer
from proofyard.records.ids import new_id
from proofyard.records.listing import all_of
from proofyard.records.operations import Operation
from proofyard.records.phone_queue import take_queue
from proofyard.settings import data_folder
from proofyard.storage import Storage

from tests.postgres_for_tests import Server
from tests.records.test_one_name import PARTED, TWO_OF_A_NAME


@pytest.fixture
def servers(tmp_path: Path, postgres: Server) -> Iterator[list[PostgresBook]]:
    """Books of four servers, each with connections of its own."""
    first = postgres.book(tmp_path / "0")
    with first.write() as session:
        devices.make_book(session)
    made = [first, *(PostgresBook(tmp_path / f"{n}", first.url) for n in (1, 2, 3))]
    yield made
    for one in made:
        one.close()


def test_a_name_stands_once_even_without_the_lock(servers: list[PostgresBook], monkeypatch: pytest.MonkeyPatch) -> None:
    """Rules look before they write, so without the lock all four would find the name free: the book's own index is what holds."""
    monkeypatch.setattr(in_postgres, "_LOCK", "SELECT 1")
    with servers[0].write() as session:
        phone = devices.add_device(session, call_name="Wren", role="archer").id
    answers, together = [], threading.Barrier(len(servers))

    def save(book: PostgresBook, name: str) -> None:
        together.wait()
        op = Operation(new_id(), phone, "put", "archer", new_id(), body={"call_name": name})
        answers.append(take_queue(book, [op])[0].taken)

    for name in ("Tallow", "tallow", "Osier"):
        hands = [threading.Thread(target=save, args=(book, name)) for book in servers]
        for hand in hands:
            hand.start()
        for hand in hands:
            hand.join()
    with servers[0].read() as session:
        named = sorted(row.call_name.lower() for row in all_of(session, Archer))
    assert named == ["osier", "tallow"] and len(answers) == 12 and sum(answers) == 2


def test_what_a_phone_said_to_one_server_the_others_know(servers: list[PostgresBook]) -> None:
    first, second = holds_of(servers[0]), holds_of(servers[1])
    word = Held("a-phone", 1_790_000_000_000, None, 12, 3, 0, 1, None, 2)
    rang = threading.Event()
    servers[1].hear_others(rang.set)
    assert rang.wait(10)  # once when it begins to listen
    rang.clear()
    assert first.say(word) and second.all() == {"a-phone": word}
    assert rang.wait(10)
    rang.clear()
    later = Held("a-phone", word.at + 5000, None, 12, 3, 0, 1, None, 2)
    assert not second.say(later) and first.all() == {"a-phone": later}
    assert not rang.wait(0.3), "nothing new was said, so nobody need look"
    assert second.say(Held("a-phone", word.at + 6000, None, 12, 0, 0, 0, True, 0))
    first.say(word)  # it came late, by another way
    assert first.all()["a-phone"].agrees is True and first.all()["a-phone"].unsent == 0


def test_a_word_waits_for_no_save_of_another_server(servers: list[PostgresBook]) -> None:
    with servers[0].write() as session:
        devices.add_device(session, call_name="Wren", role="archer")
        assert holds_of(servers[1]).say(Held("a-phone", 1, None, 0, 0, 0, 0, True, 0))  # the lock of saves is held all the while


def test_a_book_in_a_file_keeps_phones_words_in_memory(book: Storage) -> None:
    holds = holds_of(book)
    assert isinstance(holds, HoldsInMemory) and holds.say(Held("a-phone", 1, None, 0, 0, 0, 0, True, 0))
    assert not holds.say(Held("a-phone", 2, None, 0, 0, 0, 0, True, 0))


@pytest.mark.parametrize("form", ["0011", "0020"])
def test_an_older_book_is_brought_up_to_date_there(postgres: Server, tmp_path: Path, form: str) -> None:
    address = postgres.new_database()
    url = url_of(address)
    migrate(url, data_folder("migrations"), form)
    where = {**url.query, **url.translate_connect_args(username="user", database="dbname")}
    with psycopg.connect(**where) as connection:
        for one in TWO_OF_A_NAME:
            connection.execute(one.encode())
    migrate(url, data_folder("migrations"), newest_form())
    assert form_of_postgres(url) == newest_form()
    with psycopg.connect(**where) as connection:
        assert connection.execute("SELECT id, tag, rev FROM arrow ORDER BY id").fetchall() == PARTED
        assert connection.execute("SELECT seq, record_id FROM revision ORDER BY seq").fetchall() == [(1, "b"), (2, "e")]
        asked = "SELECT table_name, column_name, data_type FROM information_schema.columns WHERE table_schema = 'public'"
        upgraded = set(connection.execute(asked).fetchall())
    new = postgres.book(tmp_path / "new")
    with closing(new), new.read() as session:
        assert upgraded == {tuple(row) for row in session.connection().exec_driver_sql(asked)}
