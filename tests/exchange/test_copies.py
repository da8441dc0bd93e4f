"""Automatic copies, packed copies with photos, and copies that somebody made to do harm."""

import io
import json
import shutil
import stat
import threading
import zipfile
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from proofyard import cli
from proofyard.book_file import library as sqlite3
from proofyard.exchange import copies as copying
from proofyard.exchange import packed_copy
from proofyard.exchange import restore as restoring
from proofyard.exchange.backup import NotCopied
from proofyard.exchange.checkup import checkup
from proofyard.exchange.copies import EVERY_S, KEPT, Copies
from proofyard.exchange.packed_copy import NotRestored, pack
from proofyard.exchange.photo_files import PhotoFolder
from proofyard.exchange.photos import keep
from proofyard.exchange.restore import look_inside, restore
from proofyard.records import devices
from proofyard.records.ids import new_id
from proofyard.settings import BOOK_FILE
from proofyard.storage import Storage
from proofyard.wording.when import today

from tests import kit_for_tests as kit
from tests.exchange.test_photo_reading import made


def add_photo(book: Storage, size: tuple[int, int] = (320, 240)) -> str:
    photo_id = new_id()
    keep(book, made(size=size), photo_id=photo_id, device_id=kit.recorder(book), body={})
    return photo_id


def day_today(book: Storage, *, day: str = "") -> str:
    """An open trial that is shot on a day, today unless told otherwise."""
    trial = kit.trial(book)
    kit.session(book, trial, day=day or today())
    return trial


class Clock:
    def __init__(self) -> None:
        self.now = 1000.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def clock() -> Clock:
    return Clock()


# --- when


def test_a_copy_is_made_while_a_session_is_open_today_every_ten_minutes_and_only_if_something_changed(book: Storage, clock: Clock) -> None:
    copies = Copies(book, clock=clock)
    assert not copies.look(), "nothing was put down"
    day_today(book)
    assert copies.look()
    assert not copies.look()
    clock.now += EVERY_S + 1
    assert not copies.look(), "ten minutes without a change"
    kit.archer(book)
    assert copies.look()
    kit.archer(book)
    clock.now += EVERY_S - 1
    assert not copies.look(), "too early"
    clock.now += 2
    assert copies.look(), "what came too early is not forgotten"
    assert len(list((book.path.parent / "backups").glob("copy-*.zip"))) == 3


def test_no_copy_without_a_session_today_but_one_when_a_trial_is_closed(book: Storage, clock: Clock) -> None:
    copies = Copies(book, clock=clock)
    trial = day_today(book, day="2026-01-02")
    assert not copies.look() and not copies.look(at_once=True)
    kit.put(book, "trial", {"state": "closed"}, record_id=trial, base_rev=1)
    assert copies.look()
    assert not copies.look()


def test_a_closed_trial_does_not_wait_for_ten_minutes(book: Storage, clock: Clock) -> None:
    copies = Copies(book, clock=clock)
    trial = day_today(book)
    assert copies.look()
    clock.now += 5
    kit.put(book, "trial", {"state": "closed"}, record_id=trial, base_rev=1)
    assert copies.look()


