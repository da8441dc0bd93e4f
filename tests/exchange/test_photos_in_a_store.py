"""Photos in a store that speaks S3 are what they are in a folder; and whatever is wrong with the store is said in words."""

from __future__ import annotations

import hashlib
import sys
import threading
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from proofyard.cli import main
from proofyard.exchange import photo_store
from proofyard.exchange.checkup import checkup
from proofyard.exchange.kept_photos import photos_at, photos_of
from proofyard.exchange.package.packing import write_package
from proofyard.exchange.packed_copy import pack
from proofyard.exchange.photo_files import PhotoFolder
from proofyard.exchange.photo_store import PhotosAway, PhotoStore, WrongStore, store_at
from proofyard.exchange.photos import keep
from proofyard.exchange.restore import restore
from proofyard.groups.places import place_of
from proofyard.groups.register import Group
from proofyard.opening import HeldFolder, open_book
from proofyard.records import devices
from proofyard.records.ids import new_id
from proofyard.settings import BOOK_FILE
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests.conftest import House, copied, house_of
from tests.exchange.test_photo_reading import made
from tests.postgres_for_tests import Server
from tests.s3_for_tests import BUCKET, KEY_ID, SECRET, Store, in_the_way, running_store

if TYPE_CHECKING:
    from obstore.store import S3Store

pytestmark = pytest.mark.slow


@pytest.fixture
def at(s3_store: Store, monkeypatch: pytest.MonkeyPatch) -> str:
    """The address of a new bucket's part, set as a server is told of it."""
    for name, value in s3_store.environment().items():
        monkeypatch.setenv(name, value)
    address = f"{s3_store.new_place()}/yard"
    monkeypatch.setenv("PROOFYARD_PHOTOS", address)
    return address


@pytest.fixture
def in_store(at: str, empty_book_file: Path, tmp_path: Path) -> Iterator[House]:
    with closing(open_book(copied(empty_book_file, tmp_path / "yard"))) as book:
        assert book.photos_at == at
        with book.write() as session:
            devices.make_book(session)
        yield house_of(book)


def put(client: TestClient, content: bytes, photo_id: str) -> tuple[int, dict[str, object]]:
    answer = client.put(f"/api/photos/{photo_id}", content=content)
    return answer.status_code, answer.json()


def raw(at: str, endpoint: str) -> S3Store:
    """The same place, asked past the program."""
    from obstore.store import S3Store

    bucket, _, prefix = at.removeprefix("s3://").partition("/")
    keys = {"access_key_id": KEY_ID, "secret_access_key": SECRET, "region": "us-east-1"}
    return S3Store(bucket, prefix=prefix or None, endpoint=endpoint, client_options={"allow_http": True}, **keys)


def test_a_photo_goes_in_is_shown_and_leaves_nothing_in_the_folder(in_store: House, at: str, s3_store: Store) -> None:
    archer, photo_id, sent = in_store.client("archer"), new_id(), made(size=(900, 700))
    status, told = put(archer, sent, photo_id)
    assert status == 200 and put(archer, sent, photo_id)[1]["again"] is True
    shown = archer.get(f"/photos/{photo_id}")
    assert hashlib.sha256(shown.content).hexdigest() == told["sha256"]
    assert 0 < len(archer.get(f"/photos/{photo_id}/small").content) < len(shown.content)
    assert not (in_store.storage.path.parent / "photos").exists()
    there = {one["path"] for some in raw(at, s3_store.endpoint).list() for one in some}
    assert there == {f"{photo_id[-2:]}/{photo_id}{form}.jpg" for form in ("", ".small")}


