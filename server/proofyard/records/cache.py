"""What each shot was, worked out and kept: no record, and nothing that anybody said. Emptied, it changes no page and no file.

`server/proofyard/shots/cache.py` fills and reads it; which change makes which row stale is told in `cache_stale.py` beside this.
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from sqlalchemy import REAL, Index, Integer, LargeBinary, Text, bindparam, func, insert, select, text, update
from sqlmodel import Field as Column
from sqlmodel import Session, SQLModel

from proofyard.records.book import STRICT
from proofyard.records.cache_stale import Touched, touched_since
from proofyard.records.listing import cache_and_latest
from proofyard.records.notebook import latest_seq
from proofyard.records.shot import Shot
from proofyard.records.trial import Setup, ShootingEnd


class CacheShot(SQLModel, table=True):
    """One shot. `stale`: something it rests on has changed since. `fair` and `impact` hold all of it; the rest is for statements."""

    __tablename__ = "cache_shot"
    __table_args__ = (Index("ix_cache_shot_stale", "stale", sqlite_where=text("stale = 1"), postgresql_where=text("stale = 1")), STRICT)
    shot_id: str = Column(primary_key=True, sa_type=Text)
    stale: int = Column(sa_type=Integer)
    panel_build_id: str = Column(index=True, sa_type=Text)
    arrow_build_id: str = Column(index=True, sa_type=Text)
    combination_id: str = Column(sa_type=Text)
    setup_id: str = Column(sa_type=Text)
    session_id: str = Column(sa_type=Text)
    trial_id: str = Column(sa_type=Text)
    form: str | None = Column(default=None, sa_type=Text)
    construction: str | None = Column(default=None, sa_type=Text)
    thickness_m: float | None = Column(default=None, sa_type=REAL)
    voided: int = Column(sa_type=Integer)
    purpose: str = Column(sa_type=Text)
    hit: str | None = Column(default=None, sa_type=Text)
    outcome_low: int | None = Column(default=None, sa_type=Integer)
    outcome_high: int | None = Column(default=None, sa_type=Integer)
    basis: str = Column(sa_type=Text)
    speed_m_s: float | None = Column(default=None, sa_type=REAL)
    chronograph_j: float | None = Column(default=None, sa_type=REAL)
    chronograph_u_j: float | None = Column(default=None, sa_type=REAL)
    chronograph_dof: float | None = Column(default=None, sa_type=REAL)
    chronograph_n: int | None = Column(default=None, sa_type=Integer)
    target_j: float | None = Column(default=None, sa_type=REAL)
    target_u_j: float | None = Column(default=None, sa_type=REAL)
    target_dof: float | None = Column(default=None, sa_type=REAL)
    target_n: int | None = Column(default=None, sa_type=Integer)
    target_instrument_u_j: float | None = Column(default=None, sa_type=REAL)
    target_combination_u_j: float | None = Column(default=None, sa_type=REAL)
    target_shot_u_j: float | None = Column(default=None, sa_type=REAL)
    drag_fitted: int | None = Column(default=None, sa_type=Integer)
    fair_answer: str | None = Column(default=None, sa_type=Text)
    fair_sort: str | None = Column(default=None, sa_type=Text)
    fair: str | None = Column(default=None, sa_type=Text)
    impact: bytes = Column(sa_type=LargeBinary)
    target_speed_m_s: float | None = Column(default=None, sa_type=REAL)
    mass_kg: float | None = Column(default=None, sa_type=REAL)


class CacheState(SQLModel, table=True):
    """One row: all changes up to `as_of_seq` have marked what they made stale; `form`: of the formulas that worked it out."""

    __tablename__ = "cache_state"
    __table_args__ = (STRICT,)
    one: int = Column(default=1, primary_key=True, sa_type=Integer)
    as_of_seq: int = Column(sa_type=Integer)
    form: str = Column(sa_type=Text)


_ROW, _STATE = CacheShot.__table__, CacheState.__table__
COLUMNS = tuple(column.name for column in _ROW.columns)


def kept_rows(session: Session, names: Sequence[str], **wanted: Iterable[str]) -> Sequence[Any]:
    """These columns of all rows that were not marked stale, or of those whose `column` is one of these."""
    asked = [_ROW.c[name].in_(list(values)) for name, values in wanted.items()]
    return session.execute(select(*(_ROW.c[name] for name in names)).where(_ROW.c.stale == 0, *asked)).all()


def builds_wanting(session: Session, form: str) -> list[tuple[str, str]]:
    """Each panel build that has a shot which is not kept, or is kept and no longer holds, with the arrow build of each such shot.

    Looks at all shots once. Changes that have marked nothing yet are followed; what another form kept is wanting.
    """
    state = cache_and_latest(session)
    touched = touched_since(session, state[0]) if state and state[1] == form else Touched(everything=True)
    query = (
        select(Setup.panel_build_id, Shot.arrow_build_id)
        .select_from(Shot)
        .join(ShootingEnd, ShootingEnd.id == Shot.shooting_end_id)
        .join(Setup, Setup.id == ShootingEnd.setup_id)
        .join(_ROW, _ROW.c.shot_id == Shot.id, isouter=True)
        .order_by(Shot.id)
    )
    if not touched.everything:
        query = query.where(
            (func.coalesce(_ROW.c.stale, 1) == 1)
            | _ROW.c.panel_build_id.in_(sorted(touched.panel_builds))
            | _ROW.c.arrow_build_id.in_(sorted(touched.arrow_builds))
        )
    return [(build, arrow) for build, arrow in session.execute(query)]


def keep(session: Session, rows: Sequence[Mapping[str, Any]], *, as_of: int, form: str) -> None:
    """Keep these rows, worked out as the book stood at a number of the notebook, and mark what changes have touched. Within a write.

    form  of the formulas that worked them out; whatever another form kept is stale
    """
    latest = latest_seq(session)
    state = session.execute(select(CacheState.as_of_seq, CacheState.form)).one_or_none()
    if state is None:
        session.execute(insert(_STATE), {"one": 1, "as_of_seq": latest, "form": form})
    else:
        mark_stale(session, touched_since(session, state[0]) if state[1] == form else Touched(everything=True))
        session.execute(update(_STATE).values(as_of_seq=latest, form=form))
    there = {one for (one,) in session.execute(select(_ROW.c.shot_id).where(_ROW.c.shot_id.in_([row["shot_id"] for row in rows])))}
    if again := [{**row, "of": row["shot_id"]} for row in rows if row["shot_id"] in there]:
        session.execute(_AGAIN, again)
    if new := [dict(row) for row in rows if row["shot_id"] not in there]:
        session.execute(insert(_ROW), new)
    if as_of < latest:  # somebody saved while these were being worked out
        mark_stale(session, touched_since(session, as_of))


_AGAIN = update(_ROW).where(_ROW.c.shot_id == bindparam("of")).values({name: bindparam(name) for name in COLUMNS})


def mark_stale(session: Session, touched: Touched) -> None:
    """Within a write."""
    if touched.everything:
        session.execute(update(_ROW).values(stale=1))
        return
    for column, ids in ((_ROW.c.panel_build_id, touched.panel_builds), (_ROW.c.arrow_build_id, touched.arrow_builds)):
        if ids:
            session.execute(update(_ROW).where(column.in_(sorted(ids)), _ROW.c.stale == 0).values(stale=1))
