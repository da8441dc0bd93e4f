"""Packages spoilt in one way each: what is done to the files of a whole one, and a part of the sentence that must be said of it."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import zipfile
from collections.abc import Callable
from pathlib import Path

Files = dict[str, bytes]
Rows = list[list[str]]


def files_of(package: Path) -> Files:
    with zipfile.ZipFile(package) as packed:
        return {name: packed.read(name) for name in packed.namelist()}


def write(files: Files, to: Path) -> Path:
    with zipfile.ZipFile(to, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, content in files.items():
            packed.writestr(name, content)
    return to


def described_again(files: Files) -> None:
    """Checksums as somebody would write them who changed a file on purpose: only what stands in it is wrong."""
    said = json.loads(files["datapackage.json"])
    for one in said["resources"]:
        content = files.get(one["path"])
        if content is not None:
            one["hash"], one["bytes"] = f"sha256:{hashlib.sha256(content).hexdigest()}", len(content)
    records = sorted(one["path"] for one in said["resources"] if one["path"].startswith("records/"))
    lines = "".join(f"{path} {hashlib.sha256(files[path]).hexdigest()}\n" for path in records if path in files)
    said["proofyard"]["stateSha256"] = hashlib.sha256(lines.encode()).hexdigest()
    files["datapackage.json"] = json.dumps(said).encode()


def rows_of(files: Files, path: str) -> Rows:
    return list(csv.reader(io.StringIO(files[path].decode(), newline="")))


def put(files: Files, path: str, rows: Rows) -> None:
    text = io.StringIO(newline="")
    csv.writer(text, lineterminator="\r\n").writerows(rows)
    files[path] = text.getvalue().encode()


def cell(noun: str, column: str, value: str, *, row: int = 1) -> Callable[[Files], None]:
    def spoil(files: Files) -> None:
        path = f"records/{noun}.csv"
        rows = rows_of(files, path)
        rows[row][rows[0].index(column)] = value
        put(files, path, rows)
        described_again(files)

    return spoil


def table(noun: str, change: Callable[[Rows], object]) -> Callable[[Files], None]:
    def spoil(files: Files) -> None:
        rows = rows_of(files, f"records/{noun}.csv")
        change(rows)
        put(files, f"records/{noun}.csv", rows)
        described_again(files)

    return spoil


def raw(path: str, content: bytes, *, again: bool = False) -> Callable[[Files], None]:
    def spoil(files: Files) -> None:
        files[path] = content
        if again:
            described_again(files)

    return spoil


def gone(path: str) -> Callable[[Files], None]:
    return lambda files: files.__delitem__(path) or None


def _description(change: Callable[[dict], object]) -> Callable[[Files], None]:  # type: ignore[type-arg]
    def spoil(files: Files) -> None:
        said = json.loads(files["datapackage.json"])
        change(said)
        files["datapackage.json"] = json.dumps(said).encode()

    return spoil


def _photo(files: Files) -> str:
    return next(name for name in files if name.startswith("photos/"))


def _other_photo(files: Files) -> None:
    files[_photo(files)] += b"x"


def _same_name(rows: Rows) -> None:
    place = rows[0].index("call_name")
    rows[2][place] = rows[1][place].upper()


NO_ID = "00000000-0000-7000-8000-000000000000"
# How it is spoilt: (what is done, words that the sentence must hold).
SPOILT: dict[str, tuple[Callable[[Files], None], str]] = {
    "a word that is no choice": (cell("shot_reading", "hit", "grazed"), "“hit” holds “grazed”, which is none of"),
    "a number as text": (cell("arrow_build", "number", "one"), "“one”, which is no whole number"),
    "a decimal comma": (cell("panel", "width_m", "0,36"), "“0,36”, which is no number with a point"),
    "a number out of what is possible": (cell("speed_reading", "value_m_s", "900.0"), "the most that is possible is 150"),
    "a count below nothing": (cell("panel_build", "number", "-1"), "the least that is possible is 0"),
    "a key that leads nowhere": (cell("shot", "shooting_end_id", NO_ID), "leads to no shooting_end"),
    "a bad id": (cell("archer", "id", "7"), "which is no id"),
    "one id twice": (table("draw_point", lambda rows: rows.append(rows[-1])), "is there twice"),
    "a needed cell empty": (cell("trial", "question", ""), "“question” is empty and may not be"),
    "yes for a boolean": (cell("shot", "crossed_out", "yes"), "only TRUE and FALSE"),
    "true for a boolean": (cell("shot", "crossed_out", "true"), "only TRUE and FALSE"),
    "a day in another order": (cell("session", "day", "17.10.2026"), "no day as 2026-10-17"),
    "a bare time": (cell("shot", "loosed_at", "14:05"), "no moment in UTC"),
    "a moment without its zone": (cell("shot", "loosed_at", "2026-10-17T14:05:00"), "no moment in UTC"),
    "a word of a list that is no choice": (cell("shot_reading", "shaft_fate", "sound;singed"), "“singed”, which is none of"),
    "a column renamed": (table("head", lambda rows: rows[0].__setitem__(1, "nickname")), "its columns are not those"),
    "a column too many": (table("head", lambda rows: [row.append("") for row in rows]), "its columns are not those"),
    "a row cut short": (table("head", lambda rows: rows[1].pop()), "cells, and the table has"),
    "bytes changed": (raw("records/archer.csv", b"id\r\n"), "its checksum is another"),
    "no UTF-8": (raw("records/archer.csv", b"\xff\xfe\x00", again=True), "is not UTF-8"),
    "an open quotation mark": (raw("records/archer.csv", b'"id,call_name', again=True), "a quotation mark is open"),
    "a NUL in a name": (cell("archer", "call_name", "Wr\x00en"), "signs that can’t be seen"),
    "too many letters": (cell("archer", "call_name", "W" * 500), "characters; "),
    "a reading of a head that isn't there": (cell("hardness_reading", "record_id", NO_ID), "“record_id” leads to no “head”"),
    "a photo of a shot that isn't there": (cell("photo", "record_id", NO_ID), "“record_id” leads to no “shot”"),
    "a photo of nothing named": (cell("photo", "noun", ""), "go together, and one is empty"),
    "a photo changed": (_other_photo, "its checksum is another"),
    "a photo missing": (lambda files: files.__delitem__(_photo(files)), "is not in the package"),
    "a photo that no row names": (raw(f"photos/{NO_ID}.jpg", b"x"), "named by no row"),
    "two archers of one name": (table("archer", _same_name), "another that stands is called"),
    "crossed out without a reason": (cell("incident", "crossed_out", "TRUE"), "no reason is given"),
    "typed words of no field": (cell("archer", "as_typed", '{"wand":"oak"}'), "“as_typed” is not a text for each"),
    "typed words that are no JSON": (cell("archer", "as_typed", "{"), "which is no JSON"),
    "a table missing": (gone("records/stand.csv"), "records/stand.csv is missing"),
    "no description": (gone("datapackage.json"), "datapackage.json is missing"),
    "a description that is no JSON": (raw("datapackage.json", b"{"), "does not read as the description"),
    "another form": (_description(lambda said: said["proofyard"].update(packageForm=99)), "It is of form “99”"),
    "another state": (_description(lambda said: said["proofyard"].update(stateSha256="0")), "another checksum of the state"),
    "a schema of another unit": (
        _description(lambda said: said["resources"][4]["schema"]["fields"][3].update(unit="furlong")),
        "describes records/hardness_reading.csv otherwise",
    ),
}
# Not read at all: the file is refused as a whole.
REFUSED: dict[str, tuple[Callable[[Files], None], str]] = {
    "a path": (raw("../archer.csv", b"x"), "is no file that a package of this form has"),
    "a script beside": (raw("run.sh", b"x"), "is no file that a package of this form has"),
    "a photo of no id": (raw("photos/1.jpg", b"x"), "is no file that a package of this form has"),
    "a bomb": (raw("records/archer.csv", b"0" * 30_000_000), "unpacks to far more"),
}
