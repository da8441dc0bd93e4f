"""The page of other books: who may bring in, read, remove; what it says; and that nothing of theirs is counted as one's own."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from httpx2 import Response
from proofyard.access.seats import hash_of
from proofyard.exchange.other_books import bring_in as bringing
from proofyard.pages.other_books import page as pages
from proofyard.records import devices
from proofyard.records.listing import all_of
from proofyard.records.trial import Trial
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.conftest import CAST, House, copied, house_of, opened
from tests.other_books_for_tests import package_of, small
from tests.pages.page_text import text_of

pytestmark = pytest.mark.slow  # a book is made from nothing for each that comes in

QUESTION = "Does quarry plate hold the leaf?"


@pytest.fixture(scope="module")
def package(tmp_path_factory: pytest.TempPathFactory, empty_book_file: Path) -> bytes:
    return package_of(
        tmp_path_factory.mktemp("quarry"), empty_book_file, lambda book: small(book, f"{QUESTION} <script>alert(1)</script>")
    ).read_bytes()


@pytest.fixture(scope="module")
def shared(tmp_path_factory: pytest.TempPathFactory, empty_book_file: Path, package: bytes) -> Iterator[tuple[House, str]]:
    """A house with one other book in it, and that book's address."""
    with closing(opened(copied(empty_book_file, tmp_path_factory.mktemp("own") / "book"))) as book, pytest.MonkeyPatch.context() as patch:
        patch.setattr(pages, "bring_in_elsewhere", bringing.bring_in)  # the same work, in this process
        house = house_of(book)
        kit.yard(book)
        got = sent(house.client("owner"), package)
        assert got.status_code == 303, words_of(got.text)
        yield house, got.headers["location"].partition("?")[0]


def words_of(page: str) -> str:
    return " ".join(text_of(page, frame=False).split())


def sent(client: TestClient, package: bytes | None, **typed: str) -> Response:
    files = {"package": ("theirs.zip", package, "application/zip")} if package is not None else None
    return client.post("/other-books", data={"whose": "Quarry group", "citation": "Quarry group (2026)", **typed}, files=files)


def test_it_says_whose_it_is_and_how_it_stands(shared: tuple[House, str]) -> None:
    house, address = shared
    for role in CAST:
        client = house.client(role)
        listed = words_of(client.get("/other-books").text)
        assert "1 book of other groups is here to read." in listed and "Quarry group 1 trial, 2 shots, as they stood on" in listed
        page = words_of(client.get(address).text)
        assert QUESTION in page and "2 of 2 shots were read as hits on the panel." in page
        assert "CC BY 4.0: say whose it is" in page and "Quarry group (2026)" in page
        assert ("Bring a book in" in listed, "Remove this book" in page) == (role == "owner", role == "owner")


def test_a_trial_is_read_as_its_report_marked_with_where_it_came_from(shared: tuple[House, str]) -> None:
    house, address = shared
    client = house.client("viewer")
    their = client.get(address).text.split(f'href="{address}/trials/')[1].split('"')[0]
    got = client.get(f"{address}/trials/{their}")
    page = words_of(got.text)
    assert got.status_code == 200 and page.index("From another book: Quarry group.") < page.index(QUESTION)
    assert "counts in no result of your own book" in page and "Report of a trial of another book: Quarry group" in page
    assert "<script>alert" not in got.text and "&lt;script&gt;alert" in got.text
    inside = got.text.split('id="other-books-head"')[1].split("</main>")[0]
    assert 'href="/shots/' not in inside and 'href="/trials/' not in inside, "no link leads into one's own book"
    file = client.get(f"{address}/trials/{their}/report.html")
    assert file.headers["content-disposition"].startswith("attachment") and "of another book: Quarry group" in file.text
    assert "data:image/jpeg" in file.text


def test_nothing_of_it_is_in_ones_own_book(shared: tuple[House, str]) -> None:
    house, _ = shared
    with house.storage.read() as session:
        assert [one.question for one in all_of(session, Trial)] != [] and QUESTION not in {one.question for one in all_of(session, Trial)}
    client = house.client("owner")
    for address in ("/trials", "/shots", "/results", "/find?q=quarry", "/"):
        assert QUESTION not in client.get(address).text, address
    own = client.get("/download/package.zip").content
    assert b"quarry" not in own and QUESTION.encode() not in client.get("/download/trials.csv").content


def test_who_was_let_in_to_one_trial_sees_none_of_it(shared: tuple[House, str]) -> None:
    house, address = shared
    with house.storage.write() as session:
        trial = all_of(session, Trial)[0].id
        devices.add_device(session, call_name="Sedge", role="viewer", session_hash=hash_of("guest"), trial_id=trial)
    house.tokens["guest"] = "guest"
    guest = house.client("guest")
    assert guest.get(f"/trials/{trial}").status_code == 200
    for path in ("/other-books", address, f"{address}/trials/{trial}", f"{address}/trials/{trial}/report.html"):
        assert guest.get(path).status_code == 403, path


def test_only_the_owner_brings_in_and_removes(shared: tuple[House, str], package: bytes) -> None:
    house, address = shared
    for role in ("archer", "viewer"):
        assert sent(house.client(role), package).status_code == 403
        assert house.client(role).post(f"{address}/remove").status_code == 403
    assert house.client().get("/other-books").status_code == 401


def test_the_same_again_says_that_nothing_was_changed(shared: tuple[House, str], package: bytes) -> None:
    client = shared[0].client("owner")
    got = sent(client, package)
    assert got.headers["location"].endswith("?done=unchanged")
    assert "The same state was here already, so nothing was changed." in words_of(client.get(got.headers["location"]).text)


def test_what_is_wrong_is_said_by_the_field_and_what_was_typed_stays(shared: tuple[House, str], package: bytes) -> None:
    client = shared[0].client("owner")
    got = sent(client, None, whose="  ")
    assert got.status_code == 422 and got.text.count("Enter whose book it is") == 2 and got.text.count("Choose the package, a file") == 2
    assert 'value="Quarry group (2026)"' in got.text
    for content, said in ((b"", "its end is missing"), (b"PK no zip", "its end is missing"), (package[:-3000], "is not")):
        refused = sent(client, content)
        words = words_of(refused.text)
        assert refused.status_code == 422 and "The package was not taken." in words and said in words
        assert "/package.zip" not in words and 'value="Quarry group"' in refused.text


def test_brought_in_by_the_page_and_removed_by_it(house: House, package: bytes) -> None:
    """As it is: another process reads the package."""
    client = house.client("owner")
    got = sent(client, package)
    address = got.headers["location"].partition("?")[0]
    assert "The book was brought in." in words_of(client.get(got.headers["location"]).text)
    gone = client.post(f"{address}/remove")
    assert gone.status_code == 303 and "The book was removed." in words_of(client.get(gone.headers["location"]).text)
    assert client.get(address).status_code == 404
    assert client.post(f"{address}/remove").status_code == 404


def test_an_id_that_is_a_path_is_no_book(house: House) -> None:
    client = house.client("owner")
    for address in ("/other-books/%2e%2e%2fbackups", "/other-books/backups", f"/other-books/{kit.new_id()}"):
        assert client.get(address).status_code == 404, address


def test_an_empty_shelf_says_so(book: Storage, viewer: TestClient) -> None:
    assert "No other group’s book is here yet." in words_of(viewer.get("/other-books").text)
