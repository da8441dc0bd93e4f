"""`POST /api/v1/operations`: what a program logs, taken as a phone's queue is: the same checks, the same `apply`, the same answers."""

import time
from typing import Any

from fastapi import Request, Response
from pydantic import BaseModel, Field, ValidationError

from proofyard.access.seats import ArcherSeat
from proofyard.api.body import whole_body
from proofyard.api.operations import MOST_BYTES, MOST_OPERATIONS, Asked, Envelope, envelope_fault, take
from proofyard.api.v1.asked import NotUsable, query_of
from proofyard.api.v1.documented import routes, told
from proofyard.api.v1.shapes import Shape
from proofyard.api.v1.told import WRONG, as_json, refused
from proofyard.records.operations import OP_VERSION

router = routes("operations")

TOO_BIG = f"More than {MOST_BYTES // 1024} KB in one go. Nothing was taken. Send fewer operations at once."


class OperationsSent(BaseModel):
    """1 to 50 operations. Each stands for itself: one that is refused holds up none of the others."""

    op_v: int = Field(description=f"The form of these operations: {OP_VERSION}", ge=OP_VERSION - 1, le=OP_VERSION)
    boot: str = Field(default="", description="The run of the program, for the log", max_length=36)
    ops: list[Asked] = Field(min_length=1, max_length=MOST_OPERATIONS)


class ProblemOfField(Shape):
    field: str
    sentence: str


class OperationTaken(Shape):
    """What became of one operation."""

    op_id: str | None
    status: str = Field(description="applied, merged, clash (the first one stands, yours is kept beside it) or refused: nothing was stored")
    rev: int | None = Field(description="The record’s revision now")
    seq: int | None = Field(description="The number of this change")
    problems: list[ProblemOfField] = Field(description="Why it was refused, in words, field by field")
    warnings: list[ProblemOfField]
    clashes: list[str] = Field(description="Fields of which somebody else said otherwise")
    again: bool = Field(description="It had been taken before: this is the answer of then")


class OperationsTaken(Shape):
    """The answers, in the order sent."""

    answers: list[OperationTaken]
    t1: int = Field(description="When it came, UTC milliseconds by the book’s clock")
    t2: int = Field(description="When it was answered")


@router.post("/operations", **told(OperationsTaken, listed=False, sends=OperationsSent))
async def operations(request: Request, seat: ArcherSeat) -> Response:
    """Log: send operations

    Make, correct or cross out records as a phone does. Ids are UUIDs of version 7 that the program makes, so that the same operation sent
    twice is taken once. Quantities are texts as a person types them, with their unit. Needs a token that may log.
    """
    t1 = time.time_ns() // 1_000_000
    try:
        query_of(request, known=(), paged=False)
    except NotUsable as wrong:
        return refused(422, WRONG, wrong)
    whole = await whole_body(request, most=MOST_BYTES)
    if whole is None:
        return refused(413, TOO_BIG)
    try:
        envelope = Envelope.model_validate_json(whole)
    except ValidationError as error:
        return refused(422, envelope_fault(error))
    if not OP_VERSION - 1 <= envelope.op_v <= OP_VERSION:
        return refused(422, f"This is form {envelope.op_v} of operations; the book takes {OP_VERSION}.")
    answers: list[dict[str, Any]] = await take(request.app.state.phone_queues, seat.device_id or "", envelope.ops)
    return as_json({"answers": answers, "t1": t1, "t2": time.time_ns() // 1_000_000}, {"Cache-Control": "no-store"})
