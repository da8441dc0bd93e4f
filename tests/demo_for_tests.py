"""What the demo has, by what a person would call it: for addresses of its pages such as "/trials/{thin plate}"."""

from __future__ import annotations

from proofyard.records.bow import DrawPoint
from proofyard.records.film import Film
from proofyard.records.listing import all_of
from proofyard.records.panel import Panel, PanelBuild
from proofyard.records.plan import Plan
from proofyard.records.shot_facts import shot_facts
from proofyard.records.speed import SpeedReading, SpeedSeries
from proofyard.records.trial import Session as Day
from proofyard.records.trial import Trial
from proofyard.storage import Session
from sqlalchemy import select


def called(session: Session) -> dict[str, str]:
    """Ids of trials, days, shots, panels, a bow and a combination, each by a name of one or two words."""
    thin, mail, thick = session.execute(select(Trial.id).order_by(Trial.id)).scalars()
    films = {row.camera: row.id for row in all_of(session, Film)}
    days = session.execute(select(Day.id).where(Day.day < "2026-11-01").order_by(Day.day, Day.id)).scalars().all()
    facts = shot_facts(session)
    own = {row.shot_id for row in all_of(session, SpeedReading) if row.shot_id and not row.left_out_reason}
    panels = select(Panel.name, PanelBuild.id).join(PanelBuild, PanelBuild.panel_id == Panel.id).where(PanelBuild.number == 1)
    return {
        "thin plate": thin,
        "mail and scale": mail,
        "thick plate": thick,
        "planned": session.execute(select(Plan.trial_id)).scalars().one(),
        "first day": days[0],
        "last day": days[-1],
        "measured shot": next(f.shot_id for f in facts if f.outcome_low is not None and f.shot_id in own and f.construction == "plate"),
        "shot at scales": next(f.shot_id for f in facts if f.construction == "scale" and f.x_m is not None),
        "unread shot": next(f.shot_id for f in facts if f.hit is None and f.purpose == "counted"),
        "dent with a print": next(f.shot_id for f in facts if f.label == "B1"),
        "bow": session.execute(select(DrawPoint.bow_build_id).limit(1)).scalars().one(),
        "arrow": facts[0].arrow_id,
        "combination": session.execute(select(SpeedSeries.combination_id).order_by(SpeedSeries.id).limit(1)).scalars().one(),
        **films,
        **{name: build for name, build in session.execute(panels)},
    }
