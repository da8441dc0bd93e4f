"""The arrows that phones are told of: all in a small book, in a large one those that the open set-ups may want."""

from collections.abc import Sequence

from sqlalchemy import func, or_, select, union
from sqlmodel import Session

from proofyard.records.arrow import Arrow, ArrowBuild
from proofyard.records.plan import Plan, PlannedShot
from proofyard.records.range_facts import IN_USE, CurrentArrow, OpenSetup, arrows_in_use
from proofyard.records.shot import Shot
from proofyard.records.trial import Setup, ShootingEnd, TrialUses

MOST_ARROWS = 60  # in use: so many are told to every phone, whatever they were shot at
NEWEST_BUILDS = 20


def arrows_for(session: Session, setups: Sequence[OpenSetup]) -> list[CurrentArrow]:
    """Those that a phone needs at these set-ups: all, while few are in use.

    Of many: what their trials use or plan with, what was shot at their panels, and what was built last.
    """
    trials, panels = sorted({one.trial.id for one in setups}), sorted({one.panel_build.id for one in setups})
    uses = select(TrialUses.record_id).where(TrialUses.noun == "arrow", TrialUses.trial_id.in_(trials), TrialUses.voided_rev.is_(None))
    planned = (
        select(ArrowBuild.arrow_id)
        .join(PlannedShot, PlannedShot.arrow_build_id == ArrowBuild.id)
        .join(Plan, Plan.id == PlannedShot.plan_id)
        .where(Plan.trial_id.in_(trials))
    )
    shot = (
        select(ArrowBuild.arrow_id)
        .join(Shot, Shot.arrow_build_id == ArrowBuild.id)
        .join(ShootingEnd, ShootingEnd.id == Shot.shooting_end_id)
        .join(Setup, Setup.id == ShootingEnd.setup_id)
        .where(Setup.panel_build_id.in_(panels))
    )
    newest = select(ArrowBuild.arrow_id).order_by(ArrowBuild.id.desc()).limit(NEWEST_BUILDS).subquery()
    few = select(func.count() <= MOST_ARROWS).select_from(Arrow).where(*IN_USE).scalar_subquery()
    return arrows_in_use(session, or_(few, Arrow.id.in_(union(uses, planned, shot, select(newest.c.arrow_id)))))
