"""A package checked: every fault as a sentence, those that a validator of Data Packages can't see among them.

Read by this program's own tables, never by the description that came with it: that is compared with them.
"""

import csv
import hashlib
import io
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from proofyard.exchange.package.cells import NotRead, read_cell, shown
from proofyard.exchange.package.descriptor import DESCRIPTOR, PACKAGE_FORM, Resource, state_of
from proofyard.exchange.package.opened import Opened, open_package
from proofyard.exchange.package.packing import README
from proofyard.exchange.package.tables import CLASH, Layout, record_layouts
from proofyard.exchange.package.worked_out import worked_out_layouts
from proofyard.opening import newest_form
from proofyard.records.columns import meanings
from proofyard.records.ids import is_id
from proofyard.records.nouns import TABLES

MOST_SAID = 60
MOST_ROWS = 100_000  # of a table; a season's book has a thousand shots
NO_BOOK = "00000000-0000-8000-8000-000000000000"  # packages did not say of which book they are at first
_A_TABLE = 6  # faults of one table that are said; a column that was renamed has as many as it has rows
# No two records that stand may be called the same, whatever the capitals.
_NAMED = {"archer": "call_name", "arrow": "tag"} | dict.fromkeys(("instrument", "bow", "head", "panel", "stand"), "name")
Row = dict[str, Any]


@dataclass
class Checked:
    """What was found: faults as sentences, and the records' rows, values read, for whoever takes them in. `counts`: rows by table."""

    faults: list[str] = field(default_factory=list)
    rows: dict[str, list[Row]] = field(default_factory=dict)
    counts: dict[str, int] = field(default_factory=dict)
    said: Mapping[str, Any] = field(default_factory=dict)

    def fault(self, sentence: str) -> None:
        if len(self.faults) < MOST_SAID:
            self.faults.append(sentence)


def check_package(file: Path) -> Checked:
    """Everything that can be wrong with it.

    Refuses
        NoPackage  see opened.open_package
    """
    with open_package(file) as opened:
        return check_opened(opened)


def check_opened(opened: Opened) -> Checked:
    found = Checked()
    found.said = _description(opened, found)
    layouts = (*record_layouts(), *worked_out_layouts())
    for path in (README, *(one.path for one in layouts)):
        if path not in opened.names:
            found.fault(f"{path} is missing.")
    if found.faults:
        return found  # of another form, or not whole: more would be said of it than is true
    hashes = {}
    for layout in layouts:
        content = opened.read(layout.path)
        hashes[layout.path] = Resource(layout, len(content), hashlib.sha256(content).hexdigest())
        if content.count(b"\n") > MOST_ROWS:
            found.fault(f"{layout.path} has more than {MOST_ROWS:,} rows, which no book of shots has.")
            return found
        found.rows[layout.name] = list(_rows(layout, content, found))
        found.counts[layout.name] = len(found.rows[layout.name])
    _compare(found, hashes)
    if not found.faults:  # where cells can't be read, what they lead to can't be told
        for test in (_keys, _foreign_keys, _ids_by_noun, _typed, _names, _moments):
            test(found, layouts)
        _photos(found, opened)
    return found


def _description(opened: Opened, found: Checked) -> Mapping[str, Any]:
    if DESCRIPTOR not in opened.names:
        found.fault(f"{DESCRIPTOR} is missing, so it is no data package.")
        return {}
    try:
        said = json.loads(opened.read(DESCRIPTOR).decode("utf-8"))
        own = said["proofyard"]
        forms = own["packageForm"], own["bookForm"]
        assert isinstance(said["resources"], list)
        assert is_id(own.get("book", NO_BOOK)) and isinstance(own.get("demo", False), bool)
    except (UnicodeDecodeError, json.JSONDecodeError, RecursionError, KeyError, TypeError, AssertionError):
        found.fault(f"{DESCRIPTOR} does not read as the description of a package of this program.")
        return {}
    if forms != (PACKAGE_FORM, newest_form()):
        found.fault(
            f"It is of form {shown(str(forms[0]))} of a book of form {shown(str(forms[1]))}; this program reads form {PACKAGE_FORM} "
            f"of a book of form {newest_form()}. Ask for it again from a program of the same version, or install the newer one."
        )
    return dict(said)


