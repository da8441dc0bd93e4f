"""How often each build of each arrow struck something, counted by the book itself."""

from typing import NamedTuple

from sqlalchemy import case, func, select
from sqlmodel import Session

from server.records.arrow import ArrowBuild
from server.records.shot import Shot, ShotReading

STRUCK = ("fair_target", "partial", "spoiled")


class BuildStrikes(NamedTuple):
    """One build: what was done for it, the head that it carries, its strikes, and what was loosed and not read."""

    arrow_id: str
    number: int
    work: str | None
    head_id: str | None
    strikes: int
    unread: int


def build_strikes(session: Session) -> list[BuildStrikes]:
    """Every build that was not struck through, those that never flew too."""
    struck = func.sum(case((ShotReading.hit.in_(STRUCK), 1), else_=0))
    unread = func.sum(case(((Shot.id.is_not(None)) & ShotReading.hit.is_(None) & (Shot.purpose != "speed_only"), 1), else_=0))
    rows = session.execute(
        select(ArrowBuild.arrow_id, ArrowBuild.number, ArrowBuild.work, ArrowBuild.head_id, struck, unread)
        .join(Shot, (Shot.arrow_build_id == ArrowBuild.id) & Shot.struck_rev.is_(None) & (Shot.purpose != "let_down"), isouter=True)
        .join(ShotReading, (ShotReading.id == Shot.id) & ShotReading.struck_rev.is_(None), isouter=True)
        .where(ArrowBuild.struck_rev.is_(None))
        .group_by(ArrowBuild.id)
    )
    return [BuildStrikes(*row) for row in rows]
