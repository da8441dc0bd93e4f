"""All that was said of one shot: the loosing, its readings, its speeds and its incidents, in one list."""

from dataclasses import dataclass

from sqlalchemy import or_, select
from sqlmodel import Session

from server.records.book import Revision
from server.records.notebook import Line, lines_where
from server.records.panel import Panel, PanelBuild
from server.records.shot import SecondReading, Shot
from server.records.speed import SpeedReading
from server.records.trial import Incident, Setup, Trial, Walk
from server.records.trial import Session as Day


@dataclass(frozen=True)
class Whereabouts:
    """Where a shot belongs: found first, since everything else is asked by these."""

    trial: Trial
    panel_build_id: str
    panel: Panel


def whereabouts(session: Session, shot_id: str) -> Whereabouts | None:
    row = session.execute(
        select(Trial, Setup.panel_build_id, Panel)
        .join(Day, Day.trial_id == Trial.id)
        .join(Setup, Setup.session_id == Day.id)
        .join(Walk, Walk.setup_id == Setup.id)
        .join(Shot, Shot.walk_id == Walk.id)
        .join(PanelBuild, PanelBuild.id == Setup.panel_build_id)
        .join(Panel, Panel.id == PanelBuild.panel_id)
        .where(Shot.id == shot_id)
    ).first()
    return Whereabouts(*row) if row else None


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