def _rows(layout: Layout, content: bytes, found: Checked) -> Iterator[Row]:
    try:
        text = content.decode("utf-8")
    except UnicodeDecodeError:
        found.fault(f"{layout.path} is not UTF-8.")
        return
    said = 0

    def fault(sentence: str) -> None:
        nonlocal said
        said += 1
        if said <= _A_TABLE:
            found.fault(sentence)

    lines = csv.reader(io.StringIO(text, newline=""), strict=True)
    try:
        if next(lines, None) != layout.names:
            fault(f"{layout.path}: its columns are not those of the schema, in their order.")
            return
        for number, cells in enumerate(lines, start=2):
            if len(cells) != len(layout.fields):
                fault(f"{layout.path}, row {number}: it has {len(cells)} cells, and the table has {len(layout.fields)} columns.")
                continue
            row: Row = {}
            for one, cell in zip(layout.fields, cells, strict=True):
                try:
                    row[one.name] = read_cell(one, cell)
                except NotRead as why:
                    fault(f"{layout.path}, row {number}: “{one.name}” {why}.")
            yield row
    except csv.Error:
        fault(f"{layout.path}, row {lines.line_num}: a quotation mark is open, so where the row ends isn’t known.")


def _compare(found: Checked, here: Mapping[str, Resource]) -> None:
    """The description with what lies beside it."""
    said = {one.get("path"): one for one in found.said["resources"] if isinstance(one, dict)}
    for path, resource in here.items():
        described, own = said.pop(path, None), resource.described()
        if described is None:
            found.fault(f"{DESCRIPTOR} says nothing of {path}.")
        elif described.get("hash") != own["hash"] or described.get("bytes") != own["bytes"]:
            found.fault(f"{path} was changed after the package was made: its checksum is another.")
        elif _bare(described) != _bare(json.loads(json.dumps(own))):
            found.fault(f"{DESCRIPTOR} describes {path} otherwise than this form does.")
    for other in said:
        found.fault(f"{DESCRIPTOR} names {shown(str(other))}, which no package of this form has.")
    state = state_of([here[one.path] for one in record_layouts()])
    if not found.faults and found.said["proofyard"].get("stateSha256") != state:
        found.fault(f"{DESCRIPTOR} gives another checksum of the state than the records have.")


def _bare(resource: Mapping[str, Any]) -> Any:
    """What a description says to programs: its words may be another version's."""
    schema = resource.get("schema")
    if not isinstance(schema, dict) or not isinstance(schema.get("fields"), list):
        return None
    fields = [
        {key: one.get(key) for key in ("name", "type", "format", "unit", "constraints")} if isinstance(one, dict) else None
        for one in schema["fields"]
    ]
    return resource.get("name"), fields, [schema.get(key) for key in ("primaryKey", "uniqueKeys", "foreignKeys", "missingValues")]


def _keys(found: Checked, layouts: Sequence[Layout]) -> None:
    for layout in layouts:
        for key in (layout.primary_key, *layout.unique_keys):
            seen: set[tuple[str, ...]] = set()
            for number, row in enumerate(found.rows[layout.name] if key else (), start=2):
                value = tuple(str(row[name]) for name in key)
                if value in seen:
                    found.fault(f"{layout.path}, row {number}: {shown(', '.join(value))} is there twice ({', '.join(key)}).")
                seen.add(value)


def _foreign_keys(found: Checked, layouts: Sequence[Layout]) -> None:
    known: dict[tuple[str, tuple[str, ...]], set[tuple[Any, ...]]] = {}
    for layout in layouts:
        for own, target, theirs in layout.foreign_keys:
            if (target, theirs) not in known:
                known[(target, theirs)] = {tuple(row[name] for name in theirs) for row in found.rows[target]}
            for number, row in enumerate(found.rows[layout.name], start=2):
                value = tuple(row[name] for name in own)
                if None not in value and value not in known[(target, theirs)]:
                    found.fault(f"{layout.path}, row {number}: “{', '.join(own)}” leads to no {target} of the package.")


