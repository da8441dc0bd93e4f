"""The copy that pages are made of: every name gone, every row there, and ids that tell no time."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from proofyard.publishing.choices import Choices, Replaced
from proofyard.publishing.leak_search import search
from proofyard.publishing.names_in_book import people_in, places_in, replaced
from proofyard.publishing.withheld_copy import OF_AN_OPERATION, copy_withheld
from proofyard.records.packed import unpack
from proofyard.settings import BOOK_FILE
from proofyard.storage import Storage

from tests import kit_for_tests as kit

PLACE = "Osier meadow, Quellbury"
NOTE = "Orla held the lamp; call 0170 555 0199"


@pytest.fixture
def yard(book: Storage) -> kit.Yard:
    made = kit.yard(book)
    day = kit.session(book, made.trial, place=PLACE, officer="Orla Venn", present="Ash, Orla Venn and Pim", note=NOTE)
    setup = kit.setup(book, day, made.panel.build)
    kit.read_shot(book, made, damage="split by the seam, Orla saw it")
    kit.photo(book, "panel_build", made.panel.build, note="Pim beside the panel")
    assert setup
    return made


def copy_of(book: Storage, folder: Path, **more: object) -> Path:
    choices = Choices(**more)
    with book.read() as session:
        words = replaced(session, choices)
    folder.mkdir()
    return copy_withheld(book.path, folder, choices=choices, replaced=words)


def tables(path: Path) -> Iterator[tuple[str, list[tuple[object, ...]]]]:
    with closing(sqlite3.connect(path)) as opened:
        for (name,) in opened.execute("SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%'").fetchall():
            yield name, opened.execute(f'SELECT * FROM "{name}"').fetchall()


def test_the_people_and_places_of_a_book_are_listed(book: Storage, yard: kit.Yard) -> None:
    with book.read() as session:
        assert {"Orla Venn", "Ash", "Pim"} <= set(people_in(session))
        assert {PLACE, "Osier meadow"} <= set(places_in(session))


@pytest.mark.parametrize("names", ["initials", "invented"])
def test_no_name_place_note_or_photo_stands_anywhere_in_the_copy(book: Storage, yard: kit.Yard, tmp_path: Path, names: str) -> None:
    copy = copy_of(book, tmp_path / "copy", names=names, also_withheld=("Orla",))
    with book.read() as session:
        words = (*people_in(session), *places_in(session), "0170 555 0199", "Orla")
    content = copy.read_bytes()
    assert search([("book", content)], [word for word in words if not word.startswith("Archer ")]) == []
    assert not list(copy.parent.glob("photos/*/*.jpg"))


def test_every_row_of_what_was_seen_is_there(book: Storage, yard: kit.Yard, tmp_path: Path) -> None:
    before, after = dict(tables(book.path)), dict(tables(copy_of(book, tmp_path / "copy")))
    gone = {"clash", "photo"}
    assert {name: len(rows) for name, rows in before.items() if name not in gone} == {
        name: len(rows) for name, rows in after.items() if name not in gone
    }
    kept = ", ".join(OF_AN_OPERATION)
    with closing(sqlite3.connect(tmp_path / "copy" / BOOK_FILE)) as copy:
        assert set(copy.execute(f"SELECT {kept} FROM revision").fetchall()) == {(None,) * len(OF_AN_OPERATION)}
        assert {unpack(changes) for (changes,) in copy.execute("SELECT changes FROM revision")} == {"{}"}


def test_ids_are_numbered_in_their_order_and_every_link_still_leads_somewhere(book: Storage, yard: kit.Yard, tmp_path: Path) -> None:
    copy = copy_of(book, tmp_path / "copy", photos=None)
    with closing(sqlite3.connect(copy)) as opened:
        assert opened.execute("PRAGMA foreign_key_check").fetchall() == []
        labels = [label for (label,) in opened.execute("SELECT label FROM shot ORDER BY id")]
        ids = [one for (one,) in opened.execute("SELECT id FROM shot ORDER BY id")]
    with closing(sqlite3.connect(book.path)) as opened:
        assert labels == [label for (label,) in opened.execute("SELECT label FROM shot ORDER BY id")]
        old = [one for (one,) in opened.execute("SELECT id FROM shot UNION SELECT id FROM archer UNION SELECT record_id FROM revision")]
    assert all(one.endswith("-0000-8000-8000-000000000000") for one in ids)
    assert search([("copy", copy.read_bytes())], old) == []


def test_photos_that_are_chosen_come_along_under_their_new_number(book: Storage, yard: kit.Yard, tmp_path: Path) -> None:
    copy = copy_of(book, tmp_path / "copy", photos=None, notes=True)
    files = list(copy.parent.glob("photos/*/*.jpg"))
    assert files and all(path.name.split(".")[0].endswith("000000000000") for path in files)


def test_a_word_is_replaced_as_a_whole_word_in_whatever_case(book: Storage, yard: kit.Yard, tmp_path: Path) -> None:
    folder = tmp_path / "copy"
    folder.mkdir()
    copy = copy_withheld(book.path, folder, choices=Choices(notes=True), replaced=Replaced({"orla": "Somebody", "lam": "no"}))
    with closing(sqlite3.connect(copy)) as opened:
        (note,) = opened.execute("SELECT note FROM session WHERE note IS NOT NULL").fetchone()
    assert note == NOTE.replace("Orla", "Somebody")
