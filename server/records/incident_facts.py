"""Every incident with its day and its shot, newest first: what a range officer asks for."""

from dataclasses import dataclass

from sqlalchemy import func, select
from sqlmodel import Session

from server.records.book import Revision
from server.records.shot import Shot
from server.records.trial import Incident, Trial
from server.records.trial import Session as Day


@dataclass(frozen=True)
class IncidentFact:
    incident: Incident
    day: str
    place: str | None
    session_id: str
    question: str
    label: str | None
    at: int


def incidents(session: Session, *, trial_id: str | None = None) -> list[IncidentFact]:
    """Of the whole book, or of one trial; those struck through are left out."""
    query = (
        select(Incident, Day.day, Day.place, Day.id, Trial.question, Shot.label, func.coalesce(Incident.at, Revision.at))
        .join(Day, Day.id == Incident.session_id)
        .join(Trial, Trial.id == Day.trial_id)
        .join(Revision, (Revision.noun == "incident") & (Revision.record_id == Incident.id) & (Revision.rev == 1))
        .join(Shot, Shot.id == Incident.shot_id, isouter=True)
        .where(Incident.struck_rev.is_(None))
        .order_by(Day.day.desc(), Incident.id.desc())
    )
    rows = session.execute(query if trial_id is None else query.where(Trial.id == trial_id))
    return [IncidentFact(*row) for row in rows]