def _ids_by_noun(found: Checked, layouts: Sequence[Layout]) -> None:
    """What Table Schema has no word for: an id whose table another cell of the row names."""
    ids = {noun: {row["id"] for row in found.rows[noun]} for noun in TABLES}
    for layout in layouts:
        for one in layout.fields:
            if one.noun_in is None:
                continue
            for number, row in enumerate(found.rows[layout.name], start=2):
                noun, record_id = row[one.noun_in], row[one.name]
                if (noun is None) != (record_id is None):
                    found.fault(f"{layout.path}, row {number}: “{one.noun_in}” and “{one.name}” go together, and one is empty.")
                elif noun is not None and record_id not in ids.get(noun, ()):
                    found.fault(f"{layout.path}, row {number}: “{one.name}” leads to no {shown(str(noun))} of the package.")


def _typed(found: Checked, layouts: Sequence[Layout]) -> None:
    for noun, table in TABLES.items():
        known = meanings(table)
        for number, row in enumerate(found.rows[noun], start=2):
            said = row["as_typed"] or {}
            if not isinstance(said, dict) or not all(name in known and isinstance(text, str | None) for name, text in said.items()):
                found.fault(f"records/{noun}.csv, row {number}: “as_typed” is not a text for each of the record’s own fields.")
    for number, row in enumerate(found.rows[CLASH], start=2):
        table_of = TABLES.get(row["noun"])
        if table_of is None or row["field"] not in meanings(table_of) or not isinstance(row["offered"], list) or len(row["offered"]) != 2:
            found.fault(f"records/{CLASH}.csv, row {number}: it names no field of a record, or not what was stored and typed.")


def _names(found: Checked, layouts: Sequence[Layout]) -> None:
    for noun, name in _NAMED.items():
        seen: set[str] = set()
        for number, row in enumerate(found.rows[noun], start=2):
            called = str(row[name]).casefold()
            if not row["crossed_out"] and called in seen:
                found.fault(f"records/{noun}.csv, row {number}: another that stands is called {shown(str(row[name]))} too.")
            seen |= set() if row["crossed_out"] else {called}
    labels: set[str] = set()
    for number, row in enumerate(found.rows["shot"], start=2):
        if row["label"] in labels:
            found.fault(f"records/shot.csv, row {number}: another shot has the label {shown(row['label'])} too.")
        labels.add(row["label"])


def _moments(found: Checked, layouts: Sequence[Layout]) -> None:
    for noun in TABLES:
        for number, row in enumerate(found.rows[noun], start=2):
            if row["crossed_out"] and not row["crossed_out_because"]:
                found.fault(f"records/{noun}.csv, row {number}: it is crossed out, and no reason is given.")
            if not row["crossed_out"] and (row["crossed_out_because"] or row["crossed_out_at"]):
                found.fault(f"records/{noun}.csv, row {number}: it has a reason or a moment of crossing out, and stands.")


def _photos(found: Checked, opened: Opened) -> None:
    named = set()
    for number, row in enumerate(found.rows["photo"], start=2):
        if row["photo_file"] is None:
            continue
        named.add(row["photo_file"])
        if row["photo_file"] not in opened.names or row["id"] not in row["photo_file"]:
            found.fault(f"records/photo.csv, row {number}: its file {shown(row['photo_file'])} is not in the package.")
        elif hashlib.sha256(opened.read(row["photo_file"])).hexdigest() != row["sha256"]:
            found.fault(f"{row['photo_file']} is not the photo that records/photo.csv names: its checksum is another.")
    for name in sorted(one for one in opened.names if one.startswith("photos/") and one not in named):
        found.fault(f"{name} is named by no row of records/photo.csv.")
