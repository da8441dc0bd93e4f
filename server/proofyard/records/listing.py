"""Reading records by noun: one, all, or those that belong to another; and holding what was read while nobody writes."""

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any, TypeVar

from sqlalchemy import column, func, or_, select, table
from sqlmodel import Session

from proofyard.records.book import Revision
from proofyard.records.columns import Noun
from proofyard.records.nouns import TABLES

T = TypeVar("T", bound=Noun)
Read = TypeVar("Read")

MANY = 10**9
# What a noun is called by in lists.
NAMED_BY = {"archer": "call_name", "arrow": "tag", "trial": "question", "session": "day", "shot": "label"}


def one(session: Session, table: type[T], record_id: str) -> T | None:
    return session.get(table, record_id)


def all_of(session: Session, table: type[T], *wanted: Any, voided: bool = False, retired: bool = True) -> Sequence[T]:
    """All records of a noun, or those that meet these conditions, by name where they have one, else in the order they were made."""
    columns = table.__table__.columns
    query = select(table).where(*wanted)
    if not voided:
        query = query.where(columns.voided_rev.is_(None))
    if not retired and "retired" in columns:
        query = query.where(func.coalesce(columns.retired, 0) == 0)
    order = NAMED_BY.get(table.__tablename__, "name")
    rows = session.execute(query.order_by(columns.get(order, columns.id))).scalars().all()
    return sorted(rows, key=lambda row: by_number(str(getattr(row, order)))) if order in ("name", "tag") and order in columns else rows


def any_of(session: Session, table: type[T], columns: Sequence[str], ids: Iterable[str]) -> Sequence[T]:
    """The records, crossed-out ones too, of which any of these columns holds one of these ids, in the order of `all_of`."""
    named, wanted = table.__table__.columns, sorted(ids)
    return all_of(session, table, or_(*(named[name].in_(wanted) for name in columns)), voided=True)


def by_number(tag: str) -> tuple[tuple[int, str], ...]:
    """The order of tags as people count: 2 before 10, A2 before A10, and what has no number after what has one."""
    return tuple((int(part), "") if part.isdecimal() else (MANY, part.casefold()) for part in re.findall(r"[0-9]+|[^0-9]+", tag))


def belonging(session: Session, table: type[T], column: str, ids: str | Iterable[str], *, voided: bool = False) -> Sequence[T]:
    """The records whose `column` names one of these ids, in the order they were made."""
    columns = table.__table__.columns
    wanted = [ids] if isinstance(ids, str) else list(ids)
    query = select(table).where(columns[column].in_(wanted))
    if not voided:
        query = query.where(columns.voided_rev.is_(None))
    return session.execute(query.order_by(columns.id)).scalars().all()


def readings_of(session: Session, table: type[T], noun: str, ids: str | Iterable[str]) -> Sequence[T]:
    """Readings (of mass, thickness, hardness) of records of one noun, those left out among them."""
    columns = table.__table__.columns
    wanted = [ids] if isinstance(ids, str) else list(ids)
    query = select(table).where(columns.noun == noun, columns.record_id.in_(wanted), columns.voided_rev.is_(None))
    return session.execute(query.order_by(columns.id)).scalars().all()


def count_of(session: Session, noun: str) -> int:
    table = TABLES[noun].__table__
    return int(session.execute(select(func.count()).select_from(table).where(table.c.voided_rev.is_(None))).scalar_one())


def name_of(record: Any) -> str:
    """What a record is called by."""
    return str(getattr(record, NAMED_BY.get(record.__tablename__, "name"), record.id))


# What was read out of a book, for as long as nobody writes to it: a copy that pages are published from, and nothing else. Every page of
# a site reads the same shots and speeds; read again for each, the cost of a site grows with the square of its book.
_kept: ContextVar[dict[object, Any] | None] = ContextVar("kept", default=None)


@contextmanager
def while_nobody_writes() -> Iterator[None]:
    """Within it, and in what is started from within, a thing is read once. The caller answers for the book being still."""
    before = _kept.set({})
    try:
        yield
    finally:
        _kept.reset(before)


def nobody_writes() -> bool:
    """Whether what is read is held."""
    return _kept.get() is not None


def held(what: object, read: Callable[[], Read]) -> Read:
    """What `read` gives, read anew unless the book is still. `what` tells one thing from another."""
    kept = _kept.get()
    if kept is None:
        return read()
    if what not in kept:
        kept[what] = read()
    found: Read = kept[what]
    return found


def operations_kept(session: Session) -> int:
    """How many operations the book holds, of all phones and forms."""
    return int(session.execute(select(func.count(Revision.op_id))).scalar_one())


# What is kept of shots, worked out (server/proofyard/records/cache.py).
_CACHE = table("cache_state", column("as_of_seq"), column("form"))
_CACHE_AND_LATEST = select(_CACHE.c.as_of_seq, _CACHE.c.form, select(func.max(Revision.seq)).scalar_subquery())


def cache_and_latest(session: Session) -> tuple[int, str, int] | None:
    """Up to which number changes have marked what is kept of shots, its form, and the number of the last change; None: nothing is kept."""
    row = session.execute(_CACHE_AND_LATEST).one_or_none()
    return None if row is None else (row[0], row[1], row[2] or 0)
