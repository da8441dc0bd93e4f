"""The ends that a shot can belong to, with the shots that they have, in one statement."""

from collections.abc import Sequence
from typing import NamedTuple

from sqlalchemy import and_, select, union
from sqlmodel import Session

from proofyard.records.panel import Panel, PanelBuild
from proofyard.records.shot import Shot
from proofyard.records.trial import Session as Day
from proofyard.records.trial import Setup, ShootingEnd, Trial

MOST_SETUPS = 40  # of other trials


class EndFact(NamedTuple):
    """One shot of an end of a set-up; a set-up without ends, or an end without shots, stands once. `day`: as a record keeps it."""

    setup: Setup
    day: str
    build: PanelBuild
    panel: Panel
    end_id: str | None
    label: str | None
    trial_id: str


def ends_of(session: Session, trial_id: str) -> Sequence[EndFact]:
    """Of this trial, and of the newest set-ups of open ones, as many as phones are told of; the newest day first."""
    standing = tuple(table.voided_rev.is_(None) for table in (Setup, Day, Trial))
    newest = (
        select(Setup.id)
        .join(Day, Day.id == Setup.session_id)
        .join(Trial, Trial.id == Day.trial_id)
        .where(Trial.state == "open", Trial.id != trial_id, *standing)
        .order_by(Day.day.desc(), Setup.id.desc())
        .limit(MOST_SETUPS)
        .subquery()
    )
    own = select(Setup.id).join(Day, Day.id == Setup.session_id).where(Day.trial_id == trial_id)
    rows = session.execute(
        select(Setup, Day.day, PanelBuild, Panel, ShootingEnd.id, Shot.label, Day.trial_id)
        .join(Day, Day.id == Setup.session_id)
        .join(Trial, Trial.id == Day.trial_id)
        .join(PanelBuild, PanelBuild.id == Setup.panel_build_id)
        .join(Panel, Panel.id == PanelBuild.panel_id)
        .join(ShootingEnd, and_(ShootingEnd.setup_id == Setup.id, ShootingEnd.voided_rev.is_(None)), isouter=True)
        .join(Shot, and_(Shot.shooting_end_id == ShootingEnd.id, Shot.voided_rev.is_(None)), isouter=True)
        .where(Setup.id.in_(union(own, select(newest.c.id))), *standing)
        .order_by(Day.day.desc(), Setup.id, ShootingEnd.id, Shot.id)
    )
    return [EndFact(*row) for row in rows]
