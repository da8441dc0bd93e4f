"""Plans with their shots in order and which loose was which of them, and what each archer said beforehand."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Select, Text, and_, cast, func, literal, or_, select, union_all
from sqlmodel import Session

from proofyard.records.archer import Archer
from proofyard.records.arrow import Arrow, ArrowBuild, Head
from proofyard.records.book import Revision, revision_of
from proofyard.records.bow import Bow, BowBuild
from proofyard.records.panel import Panel, PanelBuild
from proofyard.records.plan import Plan, PlannedShot, Prediction
from proofyard.records.shot import Shot
from proofyard.records.trial import Session as Day
from proofyard.records.trial import Setup, ShootingEnd, Trial, TrialUses


@dataclass(frozen=True)
class PlanFact:
    """A plan, the panel that it is for, and its trial."""

    plan: Plan
    build: PanelBuild
    panel: Panel
    trial: Trial


@dataclass(frozen=True)
class PlannedFact:
    """One shot of a plan with the words that name its kit, and the loose that was it."""

    planned: PlannedShot
    archer: str | None
    arrow_tag: str
    head: str | None
    form: str | None
    bow: str | None
    shot_id: str | None
    label: str | None


@dataclass(frozen=True)
class PredictionFact:
    """What an archer said, when first and when last, and how many of the trial's shots had been loosed by then.

    unclear, unclear_change  further shots of that very day, logged on paper: nobody knows whether they came before or after
    """

    prediction: Prediction
    archer: str
    said_at: int
    changed_at: int
    shots_before: int
    shots_before_change: int
    unclear: int
    unclear_change: int


_OF_A_SHOT = revision_of("shot", Shot.id)


def plans_of(session: Session, trial_ids: Sequence[str]) -> list[PlanFact]:
    """Standing plans of these trials, newest first."""
    rows = session.execute(
        select(Plan, PanelBuild, Panel, Trial)
        .join(PanelBuild, PanelBuild.id == Plan.panel_build_id)
        .join(Panel, Panel.id == PanelBuild.panel_id)
        .join(Trial, Trial.id == Plan.trial_id)
        .where(Plan.trial_id.in_(list(trial_ids)), Plan.voided_rev.is_(None))
        .order_by(Plan.id.desc())
    )
    return [PlanFact(*row) for row in rows]


def planned_shots(session: Session, plan_ids: Sequence[str]) -> list[PlannedFact]:
    """In order; a crossed-out shot leaves its place open again. Two shots for one place: the first stands for both."""
    done = (
        select(Shot.planned_shot_id.label("planned"), func.min(Shot.id).label("shot"))
        .where(Shot.planned_shot_id.is_not(None), Shot.voided_rev.is_(None), Shot.purpose != "let_down")
        .group_by(Shot.planned_shot_id)
        .subquery()
    )
    rows = session.execute(
        select(PlannedShot, Archer.call_name, Arrow.tag, Head.name, Head.form, Bow.name, Shot.id, Shot.label)
        .join(ArrowBuild, ArrowBuild.id == PlannedShot.arrow_build_id)
        .join(Arrow, Arrow.id == ArrowBuild.arrow_id)
        .join(Head, Head.id == ArrowBuild.head_id, isouter=True)
        .join(Archer, Archer.id == PlannedShot.archer_id, isouter=True)
        .join(BowBuild, BowBuild.id == PlannedShot.bow_build_id, isouter=True)
        .join(Bow, Bow.id == BowBuild.bow_id, isouter=True)
        .join(done, done.c.planned == PlannedShot.id, isouter=True)
        .join(Shot, Shot.id == done.c.shot, isouter=True)
        .where(PlannedShot.plan_id.in_(list(plan_ids)), PlannedShot.voided_rev.is_(None))
        .order_by(PlannedShot.plan_id, PlannedShot.place)
    )
    return [PlannedFact(*row) for row in rows]


def loosed_before(seq: Any, at: Any) -> Any:
    """Whether a shot was loosed before something that the book has under this number, written down at this moment.

    When a shot was loosed decides, never when it was typed in: a paper log comes to the book after the day. What the
    book had already was loosed before, whatever a phone's clock says.
    """
    earlier_day = and_(Shot.loosed_at.is_(None), Day.day < day_of(at))
    return or_(Revision.seq < seq, Shot.loosed_at < at, earlier_day)


def maybe_before(seq: Any, at: Any) -> Any:
    """Whether nobody can say: the same day, and the shot has no time."""
    return and_(Revision.seq >= seq, Shot.loosed_at.is_(None), Day.day == day_of(at))


def day_of(at: Any) -> Any:
    """The laptop's own day of a moment."""
    return func.date(at / 1000, "unixepoch", "localtime")


