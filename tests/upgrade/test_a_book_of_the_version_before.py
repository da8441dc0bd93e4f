"""A book of form 0007 opens, is upgraded, and says what it said: on its pages, in its notebook, in its CSV, in its copies."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from proofyard.access.seats import COOKIE, hash_of, named, new_token
from proofyard.app import create_app
from proofyard.book_file import library as sqlite3
from proofyard.exchange.checkup import checkup
from proofyard.exchange.copies import BACKUPS
from proofyard.exchange.export import export
from proofyard.exchange.packed_copy import pack, photo_rows
from proofyard.exchange.photo_files import PhotoFolder, take_former
from proofyard.exchange.restore import look_inside, restore
from proofyard.opening import all_forms, bring_up_to_date, form_of, make_empty, newest_form, open_book
from proofyard.records import devices
from proofyard.records.apply import apply_each
from proofyard.records.nouns import NAMES, TABLES
from proofyard.records.operations import Operation
from proofyard.settings import BOOK_FILE, Settings
from proofyard.shots.speed_without_chronograph import speed_of_inputs
from proofyard.storage import Storage
from sqlalchemy import text
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.conftest import ADDRESS, HOST, PORT
from tests.faults.a_real_server import REPOSITORY
from tests.notebook_for_tests import take_apart, told_in
from tests.upgrade import book_before as before

RETIRED = re.compile(
    r"\b(?:pairings?|pairing_id|walks?|walk_id|pictures?|picture_id|struck|struck_rev|strike|strike_s|unstrike|way_in|look_behind|fair_target|half_energy\w*|finger|finger_m|narrow_the_half|stout|stood_armour|stood_backing|put_out\w*)\b"
)

SINCE = {"butt_visit", "claim", "film", "film_mark", "import_batch", "imported_record"}  # nouns that such a book could not have


@pytest.fixture(scope="module")
def upgraded(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of such a book after this program opened it, its photos still in the folder of old."""
    folder = tmp_path_factory.mktemp("upgraded")
    before.make_book(folder)
    open_book(folder).close()
    return folder


def _ask(path: Path, question: str, *values: object) -> list[tuple[Any, ...]]:
    with closing(sqlite3.connect(path)) as connection:
        return list(connection.execute(question, values).fetchall())


def _layout(path: Path) -> set[tuple[str, str, str, str]]:
    return {(a, b, c, " ".join(str(d).split())) for a, b, c, d in _ask(path, "SELECT type, name, tbl_name, sql FROM sqlite_master")}


def test_the_book_before_has_a_row_of_every_noun_and_clashes_of_both_kinds(tmp_path: Path) -> None:
    path = before.make_book(tmp_path)
    assert form_of(path) == "0007"
    then = {"combination": "pairing", "shooting_end": "walk", "photo": "picture"}
    empty = [noun for noun in TABLES if noun not in SINCE and not _ask(path, f"SELECT 1 FROM {then.get(noun, noun)} LIMIT 1")]
    assert empty == []
    settled = {one for (one,) in _ask(path, "SELECT settled_op_id IS NOT NULL FROM clash")}
    assert settled == {0, 1}


def test_it_is_upgraded_whole_and_laid_out_as_a_new_book_is(upgraded: Path, tmp_path: Path) -> None:
    path = upgraded / BOOK_FILE
    assert form_of(path) == newest_form()
    assert _ask(path, "PRAGMA integrity_check") == [("ok",)] and _ask(path, "PRAGMA foreign_key_check") == []
    tables = _ask(path, "SELECT name, strict FROM pragma_table_list WHERE schema = 'main' AND type = 'table'")
    assert [name for name, strict in tables if not strict and not name.startswith("sqlite_")] == ["alembic_version"]
    make_empty(tmp_path / BOOK_FILE, newest_form())
    assert _layout(path) == _layout(tmp_path / BOOK_FILE)
    (copy,) = upgraded.glob("*-before-upgrade-from-0007-*.db")
    assert form_of(copy) == "0007"


def test_no_row_is_lost_and_none_is_made(upgraded: Path, tmp_path: Path) -> None:
    old = before.make_book(tmp_path)
    then = {"combination": "pairing", "shooting_end": "walk", "photo": "picture"}
    for noun in (*TABLES, "revision", "clash", "device", "book"):
        now = _ask(upgraded / BOOK_FILE, f"SELECT count(*) FROM {noun}")
        then_it_was = [(0,)] if noun in SINCE else _ask(old, f"SELECT count(*) FROM {then.get(noun, noun)}")
        assert now == then_it_was, noun


