"""Another group's book: brought in whole and apart, the same again changes nothing, what is hostile leaves no trace."""

from __future__ import annotations

import io
import os
import zipfile
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest
from proofyard.exchange.checkup import checkup
from proofyard.exchange.other_books import bring_in as bringing
from proofyard.exchange.other_books.bring_in import Asked, bring_in, bring_in_elsewhere
from proofyard.exchange.other_books.shelf import clear_half_made, damaged, opened, other_books, remove, shelf_of
from proofyard.exchange.package.check import MOST_ROWS
from proofyard.exchange.package.descriptor import book_for_others
from proofyard.exchange.package.opened import NoPackage
from proofyard.exchange.package.packing import write_package
from proofyard.records import devices
from proofyard.records.listing import all_of
from proofyard.records.shot import Shot
from proofyard.records.trial import Trial
from proofyard.settings import BOOK_FILE
from proofyard.storage import Storage

from tests import kit_for_tests as kit
from tests.conftest import copied
from tests.conftest import opened as opened_for_a_test
from tests.exchange.package import spoilt
from tests.exchange.package.spoilt import Files
from tests.other_books_for_tests import package_of, small

pytestmark = pytest.mark.slow  # a book is made from nothing for each that comes in

QUARRY = Asked(whose="Quarry group", citation="Quarry group (2026)")
OWN = "00000000-0000-8000-8000-0000000000aa"


@pytest.fixture(scope="module")
def package(tmp_path_factory: pytest.TempPathFactory, empty_book_file: Path) -> Path:
    return package_of(tmp_path_factory.mktemp("quarry"), empty_book_file, small)


@pytest.fixture
def folder(tmp_path: Path, empty_book_file: Path) -> Iterator[Path]:
    """One's own book, with a shot in it."""
    at = copied(empty_book_file, tmp_path / "own")
    with closing(opened_for_a_test(at)) as book:
        with book.write() as session:
            devices.make_book(session)
        kit.read_shot(book, kit.yard(book))
    yield at


def everything(folder: Path) -> dict[str, bytes]:
    """Every file of a data folder, but the held lock's words."""
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and path.suffix not in (".lock",) and not path.name.endswith(("-wal", "-shm"))
    }


def test_it_is_kept_apart_and_says_whose_it_is(package: Path, folder: Path) -> None:
    before = everything(folder)
    made = bring_in(package, folder, QUARRY, own_id=OWN)
    assert made.before is None and not made.unchanged
    (one,) = other_books(folder)
    assert one == made.book
    assert (one.whose, one.citation, one.licence, one.trials, one.shots) == ("Quarry group", "Quarry group (2026)", "CC-BY-4.0", 1, 2)
    assert not one.demo and not one.one_trial and one.stood_at.startswith("20")
    after = everything(folder)
    assert {name: content for name, content in after.items() if name in before} == before, "one's own book is as it was, to the byte"
    new = {Path(name).parts[:2] for name in after.keys() - before.keys()}
    assert new == {("other-books", one.id)}, "nothing is left on the way"
    assert any(name.endswith(".jpg") for name in after), "its photo came along"


def test_it_gives_the_same_package_again(package: Path, folder: Path) -> None:
    """So nothing was lost or made up on the way, and a third group can be handed it."""
    one = bring_in(package, folder, QUARRY, own_id=OWN).book
    again = io.BytesIO()
    with opened(folder, one) as theirs:
        write_package(theirs, again, licence="CC-BY-4.0")
    assert again.getvalue() == package.read_bytes()


def test_the_same_package_again_changes_nothing(package: Path, folder: Path) -> None:
    bring_in(package, folder, QUARRY, own_id=OWN)
    before = everything(folder)
    again = bring_in(package, folder, Asked(whose="Somebody else"), own_id=OWN)
    assert again.unchanged and again.book.whose == "Quarry group"
    assert everything(folder) == before


