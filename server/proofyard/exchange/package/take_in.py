"""A package taken into an empty book, through the one door: each record is made when it was made, by the recorder that made it.

What was corrected or crossed out is corrected or crossed out at its own moment, with its reason. What is in a package and can't
be in a history (how often, by whom) is not made up.
"""

import heapq
from collections.abc import Iterator, Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from proofyard.exchange.kept_photos import Photos, photos_of
from proofyard.exchange.package.check import Checked, Row, check_opened
from proofyard.exchange.package.opened import NoPackage, Opened, open_package
from proofyard.exchange.package.rows import json_text, photo_path
from proofyard.exchange.package.state import links_of
from proofyard.exchange.package.tables import CLASH, RECORDER
from proofyard.opening import HeldFolder, open_book
from proofyard.records.apply import apply
from proofyard.records.columns import field_name, meanings
from proofyard.records.devices import add_recorder, make_book, named_by_package
from proofyard.records.ids import new_id
from proofyard.records.listing import count_of
from proofyard.records.nouns import TABLES
from proofyard.records.one_name import OneNameTwice, names_stand_once_in_the_end
from proofyard.records.operations import Operation, Stood
from proofyard.records.photo import OF_THE_FILE
from proofyard.settings import BOOK_FILE
from proofyard.storage import Storage

_PLACES = {noun: place for place, noun in enumerate(TABLES)}
_MAKE, _CHANGE, _CLASH, _VOID = range(4)
Key = tuple[str, str]


@dataclass(frozen=True)
class TakenIn:
    """How much of each table came in, and how many photos."""

    counts: Mapping[str, int]
    photos: int


def take_into_folder(file: Path, folder: Path) -> TakenIn:
    """Make a new book in a folder that has none.

    Refuses
        NoPackage  not a whole package, faults in it, or a book there already
    """
    if (folder / BOOK_FILE).exists():
        raise NoPackage(f"There is a book in {folder} already. Name an empty folder with --data; no book is written over.")
    with open_package(file) as opened:
        return new_book_of(opened, whole(opened, file), folder)


def new_book_of(opened: Opened, checked: Checked, folder: Path, *, address: str | None = None) -> TakenIn:
    """A new book of a package that is whole, in a folder that has none; `address`: as for `open_book`, empty for a file of the folder."""
    with HeldFolder(folder), closing(open_book(folder, address=address)) as book:
        return _take(book, opened, checked)


def take_in(book: Storage, file: Path) -> TakenIn:
    """The same into a book that is open and holds no record."""
    with open_package(file) as opened:
        return _take(book, opened, whole(opened, file))


def whole(opened: Opened, file: Path) -> Checked:
    """The package checked.

    Refuses
        NoPackage  faults in it, a line each
    """
    checked = check_opened(opened)
    if checked.faults:
        raise NoPackage("\n".join((f"{file} is not taken in, and nothing was changed:", *checked.faults)))
    return checked


def _take(book: Storage, opened: Opened, checked: Checked) -> TakenIn:
    with book.write() as session:
        if any(count_of(session, noun) for noun in TABLES):
            raise NoPackage("The book holds records already. A package is taken into an empty book; nothing was changed.")
        make_book(session)
        own = checked.said["proofyard"]
        if "book" in own:
            named_by_package(session, own["book"], demo=own.get("demo", False))
        devices = _recorders(session, checked)
        try:
            with names_stand_once_in_the_end(session):
                for happening in _in_time(checked):
                    _do(session, happening, devices)
        except OneNameTwice as twice:
            borne = ", ".join(f"{noun} “{name}”" for noun, name in twice.names)
            raise NoPackage(f"Two records in the package have one name: {borne}. Nothing was changed.") from twice
        photos = _photos(photos_of(book), opened, checked.rows["photo"])
    return TakenIn({noun: len(checked.rows[noun]) for noun in TABLES}, photos)


def _recorders(session: Any, checked: Checked) -> dict[str | None, str]:
    """Letter -> device. What nobody's letter stands at has the first recorder's: some device has to have written it."""
    devices: dict[str | None, str] = {row["letter"]: add_recorder(session, row["letter"]).id for row in checked.rows[RECORDER]}
    if not devices:
        devices["A"] = add_recorder(session, "A").id
    return {None: next(iter(devices.values())), **devices}


def _photos(photos: Photos, opened: Opened, rows: Sequence[Row]) -> int:
    """Before the commit: a row without its photo would be a promise broken."""
    there = [row["id"] for row in rows if row["photo_file"] is not None]
    for photo_id in there:
        photos.write(photo_id, opened.read(photo_path(photo_id)))
    return len(there)


# --- what happened, in the order that it happened


@dataclass(frozen=True)
class _Happening:
    at: int
    what: int
    noun: str
    row: Row