def test_nothing_that_the_program_wrote_keeps_a_retired_word(upgraded: Path) -> None:
    """Fields, nouns, actions and stored choices; what a person typed is his own."""
    path = upgraded / BOOK_FILE
    found: set[str] = set()
    for table, columns in (("revision", ("action", "noun")), ("clash", ("noun", "field"))):
        for column in columns:
            found |= {one for (one,) in _ask(path, f"SELECT DISTINCT {column} FROM {table}") if RETIRED.search(one)}
    texts = [held for both in _ask(path, "SELECT stands, offered FROM clash") for held in both]
    for one in told_in(path):
        texts += [one.changes, *(held for held in (one.body, one.answer) if held is not None)]
    for held in texts:
        found |= {word for word in _words_in(json.loads(held)) if RETIRED.fullmatch(word)}
    for noun in TABLES:
        for (held,) in _ask(path, f"SELECT typed FROM {noun}"):
            found |= {word for word in _words_in(json.loads(held)) if RETIRED.fullmatch(word)}
    assert found == set()


def _words_in(held: object) -> list[str]:
    if isinstance(held, dict):
        return [*held, *(word for one in held.values() for word in _words_in(one))]
    if isinstance(held, list):
        return [word for one in held for word in _words_in(one)]
    if isinstance(held, str) and held.startswith('{"typed":'):  # what a speed was worked out from: JSON within a field
        return _words_in(json.loads(held))
    return [held] if isinstance(held, str) else []


@pytest.mark.parametrize("name", ["strike", "void"])
def test_a_speed_by_sound_keeps_what_was_typed_and_gives_the_same_speed(tmp_path: Path, name: str) -> None:
    """`void` stood in the demo of forms 0008 to 0010, where a rename had gone too far. 14 m heard in 0.304 s at 12 degrees: 53.3 m/s."""
    path = before.make_book(tmp_path)
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("UPDATE speed_reading SET inputs = replace(inputs, '\"strike\":', ?)", [f'"{name}":'])
        connection.commit()
    open_book(tmp_path).close()
    ((kept, value),) = _ask(path, "SELECT inputs, value_m_s FROM speed_reading WHERE method = 'sound'")
    held = json.loads(kept)
    assert (held["typed"]["loose"], held["typed"]["hit"], held["si"]["hit_s"]) == ("0.812 s", "1.116 s", 1.116)
    assert value == pytest.approx(53.3, abs=0.05) and speed_of_inputs("sound", kept) == pytest.approx(value, abs=0.001)


def test_stored_words_are_ones_that_the_code_knows(upgraded: Path) -> None:
    from proofyard.records.columns import meanings

    path = upgraded / BOOK_FILE
    for noun, table in TABLES.items():
        for column, meaning in meanings(table).values():
            if meaning.value == "choice":
                held = {one for (one,) in _ask(path, f"SELECT DISTINCT {column} FROM {noun}") if one is not None}
                assert held <= set(meaning.choices), f"{noun}.{column}"


def test_an_operation_sent_again_gets_its_first_answer(upgraded: Path, tmp_path: Path) -> None:
    """By a phone whose answer was lost: its new page has renamed what it holds, as this does from a list of its own."""
    old = before.make_book(tmp_path)
    asked = _ask(old, "SELECT op_id, device_id, body, result FROM op ORDER BY op_id")
    shutil.copyfile(upgraded / BOOK_FILE, tmp_path / "again.db")
    storage = Storage(tmp_path / "again.db")
    try:
        for op_id, device_id, body, result in asked:
            (answer,) = apply_each(storage, [_as_sent_now(op_id, device_id, json.loads(body))])
            first = json.loads(result)
            assert answer.again, answer
            assert (answer.status, answer.rev, answer.seq, list(answer.clashes)) == tuple(
                first[k] for k in ("status", "rev", "seq", "clashes")
            )
        other = replace(_as_sent_now(op_id, device_id, json.loads(body)), body={"note": "another"})
        (answer,) = apply_each(storage, [other])
        assert answer.status == "refused", "the same id, used for something else"
        assert storage.path.stat().st_size and _ask(tmp_path / "again.db", "SELECT count(op_id) FROM revision") == [(len(asked),)]
    finally:
        storage.close()


