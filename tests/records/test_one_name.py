"""One name stands once: the rule says so in words, the book's own indexes hold it, and an older book is mended when it is opened."""

from __future__ import annotations

import json
from contextlib import closing
from pathlib import Path

import pytest
from proofyard import book_file
from proofyard.exchange.package.packing import write_package
from proofyard.exchange.package.take_in import take_into_folder
from proofyard.opening import bring_up_to_date, make_empty, open_book
from proofyard.records.archer import Archer
from proofyard.records.ids import new_id
from proofyard.records.listing import all_of
from proofyard.records.nouns import NAMES, TABLES
from proofyard.records.one_name import OneNameTwice, names_stand_once_in_the_end
from proofyard.records.packed import unpack
from proofyard.storage import Storage
from sqlalchemy import exc, insert

from tests import kit_for_tests as kit


def test_a_name_with_an_accent_stands_once_too(book: Storage) -> None:
    kit.put(book, "archer", {"call_name": "Élan"})
    with pytest.raises(AssertionError, match="There is a “Élan” already"):
        kit.put(book, "archer", {"call_name": "Élan"})
    with pytest.raises(AssertionError, match="There is a “ÉLAN” already"):
        kit.put(book, "archer", {"call_name": "ÉLAN"})


def test_what_was_crossed_out_comes_back_only_if_its_name_is_free(book: Storage) -> None:
    first = kit.put(book, "archer", {"call_name": "Wren"})
    kit.void(book, "archer", first)
    second = kit.put(book, "archer", {"call_name": "wren"})
    answer = kit.ask(book, "archer", action="unvoid", record_id=first, base_rev=2, reason="it was right")
    assert [problem.field for problem in answer.problems] == ["reason"] and "another “Wren” by now" in answer.problems[0].sentence
    kit.put(book, "archer", {"call_name": "Tallow"}, record_id=second, base_rev=1)
    assert kit.ask(book, "archer", action="unvoid", record_id=first, base_rev=2, reason="it was right").taken


def test_a_combination_that_would_become_another_one_is_refused_in_words(book: Storage) -> None:
    yard = kit.yard(book)
    other = kit.arrow(book, "23")
    first = kit.combination(book, kit.Combination(yard.bow.build, yard.arrow.build, yard.archer))
    second = kit.combination(book, kit.Combination(yard.bow.build, other.build, yard.archer))
    answer = kit.ask(book, "combination", {"arrow_build": yard.arrow.build}, record_id=second, base_rev=1, reason="the other arrow")
    assert [problem.sentence for problem in answer.problems] == ["This bow, arrow and archer are a combination already. Open that one."]
    assert kit.row(book, "combination", second).arrow_build_id == other.build and first != second
    assert kit.ask(book, "combination", {"bow_build": yard.bow.build}, record_id=second, base_rev=1, reason="looked again").taken
    kit.shot(book, yard)
    third = kit.arrow(book, "24")
    answer = kit.ask(book, "combination", {"arrow_build": third.build}, record_id=first, base_rev=1, reason="another arrow")
    assert [problem.sentence.split(",")[0] for problem in answer.problems] == ["Shots were loosed with these three"]


@pytest.mark.parametrize("noun", sorted(NAMES))
def test_the_book_itself_refuses_a_name_that_stands(book: Storage, noun: str) -> None:
    table = TABLES[noun].__table__
    needed = {column.name: 1 if str(column.type) in ("INTEGER", "REAL") else "x" for column in table.columns if not column.nullable}
    row = {**needed, "rev": 1, "typed": "{}", NAMES[noun]: "Wren"}
    with pytest.raises(exc.IntegrityError, match=r"UNIQUE|unique"), book.write() as session:
        for name in ("Wren", "wREN"):
            session.execute(insert(table).values({**row, "id": new_id(), NAMES[noun]: name}))


def test_names_that_were_exchanged_come_in_with_a_package(book: Storage, tmp_path: Path) -> None:
    """By their time: the second has the first's name before the first, as it stands now, has given it up."""
    first, second = kit.put(book, "archer", {"call_name": "Wren"}), kit.put(book, "archer", {"call_name": "Tallow"})
    kit.put(book, "archer", {"call_name": "Osier"}, record_id=first, base_rev=1)
    kit.put(book, "archer", {"call_name": "Wren"}, record_id=second, base_rev=1)
    third = kit.put(book, "archer", {"call_name": "Tallow"})
    kit.void(book, "archer", second)
    kit.put(book, "archer", {"call_name": "Wren"}, record_id=third, base_rev=1)
    with open(tmp_path / "package.zip", "wb") as file:
        write_package(book, file)
    take_into_folder(tmp_path / "package.zip", tmp_path / "new")
    with closing(open_book(tmp_path / "new")) as made:
        with made.read() as session:
            assert {row.id: row.call_name for row in all_of(session, Archer, voided=True)} == {
                first: "Osier",
                second: "Wren",
                third: "Wren",
            }
        with pytest.raises(AssertionError, match="already"):
            kit.put(made, "archer", {"call_name": "Wren"})


def test_a_name_that_two_bear_in_the_end_is_told(book: Storage) -> None:
    table = TABLES["archer"].__table__
    with pytest.raises(OneNameTwice) as told, book.write() as session, names_stand_once_in_the_end(session):
        for name in ("Wren", "wren", "Tallow"):
            session.execute(insert(table).values(id=new_id(), rev=1, typed="{}", call_name=name))
    assert told.value.names == (("archer", "Wren"),)
    kit.put(book, "archer", {"call_name": "Wren"})
    with pytest.raises(AssertionError, match="already"):
        kit.put(book, "archer", {"call_name": "wren"})


TWO_OF_A_NAME = tuple(
    "INSERT INTO arrow (id, rev, typed, tag, voided_rev) VALUES "
    f"""('{key}', {rev}, '{{"tag": "{tag}"}}', '{tag}', {"NULL" if alive else rev})"""
    for key, rev, tag, alive in (
        ("a", 1, "C4", True),
        ("b", 3, "c4", True),
        ("c", 1, "C4", False),
        ("d", 1, "C4 (2)", True),
        ("e", 2, "C4", True),
    )
)
PARTED = [("a", "C4", 1), ("b", "c4 (3)", 4), ("c", "C4", 1), ("d", "C4 (2)", 1), ("e", "C4 (4)", 3)]


def test_two_of_a_name_in_an_older_book_are_parted_and_the_notebook_says_so(tmp_path: Path) -> None:
    path = tmp_path / "proofyard.db"
    make_empty(path, "0020")
    with closing(book_file.connect(path)) as file:
        for one in TWO_OF_A_NAME:
            file.execute(one)
    bring_up_to_date(path)
    with closing(book_file.look(path)) as file:
        assert file.execute("SELECT id, tag, rev FROM arrow ORDER BY id").fetchall() == PARTED
        told = file.execute("SELECT seq, noun, record_id, rev, action, changes FROM revision ORDER BY seq").fetchall()
        assert json.loads(file.execute("SELECT typed FROM arrow WHERE id = 'b'").fetchone()[0]) == {"tag": "c4 (3)"}
    assert [row[:5] for row in told] == [(1, "arrow", "b", 4, "change"), (2, "arrow", "e", 3, "change")]
    assert json.loads(unpack(told[0][5])) == {"tag": ["c4", "c4 (3)", "c4", "c4 (3)"]}
