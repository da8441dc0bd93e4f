"""`POST /api/ops`: where the phones' queues end. Each operation stands for itself and gets an answer of its own."""

import asyncio
import json
import time
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Request, Response
from pydantic import BaseModel, ConfigDict, Field, StrictBool, StrictFloat, StrictInt, StrictStr, StringConstraints, ValidationError

from proofyard.access.seats import ArcherSeat
from proofyard.api.body import whole_body
from proofyard.records.operations import OP_VERSION, Answer, Operation
from proofyard.records.phone_queue import PhoneQueues
from proofyard.storage import StorageTrouble

router = APIRouter()

MOST_OPERATIONS = 50
MOST_BYTES = 512 * 1024
MILLISECONDS = Annotated[StrictInt, Field(ge=-(1 << 45), le=1 << 45)]
COUNT = Annotated[StrictInt, Field(ge=0, le=1 << 50)]
Id = Annotated[StrictStr, StringConstraints(min_length=1, max_length=36)]
Word = Annotated[StrictStr, StringConstraints(max_length=40)]
Text = Annotated[StrictStr, StringConstraints(max_length=4000)]
Whole = Annotated[StrictInt, Field(ge=-(1 << 63), le=1 << 63)]
Value = (
    Text
    | StrictBool
    | Whole
    | StrictFloat
    | Annotated[list[Annotated[StrictStr, StringConstraints(max_length=200)]], Field(max_length=60)]
    | None
)


class Asked(BaseModel):
    """One operation, as a phone or a program sends it. Fields that we don't know are from another version, and are let be."""

    model_config = ConfigDict(extra="ignore")
    op_id: Id
    action: Word
    noun: Word
    record_id: Id
    base_rev: COUNT = 0
    body: Annotated[dict[Word, Value], Field(max_length=80)] = {}
    reason: Annotated[StrictStr, StringConstraints(max_length=500)] | None = None
    device_seq: COUNT | None = None
    t_device: MILLISECONDS | None = None
    clock_offset_ms: MILLISECONDS | None = None
    clock_error_ms: MILLISECONDS | None = None


class Envelope(BaseModel):
    """What carries them. `boot` is the run of the page, so that a phone's log can be read later."""

    model_config = ConfigDict(extra="ignore")
    op_v: StrictInt
    boot: Annotated[StrictStr, StringConstraints(max_length=36)] = ""
    ops: Annotated[list[Any], Field(min_length=1, max_length=MOST_OPERATIONS)]


class Trouble(BaseModel):
    """Why nothing of an envelope was taken."""

    trouble: Literal["malformed", "too_big", "version", "storage"]
    sentence: str


@router.post("/api/ops", include_in_schema=False)
async def take_operations(request: Request, seat: ArcherSeat) -> Response:
    """Answers in the order that was sent, with when it came and when it went (UTC ms), for the phone's clock."""
    t1 = time.time_ns() // 1_000_000
    whole = await whole_body(request, most=MOST_BYTES)
    if whole is None:
        return _refuse("too_big", f"More than {MOST_BYTES // 1024} KB in one go. Send fewer operations at once.", 413)
    try:
        envelope = Envelope.model_validate_json(whole)
    except ValidationError as error:
        return _refuse("malformed", envelope_fault(error))
    if not OP_VERSION - 1 <= envelope.op_v <= OP_VERSION:
        return _refuse("version", f"This page sends form {envelope.op_v}, the laptop takes {OP_VERSION}. Open the page again.")
    try:
        answers = await take(request.app.state.phone_queues, seat.device_id or "", envelope.ops)
    except StorageTrouble as trouble:
        return _refuse("storage", str(trouble), 503, trouble.retry_after_s or 10)
    request.app.state.counts.operations("again" if one.get("again") else str(one["status"]) for one in answers)
    return _json({"answers": answers, "t1": t1, "t2": time.time_ns() // 1_000_000})


async def take(queues: PhoneQueues, device_id: str, asked: list[Any]) -> list[dict[str, Any]]:
    """Store what can be read as an operation; the answers of the others stand in their places."""
    answers: list[dict[str, Any] | None] = []
    operations = []
    for one in asked:
        try:
            read = Asked.model_validate(one)
        except ValidationError as error:
            answers.append(_unreadable(one, error))
            continue
        operations.append(Operation(device_id=device_id, **read.__dict__))
        answers.append(None)
    handed_in = await asyncio.wrap_future(queues.hand_in(operations)) if operations else []
    taken = iter(handed_in)
    return [_answer(next(taken)) if answer is None else answer for answer in answers]


def _answer(answer: Answer) -> dict[str, Any]:
    return {
        "op_id": answer.op_id,
        "status": answer.status,
        "rev": answer.rev,
        "seq": answer.seq,
        "problems": [_problem(one.field, one.sentence) for one in answer.problems],
        "warnings": [_problem(one.field, one.sentence) for one in answer.warnings],
        "clashes": list(answer.clashes),
        "again": answer.again,
    }


def _problem(field: str, sentence: str) -> dict[str, str]:
    return {"field": field, "sentence": sentence}


def _unreadable(one: Any, error: ValidationError) -> dict[str, Any]:
    op_id = one.get("op_id") if isinstance(one, dict) else None
    first = error.errors(include_url=False, include_context=False, include_input=False)[0]
    place = [str(part) for part in first["loc"] if isinstance(part, str)]
    field = place[1] if len(place) > 1 and place[0] == "body" else place[0] if place else ""
    sentence = f"The book can’t read this ({field[:40] or 'all of it'}: {first['msg'].lower()}). Correct it, or discard it."
    return {
        "op_id": op_id[:36] if isinstance(op_id, str) else None,
        "status": "refused",
        "rev": None,
        "seq": None,
        "problems": [_problem(field[:40], sentence)],
        "warnings": [],
        "clashes": [],
        "again": False,
    }


def envelope_fault(error: ValidationError) -> str:
    """Why nothing of an envelope was taken."""
    first = error.errors(include_url=False, include_context=False, include_input=False)[0]
    if first["type"] == "too_long":
        return f"At most {MOST_OPERATIONS} operations at once. Send the rest after these."
    where = ".".join(str(part) for part in first["loc"]) or "the whole"
    return f"Nothing was taken: {where}: {first['msg'].lower()}. Expected: op_v, boot, and 1 to {MOST_OPERATIONS} ops."


def _refuse(trouble: str, sentence: str, status: int = 422, retry_after_s: int | None = None) -> Response:
    said = Trouble.model_construct(trouble=trouble, sentence=sentence)
    return _json(said.model_dump(), status, {"Retry-After": str(retry_after_s)} if retry_after_s else {})


def _json(content: Any, status: int = 200, headers: dict[str, str] | None = None) -> Response:
    text = json.dumps(content, ensure_ascii=False, separators=(",", ":")).encode()
    return Response(text, status, {"Cache-Control": "no-store"} | (headers or {}), "application/json")
