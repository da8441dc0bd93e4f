"""The arrows that phones are told of, and the next shot is chosen from: all in a small book, in a large one those that set-ups may want."""

from collections.abc import Collection, Iterable, Sequence
from typing import Any

from sqlalchemy import func, select, union
from sqlmodel import Session

from proofyard.records.arrow import Arrow, ArrowBuild
from proofyard.records.plan import Plan, PlannedShot
from proofyard.records.range_facts import IN_USE, CurrentArrow, OpenSetup, arrows_in_use
from proofyard.records.shot import Shot
from proofyard.records.trial import Session as Day
from proofyard.records.trial import Setup, ShootingEnd, TrialUses

MOST_ARROWS = 60  # in use: so many are told to every phone, whatever they were shot at
NEWEST_BUILDS = 20


def arrows_for(session: Session, setups: Sequence[OpenSetup]) -> list[CurrentArrow]:
    """Those that a phone needs at these set-ups: all, while few are in use.

    Of many: what their trials use or plan with, what was shot at their panels, and what was built last.
    """
    return arrows_wanted(session, {one.trial.id for one in setups}, {one.panel_build.id for one in setups})


def arrows_wanted(session: Session, trial_ids: Collection[str], panel_builds: Collection[str] | None = None) -> list[CurrentArrow]:
    """The same of trials and of panel builds by their ids. panel_builds None: those that these trials were set up with."""
    trials = sorted(trial_ids)
    stood = select(Setup.panel_build_id).join(Day, Day.id == Setup.session_id).where(Day.trial_id.in_(trials))
    some = _wanted(trials, stood if panel_builds is None else sorted(panel_builds))
    return arrows_in_use(session, Arrow.id.in_(union(*some, _newest(), _all_of_few(*IN_USE))))


def builds_beside(session: Session, arrows: Iterable[CurrentArrow]) -> tuple[list[str], bool]:
    """Every build, older ones too, of these arrows and of those that were built last; and whether more may be in use.

    A book of few arrows gives all of its builds.
    """
    mine = select(Arrow.id).where(Arrow.id.in_(sorted({one.arrow for one in arrows})))
    wanted = ArrowBuild.arrow_id.in_(union(mine, _newest(), _all_of_few()))
    rows = session.execute(select(ArrowBuild.id, _few(*IN_USE)).where(wanted).order_by(ArrowBuild.id)).all()
    return [row[0] for row in rows], any(not row[1] for row in rows)


def builds_wanted(session: Session, trial_id: str, panel_build: str, *, keep: str) -> tuple[list[tuple[str, int, str]], bool]:
    """(build, its number, its arrow's tag or "?") of every build of the arrows that a shot at this panel may get; one statement.

    Retired ones too, of a book of few arrows all, and the build of `keep`. And whether so many are in use that some may be missing.
    """
    stood = select(ArrowBuild.id).where(ArrowBuild.id == keep)
    of_wanted = select(ArrowBuild.id).where(ArrowBuild.arrow_id.in_(union(*_wanted([trial_id], [panel_build]), _newest(), _all_of_few())))
    rows = session.execute(
        select(ArrowBuild.id, ArrowBuild.number, func.coalesce(Arrow.tag, "?"), _few(*IN_USE))
        .join(Arrow, (Arrow.id == ArrowBuild.arrow_id) & Arrow.voided_rev.is_(None), isouter=True)
        .where(ArrowBuild.id.in_(union(stood, of_wanted)), ArrowBuild.voided_rev.is_(None))
        .order_by(ArrowBuild.id)
    ).all()
    return [(row[0], row[1], row[2]) for row in rows], any(not row[3] for row in rows)


def many_in_use(session: Session) -> bool:
    """Whether more arrows are in use than are told whatever they were shot at."""
    return not session.execute(select(_few(*IN_USE))).scalar_one()


def _few(*which: Any) -> Any:
    """Looks no further than it must, in a book of many too."""
    return select(Arrow.id).where(*which).limit(1).offset(MOST_ARROWS).scalar_subquery().is_(None)


def _all_of_few(*which: Any) -> Any:
    return select(Arrow.id).where(_few(*which))


def _newest() -> Any:
    newest = select(ArrowBuild.arrow_id).order_by(ArrowBuild.id.desc()).limit(NEWEST_BUILDS).subquery()
    return select(newest.c.arrow_id)


def _wanted(trials: Sequence[str], panels: Any) -> tuple[Any, ...]:
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
    return uses, planned, shot
