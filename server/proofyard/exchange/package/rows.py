"""The record tables filled: every cell as text, ready to be written."""

import json
from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

from proofyard.exchange.package.fields import moment_text, truth_text, writer_of
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
    rows: list[Cells]
    caution: str = ""


def record_tables(included: Included, photo_files: Collection[str]) -> list[Filled]:
    """Every table of what was seen or typed. `photo_files`: ids of the photos whose file the package holds."""
    made = [_of_noun(noun, included, photo_files) for noun in TABLES]
    return [*made, _clashes(included), _recorders(included, made)]


def photo_path(photo_id: str) -> str:
    return f"photos/{photo_id}.jpg"


def _of_noun(noun: str, included: Included, photo_files: Collection[str]) -> Filled:
    layout, known = layout_of(noun), frozenset(meanings(TABLES[noun]))
    own = [(one.name, writer_of(one)) for one in layout.fields if one.name not in BESIDE and one.name != "recorded_by"]
    letters = included.state.letters
    rows = []
    for row in included.rows[noun]:
        cells = {name: "" if row[name] is None else write(row[name]) for name, write in own}
        moments = included.moments(noun, row["id"])
        cells |= _crossed_out(row, moments)
        if noun not in WITHOUT_MOMENTS:
            cells |= _moments(moments)
        if noun in WITH_CLOCK:
            cells |= _clock(moments)
        if noun == "shot":
            cells["recorded_by"] = letters.get(row["recorded_by"] or "", "")
        if noun == "photo":
            cells["photo_file"] = photo_path(row["id"]) if row["id"] in photo_files else ""
        cells["as_typed"] = _as_typed(row, known)
        rows.append([cells[one.name] for one in layout.fields])
    return Filled(layout, rows)


def _crossed_out(row: Row, moments: Moments | None) -> dict[str, str]:
    out = row["voided_rev"] is not None
    at = moments.crossed_out_at if moments and out else None
    return {
        "crossed_out": truth_text(out),
        "crossed_out_because": (moments.crossed_out_because or "") if moments and out else "",
        "crossed_out_at": "" if at is None else moment_text(at),
    }


def _moments(moments: Moments | None) -> dict[str, str]:
    return {
        "made_at": moment_text(moments.made_at) if moments else "",
        "changed_at": moment_text(moments.changed_at) if moments and moments.changed_at is not None else "",
        "written_by": (moments.written_by or "") if moments else "",
    }


def _clock(moments: Moments | None) -> dict[str, str]:
    def text(value: int | None) -> str:
        return "" if value is None else str(value)

    return {
        "clock_offset_ms": text(moments.clock_offset_ms if moments else None),
        "clock_error_ms": text(moments.clock_error_ms if moments else None),
    }


# One for all cells: made anew for each of some thousand, it takes longer than what it writes.
_JSON = json.JSONEncoder(ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def json_text(value: Any) -> str:
    return _JSON.encode(value)


def _as_typed(row: Row, known: Collection[str]) -> str:
    if row["typed"] in (None, "", "{}"):
        return ""
    kept = {name: text for name, text in json.loads(row["typed"]).items() if name in known}
    return json_text(kept) if kept else ""


def _clashes(included: Included) -> Filled:
    rows = [
        [one.noun, one.record_id, one.field, json_text(one.offered), moment_text(one.offered_at), one.written_by or ""]
        for one in included.state.clashes
    ]
    return Filled(CLASH_LAYOUT, rows)


def _recorders(included: Included, made: Collection[Filled]) -> Filled:
    """The letters that stand in the other tables: no name, no key, nothing else of a phone."""
    letters = {one.written_by for one in included.state.clashes}
    for table in made:
        for name in ("written_by", "recorded_by"):
            if name in table.layout.names:
                place = table.layout.names.index(name)
                letters |= {row[place] for row in table.rows}
    return Filled(RECORDER_LAYOUT, [[letter] for letter in sorted(filter(None, letters), key=lambda one: (len(one), one))])