def loosed_in(trial_id: Any, what: Any) -> Select[Any]:
    """This of the trial's shots, each with its first revision and its day; a let-down is none, nor is what was crossed out."""
    return (
        select(what)
        .select_from(Day)
        .join(Setup, Setup.session_id == Day.id)
        .join(ShootingEnd, ShootingEnd.setup_id == Setup.id)
        .join(Shot, and_(Shot.shooting_end_id == ShootingEnd.id, Shot.voided_rev.is_(None), Shot.purpose != "let_down"))
        .join(Revision, _OF_A_SHOT)
        .where(Day.trial_id == trial_id)
    )


def shots_counted(trial_id: str, wanted: Any, *correlated: Any) -> Any:
    """How many of the trial's shots fulfil this; a let-down is none, nor is what was crossed out."""
    return loosed_in(trial_id, func.count()).where(wanted).correlate(*correlated).scalar_subquery()


def predictions_of(session: Session, trial_id: str) -> list[PredictionFact]:
    """One statement: what was loosed before something was said is told by when it was loosed."""
    said, changed = select(Revision).subquery(), select(Revision).subquery()
    last = (
        select(func.max(Revision.seq))
        .where(Revision.noun == "prediction", Revision.record_id == Prediction.id)
        .correlate(Prediction)
        .scalar_subquery()
    )
    counts = [
        shots_counted(trial_id, which(when.c.seq, when.c.at), said, changed)
        for which in (loosed_before, maybe_before)
        for when in (said, changed)
    ]
    rows = session.execute(
        select(Prediction, Archer.call_name, said.c.at, changed.c.at, *counts)
        .join(Archer, Archer.id == Prediction.archer_id)
        .join(said, and_(said.c.noun == "prediction", said.c.record_id == Prediction.id, said.c.rev == 1))
        .join(changed, changed.c.seq == last)
        .where(Prediction.trial_id == trial_id, Prediction.voided_rev.is_(None))
        .order_by(Prediction.id)
    )
    return [PredictionFact(*row) for row in rows]


def kit_at_hand(session: Session, *, trial_id: str | None = None) -> dict[str, list[tuple[str, str]]]:
    """(id, name) of archers and of the newest build of each bow, in one statement: what a plan may be made with.

    With a trial also the ids of the arrows and bows that it says it uses, as "uses_arrow" and "uses_bow"; none: any.
    """
    newest = (
        select(func.max(BowBuild.number)).where(BowBuild.bow_id == Bow.id, BowBuild.voided_rev.is_(None)).correlate(Bow).scalar_subquery()
    )
    archers = select(literal("archer"), Archer.id, Archer.call_name).where(
        Archer.voided_rev.is_(None), func.coalesce(Archer.retired, 0) == 0
    )
    bows = (
        select(literal("bow"), BowBuild.id, cast(Bow.name, Text))
        .join(Bow, Bow.id == BowBuild.bow_id)
        .where(Bow.voided_rev.is_(None), func.coalesce(Bow.retired, 0) == 0, BowBuild.voided_rev.is_(None), BowBuild.number == newest)
    )
    uses = select(literal("uses_") + TrialUses.noun, TrialUses.record_id, literal("")).where(
        TrialUses.trial_id == (trial_id or ""), TrialUses.voided_rev.is_(None)
    )
    found: dict[str, list[tuple[str, str]]] = {"archer": [], "bow": [], "uses_arrow": [], "uses_bow": []}
    for sort, key, name in session.execute(union_all(archers, bows, uses)):
        found.setdefault(sort, []).append((key, name))
    return {sort: sorted(pairs, key=lambda pair: pair[1]) for sort, pairs in found.items()}


@dataclass(frozen=True)
class NewestPlanned:
    """One shot of the newest plan for a panel build in a trial: what a phone is told."""

    trial_id: str
    panel_build_id: str
    planned: PlannedShot
    arrow_tag: str


def newest_planned(session: Session, trial_ids: Sequence[str]) -> list[NewestPlanned]:
    """In order, in one statement; those loosed or skipped too, since a phone may take either back."""
    later = select(Plan.id).where(Plan.trial_id == Trial.id, Plan.panel_build_id == PanelBuild.id, Plan.voided_rev.is_(None))
    newest = later.order_by(Plan.id.desc()).limit(1).correlate(Trial, PanelBuild).scalar_subquery()
    rows = session.execute(
        select(Plan.trial_id, Plan.panel_build_id, PlannedShot, Arrow.tag)
        .join(Plan, Plan.id == PlannedShot.plan_id)
        .join(ArrowBuild, ArrowBuild.id == PlannedShot.arrow_build_id)
        .join(Arrow, Arrow.id == ArrowBuild.arrow_id)
        .join(Trial, Trial.id == Plan.trial_id)
        .join(PanelBuild, PanelBuild.id == Plan.panel_build_id)
        .where(Plan.trial_id.in_(list(trial_ids)), Plan.id == newest, PlannedShot.voided_rev.is_(None))
        .order_by(PlannedShot.place)
    )
    return [NewestPlanned(*row) for row in rows]
