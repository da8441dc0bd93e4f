"""Shots that were drawn short with one build of a bow: how many, and the newest of them."""

from typing import Any

from sqlalchemy import Select, func, select
from sqlmodel import Session

from proofyard.records.shot import Shot
from proofyard.records.shot_facts import ShotFact, shot_facts
from proofyard.records.trial import Session as Day
from proofyard.records.trial import Setup, ShootingEnd


def short_draws_with(session: Session, bow_build_id: str) -> int:
    return int(session.execute(_of(bow_build_id, func.count())).scalar_one())


def newest_short_draws(session: Session, bow_build_id: str, *, most: int) -> list[ShotFact]:
    """The newest so many, in the order they were loosed."""
    order = (Day.day, ShootingEnd.begun_at, ShootingEnd.number, ShootingEnd.id, Shot.position, Shot.loosed_at, Shot.id)
    newest = _of(bow_build_id, Shot.id).order_by(*(one.desc() for one in order)).limit(most)
    return shot_facts(session, shot_id=list(session.execute(newest).scalars()))


def _of(bow_build_id: str, what: Any) -> Select[Any]:
    found = select(what).select_from(Shot).join(ShootingEnd, ShootingEnd.id == Shot.shooting_end_id)
    found = found.join(Setup, Setup.id == ShootingEnd.setup_id).join(Day, Day.id == Setup.session_id)
    return found.where(Shot.bow_build_id == bow_build_id, Shot.short_draw == 1, Shot.voided_rev.is_(None))
