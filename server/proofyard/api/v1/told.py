"""How the programs' interface answers: JSON whose names carry units, a mark of what the book held, problems as RFC 9457 has them."""

import json
from collections.abc import Callable, Iterable, Mapping
from hashlib import sha256
from importlib.metadata import version
from math import isfinite
from typing import Any

from fastapi import Request, Response

from proofyard.access.problem import MEDIA_TYPE, problem, problem_bytes
from proofyard.access.seats import Seat
from proofyard.api.v1.asked import NotUsable
from proofyard.exchange.columns_of_records import Ask
from proofyard.exchange.csv_writing import Column, Table, Value
from proofyard.quantities.reason import Reason
from proofyard.records import devices, notebook
from proofyard.storage import Storage
from proofyard.wording.reasons.said import sentence

YES_NO = "yes; no"
AS_TYPED = "_as_typed"
WRONG = "Part of the address can’t be used."
GONE = "The book has nothing of that id, or this token may not see it."
# Kept by whoever asked, and asked again each time: an answer is good for as long as nothing changed in the book.
KEPT = {"Cache-Control": "private, no-cache", "Vary": "Authorization, Cookie"}


def answered(request: Request, seat: Seat, book: Storage, make: Callable[[], Any]) -> Response:
    """The answer that `make` gives, or 304 where the asker holds it; `make` may raise NotUsable, and gives None where nothing is."""
    headers = KEPT | {"ETag": mark_of(request, seat, book)}
    if holds(request, headers["ETag"]):
        return Response(status_code=304, headers=headers)
    try:
        found = make()
    except NotUsable as wrong:
        return refused(422, WRONG, wrong)
    if found is None:
        return refused(404, GONE)
    following = found.get("next") if isinstance(found, dict) else None
    return as_json(found, headers | ({"Link": f'<{following}>; rel="next"'} if following else {}))


def refused(status: int, detail: str, wrong: NotUsable | None = None) -> Response:
    said = problem(status, detail, fields=wrong.fields if wrong else ())
    return Response(problem_bytes(said), status, media_type=MEDIA_TYPE)


def as_json(content: Any, headers: Mapping[str, str] | None = None, status: int = 200) -> Response:
    """JSON as RFC 8259 has it: no number that is none."""
    text = json.dumps(content, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return Response(text.encode("utf-8", "replace"), status, dict(headers or {}), "application/json")


def mark_of(request: Request, seat: Seat, book: Storage) -> str:
    """What an answer depends on: how far this book has come, what is asked, what the asker may see, and which Proofyard says it.

    Read before the answer is made: what changes meanwhile gives another mark the next time.
    """
    with book.read() as session:
        the_book = devices.the_book(session)
        seq = notebook.latest_seq(session)
    assert the_book is not None
    who = (seat.role, seat.trial_id, seat.device_id)
    parts = (the_book.book_id, the_book.epoch, seq, who, request.url.path, request.url.query, version("proofyard"))
    return f'W/"{sha256(repr(parts).encode()).hexdigest()[:32]}"'


def holds(request: Request, mark: str) -> bool:
    """Whether the asker says that it holds the answer of this mark (RFC 9110, 13.1.2: compared weakly)."""
    asked = request.headers.get("if-none-match", "")
    held = {one.strip().removeprefix("W/") for one in asked.split(",")}
    return "*" in held or mark.removeprefix("W/") in held


def rows_of(table: Table) -> list[dict[str, Any]]:
    """The rows of a file as objects: the same names, the same values; yes and no as true and false, what was typed as an object."""
    return [row_of(table.columns, row) for row in table.rows]


def row_of(columns: tuple[Column, ...], values: tuple[Value, ...]) -> dict[str, Any]:
    return {column.name: _value(column, value) for column, value in zip(columns, values, strict=True)}


def record(columns: Iterable[tuple[Column, Ask]], row: Any) -> dict[str, Any]:
    """A record of the book as an object, of the columns that `record_columns` made."""
    return {column.name: _value(column, ask(row)) for column, ask in columns}


def _value(column: Column, value: Value) -> Any:
    if value is None:
        return None
    if column.values == YES_NO:
        return value == "yes"
    if is_as_typed(column):
        return json.loads(str(value))
    return number(value) if isinstance(value, float) else value


def is_as_typed(column: Column) -> bool:
    return column.name.endswith(AS_TYPED) or column.name == AS_TYPED.removeprefix("_")


def number(value: float | None) -> float | None:
    """A number that JSON can carry; None for none, and where there is no end."""
    return value if value is not None and isfinite(value) else None


def reason(why: Reason | None) -> dict[str, Any] | None:
    """A reason as code, parts and words."""
    if why is None:
        return None
    told = why.as_json()
    return {"code": told["code"], "parts": _carried(told["parts"]), "words": sentence(why)}


def _carried(part: Any) -> Any:
    if isinstance(part, dict):
        return {name: _carried(one) for name, one in part.items()}
    if isinstance(part, list):
        return [_carried(one) for one in part]
    return number(part) if isinstance(part, float) else part