def newer(package: Path, tmp_path: Path) -> Path:
    """The same book, a shot later."""
    from proofyard.exchange.package.take_in import take_into_folder

    at = tmp_path / "later"
    take_into_folder(package, at)
    with closing(opened_for_a_test(at)) as book:
        kit.read_shot(book, kit.yard(book, question="And at an angle?"))
        with open(tmp_path / "newer.zip", "wb") as file:
            write_package(book, file, licence="CC-BY-4.0")
        with book.read() as session:
            first = min(row.id for row in all_of(session, Trial))
        with open(tmp_path / "one-trial.zip", "wb") as file:
            write_package(book, file, licence="CC-BY-4.0", only_trial=first)
    return tmp_path / "newer.zip"


def test_a_newer_one_takes_its_place_and_less_must_be_meant(package: Path, folder: Path, tmp_path: Path) -> None:
    first = bring_in(package, folder, QUARRY, own_id=OWN).book
    done = bring_in(newer(package, tmp_path), folder, QUARRY, own_id=OWN)
    assert done.before == first and done.book.id == first.id and done.book.trials == 2
    assert other_books(folder) == [done.book]
    before = everything(folder)
    with pytest.raises(NoPackage, match="stood earlier than what is here"):
        bring_in(package, folder, QUARRY, own_id=OWN)
    with pytest.raises(NoPackage, match=r"stood earlier|is of one trial"):
        bring_in(tmp_path / "one-trial.zip", folder, QUARRY, own_id=OWN)
    assert everything(folder) == before
    back = bring_in(package, folder, replace(QUARRY, go_back=True), own_id=OWN)
    assert back.book.trials == 1 and len(other_books(folder)) == 1


def test_ones_own_book_is_no_other(folder: Path, tmp_path: Path) -> None:
    with closing(Storage(folder / BOOK_FILE)) as book, open(tmp_path / "own.zip", "wb") as file:
        write_package(book, file)
        with book.read() as session:
            own = devices.the_book(session)
    assert own is not None
    with pytest.raises(NoPackage, match="package of your own book"):
        bring_in(tmp_path / "own.zip", folder, QUARRY, own_id=book_for_others(own.book_id))
    assert not shelf_of(folder).exists()


def test_the_id_of_a_package_tells_no_moment_and_stays_on_the_way() -> None:
    own = "01936f3e-0000-7000-8000-000000000001"
    given = book_for_others(own)
    assert given[:13] != own[:13] and given[14] == "8" and len(given) == 36
    assert book_for_others(given) == given and book_for_others(own) == given


def test_removed_it_leaves_nothing(package: Path, folder: Path) -> None:
    before = everything(folder)
    remove(folder, bring_in(package, folder, QUARRY, own_id=OWN).book)
    assert everything(folder) == before and other_books(folder) == []


def test_check_counts_them_and_finds_a_damaged_one(package: Path, folder: Path) -> None:
    one = bring_in(package, folder, QUARRY, own_id=OWN).book
    (line,) = [found for found in checkup(folder, thorough=True) if found.what == "Other books"]
    assert line.verdict == "good" and line.found.startswith("1; in no backup")
    os.truncate(shelf_of(folder) / one.id / BOOK_FILE, 5000)
    (line,) = [found for found in checkup(folder, thorough=True) if found.what == "Other books"]
    assert line.verdict == "wrong" and one.id in line.advice
    (shelf_of(folder) / one.id / "brought-in.json").write_text("{")
    assert damaged(folder) == [one.id] and other_books(folder) == []


def _many_rows(files: Files) -> None:
    head, _, rest = files["records/shot.csv"].partition(b"\r\n")
    files["records/shot.csv"] = head + b"\r\n" + rest * (MOST_ROWS + 1)
    spoilt.described_again(files)


def _formula(files: Files) -> None:
    spoilt.cell("archer", "call_name", "=1+1\x07")(files)


def _own_ids(files: Files) -> None:
    """One id for two nouns' records would make one of them the other."""
    rows = spoilt.rows_of(files, "records/archer.csv")
    spoilt.cell("head", "id", rows[1][0])(files)