def test_what_was_changed_or_lost_in_the_store_is_not_shown_and_the_check_counts_it(in_store: House, at: str, s3_store: Store) -> None:
    archer, ids, folder = in_store.client("archer"), [new_id() for _ in range(3)], in_store.storage.path.parent
    for n, one in enumerate(ids):
        put(archer, made(size=(300 + n, 200)), one)
    assert {one.what: one for one in checkup(folder, thorough=True)}["Photos"].verdict == "good"
    there, names = raw(at, s3_store.endpoint), [f"{one[-2:]}/{one}.jpg" for one in ids]
    sent = bytes(there.get(names[0]).bytes())
    there.put(names[0], sent[:-1] + b"\0")  # no word of its SHA-256 beside it: the book's own is what it is held against
    there.delete(names[1])
    assert [archer.get(f"/photos/{one}").status_code for one in ids] == [404, 404, 200]
    assert "1 missing" in {one.what: one for one in checkup(folder)}["Photos"].found
    assert "2 missing or damaged" in {one.what: one for one in checkup(folder, thorough=True)}["Photos"].found
    put(archer, made(size=(301, 200)), ids[1])
    assert archer.get(f"/photos/{ids[1]}").status_code == 200, "the phone offered it again"


def test_what_came_broken_out_of_the_store_is_none(at: str, s3_store: Store) -> None:
    photos, one = store_at(at), new_id()
    photos.write(one, b"a photo")
    about = {"proofyard-sha256": hashlib.sha256(b"another").hexdigest()}
    assert photos.read(one) == b"a photo"
    raw(at, s3_store.endpoint).put(f"{one[-2:]}/{one}.jpg", b"a photo", attributes=about)
    assert photos.read(one) is None and photos.read("../../etc/passwd") is None


def said_in_words(house: House, photo_id: str, words: str) -> None:
    """A save of a photo is refused for now, what is shown instead of one says why, and the book without photos goes on."""
    archer = house.client("archer")
    began = time.monotonic()
    status, told = put(archer, made(), new_id())
    assert status == 503 and told["trouble"] == "storage" and words in str(told["sentence"]) and "Traceback" not in str(told)
    for address in (f"/photos/{photo_id}", f"/photos/{photo_id}/small"):
        shown = archer.get(address)
        assert shown.status_code == 503 and shown.headers["content-type"].startswith("image/svg+xml") and words in shown.text
        assert shown.headers["cache-control"] == "no-store" and int(shown.headers["retry-after"]) > 0
    assert time.monotonic() - began < 3 * photo_store.ANSWER_WITHIN_S
    assert archer.get(f"/photos/{photo_id}/about").status_code == 200 and archer.get("/photos").status_code == 200
    with house.storage.read() as session:
        from proofyard.records.listing import count_of

        assert count_of(session, "photo") == 1, "no row of a photo that is nowhere"
    photos = {one.what: one for one in checkup(house.storage.path.parent, photos=house.storage.photos_at)}["Photos"]
    assert photos.verdict == "wrong" and words in photos.found


@pytest.fixture
def one_photo(in_store: House) -> str:
    photo_id = new_id()
    assert put(in_store.client("archer"), made(size=(400, 300)), photo_id)[0] == 200
    return photo_id


