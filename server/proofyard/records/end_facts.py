"""The ends that a shot can belong to, with the shots that they have, in one statement."""

from collections.abc import Sequence
from typing import NamedTuple

from sqlalchemy import and_, or_, select
from sqlmodel import Session

from proofyard.records.panel import Panel, PanelBuild
from proofyard.records.shot import Shot
from proofyard.records.trial import Session as Day
from proofyard.records.trial import Setup, ShootingEnd, Trial


class EndFact(NamedTuple):
    """One shot of an end of a set-up; a set-up without ends, or an end without shots, stands once. `day`: as a record keeps it."""

    setup: Setup
    day: str
    build: PanelBuild
    panel: Panel
    end_id: str | None
    label: str | None


def ends_of(session: Session, trial_id: str) -> Sequence[EndFact]:
    """Of this trial and of every open one, the newest day first."""
    rows = session.execute(
        select(Setup, Day.day, PanelBuild, Panel, ShootingEnd.id, Shot.label)
        .join(Day, Day.id == Setup.session_id)
        .join(Trial, Trial.id == Day.trial_id)
        .join(PanelBuild, PanelBuild.id == Setup.panel_build_id)
        .join(Panel, Panel.id == PanelBuild.panel_id)
        .join(ShootingEnd, and_(ShootingEnd.setup_id == Setup.id, ShootingEnd.voided_rev.is_(None)), isouter=True)
        .join(Shot, and_(Shot.shooting_end_id == ShootingEnd.id, Shot.voided_rev.is_(None)), isouter=True)
        .where(or_(Trial.state == "open", Trial.id == trial_id), *(table.voided_rev.is_(None) for table in (Setup, Day, Trial)))
        .order_by(Day.day.desc(), Setup.id, ShootingEnd.id, Shot.id)
    )
    return [EndFact(*row) for row in rows]