def _as_sent_now(op_id: str, device_id: str, said: list[Any]) -> Operation:
    action, noun, record_id, base_rev, body, reason = said
    action, noun = before.ACTIONS.get(action, action), before.NOUNS.get(noun, noun)
    return Operation(op_id, device_id, action, noun, record_id, base_rev, before.typed_now(body), reason)


def test_clashes_survive_in_todays_words(upgraded: Path) -> None:
    said = _ask(
        upgraded / BOOK_FILE, "SELECT field, stands, offered, settled_op_id IS NOT NULL FROM clash ORDER BY field, stands, settled_op_id"
    )
    assert said == [
        ("entry", '["plate", "plate"]', '["ridge", "ridge"]', 0),
        ("entry", '["plate", "plate"]', '["rivet", "rivet"]', 1),
        ("hit", '["on_panel", "on_panel"]', '["partial", "partial"]', 0),
        ("hit", '["partial", "partial"]', '["on_panel", "on_panel"]', 0),
        ("rear_check", '[1, "yes"]', '[0, "no"]', 0),
    ]


@pytest.fixture
def laptop(upgraded: Path, tmp_path: Path) -> Iterator[TestClient]:
    """The laptop that opens a copy of the upgraded book."""
    folder = tmp_path / "book"
    shutil.copytree(upgraded, folder)
    storage, token = open_book(folder), new_token()
    with storage.write() as session:
        devices.add_device(session, call_name="Laptop", role="owner", session_hash=hash_of(token))
    client = TestClient(
        create_app(storage, Settings(folder=folder, host=HOST, port=PORT)),
        base_url=ADDRESS,
        headers={"Origin": ADDRESS},
        follow_redirects=False,
    )
    client.cookies.set(named(COOKIE, ADDRESS), token, domain=HOST)
    yield client
    storage.close()


_ID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[0-9a-f]{4}-[0-9a-f]{12}")


@pytest.mark.long
def test_every_page_that_links_lead_to_answers(upgraded: Path, laptop: TestClient) -> None:
    """From the first page on, and from all that has a photo: two addresses of every shape; a photo answers with its bytes."""
    with closing(sqlite3.connect(upgraded / BOOK_FILE)) as book:
        of_photos = book.execute("SELECT DISTINCT noun, record_id FROM photo WHERE record_id IS NOT NULL").fetchall()
    with_photos = [f"/{noun.removesuffix('_build')}s/{one}" for noun, one in of_photos]
    waiting, seen = ["/", *with_photos], {"/": 1}
    faults: list[str] = []
    while waiting:
        address = waiting.pop()
        answer = laptop.get(address)
        if answer.status_code not in (200, 303):
            faults.append(f"{address}: {answer.status_code}")
        page = answer.headers.get("content-type", "").startswith("text/html")
        for link in re.findall(r'(?:href|src)="(/[^"#]*)', answer.text) if page else [answer.headers.get("location", "")]:
            path = link.replace("&amp;", "&").split("?")[0]
            shape = _ID.sub("ID", path)
            if not path.startswith("/") or path.startswith(("/static/", "/leave", "/owner")) or seen.get(shape, 0) >= 2 or path in seen:
                continue
            seen[shape] = seen.get(shape, 0) + 1
            seen[path] = 1
            waiting.append(path)
    shapes = {one for one in seen if not _ID.search(one)}
    assert faults == []
    assert len(shapes) > 60 and {"/sessions/ID/day", "/photos/ID", "/combinations/ID", "/fifty-percent", "/blunt"} <= shapes


def test_the_notebook_reads_in_todays_words(laptop: TestClient) -> None:
    page, seen = "/notebook", ""
    for _ in range(40):
        answer = laptop.get(page)
        assert answer.status_code == 200
        seen += answer.text
        older = re.search(r'href="(/notebook\?before=\d+)', answer.text)
        if older is None:
            break
        page = older[1]
    words = re.sub(r"<[^>]+>", " ", seen)
    assert "Where it went in" in words and "Read on the wrong arrow" in words
    assert not re.search(r"\b(?:pairing|way in|look behind|struck (?:out|through)|finger_m|walk)\b", words, re.IGNORECASE)


