"""When and on whose clock a record was written down, and why it was crossed out: read from the notebook."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from sqlalchemy import and_, false, func, or_, select
from sqlmodel import Session

from proofyard.records.book import Device, Revision
from proofyard.records.of_newest import OfHighest
from proofyard.records.shot import Shot
from proofyard.records.trial import Setup, ShootingEnd


@dataclass(frozen=True)
class WrittenDown:
    """The first operation of a record: UTC milliseconds, and the phone's clock against the book's."""

    received: int
    t_device: int | None
    clock_offset_ms: int | None
    clock_error_ms: int | None


def first_written(session: Session, noun: str, record_ids: Collection[str] | None = None) -> dict[str, WrittenDown]:
    """Record id -> how it first came into the book, for every record of a noun or for these, in one statement."""
    query = (
        select(Revision.record_id, Revision.at, Revision.t_device, Revision.clock_offset_ms, Revision.clock_error_ms)
        .where(Revision.noun == noun, Revision.op_id.is_not(None), Revision.action.in_(("make", "change")))
        .order_by(Revision.at.desc(), Revision.op_id.desc())
    )
    if record_ids is not None:
        query = query.where(Revision.record_id.in_(sorted(record_ids)))
    # Newest first, so that the oldest is what stays.
    return {row[0]: WrittenDown(row[1], row[2], row[3], row[4]) for row in session.execute(query)}


def voided_because(session: Session, of: Mapping[str, Collection[str]] | None = None) -> dict[tuple[str, str], str]:
    """(noun, record id) -> the reason given when it was last crossed out, for all that was ever crossed out. of: noun -> ids, of these."""
    query = select(Revision.noun, Revision.record_id, Revision.reason).where(Revision.action == "void").order_by(Revision.seq)
    if of is not None:
        each = (and_(Revision.noun == noun, Revision.record_id.in_(sorted(ids))) for noun, ids in of.items())
        query = query.where(or_(false(), *each))
    return {(row[0], row[1]): row[2] or "" for row in session.execute(query)}


def clock_offsets(session: Session, session_id: str) -> list[tuple[str, int]]:
    """Of each phone that logged shots of a day: its call name, and what its clock lacked to the book's at the last one, in ms."""
    # Found by the day's own shots: joined, every revision of every shot of the book was looked at.
    shots = select(Shot.id).join(ShootingEnd, ShootingEnd.id == Shot.shooting_end_id).join(Setup, Setup.id == ShootingEnd.setup_id)
    mine = shots.where(Setup.session_id == session_id)
    query = (
        select(Device.call_name, OfHighest(Revision.clock_offset_ms, Revision.at), func.max(Revision.at))
        .join(Revision, Revision.device_id == Device.id)
        .where(Revision.noun == "shot", Revision.record_id.in_(mine), Revision.clock_offset_ms.is_not(None))
        .group_by(Device.id)
        .order_by(Device.call_name)
    )
    return [(row[0], row[1]) for row in session.execute(query)]
