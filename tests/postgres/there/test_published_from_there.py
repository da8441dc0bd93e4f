"""What is published of a book in PostgreSQL is what is published of the same book in a file."""

from __future__ import annotations

import threading
from pathlib import Path

import pytest
from proofyard.assembled import app_without_door
from proofyard.postgres.book import PostgresBook
from proofyard.publishing.choices import Choices
from proofyard.publishing.site import Site, make_site
from proofyard.records import devices
from proofyard.storage import Storage

from tests import kit_for_tests as kit
from tests.postgres.there.conftest import given_back, with_the_rows_of
from tests.postgres_for_tests import Server

pytestmark = pytest.mark.slow


@pytest.mark.long
def test_the_same_files_are_published_while_others_save(demo_book: Storage, postgres: Server, tmp_path: Path) -> None:
    there = with_the_rows_of(demo_book, postgres, demo_book.path.parent)
    with demo_book.read() as session:
        trial = min(session.connection().exec_driver_sql("SELECT id FROM trial").scalars())
    choices, sites, goes_on = Choices(trials=(trial,), photos=None), [], threading.Event()
    with there.write() as session:  # somebody saves all the while: the copy waits for nobody
        devices.add_device(session, call_name="Pip", role="viewer")
        hand = threading.Thread(target=lambda: sites.append(site_of(there, choices)) or goes_on.set())
        hand.start()
        assert goes_on.wait(300)
        hand.join()
    sites.append(make_site(demo_book.path, choices=choices, make_app=app_without_door))
    assert sites[0].files.keys() == sites[1].files.keys() and len(sites[0].files) > 20
    assert any(name.endswith(".jpg") for name in sites[0].files)
    assert [name for name, content in sites[0].files.items() if content != sites[1].files[name]] == []
    given_back(there)


def site_of(book: PostgresBook, choices: Choices) -> Site:
    return make_site(book.path, choices=choices, make_app=app_without_door, address=book.address)


def test_the_command_publishes_what_the_setting_names(postgres: Server, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from proofyard.cli import main

    book = postgres.book(tmp_path / "data")
    with book.write() as session:
        devices.make_book(session)
    kit.yard(book, question="Does it publish?")
    monkeypatch.setenv("PROOFYARD_DATABASE", book.address)
    assert main(["publish", str(tmp_path / "site"), "--data", str(tmp_path / "data")]) == 0
    assert "Does it publish?" in (tmp_path / "site" / "index.html").read_text(encoding="utf-8")
    assert not list((tmp_path / "data").glob("*.db*"))
    book.close()