def test_what_was_put_down_last_is_copied_when_the_server_stops(book: Storage, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(copying, "LOOK_EVERY_S", 3600.0)
    copies = Copies(book)
    copies.begin()
    day_today(book)
    copies.end()
    assert len(list((book.path.parent / "backups").glob("copy-*.zip"))) == 1


def test_the_thread_makes_copies_by_itself(book: Storage, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(copying, "LOOK_EVERY_S", 0.01)
    done = threading.Event()
    copies = Copies(book)
    first = copies.copy_now
    monkeypatch.setattr(copies, "copy_now", lambda: (first(), done.set()))
    copies.begin()
    day_today(book)
    assert done.wait(10)
    copies.end()


# --- what and where


def test_copies_are_kept_by_count_and_those_of_another_book_are_let_be(book: Storage, tmp_path: Path) -> None:
    stick = tmp_path / "stick"
    stick.mkdir()
    other = stick / "copy-00000000-20260101-120000.zip"
    mine = stick / "holiday.zip"
    for file in (other, mine):
        file.write_bytes(b"PK")
    copies = Copies(book, also_to=stick)
    for _ in range(KEPT + 3):
        copies.copy_now()
    for folder in (book.path.parent / "backups", stick):
        assert len([path for path in folder.glob("copy-*.zip") if path != other]) == KEPT
    assert other.exists() and mine.exists()
    assert copies.last[0].packed and copies.last[1].packed


def test_a_photo_lies_once_beside_all_copies_and_each_copy_restores_with_it(book: Storage, tmp_path: Path) -> None:
    photo_id = add_photo(book)
    copies = Copies(book)
    copies.copy_now()
    copies.copy_now()
    backups = book.path.parent / "backups"
    assert [path.name for path in (backups / "photos").rglob("*.jpg")] == [f"{photo_id}.jpg"]
    newest = max(backups.glob("copy-*.zip"))
    assert look_inside(newest).photos == 1
    done = restore(newest, tmp_path / "new laptop")
    assert (done.inside.photos, done.inside.missing) == (1, 0)
    here, there = PhotoFolder(book.path.parent), PhotoFolder(tmp_path / "new laptop")
    assert there.read(photo_id) == here.read(photo_id) is not None


def test_a_stick_that_is_pulled_out_is_told_and_the_first_folder_still_has_its_copy(book: Storage, tmp_path: Path) -> None:
    (tmp_path / "stick").write_text("no folder")
    copies = Copies(book, also_to=tmp_path / "stick")
    copies.copy_now()
    assert copies.last[0].packed is not None and not copies.last[0].trouble
    assert copies.last[1].packed is None and copies.last[1].trouble
    found = {one.what: one for one in checkup(book.path.parent, also_to=tmp_path / "stick", trouble=copies.last[1].trouble)}
    assert found["Last backup"].verdict == "wrong" and found["Second folder for copies"].verdict == "look"


def test_a_copy_taken_while_somebody_saves_is_whole_and_of_one_moment(book: Storage, tmp_path: Path) -> None:
    day_today(book)
    stop = threading.Event()
    faults: list[BaseException] = []

    def save() -> None:
        try:
            while not stop.is_set():
                yard_archer = kit.archer(book, f"Archer {new_id()[-12:]}")
                assert yard_archer
                add_photo(book, (32, 32))
        except BaseException as error:
            faults.append(error)

    saver = threading.Thread(target=save)
    saver.start()
    copies = Copies(book)
    try:
        seen = []
        for _ in range(6):
            copies.copy_now()
            assert copies.last[0].packed is not None, copies.last[0].trouble
            assert not copies.last[0].trouble
            seen.append(copies.last[0].packed)
    finally:
        stop.set()
        saver.join()
    assert not faults
    beside = set()
    for one in seen:
        inside = look_inside(one.file)
        assert inside.counts == one.counts and inside.missing == 0
        beside.add(inside.counts["revision"] - sum(inside.counts[noun] for noun in ("archer", "photo", "device")))
    # each record and its revision were saved in one commit, so a copy has both or neither
    assert len(beside) == 1
    assert seen[-1].counts["archer"] > seen[0].counts["archer"], "nobody saved meanwhile, so this tests nothing"


def test_a_lost_photo_is_told_and_the_copy_is_made_all_the_same(book: Storage) -> None:
    PhotoFolder(book.path.parent).path(add_photo(book)).unlink()
    damaged = PhotoFolder(book.path.parent).path(add_photo(book))
    damaged.write_bytes(damaged.read_bytes()[:-1] + b"?")
    copies = Copies(book)
    copies.copy_now()
    assert copies.last[0].packed and len(copies.last[0].packed.missing) == 2 and "2 photos" in copies.last[0].trouble
    photos = next(one for one in checkup(book.path.parent, thorough=True) if one.what == "Photos")
    assert photos.verdict == "wrong" and "2 missing or damaged" in photos.found


def test_a_copy_that_does_not_read_back_is_thrown_away(book: Storage, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(zipfile.ZipFile, "testzip", lambda self: "proofyard.db")
    with pytest.raises(NotCopied, match="does not read back"):
        pack(book.path, tmp_path / "copies" / "copy.zip")
    assert list((tmp_path / "copies").iterdir()) == []


def test_the_command_packs_photos_and_restores_them_after_a_dry_run(
    book: Storage, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    photo_id = add_photo(book)
    folder, to = book.path.parent, tmp_path / "carried" / "book.zip"
    with book.read() as session:
        before = devices.the_book(session)
    book.close()
    assert cli.main(["backup", str(to), "--data", str(folder)]) == 0
    assert "photos: 1" in capsys.readouterr().out
    lost = PhotoFolder(folder).path(photo_id)
    content = lost.read_bytes()
    lost.write_bytes(b"not that photo")
    assert cli.main(["restore", str(to), "--data", str(folder)]) == 0
    assert "photos: 1" in capsys.readouterr().out and lost.read_bytes() == b"not that photo"
    assert cli.main(["restore", str(to), "--data", str(folder), "--yes"]) == 0
    assert lost.read_bytes() == content
    assert [path.read_bytes() for path in lost.parent.glob("*-before-restore-*")] == [b"not that photo"]
    with closing(sqlite3.connect(folder / BOOK_FILE)) as connection:
        assert before is not None and connection.execute("SELECT book_id FROM book").fetchone()[0] == before.book_id
        assert connection.execute("SELECT epoch FROM book").fetchone()[0] != before.epoch
    assert list(folder.glob("*-before-restore-*.db"))


# --- made to do harm


@pytest.fixture
def whole(book: Storage, tmp_path: Path) -> Path:
    add_photo(book)
    pack(book.path, tmp_path / "whole.zip")
    return tmp_path / "whole.zip"


def remade(whole: Path, change: Callable[[zipfile.ZipFile], None], *, leave: tuple[str, ...] = ()) -> Path:
    """The same copy, packed again with something in it."""
    bad = whole.with_name("bad.zip")
    with zipfile.ZipFile(whole) as old, zipfile.ZipFile(bad, "w", zipfile.ZIP_DEFLATED) as new:
        for info in old.infolist():
            if info.filename not in leave:
                new.writestr(info, old.read(info))
        change(new)
    return bad


def link(new: zipfile.ZipFile) -> None:
    info = zipfile.ZipInfo(f"photos/ab/{new_id()[:-2]}ab.jpg")
    info.external_attr = (stat.S_IFLNK | 0o777) << 16
    new.writestr(info, "/etc/passwd")


def secret(new: zipfile.ZipFile) -> None:
    name = f"photos/ab/{new_id()[:-2]}ab.jpg"
    new.writestr(name, b"x")
    new.filelist[-1].flag_bits |= 0x1


def bursting(new: zipfile.ZipFile) -> None:
    new.writestr(f"photos/ab/{new_id()[:-2]}ab.jpg", bytes(30_000_000))


HARM: list[tuple[str, Callable[[zipfile.ZipFile], None], tuple[str, ...], str]] = [
    ("a path out of the folder", lambda new: new.writestr("../../proofyard.db", b"x"), (), "no name that a copy has"),
    ("a path from the root", lambda new: new.writestr("/etc/cron.d/x", b"x"), (), "no name that a copy has"),
    ("a photo's name with a step up", lambda new: new.writestr("photos/../x.jpg", b"x"), (), "no name that a copy has"),
    ("a photo in another's place", lambda new: new.writestr(f"photos/00/{new_id()[:-2]}ab.jpg", b"x"), (), "no name that a copy has"),
    ("a backslash", lambda new: new.writestr("photos\\ab\\x.jpg", b"x"), (), "no name that a copy has"),
    ("a script", lambda new: new.writestr("setup.py", b"x"), (), "no name that a copy has"),
    ("a link", link, (), "is a link"),
    ("a password", secret, (), "password"),
    ("a file that bursts", bursting, (), "unpacks to far more"),
    (
        "another way of packing",
        lambda new: new.writestr(f"photos/ab/{new_id()[:-2]}ab.jpg", b"x", zipfile.ZIP_BZIP2),
        (),
        "packed in a way",
    ),
    ("no book", lambda new: None, (BOOK_FILE,), "has no book in it"),
    ("a text for a book", lambda new: new.writestr(BOOK_FILE, b"Shots of Saturday\n" * 400), (BOOK_FILE,), "not a Proofyard book"),
    ("an empty book", lambda new: new.writestr(BOOK_FILE, b""), (BOOK_FILE,), "not a Proofyard book"),
]


@pytest.mark.parametrize(("change", "leave", "said"), [row[1:] for row in HARM], ids=[row[0] for row in HARM])
def test_a_copy_made_to_do_harm_is_refused_and_changes_nothing(
    book: Storage, whole: Path, change: Callable[[zipfile.ZipFile], None], leave: tuple[str, ...], said: str
) -> None:
    bad = remade(whole, change, leave=leave)
    book.close()
    folder = book.path.parent
    before = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    for look in (lambda: look_inside(bad), lambda: restore(bad, folder)):
        with pytest.raises(NotRestored) as refusal:
            look()
        assert said in str(refusal.value) and "Nothing was changed" in str(refusal.value)
    assert {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()} == before
    assert not (whole.parent / "proofyard.db").exists()


def test_a_name_that_is_there_twice_is_refused(whole: Path) -> None:
    with pytest.warns(UserWarning, match="Duplicate"):
        bad = remade(whole, lambda new: new.writestr(BOOK_FILE, b"another"))
    with pytest.raises(NotRestored, match="twice"):
        look_inside(bad)


@pytest.mark.parametrize("share", [0.1, 0.5, 0.9, 0.99])
def test_a_copy_that_is_cut_off_is_refused(whole: Path, share: float) -> None:
    content = whole.read_bytes()
    whole.write_bytes(content[: int(len(content) * share)])
    with pytest.raises(NotRestored):
        look_inside(whole)


def test_a_flipped_byte_is_noticed(whole: Path) -> None:
    content = bytearray(whole.read_bytes())
    content[2000] ^= 0xFF
    whole.write_bytes(content)
    with pytest.raises(NotRestored):
        look_inside(whole)


def test_a_list_of_contents_that_is_too_long_is_not_even_read(whole: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    content = bytearray(whole.read_bytes())
    end = content.rindex(b"PK\x05\x06")
    content[end + 12 : end + 16] = (50_000_000).to_bytes(4, "little")
    whole.write_bytes(content)
    monkeypatch.setattr(packed_copy.zipfile, "ZipFile", lambda *_: pytest.fail("it was opened"))
    with pytest.raises(NotRestored, match="lists more"):
        look_inside(whole)


def test_too_many_files_and_too_many_bytes_are_refused(whole: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(packed_copy, "MOST_PHOTOS", 0)
    with pytest.raises(NotRestored, match="files in it"):
        look_inside(remade(whole, lambda new: new.writestr(f"photos/ab/{new_id()[:-2]}ab.jpg", b"x")))
    monkeypatch.undo()
    monkeypatch.setattr(packed_copy, "MOST_BYTES", 100_000)
    with pytest.raises(NotRestored, match="GB"):
        look_inside(whole)


def test_a_photo_with_another_checksum_or_that_is_no_jpeg_does_not_come_along(book: Storage, whole: Path, tmp_path: Path) -> None:
    with zipfile.ZipFile(whole) as packed:
        name = next(one for one in packed.namelist() if one.endswith(".jpg"))
        size = packed.getinfo(name).file_size
    page = b"<script>alert(1)</script>".ljust(size)
    bad = remade(whole, lambda new: new.writestr(name, page), leave=(name,))
    done = restore(bad, tmp_path / "new laptop")
    assert (done.inside.photos, done.inside.missing) == (0, 1)
    assert not list((tmp_path / "new laptop").rglob("*.jpg"))


def test_a_link_in_the_place_of_a_photo_beside_a_copy_is_not_followed(book: Storage, tmp_path: Path) -> None:
    photo_id = add_photo(book)
    Copies(book).copy_now()
    backups = book.path.parent / "backups"
    beside = PhotoFolder(backups).path(photo_id)
    target = tmp_path / "elsewhere.jpg"
    shutil.move(beside, target)
    beside.symlink_to(target)
    assert look_inside(next(backups.glob("copy-*.zip"))).missing == 1


def test_a_book_with_a_photo_named_like_a_path_restores_without_it(book: Storage, tmp_path: Path) -> None:
    add_photo(book)
    with closing(sqlite3.connect(book.path)) as connection, connection:
        connection.execute("UPDATE photo SET id = '../../../../tmp/x'")
    pack(book.path, tmp_path / "odd.zip")
    done = restore(tmp_path / "odd.zip", tmp_path / "new laptop")
    assert done.inside.photos == 0 and not list(tmp_path.rglob("x.jpg"))


def test_a_packed_copy_says_what_it_has(whole: Path) -> None:
    with zipfile.ZipFile(io.BytesIO(whole.read_bytes())) as packed:
        told = json.loads(packed.read("contents.json"))
    assert told["photos_inside"] is True and len(told["photos"]) == 1 and told["missing"] == [] and told["counts"]["photo"] == 1


def test_a_disk_without_room_for_a_packed_copy_is_told_before_anything_is_unpacked(
    whole: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(restoring, "SPARE_BYTES", 1 << 60)
    from proofyard.storage import BookFull

    with pytest.raises(BookFull, match="not enough room"):
        restore(whole, tmp_path / "new laptop")
