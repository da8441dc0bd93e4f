"""Ids of records in their order, a part at a time: of one noun, or of several that stand in one list."""

from collections.abc import Iterable

from sqlalchemy import func, or_, select, union_all
from sqlmodel import Session

from proofyard.records.columns import Noun
from proofyard.records.speed import SpeedReading


def ids_after(session: Session, tables: Iterable[type[Noun]], *, after: str | None, most: int) -> tuple[list[str], int]:
    """The ids that come after one, at most so many, and how many there are in all. Two statements.

    Of speeds those that are of a combination, by their series or by their shot.
    """
    parts = []
    for table in tables:
        query = select(table.__table__.c.id)
        parts.append(
            query.where(or_(SpeedReading.series_id.is_not(None), SpeedReading.shot_id.is_not(None))) if table is SpeedReading else query
        )
    every = union_all(*parts).subquery()
    wanted = select(every.c.id) if after is None else select(every.c.id).where(every.c.id > after)
    ids = list(session.execute(wanted.order_by(every.c.id).limit(most)).scalars())
    return ids, int(session.execute(select(func.count()).select_from(every)).scalar_one())
