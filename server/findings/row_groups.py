"""The rows of a results page: heads of one form each, or heads of one band of a measure."""

import math
from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from server.findings.axes import ROWS, default_place, row_value
from server.findings.bands import Band, round_edges
from server.findings.loosed import LoosedShot
from server.findings.view_settings import NOT_SAID, ViewSettings, form_of, form_words
from server.records.arrow import FORMS


@dataclass(frozen=True)
class RowGroup:
    """`key` as it stands in an address, `who` inside a sentence, `glyph` of a form's outline."""

    key: str
    words: str
    who: str
    glyph: str = ""


def settled(settings: ViewSettings, shots: Sequence[LoosedShot]) -> ViewSettings:
    """With what an address leaves open: where the energy holds, and the edges of rows by a measure."""
    mine = [shot for shot in shots if settings.takes(shot.fact)]
    if settings.at is None:
        settings = replace(settings, at=default_place(mine))
    if settings.rows != "form" and settings.row_edges is None:
        found = (row_value(shot, ROWS[settings.rows]) for shot in mine)
        settings = replace(settings, row_edges=round_edges([value for value in found if value is not None]))
    return settings


def row_key(shot: LoosedShot, settings: ViewSettings) -> str:
    """The row that a shot stands in, whatever others there are."""
    if settings.rows == "form":
        return form_of(shot.fact)
    value = row_value(shot, ROWS[settings.rows])
    if value is None:
        return NOT_SAID
    edges = settings.row_edges or ()
    place = bisect_right(edges, value)
    low, high = edges[place - 1] if place else -math.inf, edges[place] if place < len(edges) else math.inf
    return Band(low, high).value


def is_row(key: str, settings: ViewSettings) -> bool:
    """Whether an address can mean this row."""
    if key == NOT_SAID:
        return True
    return key in FORMS if settings.rows == "form" else _band_of(key) is not None


def rows_of(keys: Iterable[str], settings: ViewSettings) -> list[RowGroup]:
    """The rows that have a shot, in the order of forms or of the measure; those not said at the end."""
    found = set(keys)
    if settings.rows == "form":
        return [group_of(form, settings) for form in (*FORMS, NOT_SAID) if form in found]
    known = sorted((band, key) for key in found - {NOT_SAID} if (band := _band_of(key)) is not None)
    return [group_of(key, settings) for _, key in known] + [group_of(NOT_SAID, settings)] * (NOT_SAID in found)


def group_of(key: str, settings: ViewSettings) -> RowGroup:
    if settings.rows == "form":
        who = f"the {form_words(key).lower()}" if key != NOT_SAID else "the head whose form was not said"
        return RowGroup(key, form_words(key), who, "" if key == NOT_SAID else f"head-{key}")
    rows = ROWS[settings.rows]
    band = _band_of(key)
    if band is None:
        return RowGroup(key, f"{rows.label} not known", f"heads whose {rows.label.lower()} is not known")
    unit = rows.shown_unit
    words = f"{band.words}{unit}" if unit == "°" else Band(band.low_j, band.high_j, unit).with_unit
    return RowGroup(key, f"{rows.label} {words}", f"heads with a {rows.label.lower()} of {words}")


def _band_of(key: str) -> Band | None:
    low, dash, high = key[:40].partition("-")
    try:
        edges = (float(low) if low else -math.inf, float(high) if high else math.inf)
    except ValueError:
        return None
    return Band(*edges) if dash and edges[0] < edges[1] else None
