"""Whether somebody shoots today, and which trials were closed lately: when copies are made."""

from sqlalchemy import select
from sqlmodel import Session

from server.records.book import Revision
from server.records.trial import Session as Day
from server.records.trial import Trial


def is_open_on(session: Session, day: str) -> bool:
    """Whether an open trial has a session on this day."""
    query = (
        select(Day.id)
        .join(Trial, Trial.id == Day.trial_id)
        .where(Day.day == day, Trial.state == "open", Day.struck_rev.is_(None), Trial.struck_rev.is_(None))
    )
    return session.execute(query.limit(1)).first() is not None


def closed_since(session: Session, seq: int) -> bool:
    """Whether a trial that is closed now was changed after a number."""
    query = (
        select(Trial.id)
        .join(Revision, (Revision.noun == "trial") & (Revision.record_id == Trial.id))
        .where(Revision.seq > seq, Trial.state == "closed")
    )
    return session.execute(query.limit(1)).first() is not None
