"""What the phones at the range need to know, in a handful of statements: open set-ups, kit, ends, shots, clashes.

A record is given as a phone would say it itself: field name -> text as typed, word picked, or id.
"""

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from sqlalchemy import Integer, Select, and_, case, cast, func, or_, select
from sqlalchemy.orm import aliased
from sqlmodel import Session

from proofyard.records.archer import Archer
from proofyard.records.arrow import Arrow, ArrowBuild, ArrowCheck, Head
from proofyard.records.book import Book, Clash, Device, Revision
from proofyard.records.bow import Bow, BowBuild
from proofyard.records.columns import meanings, picked
from proofyard.records.kit_facts import grounded_by_reading
from proofyard.records.listing import held
from proofyard.records.nouns import TABLES
from proofyard.records.panel import Panel, PanelArea, PanelBuild
from proofyard.records.shot import Shot, ShotReading
from proofyard.records.speed import SpeedReading
from proofyard.records.trial import CautionTick, Setup, ShootingEnd, Trial, TrialUses
from proofyard.records.trial import Session as Day

MOST_CHANGES = 500  # more than this, and the whole is sent instead
# Nouns whose change leaves set-ups and the choice of shots as they were.
OF_SHOTS = frozenset(
    {
        "shot",
        "shot_reading",
        "speed_reading",
        "shooting_end",
        "butt_visit",
        "arrow_check",
        "incident",
        "device",
        "caution_tick",
        "photo",
        "planned_shot",
        "prediction",
    }
)


class Where(NamedTuple):
    """Which book this is, how far it has come, and what it holds of one phone."""

    book_id: str
    epoch: str
    seq: int
    highest_label: int
    highest_device_seq: int


def where_it_stands(session: Session, device_id: str | None, letter: str | None) -> Where:
    """One statement: what decides whether there is anything new for this phone."""
    start = letter or "?"
    number = cast(func.substr(Shot.label, len(start) + 1), Integer)
    counted = (Revision.device_id == device_id) & Revision.device_seq.is_not(None)
    row = session.execute(
        select(
            Book.book_id,
            Book.epoch,
            select(func.max(Revision.seq)).scalar_subquery(),
            select(func.max(number)).where(Shot.label.op("GLOB")(f"{start}[0-9]*")).scalar_subquery(),
            select(func.max(Revision.device_seq)).where(counted).scalar_subquery(),
        )
    ).one()
    return Where(row[0], row[1], row[2] or 0, row[3] or 0, row[4] or 0)


@dataclass(frozen=True)
class Changed:
    """What a phone that stands at an earlier number has to be told. `whole`: everything."""

    whole: bool
    shots: frozenset[str] = frozenset()
    shooting_ends: frozenset[str] = frozenset()


def changed_since(session: Session, since: int) -> Changed:
    """The shots and ends that changed after a number, or that all must be sent again."""
    if since <= 0:
        return Changed(whole=True)
    rows = session.execute(
        select(Revision.noun, Revision.record_id, SpeedReading.shot_id)
        .join(SpeedReading, and_(Revision.noun == "speed_reading", SpeedReading.id == Revision.record_id), isouter=True)
        .where(Revision.seq > since)
        .limit(MOST_CHANGES + 1)
    ).all()
    if len(rows) > MOST_CHANGES or any(row.noun not in OF_SHOTS for row in rows):
        return Changed(whole=True)
    shots = {row.record_id for row in rows if row.noun in ("shot", "shot_reading")}
    shots |= {row.shot_id for row in rows if row.shot_id}
    return Changed(False, frozenset(shots), frozenset(row.record_id for row in rows if row.noun == "shooting_end"))


def as_said(noun: str, row: Mapping[str, Any]) -> dict[str, Any]:
    """A stored row in the words of an operation's body; what is empty is left out."""
    words, said = json.loads(row["typed"]), {}
    for name, (column, meaning) in meanings(TABLES[noun]).items():
        value = row[column]
        if value is None:
            continue
        if meaning.value == "quantity":
            said[name] = words.get(name) or repr(value)
        elif meaning.value == "several":
            said[name] = picked(value)
        elif meaning.value == "yes_no":
            said[name] = "yes" if value else "no"
        else:
            said[name] = value
    return said


def as_record(noun: str, row: Mapping[str, Any]) -> dict[str, Any]:
    return {"id": row["id"], "rev": row["rev"], "voided": row["voided_rev"] is not None, "said": as_said(noun, row)}


@dataclass(frozen=True)
class OpenSetup:
    """A set-up of a day of an open trial.

    ticked          how many of the day's cautions are
    newest          the number of the panel's newest build
    trial_number    its place in the list of trials, the oldest 1
    bows, arrows    ids of those that the trial says it uses
    """

    setup: Setup
    day: Day
    trial: Trial
    panel_build: PanelBuild
    panel: Panel
    ticked: int
    newest: int
    trial_number: int
    bows: tuple[str, ...]
    arrows: tuple[str, ...]