def test_a_wrong_key_is_said(in_store: House, one_photo: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("AWS_SECRET_ACCESS_KEY", "another")
    said_in_words(in_store, one_photo, "doesn’t let this program in")


def test_a_bucket_that_is_not_there_is_said(in_store: House, one_photo: str) -> None:
    in_store.storage.photos_at = "s3://there-is-no-such-bucket/yard"
    said_in_words(in_store, one_photo, "There is no bucket “there-is-no-such-bucket”")


def test_a_store_that_does_not_answer_is_said_and_asked_again_later(
    in_store: House, one_photo: str, s3_store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(photo_store, "ANSWER_WITHIN_S", 1.0)
    monkeypatch.setattr(photo_store, "REST_S", 0.5)
    passes = threading.Event()
    with in_the_way(s3_store.endpoint, passes.is_set) as endpoint:
        monkeypatch.setenv("AWS_ENDPOINT_URL", endpoint)
        said_in_words(in_store, one_photo, "doesn’t answer")
        passes.set()
        time.sleep(0.6)
        archer = in_store.client("archer")
        assert archer.get(f"/photos/{one_photo}").status_code == 200
        assert put(archer, made(), new_id())[0] == 200


def test_twenty_photos_of_one_page_wait_for_a_silent_store_once(at: str, s3_store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(photo_store, "ANSWER_WITHIN_S", 1.0)
    with in_the_way(s3_store.endpoint, lambda: False) as endpoint:
        monkeypatch.setenv("AWS_ENDPOINT_URL", endpoint)
        photos, began = store_at(at), time.monotonic()
        for _ in range(20):
            with pytest.raises(PhotosAway):
                photos.read(new_id())
    assert time.monotonic() - began < 10


@pytest.mark.long
def test_a_store_killed_in_the_middle_loses_nothing_that_was_acknowledged(
    empty_book_file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two servers' books on one store, which is killed and started again while both save; what was refused is sent again."""
    monkeypatch.setattr(photo_store, "REST_S", 0.2)
    with running_store() as store:
        for name, value in store.environment().items():
            monkeypatch.setenv(name, value)
        houses = []
        for name in ("one", "two"):
            book = open_book(copied(empty_book_file, tmp_path / name), photos=f"s3://{BUCKET}/{name}")
            with book.write() as session:
                devices.make_book(session)
            houses.append(house_of(book))
        taken: dict[str, str] = {}
        refused = threading.Event()

        def save(which: int) -> None:
            archer, house = houses[which].client("archer"), ("one", "two")[which]
            for n in range(12):
                photo_id, sent = new_id(), made(size=(200 + n, 100 + which))
                until = time.monotonic() + 60
                while time.monotonic() < until:
                    status, told = put(archer, sent, photo_id)
                    if status == 200:
                        taken[f"{house}/{photo_id[-2:]}/{photo_id}.jpg"] = str(told["sha256"])
                        break
                    assert status == 503 and told["trouble"] == "storage"
                    refused.set()
                    time.sleep(0.1)

        with ThreadPoolExecutor(2) as hands:
            saving = [hands.submit(save, which) for which in (0, 1)]
            while len(taken) < 6:
                time.sleep(0.01)
            store.kill()
            assert refused.wait(20), "nobody was told that it is away"
            store.start()
            for one in saving:
                one.result()
        assert len(taken) == 24
        there = raw(f"s3://{BUCKET}", store.endpoint)
        assert {name: hashlib.sha256(bytes(there.get(name).bytes())).hexdigest() for name in taken} == taken
        for house in houses:
            house.storage.close()


def test_servers_on_one_database_share_the_photos(at: str, postgres: Server, tmp_path: Path) -> None:
    folders = [tmp_path / name for name in ("first", "second")]
    address = postgres.new_database("empty_book")
    books = [open_book(folder, address=address, photos=at) for folder in folders]
    with books[0].write() as session:
        devices.make_book(session)
        phone = devices.add_device(session, call_name="Wren", role="archer").id
    sent, photo_id = made(size=(500, 400)), new_id()

    def take(book: Storage) -> bool:
        return keep(book, sent, photo_id=photo_id, device_id=phone, body={}).again

    with ThreadPoolExecutor(2) as hands:  # the same photo to both at one moment, as when a phone heard no answer of the first
        assert sorted(hands.map(take, books)) in ([False, True], [True, True])
    houses = [house_of(book) for book in books]
    shown = [house.client("archer").get(f"/photos/{photo_id}") for house in houses]
    assert [one.status_code for one in shown] == [200, 200] and shown[0].content == shown[1].content
    assert not any((folder / "photos").exists() for folder in folders)
    for book in books:
        book.close()


def package_of(book: Storage) -> bytes:
    file = BytesIO()
    write_package(book, file)
    return file.getvalue()


def test_photos_move_into_a_store_and_back_and_the_package_is_the_same(
    at: str, s3_store: Store, demo_book_file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.delenv("PROOFYARD_PHOTOS")
    folder = copied(demo_book_file, tmp_path / "yard")
    with closing(open_book(folder)) as book:
        before = package_of(book)
    kept = {path.name: path.read_bytes() for path in (folder / "photos").rglob("*.jpg")}
    assert main(["move", str(folder), at]) == 0 and "8 of 8 are whole" in capsys.readouterr().out
    assert main(["move", str(folder), at]) == 0 and "0 of them were brought now" in capsys.readouterr().out
    for path in (folder / "photos").rglob("*.jpg"):
        path.unlink()
    monkeypatch.setenv("PROOFYARD_PHOTOS", at)
    with closing(open_book(folder)) as book:
        assert package_of(book) == before
        packed = pack(book.path, tmp_path / "copy.zip")
        assert packed.photos == 8 and not packed.missing
    assert main(["check", "--data", str(folder)]) == 0 and f" in {at}" in capsys.readouterr().out
    monkeypatch.delenv("PROOFYARD_PHOTOS")
    assert main(["move", at, str(folder)]) == 0
    assert {path.name: path.read_bytes() for path in (folder / "photos").rglob("*.jpg")} == kept
    with closing(open_book(folder)) as book:
        assert package_of(book) == before


def test_a_copy_is_put_back_into_the_store_and_nothing_is_written_over(at: str, demo_book_file: Path, tmp_path: Path) -> None:
    from_, to = copied(demo_book_file, tmp_path / "from"), tmp_path / "to"
    packed = pack(from_ / BOOK_FILE, tmp_path / "copy.zip", photos="")
    one = next(PhotoFolder(from_).files())[0]
    photos_at(to).write(one, b"another")
    to.mkdir()
    with HeldFolder(to):
        assert restore(packed.file, to).inside.photos == 8
    assert not (to / "photos").exists() and photos_at(to).read(one) == PhotoFolder(from_).read(one)
    aside = [form for photo_id, form in photos_at(to).files() if photo_id == one and form.startswith("before-restore")]
    assert len(aside) == 1 and photos_at(to).read(one, aside[0]) == b"another"


def test_a_book_moves_to_postgresql_with_its_photos_in_a_store(
    at: str, postgres: Server, demo_book_file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    folder, address = copied(demo_book_file, tmp_path / "yard"), postgres.new_database()
    assert main(["move", str(folder), address, "--photos", at]) == 0
    said = capsys.readouterr().out
    assert f"8 of 8 are whole in {at}" in said and f"PROOFYARD_PHOTOS set to {at}" in said
    monkeypatch.setenv("PROOFYARD_DATABASE", address)
    other = tmp_path / "another host"
    with closing(open_book(other)) as book:
        house = house_of(book)
        ids = [photo_id for photo_id, form in photos_at(folder, "").files() if not form]
        assert len(ids) == 8
        for one in ids:
            assert house.client("archer").get(f"/photos/{one}").content == PhotoFolder(folder).read(one)


def test_each_group_has_a_part_of_its_own(at: str, tmp_path: Path) -> None:
    """Ids come from phones: with one name for two groups, one could write over the other's photo."""
    groups = [place_of(Group(name, name, 0), tmp_path, kept_in="") for name in ("oak-yard", "quarry")]
    assert [one.photos for one in groups] == [f"{at}/g/oak-yard", f"{at}/g/quarry"]
    for one in groups:
        one.folder.mkdir(parents=True)
    books, photo_id = [open_book(one.folder, address=one.database, photos=one.photos) for one in groups], new_id()
    for book, content in zip(books, (b"oak", b"quarry"), strict=True):
        photos_of(book).write(photo_id, content)
    assert [photos_of(book).read(photo_id) for book in books] == [b"oak", b"quarry"]
    for book in books:
        book.close()


@pytest.mark.parametrize(
    ("setting", "without", "words"),
    [
        ("s3:/bucket", "", "can’t be read"),
        ("s3://Bucket/../x", "", "can’t be read"),
        ("/a/folder", "", "can’t be read"),
        ("s3://bucket/yard", "AWS_ACCESS_KEY_ID", "need AWS_ACCESS_KEY_ID"),
    ],
)
def test_a_setting_that_can_not_be_right_is_refused_before_anything_is_served(
    at: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], setting: str, without: str, words: str
) -> None:
    monkeypatch.setenv("PROOFYARD_PHOTOS", setting)
    if without:
        monkeypatch.delenv(without)
    assert main(["serve", "--data", str(tmp_path / "none")]) == 2
    assert words in capsys.readouterr().err and not (tmp_path / "none").exists()
    with pytest.raises(WrongStore, match=words):
        PhotoStore(photo_store.place_of(setting))


def test_without_its_library_what_to_install_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "obstore", None)  # as Python itself marks what can't be imported
    with pytest.raises(WrongStore, match=r"pip install proofyard\[s3\]"):
        store_at("s3://bows/photos")
