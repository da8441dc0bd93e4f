"""Kit that a form offers to pick from: all in a small book; in a large one what its trial names or shoots at, and the newest.

A list of thousands can't be looked through, and weighs more than the rest of its page. Any other thing comes in by the trial's planned kit,
which finds it by its name.
"""

from collections.abc import Collection, Sequence
from typing import Any, TypeVar

from sqlalchemy import func, or_, select, union
from sqlmodel import Session

from proofyard.records.columns import Noun
from proofyard.records.listing import NAMED_BY
from proofyard.records.panel import Panel, PanelBuild
from proofyard.records.plan import Plan
from proofyard.records.trial import Session as Day
from proofyard.records.trial import Setup, TrialUses

MOST_OFFERED = 100  # of each noun, beside those that its trial names

T = TypeVar("T", bound=Noun)


def newest_of(session: Session, table: type[T], *, keep: Collection[str] = (), words: str = "") -> tuple[list[T], bool]:
    """The newest in use, in the order they were made, those of `keep` among them in use or not; and whether there are more.

    words  only those whose name holds them, beside `keep`
    """
    columns: Any = table.__table__.columns
    some = [columns.voided_rev.is_(None), func.coalesce(columns.retired, 0) == 0]
    if words:
        name = columns[NAMED_BY.get(str(table.__tablename__), "name")]
        some.append(func.lower(name).contains(words.lower(), autoescape=True))
    newest = select(columns.id).where(*some).order_by(columns.id.desc()).limit(MOST_OFFERED).subquery()
    more = select(columns.id).where(*some).order_by(columns.id.desc()).limit(1).offset(MOST_OFFERED).scalar_subquery().is_not(None)
    wanted = or_(columns.id.in_(select(newest.c.id)), columns.id.in_(sorted(keep)))
    rows = session.execute(select(table, more).where(columns.voided_rev.is_(None), wanted).order_by(columns.id)).all()
    return [row[0] for row in rows], any(row[1] for row in rows)


def panels_to_pick(session: Session, trial_id: str, *, keep: Collection[str] = ()) -> tuple[list[tuple[Panel, PanelBuild]], bool]:
    """Builds of panels in use, by name, the newest build first; and whether there are more.

    Of many the newest, and those that the trial uses, plans with or was set up with. keep: builds that are offered whatever they are
    """
    uses = (
        select(PanelBuild.id)
        .join(TrialUses, (TrialUses.record_id == PanelBuild.panel_id) & (TrialUses.noun == "panel"))
        .where(TrialUses.trial_id == trial_id, TrialUses.voided_rev.is_(None))
    )
    planned = select(Plan.panel_build_id).where(Plan.trial_id == trial_id, Plan.panel_build_id.is_not(None))
    stood = select(Setup.panel_build_id).join(Day, Day.id == Setup.session_id).where(Day.trial_id == trial_id)
    kept = select(PanelBuild.id).where(PanelBuild.id.in_(sorted(keep)))
    newest = select(PanelBuild.id).order_by(PanelBuild.id.desc()).limit(MOST_OFFERED).subquery()
    more = select(PanelBuild.id).order_by(PanelBuild.id.desc()).limit(1).offset(MOST_OFFERED).scalar_subquery().is_not(None)
    wanted = union(uses, planned, stood, kept, select(newest.c.id))
    query = (
        select(Panel, PanelBuild, more)
        .join(Panel, Panel.id == PanelBuild.panel_id)
        .where(PanelBuild.id.in_(wanted), PanelBuild.voided_rev.is_(None), Panel.voided_rev.is_(None))
        .where(or_(func.coalesce(Panel.retired, 0) == 0, PanelBuild.id.in_(kept)))
        .order_by(PanelBuild.id)
    )
    rows: Sequence[Any] = session.execute(query).all()
    found = [(row[0], row[1]) for row in rows]
    return sorted(found, key=lambda pair: (pair[0].name, -pair[1].number)), any(row[2] for row in rows)
