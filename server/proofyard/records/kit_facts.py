"""Kit as pages need it: builds of every noun in one statement, arrows shot since they were checked, what was last asked."""

import json
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from sqlalchemy import and_, func, literal, null, or_, select, union_all
from sqlmodel import Session

from proofyard.records.arrow import ArrowBuild, ArrowCheck
from proofyard.records.book import Revision
from proofyard.records.bow import BowBuild
from proofyard.records.of_newest import OfHighest
from proofyard.records.packed import unpack_asked
from proofyard.records.panel import PanelBuild
from proofyard.records.shot import GROUNDED_BY, Shot, ShotReading
from proofyard.records.speed import Combination


@dataclass(frozen=True)
class BuildFact:
    """One build: of which noun and record, its number, and the head it carries if it is an arrow's."""

    noun: str
    build_id: str
    of_id: str
    number: int
    head_id: str | None
    work: str | None


@dataclass(frozen=True)
class FlightFact:
    """When an arrow build was last loosed, and by which label; when it was last checked, and what it was found to be;
    when it was last loosed and then read as hurt so that it does not fly, and by which label. Times: UTC ms."""

    arrow_build_id: str
    loosed_at: int | None
    label: str | None
    checked_at: int | None
    found: str | None
    grounded_at: int | None = None
    grounded_by: str | None = None


def builds(session: Session, *, of_ids: Iterable[str] | None = None) -> list[BuildFact]:
    """Builds of bows, arrows and panels, the newest of each first; those crossed out are left out."""
    parts = []
    wanted = None if of_ids is None else list(of_ids)
    sources = (("bow", BowBuild, BowBuild.bow_id), ("arrow", ArrowBuild, ArrowBuild.arrow_id), ("panel", PanelBuild, PanelBuild.panel_id))
    for noun, table, of in sources:
        head = ArrowBuild.head_id if table is ArrowBuild else null()
        columns: tuple[Any, ...] = (
            literal(noun).label("noun"),
            table.id.label("build_id"),
            of.label("of_id"),
            table.number.label("number"),
            head.label("head_id"),
            table.work.label("work"),
        )
        query = select(*columns).where(table.voided_rev.is_(None))
        parts.append(query if wanted is None else query.where(of.in_(wanted)))
    both = union_all(*parts).subquery()
    rows = session.execute(select(both).order_by(both.c.noun, both.c.of_id, both.c.number.desc(), both.c.build_id.desc()))
    return [BuildFact(*row) for row in rows]


def newest_builds(session: Session, *, most: int) -> list[tuple[str, str]]:
    """Noun and id of the newest builds of panels and of arrows that stand, at most so many of each."""
    parts = []
    for noun, table in (("panel", PanelBuild), ("arrow", ArrowBuild)):
        columns = table.__table__.c
        newest = select(literal(f"{noun}_build").label("noun"), columns.id.label("id")).where(columns.voided_rev.is_(None))
        parts.append(select(newest.order_by(columns.id.desc()).limit(most).subquery()))
    return [(noun, build_id) for noun, build_id in session.execute(union_all(*parts))]


def flights(session: Session, arrow_build_ids: Iterable[str] | None = None) -> list[FlightFact]:
    """Arrow builds that were loosed or checked. A let down is no loose; a time that no phone gave is when it came in."""
    came_in = select(Revision.record_id, Revision.noun, Revision.at).where(Revision.rev == 1).subquery()
    loosed = (
        select(
            Shot.arrow_build_id.label("build"),
            func.coalesce(Shot.loosed_at, came_in.c.at).label("at"),
            Shot.label.label("words"),
            literal("shot").label("what"),
        )
        .join(came_in, (came_in.c.record_id == Shot.id) & (came_in.c.noun == "shot"), isouter=True)
        .where(Shot.voided_rev.is_(None), Shot.purpose != "let_down")
    )
    checked = (
        select(
            ArrowCheck.arrow_build_id.label("build"),
            func.coalesce(ArrowCheck.at, came_in.c.at).label("at"),
            ArrowCheck.sound.label("words"),
            literal("check").label("what"),
        )
        .join(came_in, (came_in.c.record_id == ArrowCheck.id) & (came_in.c.noun == "arrow_check"), isouter=True)
        .where(ArrowCheck.voided_rev.is_(None))
    )
    grounded = (
        loosed.join(ShotReading, ShotReading.id == Shot.id)
        .where(grounded_by_reading())
        .with_only_columns(
            Shot.arrow_build_id.label("build"),
            func.coalesce(Shot.loosed_at, came_in.c.at).label("at"),
            Shot.label.label("words"),
            literal("grounded").label("what"),
        )
    )
    both = union_all(loosed, checked, grounded).subquery()
    at = func.coalesce(both.c.at, 0)
    query = select(both.c.build, both.c.what, func.max(at), OfHighest(both.c.words, at)).group_by(both.c.build, both.c.what)
    if arrow_build_ids is not None:
        query = query.where(both.c.build.in_(list(arrow_build_ids)))
    found: dict[str, dict[str, tuple[int, str]]] = {}
    for build, what, at, words in session.execute(query):
        found.setdefault(build, {})[what] = (at, words)
    nothing = (None, None)
    parts = ("shot", "check", "grounded")
    return [FlightFact(build, *(one for part in parts for one in both.get(part, nothing))) for build, both in found.items()]


def grounded_by_reading() -> Any:
    """Whether a standing reading says that the arrow does not fly on as it is."""
    fates = (getattr(ShotReading, name).contains(f'"{fate}"', autoescape=True) for name, some in GROUNDED_BY.items() for fate in some)
    return and_(ShotReading.voided_rev.is_(None), or_(*fates))


def combination_of(session: Session, *, bow_build_id: str, arrow_build_id: str, archer_id: str) -> str | None:
    """The id of the one combination of these three."""
    three = (Combination.bow_build_id == bow_build_id, Combination.arrow_build_id == arrow_build_id, Combination.archer_id == archer_id)
    return session.execute(select(Combination.id).where(*three)).scalar()


def body_taken(session: Session, op_id: str) -> dict[str, Any]:
    """What an operation that was taken before said; empty if it was not."""
    row = session.execute(select(Revision.__table__).where(Revision.op_id == op_id)).mappings().first()
    if row is None or row["asked"] is None:
        return {}
    body, _ = unpack_asked(row["asked"], row, changes=row["changes"])
    return dict(json.loads(body)[4])
