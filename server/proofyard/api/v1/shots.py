"""Shots: every column of shots.csv, filtered as on the page of all shots."""

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Any

from fastapi import Request, Response
from pydantic import Field

from proofyard.access.seats import ScopedViewerSeat, TheBook, ViewerSeat, trial_of
from proofyard.answers.shots.asked import ALL_FILTERS, ENERGY_FROM, ENERGY_TO, FAIR, OUTCOME, PHOTO, SORT, TEXT, WHERE
from proofyard.answers.shots.page import shots_found
from proofyard.api.v1.asked import Key, must_be_usable, part_of, query_of
from proofyard.api.v1.documented import routes, told
from proofyard.api.v1.shapes import list_of, shape_of
from proofyard.api.v1.told import answered, rows_of
from proofyard.exchange.fetched import Fetched, fetch
from proofyard.exchange.shots_csv import COLUMNS, TABLES, shots_table
from proofyard.shots.loosed import LoosedShot
from proofyard.views.address import AsTyped, Reading
from proofyard.views.settings import AT, HEADS, asked_trial
from proofyard.wording.left_out import REASONS

router = routes("shots")

# Only these two orders stay as they are while shots are read and corrected, so only in these can a cursor go on.
IN_ORDER = SORT.of({key: SORT.choices[key] for key in ("newest", "oldest")}, default="oldest")
FILTERS = (*ALL_FILTERS, HEADS, OUTCOME, WHERE, FAIR, ENERGY_FROM, ENERGY_TO, AT, PHOTO, TEXT, IN_ORDER)
_WORDS: Mapping[str, str] = MappingProxyType({key: one.words for key, one in REASONS.items()} | {"voided": "Crossed out"})
OneShot = shape_of(
    "Shot",
    "One shot: how it was shot, what was read, what is worked out from that. The columns of shots.csv.",
    COLUMNS,
    fair_because_code=(str | None, Field(description="The reason for fair or not, for a program")),
    left_out_by_default_because_words=(str | None, Field(description="Why the results page leaves it out, in words")),
)
Shots = list_of("Shots", "shots", OneShot, "The shots that were asked for, in the order loosed")


@router.get("/shots", **told(Shots, filters=FILTERS))
def shots(request: Request, seat: ScopedViewerSeat, book: TheBook) -> Response:
    """Shots

    Every input and every figure that follows from it, uncertainty beside the value; let-downs and shots that were crossed out only
    when asked for by `outcome`.
    """

    def make() -> dict[str, Any]:
        query = dict(query_of(request, known=FILTERS))
        order = Reading(query)
        query[SORT.name] = [order.one(IN_ORDER)]
        must_be_usable(AsTyped(**order.as_typed()))
        fetched = fetch(book, tables=TABLES, only_trial=seat.trial_id, trial_id=asked_trial(query))
        found = shots_found(fetched.loosed, query, with_photo=fetched.with_photo)
        must_be_usable(found.asked)
        newest_first = found.asked.sort == "newest"
        part = part_of(request, found.found, _when, order=found.asked.sort, newest_first=newest_first)
        return {"shots": _told(fetched, part.items), "count": part.count, "next": part.next}

    return answered(request, seat, book, make)


@router.get("/shots/{shot_id}", **told(OneShot, one=True))
def shot(request: Request, seat: ViewerSeat, book: TheBook, shot_id: str) -> Response:
    """One shot

    Also one that was crossed out.
    """

    def make() -> dict[str, Any] | None:
        query_of(request, known=(), paged=False)
        trial_id = trial_of(book, {"shot_id": shot_id})
        if trial_id is None:
            return None
        fetched = fetch(book, tables=TABLES, only_trial=seat.trial_id, trial_id=trial_id)
        found = [one for one in (*fetched.loosed.shots, *fetched.loosed.voided) if one.fact.shot_id == shot_id]
        return _told(fetched, found)[0] if found else None

    return answered(request, seat, book, make)


def _when(one: LoosedShot) -> Key:
    return one.fact.day, one.fact.loosed_at or 0, one.fact.shot_id


def _told(fetched: Fetched, some: Sequence[LoosedShot]) -> list[dict[str, Any]]:
    rows = rows_of(shots_table(fetched, some))
    for row, one in zip(rows, some, strict=True):
        row["fair_because_code"] = one.fair.reason.code if one.fair else None
        row["left_out_by_default_because_words"] = _WORDS.get(row["left_out_by_default_because"] or "")
    return rows
