"""Kit that a form offers to pick from: all in a small book; in a large one what its trial names or shoots at, and the newest.

A list of thousands can't be looked through, and weighs more than the rest of its page. Any other thing comes in by the trial's planned kit,
which finds it by its name.
"""

from collections.abc import Collection, Sequence
from typing import Any, TypeVar

from sqlalchemy import func, literal, or_, select, union
from sqlmodel import Session

from proofyard.records.arrow import Arrow, ArrowBuild, Head
from proofyard.records.bow import Bow, BowBuild
from proofyard.records.columns import Noun
from proofyard.records.listing import NAMED_BY, all_of, by_number
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
    some = [columns.voided_rev.is_(None), *([func.coalesce(columns.retired, 0) == 0] if "retired" in columns else [])]
    if words:
        name = columns[NAMED_BY.get(str(table.__tablename__), "name")]
        some.append(func.lower(name).contains(words.lower(), autoescape=True))
    newest = select(columns.id).where(*some).order_by(columns.id.desc()).limit(MOST_OFFERED).subquery()
    more = select(columns.id).where(*some).order_by(columns.id.desc()).limit(1).offset(MOST_OFFERED).scalar_subquery().is_not(None)
    wanted = or_(columns.id.in_(select(newest.c.id)), columns.id.in_(sorted(keep)))
    rows = session.execute(select(table, more).where(columns.voided_rev.is_(None), wanted).order_by(columns.id)).all()
    return [row[0] for row in rows], any(row[1] for row in rows)


def panels_to_pick(
    session: Session, trial_id: str, *, keep: Collection[str] = (), retired: bool = False
) -> tuple[list[tuple[Panel, PanelBuild]], bool]:
    """Builds of panels in use, or of retired ones too, by name, the newest build first; and whether there are more.

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
        .where(or_(func.coalesce(Panel.retired, 0) == 0, PanelBuild.id.in_(kept), literal(retired)))
        .order_by(PanelBuild.id)
    )
    rows: Sequence[Any] = session.execute(query).all()
    found = [(row[0], row[1]) for row in rows]
    return sorted(found, key=lambda pair: (pair[0].name, -pair[1].number)), any(row[2] for row in rows)


def arrows_to_pick(session: Session, *, keep: Collection[str] = (), words: str = "") -> tuple[list[tuple[str, str]], bool]:
    """(id of the newest build, its name) of the newest arrows in use, by their tags; and whether there are more. Two statements.

    keep   builds that are offered too, as a form sent them
    words  only arrows whose tags hold them, beside those of `keep`
    """
    of_kept = session.execute(select(ArrowBuild.arrow_id).where(ArrowBuild.id.in_(sorted(keep)))).scalars() if keep else ()
    found, more = newest_of(session, Arrow, keep=set(of_kept), words=words)
    in_use = {one.id: one for one in found if not one.retired}
    query = (
        select(ArrowBuild, Head.name)
        .join(Head, Head.id == ArrowBuild.head_id, isouter=True)
        .where(ArrowBuild.arrow_id.in_(list(in_use)), ArrowBuild.voided_rev.is_(None))
        .order_by(ArrowBuild.number, ArrowBuild.id)
    )
    newest = {build.arrow_id: (build, head) for build, head in session.execute(query)}
    named = [
        (in_use[arrow].tag, build.id, f"{in_use[arrow].tag}{f', {head}' if head else ''}, build {build.number}")
        for arrow, (build, head) in newest.items()
    ]
    return [(build, name) for _, build, name in sorted(named, key=lambda one: by_number(one[0]))], more


def bows_to_pick(session: Session) -> list[tuple[str, str]]:
    """(id of a build, its name) of bows in use: the newest build of each first, then the older ones. Two statements."""
    bows = all_of(session, Bow, retired=False)
    query = select(BowBuild).where(BowBuild.bow_id.in_([bow.id for bow in bows]), BowBuild.voided_rev.is_(None))
    by_bow: dict[str, list[BowBuild]] = {}
    for build in session.execute(query.order_by(BowBuild.number.desc(), BowBuild.id.desc())).scalars():
        by_bow.setdefault(build.bow_id, []).append(build)
    names = [[(one.id, f"{bow.name}, build {one.number}") for one in by_bow.get(bow.id, ())] for bow in bows]
    return [pair for some in names for pair in some[:1]] + [pair for some in names for pair in some[1:]]
