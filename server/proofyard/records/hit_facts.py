"""How often each build of each arrow hit something, counted by the book itself."""

from collections.abc import Iterable
from typing import NamedTuple

from sqlalchemy import case, func, select
from sqlmodel import Session

from proofyard.records.arrow import ArrowBuild
from proofyard.records.shot import Shot, ShotReading

HIT_SOMETHING = ("on_panel", "partial", "spoiled")


class BuildHits(NamedTuple):
    """One build: what was done for it, the head that it carries, its hits, and what was loosed and not read."""

    arrow_id: str
    number: int
    work: str | None
    head_id: str | None
    hits: int
    unread: int


def build_hits(session: Session, arrow_ids: Iterable[str] | None = None) -> list[BuildHits]:
    """Every build, or every one of these arrows, that is not crossed out, those that never flew too."""
    wanted = [] if arrow_ids is None else [ArrowBuild.arrow_id.in_(sorted(set(arrow_ids)))]
    hits = func.sum(case((ShotReading.hit.in_(HIT_SOMETHING), 1), else_=0))
    unread = func.sum(case(((Shot.id.is_not(None)) & ShotReading.hit.is_(None) & (Shot.purpose != "speed_only"), 1), else_=0))
    rows = session.execute(
        select(ArrowBuild.arrow_id, ArrowBuild.number, ArrowBuild.work, ArrowBuild.head_id, hits, unread)
        .join(Shot, (Shot.arrow_build_id == ArrowBuild.id) & Shot.voided_rev.is_(None) & (Shot.purpose != "let_down"), isouter=True)
        .join(ShotReading, (ShotReading.id == Shot.id) & ShotReading.voided_rev.is_(None), isouter=True)
        .where(ArrowBuild.voided_rev.is_(None), *wanted)
        .group_by(ArrowBuild.id)
    )
    return [BuildHits(*row) for row in rows]
