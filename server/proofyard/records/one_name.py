"""Records of another book come in by their time, with the names that they have now: on the way two may bear one, in the end none."""

from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import func, select
from sqlmodel import Session

from proofyard.records.nouns import NAMES, STAND_ONCE, TABLES


class OneNameTwice(Exception):
    """Names that two records bear: (noun, name)."""

    def __init__(self, names: list[tuple[str, str]]) -> None:
        super().__init__(names)
        self.names = tuple(names)


@contextmanager
def names_stand_once_in_the_end(session: Session) -> Iterator[None]:
    """Within a transaction the indexes on names are set aside, and are there again when the block has ended.

    Refuses
        OneNameTwice  nothing may be committed
    """
    for index in STAND_ONCE:
        index.drop(session.connection())
    yield
    twice = [(noun, name) for noun, column in NAMES.items() for name in _borne_twice(session, noun, column)]
    if twice:
        raise OneNameTwice(twice)
    for index in STAND_ONCE:
        index.create(session.connection())


def _borne_twice(session: Session, noun: str, column: str) -> list[str]:
    table = TABLES[noun].__table__
    lowered = func.lower(table.c[column])
    borne = select(func.min(table.c[column])).where(table.c.voided_rev.is_(None)).group_by(lowered).having(func.count() > 1)
    return list(session.execute(borne.order_by(lowered)).scalars())
