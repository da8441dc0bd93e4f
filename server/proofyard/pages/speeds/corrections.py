"""A reading or a series of a combination looked at again: corrected, left out with a reason and taken back, crossed out."""

from typing import Any

from fastapi import APIRouter, HTTPException

from proofyard.pages.frame.form_page import Asked
from proofyard.pages.frame.row_page import Row, row_routes
from proofyard.pages.kit.found import linked_names, options_for
from proofyard.pages.speeds.tool_kinds import TOOLS
from proofyard.records.columns import Noun
from proofyard.records.listing import one
from proofyard.records.speed import SpeedReading, SpeedSeries
from proofyard.shots.speed_without_chronograph import inputs_typed

router = APIRouter()

# What may be corrected, by the word in the address: table, fields, heading.
CORRECTED: dict[str, tuple[type[Noun], tuple[str, ...], str]] = {
    "readings": (SpeedReading, ("value", "uncertainty", "left_out_reason"), "A speed reading"),
    "series": (SpeedSeries, ("instrument", "stood_at", "day", "air_temperature", "note"), "A series of readings"),
}


def worked_out_again(row: Any) -> tuple[str, str] | None:
    """Where a reading by frames or sound is put right from what was counted; None for what kept nothing."""
    if not isinstance(row, SpeedReading) or row.method not in TOOLS or not inputs_typed(row.inputs):
        return None
    return (
        f"/speeds/{row.method}?again={row.id}",
        "Work it out again from what was counted" if row.method == "frames" else "Work it out again from the recording’s moments",
    )


def _lead(what: str, *, voided: bool) -> str:
    if voided:
        return "It is crossed out."
    if what == "readings":
        return "Enter a reason to leave it out; clear the reason to count it again."
    return "Where it stood, and what it was read with."


@row_routes(router, "/combinations/{combination_id}/{what}/{record_id}")
def look(asked: Asked, combination_id: str, what: str, record_id: str) -> Row:
    """The reading or series, if it is this combination's; 404 otherwise."""
    if what not in CORRECTED:
        raise HTTPException(404)
    table, asks, title = CORRECTED[what]
    with asked.book.read() as session:
        row: Any = one(session, table, record_id)
        series = one(session, SpeedSeries, row.series_id) if isinstance(row, SpeedReading) and row.series_id else row
        linked = linked_names(session, [table])
        options = options_for(session, table, asks, kept=[getattr(row, "instrument_id", None)])
    if row is None or getattr(series, "combination_id", None) != combination_id:
        raise HTTPException(404)
    back = f"/combinations/{combination_id}"
    return Row(
        row=row,
        names=asks,
        heading=title,
        lead=_lead(what, voided=row.voided_rev is not None),
        address=f"{back}/{what}/{record_id}",
        back=back,
        options=options,
        linked=linked,
        elsewhere=worked_out_again(row),
    )