def test_the_csv_is_the_same_row_for_row(upgraded: Path, tmp_path: Path) -> None:
    export(upgraded, tmp_path / "csv")
    then = before.tables_then()
    assert len(then) == 9 and len(then["shots.csv"]) > 150
    for name, rows_then in then.items():
        rows_now = before.rows_of((tmp_path / "csv" / name).read_bytes())
        assert [column for column in rows_now[0] if column in rows_then[0]] == list(rows_then[0]), name
        assert len(rows_now) == len(rows_then), name
        ids = [column for column in rows_then[0] if column.endswith("_id")]
        # Row for row by what each is about: kit stands in the order of its numbers now, 2 before 13.
        by_id = [sorted(rows, key=lambda row: [row[column] for column in ids]) if ids else rows for rows in (rows_now, rows_then)]
        for number, (one, other) in enumerate(zip(*by_id, strict=True), 1):
            different = {
                column: (other[column], one[column])
                for column in other
                if one[column] != other[column] and (column not in before.SENTENCES or not (one[column] and other[column]))
            }
            assert not different, f"{name}, row {number}: {different}"


def test_photos_that_the_book_had_are_found_and_brought_to_where_they_belong(upgraded: Path, tmp_path: Path) -> None:
    folder = tmp_path / "book"
    shutil.copytree(upgraded, folder)
    rows = photo_rows(folder / BOOK_FILE)
    assert len(rows) == 2 and all(PhotoFolder(folder).read(row.id) for row in rows)
    assert "missing" not in str([one for one in checkup(folder, thorough=True) if one.what == "Photos"])
    others = folder / before.PHOTOS_THEN / "holiday.png"
    others.write_bytes(b"a hill")
    take_former(folder)
    assert all(PhotoFolder(folder).path(row.id).is_file() for row in rows)
    assert [path.name for path in (folder / before.PHOTOS_THEN).rglob("*") if path.is_file()] == ["holiday.png"]
    others.unlink()
    take_former(folder)
    assert not (folder / before.PHOTOS_THEN).exists()


def test_a_copy_of_the_version_before_is_restored_with_its_photo_and_upgraded(tmp_path: Path) -> None:
    inside = look_inside(before.PACKED_COPY)
    assert (inside.form, inside.photos, inside.missing, inside.counts["shot"]) == ("0007", 1, 0, 1)
    done = restore(before.PACKED_COPY, tmp_path)
    assert (done.inside.photos, done.inside.missing) == (1, 0)
    storage = open_book(tmp_path)
    try:
        (photo,) = photo_rows(tmp_path / BOOK_FILE)
        assert PhotoFolder(tmp_path).read(photo.id)
        with storage.read() as session:
            assert session.execute(text("SELECT hit, entry, rear_check FROM shot_reading")).all() == [("on_panel", "plate", 1)]
    finally:
        storage.close()


def test_a_bare_copy_of_a_book_of_the_version_before_is_restored_over_an_upgraded_one(upgraded: Path, tmp_path: Path) -> None:
    (copy,) = upgraded.glob("*-before-upgrade-from-0007-*.db")
    folder = tmp_path / "book"
    folder.mkdir()
    open_book(folder).close()
    done = restore(copy, folder)
    assert done.inside.form == "0007" and done.inside.missing == 2 and done.aside
    open_book(folder).close()
    assert form_of(folder / BOOK_FILE) == newest_form()
    assert _ask(folder / BOOK_FILE, "SELECT count(*) FROM shooting_end") == _ask(upgraded / BOOK_FILE, "SELECT count(*) FROM shooting_end")


def test_an_automatic_copy_of_old_finds_its_photos_in_the_folder_beside_it(upgraded: Path, tmp_path: Path) -> None:
    pool = tmp_path / BACKUPS
    made = pack(upgraded / BOOK_FILE, pool / "copy-20261017-120000.zip", pool=pool)
    (pool / "photos").rename(pool / before.PHOTOS_THEN)
    assert made.photos == 2
    assert look_inside(made.file).missing == 0
    again = pack(upgraded / BOOK_FILE, pool / "copy-20261018-120000.zip", pool=pool)
    assert again.photos == 2 and not (pool / "photos").exists(), "what the older program copied is not copied again"