def _in_time(checked: Checked) -> Iterator[_Happening]:
    """By their moments; but no record before those that it names. Those without a moment come as soon as they can."""
    rows: dict[Key, Row] = {(noun, row["id"]): row for noun in TABLES for row in checked.rows[noun]}
    waits, wanted_by = dict[Key, int](), dict[Key, list[Key]]()
    for key, row in rows.items():
        named = {other for other in _named_by(key[0], row) if other != key}
        waits[key] = len(named)
        for other in named:
            wanted_by.setdefault(other, []).append(key)
    ready: list[tuple[int, int, int, str, str, _Happening]] = []

    def push(one: _Happening) -> None:
        heapq.heappush(ready, (one.at, one.what, _PLACES[one.noun], one.row["id"], json_text(one.row.get("offered")), one))

    clashes: dict[Key, list[Row]] = {}
    for clash in checked.rows[CLASH]:
        clashes.setdefault((clash["noun"], clash["record_id"]), []).append(clash)
    for key, row in rows.items():
        if not waits[key]:
            push(_Happening(row.get("made_at") or 0, _MAKE, key[0], row))
    made = 0
    while ready:
        happening = heapq.heappop(ready)[-1]
        yield happening
        if happening.what != _MAKE:
            continue
        made += 1
        key = happening.noun, happening.row["id"]
        for one in _after(happening, clashes.get(key, [])):
            push(one)
        for other in wanted_by.get(key, []):
            waits[other] -= 1
            if not waits[other]:
                push(_Happening(rows[other].get("made_at") or 0, _MAKE, other[0], rows[other]))
    if made != len(rows):
        raise NoPackage("Some of its records name each other in a circle, so none of them can come first. Nothing was changed.")


def _named_by(noun: str, row: Row) -> Iterator[Key]:
    for column, target in links_of(noun):
        if row[column] is not None:
            yield target or row["noun"], row[column]
    if noun == "shot_reading":
        yield "shot", row["id"]


def _after(made: _Happening, clashes: Sequence[Row]) -> Iterator[_Happening]:
    row, noun = made.row, made.noun
    for clash in clashes:
        yield _Happening(clash["offered_at"], _CLASH, noun, {**row, **clash})
    changed = row.get("changed_at")
    if changed is not None and changed > max((clash["offered_at"] for clash in clashes), default=-1):
        yield _Happening(changed, _CHANGE, noun, row)
    if row["crossed_out"]:
        yield _Happening(row["crossed_out_at"] or made.at, _VOID, noun, row)


# --- each as an operation


def _do(session: Any, one: _Happening, devices: Mapping[str | None, str]) -> None:
    op, stood = _operation(one, devices)
    answer = apply(session, op, stood=stood)
    wrong = "; ".join(problem.sentence for problem in answer.problems)
    if not answer.taken:
        raise NoPackage(f"records/{one.noun}.csv, {op.record_id}: {wrong} Nothing was changed.")
    if one.what == _CLASH and answer.status != "clash":
        raise NoPackage(f"records/{CLASH}.csv, {op.record_id}: what was offered is what stands. Nothing was changed.")


def _operation(one: _Happening, devices: Mapping[str | None, str]) -> tuple[Operation, Stood]:
    row = one.row
    asked: dict[str, Any] = {"op_id": new_id(), "device_id": devices[row.get("written_by")], "noun": one.noun, "record_id": row["id"]}
    if one.what == _VOID:
        return Operation(**asked, action="void", base_rev=1, reason=row["crossed_out_because"]), Stood(one.at)
    if one.what == _CHANGE:
        return Operation(**asked, action="put", base_rev=1), Stood(one.at)
    if one.what == _CLASH:
        column = meanings(TABLES[one.noun])[row["field"]][0]
        stored, typed = row["offered"]
        return Operation(**asked, action="put", body={row["field"]: typed}), Stood(one.at, {column: stored}, {row["field"]: typed})
    values, typed = _values(one.noun, row, devices), row["as_typed"] or {}
    body = {field_name(column): value for column, value in values.items()}
    clock: dict[str, Any] = {name: row.get(name) for name in ("clock_offset_ms", "clock_error_ms")}
    return Operation(**asked, action="put", body=body, **clock), Stood(one.at, values, typed)


def _values(noun: str, row: Row, devices: Mapping[str | None, str]) -> dict[str, Any]:
    """The columns of the book's own table; what is empty and was never typed is left out of the notebook."""
    typed = row["as_typed"] or {}
    values = {
        column: int(row[column]) if isinstance(row[column], bool) else row[column]
        for name, (column, _) in meanings(TABLES[noun]).items()
        if row[column] is not None or name in typed
    }
    if noun == "shot":
        values["recorded_by"] = devices[row["recorded_by"]]
    if noun == "photo":
        values |= {name: row[name] for name in OF_THE_FILE}
    return values
