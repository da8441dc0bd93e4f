"""Fits to shots, kept: no record, and nothing that anybody said. Emptied, it changes no page and no file.

A fit is found by a hash of all that goes into it, so a row never becomes wrong: what was fitted to other shots has another name.
Which fits are kept, and how they are said, is told in `server/proofyard/views/kept_fits.py`.
"""

from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple

from sqlalchemy import Integer, Text, bindparam, func, insert, select, update
from sqlmodel import Field as Column
from sqlmodel import Session, SQLModel

from proofyard.records.book import STRICT

MOST_FITS = 20_000  # some 0.3 KB each, so 6 MB: what was not asked for longest makes room. A page of a whole book asks for some 150


class CacheFit(SQLModel, table=True):
    """One fit. `name`: a hash of what goes in; `number`: counted up; `asked_on`: the day when somebody last asked for it, since 1970."""

    __tablename__ = "cache_fit"
    __table_args__ = (STRICT,)
    name: str = Column(primary_key=True, sa_type=Text)
    number: int = Column(unique=True, index=True, sa_type=Integer)
    asked_on: int = Column(index=True, sa_type=Integer)
    said: str = Column(sa_type=Text)


FITS = CacheFit.__table__


class KeptFit(NamedTuple):
    """One of them, as it is read."""

    number: int
    name: str
    said: str


def fits_after(session: Session, number: int) -> list[KeptFit]:
    """Those that came after the one of this number, in order. One statement."""
    query = select(FITS.c.number, FITS.c.name, FITS.c.said).where(FITS.c.number > number).order_by(FITS.c.number)
    return [KeptFit(*row) for row in session.execute(query)]


def keep_fits(session: Session, found: Mapping[str, str], *, asked: Iterable[str], day: int, most: int = MOST_FITS) -> None:
    """Keep what was found, and mark what was asked for on this day. Within a write.

    most  so many are kept: what was not asked for longest gives its row over to what is new
    """
    names = list(found)
    there = set(session.execute(select(FITS.c.name).where(FITS.c.name.in_(names))).scalars()) if names else set[str]()
    if again := sorted({*asked, *there}):
        session.execute(update(FITS).where(FITS.c.name.in_(again), FITS.c.asked_on < day).values(asked_on=day))
    count, latest = session.execute(select(func.count(), func.coalesce(func.max(FITS.c.number), 0))).one()
    new = [
        {"name": name, "number": n, "asked_on": day, "said": found[name]}
        for n, name in enumerate((name for name in names if name not in there), latest + 1)
    ]
    over = max(0, count + len(new) - most)
    if over:
        oldest = select(FITS.c.name).order_by(FITS.c.asked_on, FITS.c.number).limit(over)
        given = [{"was": was, **row} for was, row in zip(session.execute(oldest).scalars(), new, strict=False)]
        values: dict[str, Any] = {name: bindparam(name) for name in ("name", "number", "asked_on", "said")}
        session.connection().execute(update(FITS).where(FITS.c.name == bindparam("was")).values(values), given)
    if new[over:]:
        session.execute(insert(FITS), new[over:])