def open_setups(session: Session, *, most: int = 40) -> list[OpenSetup]:
    """The set-ups of open trials, the newest day first; within a day those on a panel's newest build come first."""
    ticked = select(func.count()).where(CautionTick.session_id == Day.id, CautionTick.voided_rev.is_(None)).correlate(Day).scalar_subquery()
    build = aliased(PanelBuild)
    newest = select(func.max(build.number)).where(build.panel_id == Panel.id, build.voided_rev.is_(None)).correlate(Panel).scalar_subquery()
    older = aliased(Trial)
    number = select(func.count()).where(older.id <= Trial.id, older.voided_rev.is_(None)).correlate(Trial).scalar_subquery()
    rows = session.execute(
        select(Setup, Day, Trial, PanelBuild, Panel, ticked, newest, number, _used("bow"), _used("arrow"))
        .join(Day, Day.id == Setup.session_id)
        .join(Trial, Trial.id == Day.trial_id)
        .join(PanelBuild, PanelBuild.id == Setup.panel_build_id)
        .join(Panel, Panel.id == PanelBuild.panel_id)
        .where(Trial.state == "open", *(table.voided_rev.is_(None) for table in (Setup, Day, Trial)))
        .order_by(Day.day.desc(), PanelBuild.number < newest, Setup.id)
        .limit(most)
    )
    return [OpenSetup(*row[:8], bows=_ids(row[8]), arrows=_ids(row[9])) for row in rows]


def _used(noun: str) -> Any:
    """The ids of bows or arrows that a trial uses, as one JSON list: asked along with the set-up, not once more."""
    used = select(TrialUses.record_id).where(TrialUses.trial_id == Trial.id, TrialUses.voided_rev.is_(None), TrialUses.noun == noun)
    in_order = used.order_by(TrialUses.id).correlate(Trial).subquery()
    return select(func.json_group_array(in_order.c.record_id)).scalar_subquery()


def _ids(listed: str) -> tuple[str, ...]:
    return tuple(json.loads(listed))


def areas_of(session: Session, panel_build_ids: Iterable[str]) -> Sequence[PanelArea]:
    query = select(PanelArea).where(PanelArea.panel_build_id.in_(list(panel_build_ids)), PanelArea.voided_rev.is_(None))
    return session.execute(query.order_by(PanelArea.id)).scalars().all()


def archers_here(session: Session) -> list[tuple[str, str]]:
    """(id, call name) of those who are not retired."""
    rows = session.execute(
        select(Archer.id, Archer.call_name)
        .where(Archer.voided_rev.is_(None), func.coalesce(Archer.retired, 0) == 0)
        .order_by(Archer.call_name)
    )
    return [(row[0], row[1]) for row in rows]


class CurrentBow(NamedTuple):
    build: str
    bow: str
    name: str
    marked_weight_n: float | None


def current_bows(session: Session) -> list[CurrentBow]:
    """Each bow's newest build."""
    rows = session.execute(
        _newest(BowBuild, BowBuild.bow_id, select(BowBuild.id, Bow.id, Bow.name, Bow.marked_weight_n))
        .join(Bow, Bow.id == BowBuild.bow_id)
        .where(Bow.voided_rev.is_(None), func.coalesce(Bow.retired, 0) == 0)
        .order_by(Bow.marked_weight_n, Bow.name)
    )
    return [CurrentBow(*row) for row in rows]


def _newest(build: Any, of: Any, query: Select[Any]) -> Select[Any]:
    """Only the build with the highest number of each bow or arrow."""
    later = aliased(build)
    same = getattr(later, of.key) == of
    newer = or_(later.number > build.number, and_(later.number == build.number, later.id > build.id))
    there = select(later.id).where(same, newer, later.voided_rev.is_(None)).exists()
    return query.where(build.voided_rev.is_(None), ~there)


class CurrentArrow(NamedTuple):
    """An arrow's newest build, how often it was shot, and what was last said of it. Times: UTC ms.

    grounded_by    the last shot whose reading says that the arrow does not fly on as it is; grounded_at: when it was loosed
    shot_before    the shot before the last, so that a phone that takes the last back knows where the arrow stands
    """

    build: str
    arrow: str
    tag: str
    form: str | None
    head: str | None
    shots: int
    last_loosed_at: int | None
    last_shot: str | None
    last_check: str | None
    last_checked_at: int | None
    grounded_at: int | None = None
    grounded_by: str | None = None
    shot_before: str | None = None
    loosed_before: int | None = None


def current_arrows(session: Session) -> list[CurrentArrow]:
    """Each arrow's newest build with its soundness, by tag."""
    return held("current arrows", lambda: arrows_in_use(session))


