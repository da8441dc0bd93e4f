"""`proofyard check` of a book in PostgreSQL says what is missing."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

import pytest
from proofyard.cli import main
from proofyard.exchange.checkup import checkup
from proofyard.exchange.finding import Finding
from proofyard.exchange.photos import keep
from proofyard.postgres.book import url_of
from proofyard.postgres.forms import migrate
from proofyard.records import devices
from proofyard.records.ids import new_id
from proofyard.settings import data_folder

from tests.exchange.test_photo_reading import made
from tests.postgres_for_tests import Server


def found(folder: Path, address: str, *, thorough: bool = False) -> dict[str, Finding]:
    return {one.what: one for one in checkup(folder, address=address, thorough=thorough)}


def test_what_is_missing_is_said(postgres: Server, tmp_path: Path) -> None:
    folder = tmp_path / "data"
    with closing(postgres.book(folder)) as book:
        with book.write() as session:
            devices.make_book(session)
            phone = devices.add_device(session, call_name="Wren", role="archer").id
        kept = keep(book, made(), photo_id=new_id(), device_id=phone, body={})
        address = book.address
        said = found(folder, address, thorough=True)
        assert said["Book"].verdict == "good" and "in PostgreSQL 1" in said["Book"].found
        assert said["Photos"].verdict == "good" and said["Photos"].found.startswith("1, ")
        # The tests' own database waits for no disk, and archives nothing.
        assert (saves := said["How a save reaches the disk"]).verdict == "wrong"
        assert saves.found == "fsync, full_page_writes, synchronous_commit: off"
        backups = said["Backups of the database"]
        assert backups.verdict == "look" and "pg_dump" in backups.advice and "Last backup" not in said
        (path,) = folder.glob(f"photos/*/{kept.photo.id}.jpg")
        path.write_bytes(path.read_bytes()[:-1])
        assert found(folder, address)["Photos"].verdict == "good", "the quick look doesn’t read them"
        assert found(folder, address, thorough=True)["Photos"].verdict == "wrong"


def test_a_database_that_surely_keeps_what_it_is_given_is_good(postgres: Server, tmp_path: Path) -> None:
    with closing(postgres.book(tmp_path / "data")) as book:
        said = " ".join(f"-c {name}=on" for name in ("synchronous_commit",))
        only = {one.what: one for one in checkup(tmp_path / "data", address=f"{book.address}&options={said.replace(' ', '%20')}")}
    assert only["How a save reaches the disk"].found == "fsync, full_page_writes: off"


@pytest.mark.parametrize(("form", "sentence"), [("", "none yet"), ("0020", "without a safe copy")])
def test_a_book_that_is_not_there_or_older_is_told(postgres: Server, tmp_path: Path, form: str, sentence: str) -> None:
    address = postgres.new_database()
    if form:
        migrate(url_of(address), data_folder("migrations"), form)
    book = found(tmp_path, address)["Book"]
    assert book.verdict == "look" and sentence in book.found


def test_a_database_that_does_not_answer_is_wrong_and_the_command_says_so(
    postgres: Server, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("PROOFYARD_DATABASE", postgres.address("nowhere"))
    assert main(["check", "--data", str(tmp_path)]) == 1
    assert "There is no such database" in capsys.readouterr().out
