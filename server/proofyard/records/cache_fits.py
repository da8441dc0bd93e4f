"""Fits to shots, kept: no record, and nothing that anybody said. Emptied, it changes no page and no file.

A fit is found by a hash of all that goes into it, so a row never becomes wrong: what was fitted to other shots has another name.
Which fits are kept, and how they are said, is told in `server/proofyard/views/kept_fits.py`.
"""

from collections.abc import Iterable, Mapping

from sqlalchemy import Integer, Text, delete, func, insert, select, update
from sqlmodel import Field as Column
from sqlmodel import Session, SQLModel

from proofyard.records.book import STRICT

MOST_FITS = 20_000  # some 0.3 KB each, so 6 MB: what was not asked for longest goes. A page of a whole book asks for some 150


class CacheFit(SQLModel, table=True):
    """One fit. `name`: a hash of what goes in; `asked_on`: the day when somebody last asked for it, counted since 1970."""

    __tablename__ = "cache_fit"
    __table_args__ = (STRICT,)
    name: str = Column(primary_key=True, sa_type=Text)
    asked_on: int = Column(index=True, sa_type=Integer)
    said: str = Column(sa_type=Text)


_FIT = CacheFit.__table__


def kept_fit(session: Session, name: str) -> str | None:
    """What is kept under this name."""
    found: str | None = session.execute(select(_FIT.c.said).where(_FIT.c.name == name)).scalar_one_or_none()
    return found


def keep_fits(session: Session, found: Mapping[str, str], *, asked: Iterable[str], day: int, most: int = MOST_FITS) -> None:
    """Keep what was found, and mark what was asked for on this day. Within a write.

    most  so many are kept: what was not asked for longest goes
    """
    names = list(found)
    there = set(session.execute(select(_FIT.c.name).where(_FIT.c.name.in_(names))).scalars()) if names else set[str]()
    if new := [{"name": name, "asked_on": day, "said": said} for name, said in found.items() if name not in there]:
        session.execute(insert(_FIT), new)
    if again := sorted({*asked, *there}):
        session.execute(update(_FIT).where(_FIT.c.name.in_(again), _FIT.c.asked_on < day).values(asked_on=day))
    over = int(session.execute(select(func.count()).select_from(_FIT)).scalar_one()) - most
    if over > 0:
        oldest = select(_FIT.c.name).order_by(_FIT.c.asked_on, _FIT.c.name).limit(over)
        session.execute(delete(_FIT).where(_FIT.c.name.in_(oldest)))
