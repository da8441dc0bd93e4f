"""All kit by name alone, and what is counted or looked for over all of it in the book itself: a page of kit shows a hundred of each."""

from collections import defaultdict
from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, NamedTuple

from sqlalchemy import and_, exists, func, literal, or_, select, union_all
from sqlalchemy.orm import aliased
from sqlmodel import Session

from proofyard import quantities
from proofyard.records.archer import Archer
from proofyard.records.arrow import Arrow, ArrowBuild, ArrowCheck, Head
from proofyard.records.book import Revision
from proofyard.records.bow import Bow
from proofyard.records.columns import Noun, meanings
from proofyard.records.instrument import Instrument, Reading
from proofyard.records.listing import NAMED_BY, by_number
from proofyard.records.panel import Panel
from proofyard.records.shot import Shot
from proofyard.records.stand import Stand

# In the order in which what is unusual is listed.
KIT: Mapping[str, type[Noun]] = MappingProxyType(
    {"archer": Archer, "instrument": Instrument, "bow": Bow, "head": Head, "arrow": Arrow, "panel": Panel, "stand": Stand}
)


class Named(NamedTuple):
    """One record of kit that is not crossed out."""

    record_id: str
    name: str
    retired: bool


def kit_named(session: Session) -> dict[str, list[Named]]:
    """Every noun of kit with its records, by name as people count. One statement, and of each record three columns."""
    parts = []
    for noun, table in KIT.items():
        columns = table.__table__.c
        named = columns[NAMED_BY.get(noun, "name")]
        query = select(literal(noun).label("noun"), columns.id, named.label("name"), func.coalesce(columns.retired, 0).label("retired"))
        parts.append(query.where(columns.voided_rev.is_(None)))
    every = union_all(*parts).subquery()
    found: dict[str, list[Named]] = {noun: [] for noun in KIT}
    for noun, record_id, name, retired in session.execute(select(every).order_by(every.c.noun, every.c.name)):
        found[noun].append(Named(record_id, name, bool(retired)))
    for noun, some in found.items():
        if noun == "instrument":
            some.sort(key=lambda one: one.name.lower())
        elif noun != "archer":
            some.sort(key=lambda one: by_number(one.name))
    return found


def _newest_build() -> Any:
    """Whether an arrow's build is its newest one that stands."""
    later = aliased(ArrowBuild)
    after = or_(later.number > ArrowBuild.number, and_(later.number == ArrowBuild.number, later.id > ArrowBuild.id))
    none_later = ~exists().where(later.arrow_id == ArrowBuild.arrow_id, later.voided_rev.is_(None), after)
    return and_(ArrowBuild.arrow_id == Arrow.id, ArrowBuild.voided_rev.is_(None), none_later)


def _moment(record: Any, noun: str, told: Any) -> Any:
    """When it was; if no phone told, when it came in."""
    came_in = select(Revision.at).where(Revision.noun == noun, Revision.record_id == record.id, Revision.rev == 1).correlate(record)
    return func.coalesce(told, came_in.scalar_subquery(), 0)


def arrows_to_check(session: Session) -> int:
    """How many arrows in use want a check of their newest build: it was loosed since the last one, or that one found it not sound.

    The rule of `soundness_of` (server/proofyard/shots/soundness.py), asked of each arrow until one shot tells.
    """
    check, last = aliased(ArrowCheck), aliased(ArrowCheck)
    checked = _moment(check, "arrow_check", check.at) >= _moment(Shot, "shot", Shot.loosed_at)
    since = exists().where(check.arrow_build_id == ArrowBuild.id, check.voided_rev.is_(None), checked).correlate(ArrowBuild, Shot)
    flown = exists().where(Shot.arrow_build_id == ArrowBuild.id, Shot.voided_rev.is_(None), Shot.purpose != "let_down", ~since)
    found = (
        select(last.sound)
        .where(last.arrow_build_id == ArrowBuild.id, last.voided_rev.is_(None))
        .order_by(_moment(last, "arrow_check", last.at).desc())
        .limit(1)
        .correlate(ArrowBuild)
        .scalar_subquery()
    )
    wanted = or_(flown.correlate(ArrowBuild), found == "not_sound")
    query = select(func.count()).select_from(Arrow).join(ArrowBuild, _newest_build())
    standing = (Arrow.voided_rev.is_(None), func.coalesce(Arrow.retired, 0) == 0)
    return int(session.execute(query.where(*standing, wanted)).scalar_one())


def arrows_weighed(session: Session) -> int:
    """How many arrows, retired ones too, have a mass reading of their newest build that counts."""
    weighed = exists().where(
        Reading.record_id == ArrowBuild.id,
        Reading.noun == "arrow_build",
        Reading.measured == "mass",
        Reading.voided_rev.is_(None),
        Reading.left_out_reason.is_(None),
    )
    query = select(func.count()).select_from(Arrow).join(ArrowBuild, _newest_build()).where(Arrow.voided_rev.is_(None), weighed)
    return int(session.execute(query).scalar_one())


def maybe_unusual(session: Session, *, most: int) -> dict[str, set[str]]:
    """Records of kit that hold a value outside its usual range, by noun: at most so many of each. One statement."""
    parts = []
    for noun, table in KIT.items():
        columns, outside = table.__table__.c, _outside(table)
        if outside:
            query = (
                select(literal(noun).label("noun"), columns.id)
                .where(columns.voided_rev.is_(None), or_(*outside))
                .order_by(columns.id)
                .limit(most)
            )
            parts.append(select(query.subquery()))
    found: dict[str, set[str]] = defaultdict(set)
    for noun, record_id in session.execute(union_all(*parts)):
        found[noun].add(record_id)
    return found


def _outside(table: type[Noun]) -> list[Any]:
    """Conditions of which one holds where `unusual` may have something to say."""
    columns = table.__table__.c
    return [_beyond(columns[column], meaning.kind) for column, meaning in meanings(table).values() if meaning.value == "quantity"]


def _beyond(value: Any, kind: Any) -> Any:
    """A kind that another field tells is judged by whoever reads the record."""
    known = quantities.KINDS.get(kind) if isinstance(kind, str) else None
    return value.is_not(None) if known is None else or_(value < known.plausible[0], value > known.plausible[1])
