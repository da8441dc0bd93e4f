"""Reading records by noun: one, all, or those that belong to another."""

import re
from collections.abc import Iterable, Sequence
from typing import Any, TypeVar

from sqlalchemy import func, select
from sqlmodel import Session

from proofyard.records.columns import Noun
from proofyard.records.nouns import TABLES

T = TypeVar("T", bound=Noun)

MANY = 10**9
# What a noun is called by in lists.
NAMED_BY = {"archer": "call_name", "arrow": "tag", "trial": "question", "session": "day", "shot": "label"}


def one(session: Session, table: type[T], record_id: str) -> T | None:
    return session.get(table, record_id)


def all_of(session: Session, table: type[T], *, voided: bool = False, retired: bool = True) -> Sequence[T]:
    """All records of a noun, by name where they have one, else in the order they were made."""
    columns = table.__table__.columns
    query = select(table)
    if not voided:
        query = query.where(columns.voided_rev.is_(None))
    if not retired and "retired" in columns:
        query = query.where(func.coalesce(columns.retired, 0) == 0)
    order = NAMED_BY.get(table.__tablename__, "name")
    rows = session.execute(query.order_by(columns.get(order, columns.id))).scalars().all()
    return sorted(rows, key=lambda row: by_number(str(getattr(row, order)))) if order in ("name", "tag") and order in columns else rows


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
