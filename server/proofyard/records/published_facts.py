"""What a publishing asks of a book: the names in it, its newest change, the days of its trials."""

from sqlalchemy import func, select
from sqlmodel import Session

from proofyard.records.archer import Archer
from proofyard.records.book import Device, Revision
from proofyard.records.devices import LAPTOP
from proofyard.records.trial import Session as Day


def archers_called(session: Session) -> tuple[str, ...]:
    """Call names of all archers, crossed out or not, in the order that they were entered."""
    return tuple(session.execute(select(Archer.call_name).order_by(Archer.id)).scalars())


def phones_called(session: Session) -> tuple[str, ...]:
    """Call names of every phone and laptop that was let in; the name that any owner's laptop has tells of nobody."""
    query = select(Device.call_name).where(Device.role != "asking", Device.call_name != LAPTOP).order_by(Device.id)
    return tuple(session.execute(query).scalars())


def who_was_there(session: Session) -> list[tuple[str, str, str]]:
    """Place, range officer and who was present of each session, as typed; empty where nothing was."""
    rows = session.execute(select(Day.place, Day.officer, Day.present).order_by(Day.id))
    return [(place or "", officer or "", present or "") for place, officer, present in rows]


def newest_change(session: Session) -> tuple[int, int]:
    """The number of the book's newest revision, and its moment in UTC milliseconds; 0, 0 of an empty book."""
    seq, at = session.execute(select(func.max(Revision.seq), func.max(Revision.at))).one()
    return seq or 0, at or 0


def first_and_last_day(session: Session) -> dict[str, tuple[str, str]]:
    """The first and the last day (ISO 8601) of each trial that has one, by its id."""
    rows = session.execute(
        select(Day.trial_id, func.min(Day.day), func.max(Day.day)).where(Day.voided_rev.is_(None)).group_by(Day.trial_id)
    )
    return {trial: (first, last) for trial, first, last in rows}
