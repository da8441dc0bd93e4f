"""When and on whose clock a record was written down, and why it was struck through: read from operations and revisions."""

from dataclasses import dataclass

from sqlalchemy import select
from sqlmodel import Session

from server.records.book import Op, Revision


@dataclass(frozen=True)
class WrittenDown:
    """The first operation of a record: UTC milliseconds, and the phone's clock against the book's."""

    received: int
    t_device: int | None
    clock_offset_ms: int | None
    clock_error_ms: int | None


def first_written(session: Session, noun: str) -> dict[str, WrittenDown]:
    """Record id -> how it first came into the book, for every record of a noun, in one statement."""
    query = (
        select(Op.record_id, Op.received, Op.t_device, Op.clock_offset_ms, Op.clock_error_ms)
        .where(Op.noun == noun, Op.action == "put", Op.status != "refused")
        .order_by(Op.received.desc(), Op.op_id.desc())
    )
    # Newest first, so that the oldest is what stays.
    return {row[0]: WrittenDown(row[1], row[2], row[3], row[4]) for row in session.execute(query)}


def struck_because(session: Session) -> dict[tuple[str, str], str]:
    """(noun, record id) -> the reason of the last striking, for all that was ever struck through."""
    query = select(Revision.noun, Revision.record_id, Revision.reason).where(Revision.action == "strike").order_by(Revision.seq)
    return {(row[0], row[1]): row[2] or "" for row in session.execute(query)}
