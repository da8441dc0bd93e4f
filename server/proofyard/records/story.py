"""All that was said of one shot: the loosing, its readings, its speeds and its incidents, in one list."""

from dataclasses import dataclass

from sqlalchemy import exists, or_, select
from sqlmodel import Session

from proofyard.records.book import Revision
from proofyard.records.film import Film
from proofyard.records.notebook import Line, lines_where
from proofyard.records.panel import Panel, PanelBuild
from proofyard.records.shot import SecondReading, Shot
from proofyard.records.speed import SpeedReading
from proofyard.records.trial import Incident, Setup, ShootingEnd, Trial
from proofyard.records.trial import Session as Day


@dataclass(frozen=True)
class Whereabouts:
    """Where a shot belongs: found first, since everything else is asked by these. filmed: its session has a film."""

    trial: Trial
    panel_build_id: str
    panel: Panel
    filmed: bool


def whereabouts(session: Session, shot_id: str) -> Whereabouts | None:
    row = session.execute(
        select(Trial, Setup.panel_build_id, Panel, exists().where(Film.session_id == Day.id, Film.voided_rev.is_(None)))
        .join(Day, Day.trial_id == Trial.id)
        .join(Setup, Setup.session_id == Day.id)
        .join(ShootingEnd, ShootingEnd.setup_id == Setup.id)
        .join(Shot, Shot.shooting_end_id == ShootingEnd.id)
        .join(PanelBuild, PanelBuild.id == Setup.panel_build_id)
        .join(Panel, Panel.id == PanelBuild.panel_id)
        .where(Shot.id == shot_id)
    ).first()
    return Whereabouts(row[0], row[1], row[2], bool(row[3])) if row else None


def revisions_of_shot(session: Session, shot_id: str) -> list[Line]:
    """Newest first; incidents that name the shot are among them."""
    speeds = select(SpeedReading.id).where(SpeedReading.shot_id == shot_id)
    again = select(SecondReading.id).where(SecondReading.shot_id == shot_id)
    incidents = select(Incident.id).where(Incident.shot_id == shot_id)
    mine = or_(
        Revision.noun.in_(("shot", "shot_reading")) & (Revision.record_id == shot_id),
        (Revision.noun == "speed_reading") & Revision.record_id.in_(speeds),
        (Revision.noun == "second_reading") & Revision.record_id.in_(again),
        (Revision.noun == "incident") & Revision.record_id.in_(incidents),
    )
    return lines_where(session, mine)
