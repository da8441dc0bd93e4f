"""The record tables filled: every cell ready to be written."""

import json
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

from proofyard.exchange.csv_writing import Value, utc_text
from proofyard.exchange.package.fields import truth_text, writer_of
from proofyard.exchange.package.state import Included, Row
from proofyard.exchange.package.tables import BESIDE, CLASH_LAYOUT, RECORDER_LAYOUT, WITH_CLOCK, WITHOUT_MOMENTS, Layout, layout_of
from proofyard.records.columns import meanings
from proofyard.records.nouns import TABLES
from proofyard.records.whole_state import Moments

Cells = list[str]


@dataclass(frozen=True)
class Filled:
    """One table of the package with its rows."""

    layout: Layout
    rows: Iterable[Sequence[Value]]
    caution: str = ""


def record_tables(included: Included, photo_files: Collection[str]) -> Iterator[Filled]:
    """Every table of what was seen or typed; the rows of one are made while they are taken, and those of the last say who wrote the others.

    photo_files  ids of the photos whose file the package holds
    """
    letters = {one.written_by or "" for one in included.clashes}
    for noun in TABLES:
        table = Filled(layout_of(noun), _of_noun(noun, included, photo_files))
        yield replace(table, rows=_noting_letters(table, letters))
    yield _clashes(included)
    yield Filled(RECORDER_LAYOUT, ([letter] for letter in sorted(filter(None, letters), key=lambda one: (len(one), one))))


def _noting_letters(table: Filled, letters: set[str]) -> Iterator[Sequence[Value]]:
    """The letters that stand in the tables: no name, no key, nothing else of a phone."""
    places = [table.layout.names.index(name) for name in ("written_by", "recorded_by") if name in table.layout.names]
    for row in table.rows:
        letters.update(str(row[place]) for place in places)
        yield row


def photo_path(photo_id: str) -> str:
    return f"photos/{photo_id}.jpg"


def _of_noun(noun: str, included: Included, photo_files: Collection[str]) -> Iterator[Cells]:
    layout, known = layout_of(noun), frozenset(meanings(TABLES[noun]))
    own = [(one.name, writer_of(one)) for one in layout.fields if one.name not in BESIDE and one.name != "recorded_by"]
    letters, typed = included.letters, _typed_text(known)
    # The cells come in the order of the layout's fields.
    for row, moments in ((row, piece.moments.get(row["id"])) for piece in included.pieces(noun) for row in piece.rows):
        cells = ["" if (value := row[name]) is None else write(value) for name, write in own]
        if noun == "shot":
            cells.append(letters.get(row["recorded_by"] or "", ""))
        if noun == "photo":
            cells.insert(layout.names.index("photo_file"), photo_path(row["id"]) if row["id"] in photo_files else "")
        cells += _crossed_out(row, moments)
        if noun not in WITHOUT_MOMENTS:
            cells += _moments(moments)
        if noun in WITH_CLOCK:
            cells += _clock(moments)
        cells.append(typed(row["typed"] or ""))
        yield cells


def _crossed_out(row: Row, moments: Moments | None) -> Cells:
    if row["voided_rev"] is None:
        return [truth_text(False), "", ""]
    at = moments.crossed_out_at if moments else None
    return [truth_text(True), (moments.crossed_out_because or "") if moments else "", _at(at)]


def _moments(moments: Moments | None) -> Cells:
    return [_at(moments.made_at), _at(moments.changed_at), moments.written_by or ""] if moments else ["", "", ""]


def _clock(moments: Moments | None) -> Cells:
    known = (moments.clock_offset_ms, moments.clock_error_ms) if moments else (None, None)
    return ["" if value is None else str(value) for value in known]


def _at(moment: int | None) -> str:
    return "" if moment is None else utc_text(moment)


# One for all cells: made anew for each of some thousand, it takes longer than what it writes.
_JSON = json.JSONEncoder(ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def json_text(value: Any) -> str:
    return _JSON.encode(value)


def _typed_text(known: Collection[str]) -> Callable[[str], str]:
    """What was typed into these columns, as JSON again. Many records of a noun were typed alike, and few of them at length."""

    @lru_cache(maxsize=4096)
    def text_of(typed: str) -> str:
        if typed in ("", "{}"):
            return ""
        kept = {name: text for name, text in json.loads(typed).items() if name in known}
        return json_text(kept) if kept else ""

    return text_of


def _clashes(included: Included) -> Filled:
    rows = [
        [one.noun, one.record_id, one.field, json_text(one.offered), utc_text(one.offered_at), one.written_by or ""]
        for one in included.clashes
    ]
    return Filled(CLASH_LAYOUT, rows)