HOSTILE: dict[str, tuple[Callable[[Files], None], str]] = {
    **spoilt.REFUSED,
    **{name: spoilt.SPOILT[name] for name in ("a NUL in a name", "a table missing", "no UTF-8", "a photo missing")},
    "one id twice": (spoilt.table("head", lambda rows: rows.append(rows[-1])), "is there twice"),
    "a million rows": (_many_rows, "has more than 100,000 rows"),
    "a sign that rings a bell": (_formula, "signs that can’t be seen"),
    "an id that another table has": (_own_ids, "leads to no"),
}


@pytest.mark.parametrize("name", sorted(HOSTILE))
def test_what_is_hostile_changes_nothing_and_says_why(name: str, package: Path, folder: Path, tmp_path: Path) -> None:
    files = spoilt.files_of(package)
    spoil, said = HOSTILE[name]
    spoil(files)
    before = everything(folder)
    with pytest.raises(NoPackage, match=said.replace("(", r"\(")):
        bring_in(spoilt.write(files, tmp_path / "spoilt.zip"), folder, QUARRY, own_id=OWN)
    assert everything(folder) == before and other_books(folder) == []


def test_ids_that_are_ones_own_collide_with_nothing(folder: Path, tmp_path: Path) -> None:
    """Another book may hold the very ids of one's own: it lies in another file, so both stand."""
    with closing(Storage(folder / BOOK_FILE)) as book, open(tmp_path / "own.zip", "wb") as file:
        write_package(book, file)
    before = (folder / BOOK_FILE).read_bytes()
    one = bring_in(tmp_path / "own.zip", folder, QUARRY, own_id=OWN).book
    with opened(folder, one) as theirs, theirs.read() as session:
        there = {row.id for row in all_of(session, Shot)}
    with closing(Storage(folder / BOOK_FILE, writes=False)) as own, own.read() as session:
        assert there == {row.id for row in all_of(session, Shot)}
    assert (folder / BOOK_FILE).read_bytes() == before


def test_a_fault_while_it_is_made_leaves_the_one_before(
    package: Path, folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    bring_in(package, folder, QUARRY, own_id=OWN)
    before = everything(folder)

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(bringing, "put", full)
    with pytest.raises(OSError, match="No space"):
        bring_in(newer(package, tmp_path), folder, QUARRY, own_id=OWN)
    assert everything(folder) == before


def test_another_process_does_it_and_says_what_was_wrong(package: Path, folder: Path, tmp_path: Path) -> None:
    done = bring_in_elsewhere(package, folder, QUARRY, own_id=OWN)
    assert done.book.whose == "Quarry group" and other_books(folder) == [done.book]
    with zipfile.ZipFile(tmp_path / "no.zip", "w") as file:
        file.writestr("run.sh", b"x")
    with pytest.raises(NoPackage, match="is no file that a package"):
        bring_in_elsewhere(tmp_path / "no.zip", folder, QUARRY, own_id=OWN)


def test_what_a_killed_process_left_is_cleared_and_the_one_before_stands_again(package: Path, folder: Path) -> None:
    one = bring_in(package, folder, QUARRY, own_id=OWN).book
    before = everything(folder)
    half = shelf_of(folder) / ".coming-abc"
    half.mkdir()
    os.replace(shelf_of(folder) / one.id, half / "before")  # killed between the two steps of taking its place
    (half / "book").mkdir()
    clear_half_made(folder)
    assert everything(folder) == before and other_books(folder) == [one]


def test_a_process_that_has_too_little_memory_says_so(package: Path, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Killed, or out of memory: in both cases nothing came, and that is what is said."""
    monkeypatch.setattr(bringing, "MOST_SECONDS", 0.05)
    with pytest.raises(NoPackage, match="takes more memory or time"):
        bring_in_elsewhere(package, folder, QUARRY, own_id=OWN)
    assert other_books(folder) == []