IN_USE = (Arrow.voided_rev.is_(None), func.coalesce(Arrow.retired, 0) == 0)


def arrows_in_use(session: Session, *wanted: Any) -> list[CurrentArrow]:
    """The same of arrows that meet these conditions."""
    flown = and_(Shot.arrow_build_id == ArrowBuild.id, Shot.voided_rev.is_(None), Shot.purpose != "let_down")
    checked = and_(ArrowCheck.arrow_build_id == ArrowBuild.id, ArrowCheck.voided_rev.is_(None))

    def of_shots(what: Any) -> Any:
        return select(what).where(flown).correlate(ArrowBuild)

    def last_check(what: Any) -> Any:
        newest = select(what).where(checked).order_by(func.coalesce(ArrowCheck.at, 0).desc(), ArrowCheck.id.desc())
        return newest.limit(1).correlate(ArrowBuild).scalar_subquery()

    def grounded(what: Any) -> Any:
        read = of_shots(what).join(ShotReading, ShotReading.id == Shot.id).where(grounded_by_reading())
        return read.order_by(func.coalesce(Shot.loosed_at, 0).desc(), Shot.id.desc()).limit(1).scalar_subquery()

    def nth_newest(what: Any, n: int = 0) -> Any:
        return of_shots(what).order_by(func.coalesce(Shot.loosed_at, 0).desc(), Shot.id.desc()).limit(1).offset(n).scalar_subquery()

    rows = session.execute(
        _newest(
            ArrowBuild,
            ArrowBuild.arrow_id,
            select(
                ArrowBuild.id,
                Arrow.id,
                Arrow.tag,
                Head.form,
                Head.name,
                of_shots(func.count()).scalar_subquery(),
                of_shots(func.max(Shot.loosed_at)).scalar_subquery(),
                nth_newest(Shot.id),
                last_check(ArrowCheck.sound),
                last_check(ArrowCheck.at),
                grounded(func.coalesce(Shot.loosed_at, 0)),
                grounded(Shot.id),
                nth_newest(Shot.id, 1),
                nth_newest(Shot.loosed_at, 1),
            ),
        )
        .join(Arrow, Arrow.id == ArrowBuild.arrow_id)
        .join(Head, Head.id == ArrowBuild.head_id, isouter=True)
        .where(*IN_USE, *wanted)
        .order_by(case((cast(Arrow.tag, Integer) == 0, 1), else_=0), cast(Arrow.tag, Integer), Arrow.tag)
    )
    return [CurrentArrow(*row) for row in rows]


def rows_of(session: Session, query: Select[Any]) -> list[Mapping[str, Any]]:
    return [dict(row) for row in session.execute(query).mappings()]


def shooting_ends_of(session: Session, setup_ids: Iterable[str], only: Iterable[str] | None = None) -> list[dict[str, Any]]:
    table = ShootingEnd.__table__
    query = select(table).where(table.c.setup_id.in_(list(setup_ids))).order_by(table.c.id)
    if only is not None:
        query = query.where(table.c.id.in_(list(only)))
    return [as_record("shooting_end", row) for row in rows_of(session, query)]


class TwoSaid(NamedTuple):
    """One field of one record of which two people said different things."""

    id: str
    noun: str
    record_id: str
    field: str
    stands: tuple[Any, str | None]
    stands_by: str | None
    stands_at: int | None
    offered: tuple[Any, str | None]
    offered_by: str | None
    offered_at: int


def two_said(session: Session, nouns: Sequence[str]) -> list[TwoSaid]:
    """Clashes of these nouns that nobody has decided, oldest first."""
    return held(("two said", *nouns), lambda: _two_said(session, nouns))


def _two_said(session: Session, nouns: Sequence[str]) -> list[TwoSaid]:
    undecided = (Clash.settled_op_id.is_(None), Clash.noun.in_(list(nouns)))
    if session.execute(select(Clash.id).where(*undecided).limit(1)).first() is None:
        return []  # most of the time; else the notebook is looked through for who said it
    offered, stood = aliased(Revision), aliased(Revision)
    by, other = aliased(Device), aliased(Device)
    rows = session.execute(
        select(Clash, offered.at, by.call_name, stood.at, other.call_name)
        .join(offered, offered.op_id == Clash.op_id)
        .join(by, by.id == offered.device_id, isouter=True)
        .join(stood, stood.op_id == Clash.stands_op_id, isouter=True)
        .join(other, other.id == stood.device_id, isouter=True)
        .where(*undecided)
        .order_by(offered.seq)
        .limit(50)
    )
    return [
        TwoSaid(
            clash.id,
            clash.noun,
            clash.record_id,
            clash.field,
            tuple(json.loads(clash.stands)),
            stood_by,
            stood_at,
            tuple(json.loads(clash.offered)),
            offered_by,
            offered_at,
        )
        for clash, offered_at, offered_by, stood_at, stood_by in rows
    ]