@pytest.mark.parametrize("form", ["0001", "0002", "0003", "0004", "0005", "0006", "0007", "0012", "0014", "0015"])
def test_an_empty_book_of_every_older_form_is_upgraded_and_takes_shots(tmp_path: Path, form: str) -> None:
    path = tmp_path / BOOK_FILE
    make_empty(path, form)
    opened = bring_up_to_date(path)
    assert (opened.was, opened.now) == (form, newest_form())
    fresh = tmp_path / "fresh.db"
    make_empty(fresh, newest_form())
    assert _layout(path) == _layout(fresh)
    storage = Storage(path)
    try:
        with storage.write() as session:
            devices.make_book(session)
        yard = kit.yard(storage)
        shot = kit.read_shot(storage, yard, entry="plate")
        assert kit.row(storage, "shot_reading", shot).entry == "plate"
    finally:
        storage.close()


def test_each_step_leads_to_the_next_from_an_empty_first_book(tmp_path: Path) -> None:
    path = tmp_path / BOOK_FILE
    steps = all_forms()
    files = {file.name[:4] for file in (REPOSITORY / "migrations" / "versions").glob("[0-9]*.py")}
    assert steps[0] == "0001" and steps[-1] == newest_form() and set(steps) == files
    for number in steps:
        make_empty(path, number)
        assert form_of(path) == number
        assert _ask(path, "PRAGMA integrity_check") == [("ok",)]


def _columns(path: Path) -> dict[str, set[str]]:
    tables = [name for (name,) in _ask(path, "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%'")]
    return {table: {row[1] for row in _ask(path, f"PRAGMA table_info({table})")} for table in tables}


def _take_back(book: sqlite3.Connection, then: dict[str, set[str]]) -> None:
    """Take away the tables, columns and indexes that a form did not have yet."""
    for noun, column in NAMES.items():
        book.execute(f"DROP INDEX uq_{noun}_{column}")
    for (table,) in book.execute("SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%'").fetchall():
        if table not in then:
            book.execute(f"DROP TABLE {table}")
            continue
        for column in {row[1] for row in book.execute(f"PRAGMA table_info({table})")} - then[table]:
            for (index,) in book.execute(
                "SELECT name FROM sqlite_master WHERE type = 'index' AND sql LIKE ?", (f"%({column})%",)
            ).fetchall():
                book.execute(f"DROP INDEX {index}")
            book.execute(f"ALTER TABLE {table} DROP COLUMN {column}")


def test_a_claim_of_the_form_before_stands_and_may_speak_of_stands_now(tmp_path: Path) -> None:
    """A book of form 0015 with a claim of two panels in it: kept as it was, and corrected to two stands afterwards."""
    path = tmp_path / BOOK_FILE
    make_empty(path, newest_form())
    storage = Storage(path)
    with storage.write() as session:
        devices.make_book(session)
    yard = kit.yard(storage)
    said = {
        "claim_form": "panel",
        "head_form": "needle",
        "difference": "10",
        "panel": yard.panel.panel,
        "than_panel": kit.panel(storage).panel,
    }
    claim = kit.put(storage, "claim", {"trial": yard.trial, **said})
    storage.close()
    make_empty(tmp_path / "then.db", "0015")
    take_apart(path)
    with closing(sqlite3.connect(path)) as book:
        _take_back(book, _columns(tmp_path / "then.db"))
        book.execute("UPDATE alembic_version SET version_num = '0015'")
        book.commit()
        before_it = book.execute("SELECT * FROM claim").fetchall()
    opened = bring_up_to_date(path)
    assert (opened.was, opened.now) == ("0015", newest_form())
    assert _ask(path, "SELECT * FROM claim") == [(*row, None) for row in before_it]
    storage = Storage(path)
    try:
        stands = kit.stand(storage), kit.stand(storage)
        body = {"claim_form": "stand", "construction": "plate", "stand": stands[0], "than_stand": stands[1], "panel": "", "than_panel": ""}
        kit.put(storage, "claim", body, record_id=claim, base_rev=1)
        kept = kit.row(storage, "claim", claim)
        assert (kept.stand_id, kept.than_stand_id, kept.panel_id, kept.difference_ratio) == (*stands, None, pytest.approx(0.1))
    finally:
        storage.close()
